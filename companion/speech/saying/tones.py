"""Attention tones: short sounds before, or instead of, words.

HEARD   one short tick, 1,500 Hz: the command was understood.
CUE     two rising notes, 660 and 880 Hz: the companion is about to speak.
URGENT  three even notes, 880 Hz: something is due now.
DANGER  two sweeps from 700 up to 1,400 Hz: stop and listen.
ERROR   two falling notes, 440 and 330 Hz: refused, or not said.
NOT UNDERSTOOD  one soft low note that sinks from 262 to 220 Hz: not understood. It is quieter than speech.

Every note carries two overtones, so that a small loudspeaker that loses the lowest still gives the
pattern. The level lies above that of speech by LIFT: urgent sounds stand out before the words.
Whether they stand 15 dB(A) above the workshop, as ISO 7731 asks of a danger signal, depends on the
loudspeaker and the noise and is not claimed. Pitches and rhythms are our own choice, no source.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from companion.job.facts.sayings import Tone
from companion.speech.sound.samples import RATE, Samples
from companion.speech.sound.shaping import SPEECH_LEVEL, decibels, level, soft_limit

LIFT = {
    Tone.NOT_UNDERSTOOD: -3.0,
    Tone.HEARD: 0.0,
    Tone.CUE: 0.0,
    Tone.ERROR: 2.0,
    Tone.URGENT: 6.0,
    Tone.DANGER: 9.0,
}
"""dB above speech."""

_OVERTONES = (1.0, 0.4, 0.2)
_EDGE = 0.008
"""Seconds of fade at both ends of a note: no click."""

# (first frequency, last frequency, seconds); a frequency of 0 is a rest
_NOTES: dict[Tone, tuple[tuple[float, float, float], ...]] = {
    Tone.HEARD: ((1500, 1500, 0.06),),
    Tone.CUE: ((660, 660, 0.10), (0, 0, 0.03), (880, 880, 0.14)),
    Tone.URGENT: ((880, 880, 0.12), (0, 0, 0.06), (880, 880, 0.12), (0, 0, 0.06), (880, 880, 0.12)),
    Tone.DANGER: ((700, 1400, 0.35), (0, 0, 0.05), (700, 1400, 0.35)),
    Tone.NOT_UNDERSTOOD: ((262, 220, 0.20),),
    Tone.ERROR: ((440, 440, 0.15), (0, 0, 0.03), (330, 330, 0.22)),
}


def _note(first: float, last: float, seconds: float) -> NDArray[np.float64]:
    time = np.arange(round(seconds * RATE)) / RATE
    phase = 2 * np.pi * (first * time + (last - first) * time**2 / (2 * seconds))
    wave = np.sum([share * np.sin(n * phase) for n, share in enumerate(_OVERTONES, start=1)], axis=0)
    edge = np.minimum(1.0, np.minimum(time, time[::-1]) / _EDGE)
    return np.asarray(wave * edge)


@cache
def tone(which: Tone) -> Samples:
    """The samples of a tone, at RATE; treat them as read-only."""
    wave = np.concatenate([_note(*note) for note in _NOTES[which]]).astype(np.float32)
    return soft_limit(wave * np.float32(decibels(SPEECH_LEVEL + LIFT[which] - level(wave))))
