"""Utterances: stretches of speech found in the frames of a stream, and what was made of each."""

from collections import deque
from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np

from companion.speech.hearing.activity import Activity
from companion.speech.recognisers import settings
from companion.speech.recognisers.recogniser import Judgement
from companion.speech.sound.samples import FRAME_TIME, RATE, Clip, Samples

_LEAD = round(settings.LEAD / FRAME_TIME)
_TAIL = round(settings.TAIL / FRAME_TIME)
_SYLLABLE = round(settings.DIP / FRAME_TIME)
_SHORTEST = round(settings.SHORTEST / FRAME_TIME)


class Utterance:
    """Speech that may still be going on."""

    def __init__(self, lead: list[Samples], first: int) -> None:
        self._frames = lead
        self.first = first
        """Number, in the stream, of the first voiced frame."""
        self.last = first
        """Number, in the stream, of the last voiced frame."""
        self._lead = len(lead) - 1
        self.voiced = 1
        """How many frames held voice."""

    def add(self, frame: Samples, number: int, voiced: bool) -> None:
        """Take the next frame of the stream."""
        self._frames.append(frame)
        if voiced:
            self.last = number
            self.voiced += 1

    def latest(self, many: int | None = None) -> Samples:
        """The latest frames, or all of them."""
        return np.concatenate(self._frames if many is None else self._frames[-many:])

    @property
    def start(self) -> timedelta:
        return self.first * FRAME_TIME

    @property
    def end(self) -> timedelta:
        return (self.last + 1) * FRAME_TIME

    @property
    def spoken(self) -> timedelta:
        """From the first voiced frame to the last."""
        return self.end - self.start

    def quiet(self, number: int) -> timedelta:
        """How long it has been quiet, when frame `number` is the latest."""
        return (number - self.last) * FRAME_TIME

    @property
    def is_click(self) -> bool:
        """Too short to be a word."""
        return self.voiced < _SHORTEST

    def nearly(self, other: "Utterance") -> bool:
        """Whether both begin and end together, give or take a syllable."""
        return max(abs(self.first - other.first), abs(self.last - other.last)) < _SYLLABLE

    def clip(self) -> Clip:
        """The sound, with a little quiet on either side."""
        kept = self._frames[: self._lead + self.last - self.first + 1 + _TAIL]
        return Clip(np.concatenate(kept))

    def level(self) -> float:
        """Decibels below full scale of its louder half."""
        return level(np.concatenate(self._frames[self._lead : self._lead + self.last - self.first + 1]))


class Segmenter:
    """Finds utterances in a stream of frames. It ends none: the ear decides how long to wait."""

    def __init__(self, activity: Activity) -> None:
        self._activity = activity
        self.reset()

    def reset(self) -> None:
        """Start a new stream."""
        self._activity.reset()
        self._before: deque[Samples] = deque(maxlen=_LEAD + 1)
        self.number = -1
        """Number of the latest frame."""
        self.utterance: Utterance | None = None

    def feed(self, frame: Samples) -> None:
        """Take the next frame."""
        self.number += 1
        probability = self._activity.probability(frame)
        self._before.append(frame)
        if self.utterance:
            self.utterance.add(frame, self.number, probability >= settings.VOICE_GOES_ON)
        elif probability >= settings.VOICE_STARTS:
            self.utterance = Utterance(list(self._before), self.number)

    def finish(self) -> None:
        """Let go of the utterance; what comes next begins a new one."""
        self.utterance = None


@dataclass(frozen=True)
class Hearing:
    """What the ear hands on: one utterance, where it lay, and what was made of it."""

    start: timedelta
    """From the start of the stream to the first voiced frame."""
    end: timedelta
    """From the start of the stream to the end of the last voiced frame."""
    judgement: Judgement
    clip: Clip = field(compare=False, repr=False)
    """The sound, with a little quiet on either side."""
    transcript: str | None = None
    """What was written down, where free speech was."""
    latency: timedelta = field(default=timedelta(0), compare=False)
    """From `end` to this hearing, as if the frames came in real time."""

    @property
    def near_a_command(self) -> bool:
        """Rejected, and yet so near that somebody seems to have meant a command."""
        return self.judgement.phrase is not None and self.judgement.score >= settings.NEAR

    @property
    def short(self) -> bool:
        """No longer than an answer is."""
        return self.end - self.start <= settings.SHORT_ANSWER


def level(samples: Samples) -> float:
    """Decibels below full scale of the louder half of the 10 ms stretches of some sound."""
    step = RATE // 100
    count = len(samples) // step
    if not count:
        return -120.0
    powers = np.sort(np.mean(samples[: count * step].reshape(count, step) ** 2, axis=1))
    return float(10 * np.log10(np.mean(powers[count // 2 :]) + 1e-12))
