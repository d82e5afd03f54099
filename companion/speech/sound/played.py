"""What was played lately, and which part of it the microphone hears now.

The buffers of the sound system, the air, and two unequal clocks lie between the two. So the delay is found
anew each second, by comparing the two sounds while the companion speaks.
"""

from collections import deque
from datetime import timedelta
from threading import Lock

import numpy as np

from companion.speech.sound.samples import FRAME, FRAME_TIME, RATE, Samples

KEPT = 16 * RATE
"""CHOSEN: samples kept, because frames may wait for seconds while a recogniser works."""
LONGEST_DELAY = round(0.8 * RATE)
"""CHOSEN: samples; a Bluetooth loudspeaker plays a third of a second late."""
HEAD = 160
"""CHOSEN: samples by which the delay is taken too short, because it may be a little wrong."""
SLACK = 320
"""CHOSEN: samples by which the delay may change before frames are aligned anew; the filter bears it."""
_COMPARED = 4 * RATE
_EACH = round(timedelta(seconds=1) / FRAME_TIME)
_LOUD = 1e-3
"""Root mean square of what was played from which there is something to compare."""
_CLEAR = 12.0
"""CHOSEN: how far the best delay must stand out, in standard deviations; by chance 13,000 delays reach 4."""
_BAND = (200.0, 4000.0)
"""Hertz: where a small loudspeaker speaks."""


class Played:
    """The latest sound given to the loudspeaker. One thread plays and fills it; another one reads it."""

    def __init__(self) -> None:
        self._ring: Samples = np.zeros(KEPT, dtype=np.float32)
        self._total = 0
        self._lock = Lock()

    @property
    def total(self) -> int:
        """How many samples were given so far."""
        return self._total

    def add(self, samples: Samples) -> None:
        """The next samples that go to the loudspeaker."""
        with self._lock:
            at = (self._total + np.arange(len(samples))) % KEPT
            self._ring[at] = samples
            self._total += len(samples)

    def between(self, start: int, end: int) -> Samples:
        """Samples number `start` to `end`; silence where they are not known, or not any more."""
        found: Samples = np.zeros(end - start, dtype=np.float32)
        with self._lock:
            first, last = max(start, self._total - KEPT, 0), min(end, self._total)
            if first < last:
                found[first - start : last - start] = self._ring[np.arange(first, last) % KEPT]
        return found


class Alignment:
    """Finds, for each frame that is heard, the samples whose echo it holds."""

    def __init__(self, played: Played) -> None:
        self._played = played
        self._heard: deque[Samples] = deque(maxlen=_COMPARED // FRAME)
        self.restart()

    def restart(self) -> None:
        """Sound was lost: nothing is known of the delay any more."""
        self._end: int | None = None
        self._heard.clear()
        self._guess: int | None = None
        self._looked = 0
        self.delay = 0
        """Samples between giving a sound away and hearing it, less `HEAD`."""

    def played_with(self, heard: Samples) -> tuple[Samples, bool]:
        """What was played `HEAD` samples before the frame sounded, and whether the delay was changed."""
        total = self._played.total
        if self._end is None or self._end > total + RATE or self._end < total - KEPT // 2:
            self.restart()
            self._end = total
        else:
            self._end += FRAME
        self._heard.append(heard)
        moved = self._look()
        end = self._end - self.delay
        return self._played.between(end - FRAME, end), moved

    def _look(self) -> bool:
        """Once a second, compare. Two looks must agree before anything is changed."""
        self._looked += 1
        if self._looked < _EACH or len(self._heard) < (self._heard.maxlen or 0):
            return False
        self._looked = 0
        assert self._end is not None
        played = self._played.between(self._end - _COMPARED - LONGEST_DELAY, self._end)
        if np.sqrt(np.mean(played[-_COMPARED // 2 :] ** 2)) < _LOUD:
            return False
        before, self._guess = self._guess, best_delay(np.concatenate(self._heard), played)
        if self._guess is None or before is None or abs(self._guess - before) > SLACK // 4:
            return False
        delay = max(0, self._guess - HEAD)
        if abs(delay - self.delay) <= SLACK:
            return False
        self.delay = delay
        return True


def best_delay(heard: Samples, played: Samples) -> int | None:
    """Samples by which `heard` lags behind `played` if both end at the same moment; None if unclear.

    The phase transform (Knapp and Carter 1976): every frequency counts alike, so that a room with echoes of
    its own still has one sharp peak.
    """
    length = 1 << (len(played) + len(heard) - 1).bit_length()
    cross = np.fft.rfft(heard, length) * np.conj(np.fft.rfft(played, length))
    frequency = np.fft.rfftfreq(length, 1 / RATE)
    cross[(frequency < _BAND[0]) | (frequency > _BAND[1])] = 0
    likeness = np.fft.irfft(cross / np.maximum(np.abs(cross), 1e-9), length)
    lag = len(heard) - len(played) + np.arange(LONGEST_DELAY)
    found = likeness[lag % length]
    best = int(np.argmax(found))
    return best if found[best] > _CLEAR * float(np.std(found)) else None
