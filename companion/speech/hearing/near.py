"""The near voice among others: what stands out of the sound before and after it.

While others talk, no silence ends an utterance. But whoever wears the microphone is louder than they are. So
a cut is a stretch that rises out of what was heard just before it and falls back to that after it. How deep
it must fall nobody knows beforehand: a stretch is cut at several depths, and all the cuts are judged.
"""

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.speech.hearing.utterance import Utterance
from companion.speech.recognisers import settings
from companion.speech.sound.samples import FRAME, FRAME_TIME, Samples

_STEP = FRAME // 2
"""Samples between two levels: 16 ms."""
_STEPS = FRAME // _STEP
_SMOOTHED = 6
_KEPT = round(settings.LONGEST_CUT / FRAME_TIME) + round(settings.COMMAND_ENDS / FRAME_TIME) + 32
_REMEMBERED = round(settings.BACKGROUND_LASTS / FRAME_TIME) * _STEPS
_LONGEST = round(settings.LONGEST_CUT / FRAME_TIME) * _STEPS
_SHORTEST = round(settings.SHORTEST_CUT / FRAME_TIME) * _STEPS
_DIP = round(settings.DIP / FRAME_TIME) * _STEPS
_BESIDE = round(settings.COMMAND_ENDS / FRAME_TIME) * _STEPS
_SLOPE = 3
"""Steps beside a cut that are no measure of what lies around it: speech fades in and out."""
_LEAD = round(settings.LEAD / FRAME_TIME) + 1
_TAIL = round(settings.TAIL / FRAME_TIME)

Levels = NDArray[np.float64]


@dataclass(frozen=True)
class Cut:
    """A stretch that stands out."""

    first: int
    """Number, in the stream, of its first frame."""
    last: int
    rise: float
    """Decibels by which its loudest exceeds the loudest just before it and just after it."""
    over: float
    """Decibels by which its loudest exceeds what the place seldom exceeds."""

    @property
    def alone(self) -> bool:
        """It stands out, and what lies beside it is the place as it was, and not the same voice."""
        out = self.rise >= settings.LEAST_RISE and self.over >= settings.LEAST_OVER
        return out and self.over - self.rise <= settings.MOST_LEFT


class NearVoice:
    """Keeps the latest sound and its levels, and finds cuts in it."""

    def __init__(self) -> None:
        self.reset()

    def reset(self) -> None:
        """Start a new stream."""
        self._frames: deque[Samples] = deque(maxlen=_KEPT)
        self._powers: deque[float] = deque(maxlen=_REMEMBERED + _KEPT * _STEPS)
        self._number = -1
        self._taken = -1

    def feed(self, frame: Samples) -> None:
        """Take the next frame."""
        self._number += 1
        self._frames.append(frame)
        self._powers.extend(float(p) for p in np.mean(frame.reshape(_STEPS, _STEP) ** 2, axis=1))

    def exceeded(self, *shares: int) -> list[float]:
        """What the last seconds lay under so many per cent of the time."""
        levels = self._levels()[-_REMEMBERED:]
        return [float(np.percentile(levels, share)) if len(levels) else -100.0 for share in shares]

    def taken(self, first: int, last: int) -> None:
        """What lies from one frame to another was obeyed: it is neither cut again nor background."""
        self._taken = last
        newest = (self._number + 1) * _STEPS
        for step in range(first * _STEPS, (last + 1) * _STEPS):
            if 0 < newest - step <= len(self._powers):
                self._powers[step - newest] = 0.0

    def cuts(self, quiet: int, since: int) -> list[Cut]:
        """Cuts that ended at least `quiet` frames ago and less than `since` frames ago, the longest last."""
        levels = self._levels()
        now = len(levels)
        offset = (self._number + 1) * _STEPS - now
        kept = len(self._frames) * _STEPS
        floor = max(now - kept, (self._taken + 1) * _STEPS - offset, 0)
        earliest, latest = now - since * _STEPS, now - quiet * _STEPS
        found: dict[tuple[int, int], Cut] = {}
        for start, end in _stretches(levels, floor, earliest, latest):
            peak = float(levels[start : end + 1].max())
            around = _around(levels, start)
            cut = Cut(
                (start + offset) // _STEPS,
                (end + offset) // _STEPS,
                peak - max(_loudest(levels[max(floor, start - _BESIDE) : start - _SLOPE]),
                           _loudest(levels[end + 1 + _SLOPE : end + 1 + _BESIDE])),
                peak - around,
            )  # fmt: skip
            found.setdefault((cut.first, cut.last), cut)
        return sorted(found.values(), key=lambda cut: cut.last - cut.first)

    def utterance(self, cut: Cut) -> Utterance:
        """A cut as an utterance of its own."""
        oldest = self._number + 1 - len(self._frames)
        frames = list(self._frames)[max(0, cut.first - _LEAD + 1 - oldest) :]
        lead = min(_LEAD, cut.first - oldest + 1)
        utterance = Utterance(frames[:lead], cut.first)
        for number, frame in enumerate(frames[lead : lead + cut.last - cut.first + _TAIL], cut.first + 1):
            utterance.add(frame, number, number <= cut.last)
        return utterance

    def _levels(self) -> Levels:
        powers = np.array(self._powers)
        if len(powers) < _SMOOTHED:
            return np.zeros(0)
        smooth = np.convolve(powers, np.ones(_SMOOTHED) / _SMOOTHED, "same")
        decibels: Levels = 10 * np.log10(smooth + 1e-10)
        return decibels


def _around(levels: Levels, start: int) -> float:
    """What the place seldom exceeds, before a cut."""
    heard = levels[max(0, start - _REMEMBERED) : max(0, start - _SLOPE)]
    return float(np.percentile(heard, settings.BACKGROUND_SHARE)) if len(heard) else -100.0


def _stretches(levels: Levels, floor: int, earliest: int, latest: int) -> list[tuple[int, int]]:
    """First and last step of what rises around each peak, at each depth, where it ends in time."""
    found = []
    inside = levels[floor:]
    peaks = [
        int(i)
        for i in np.flatnonzero((inside[1:-1] >= inside[:-2]) & (inside[1:-1] > inside[2:])) + 1 + floor
        if latest - _LONGEST <= i < latest
    ]
    for depth in settings.CUT_DEPTHS:
        for peak in peaks:
            above = np.flatnonzero(inside >= levels[peak] - depth) + floor
            groups = np.split(above, np.flatnonzero(np.diff(above) > _DIP + 1) + 1)
            group = next(g for g in groups if g[0] <= peak <= g[-1])
            start, end = int(group[0]), int(group[-1])
            fits = _SHORTEST <= end - start + 1 <= _LONGEST and earliest < end <= latest
            if fits and levels[start : end + 1].max() <= levels[peak]:
                found.append((start, end))
    return found


def _loudest(levels: Levels) -> float:
    return float(levels.max()) if len(levels) else -100.0
