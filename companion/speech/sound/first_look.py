"""The first ten seconds of a microphone: what is wrong with it, a line each, with the remedy. Pure.

It is judged by its sound alone, since what a sound system says of its devices is often wrong.
"""

from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from companion.speech.sound.level import SILENCE, a_weighted, clipped, rms
from companion.speech.sound.samples import FRAME_TIME, RATE, Samples

LASTS = timedelta(seconds=10)
MUTED_FOR = timedelta(seconds=6)
"""CHOSEN: so much silence is no pause; even a quiet room is not nothing."""
NOTHING = -95.0
"""CHOSEN: dB of full scale; the last bit of 16 makes about -98."""
SHOULD_REACH, AIM = -45.0, -24.0
"""CHOSEN: dB of full scale, A-weighted, of the loudest twentieth that was heard; and where speech is best."""
STANDS_OUT = 10.0
"""CHOSEN: dB over the background; sound that does not reach that far was nobody speaking."""
NOT_EVEN_A_ROOM = -72.0
"""CHOSEN: dB of full scale; where nothing at all is louder, no microphone is up."""
CLIPPED_SHARE = 0.0005
"""CHOSEN: from this share of cut-off samples on, consonants suffer."""
TELEPHONE = 4_000
"""Hertz above which a headset at 8 kHz has nothing."""
NOTHING_ABOVE = 40.0
"""CHOSEN: dB between speech and what lies above 4 kHz; a voice in a room has less than 30."""
MAINS = (50, 60)
HARMONICS, PLAIN_HARMONICS = 8, 3
"""CHOSEN: how many are looked at, and how many of them must be there."""
SHARP = 12.0
"""CHOSEN: dB of a harmonic over the frequencies beside it, and over the one half-way to the next."""
HUM = -60.0
"""CHOSEN: dB of full scale, from which hum comes near to soft speech."""


class FirstLook:
    """Looks at frames as they come."""

    def __init__(self) -> None:
        self._frames: list[Samples] = []
        self._quiet: list[Samples] = []
        self._done = False

    def feed(self, frame: Samples, speaking: bool = False) -> list[str]:
        """Take the next frame; gives what was found, mostly nothing, and nothing more after ten seconds.

        `speaking` tells that the companion's own voice may be in it.
        """
        if self._done:
            return []
        self._frames.append(frame)
        if not speaking:
            self._quiet.append(frame)
        heard = len(self._frames) * FRAME_TIME
        if heard >= MUTED_FOR and heard - FRAME_TIME < MUTED_FOR and self._muted():
            self._done = True
            return [
                "The microphone gives no sound at all: it is muted, or switched off. Unmute it, or choose "
                "another with --mic; companion hear --devices lists them."
            ]
        if heard < LASTS:
            return []
        self._done = True
        sound = np.concatenate(self._frames)
        lines = (self._cut_off(sound), self._too_quiet(), _telephone(sound), _hum(sound))
        return [line for line in lines if line]

    def _muted(self) -> bool:
        return max(map(rms, self._frames)) <= NOTHING

    @staticmethod
    def _cut_off(sound: Samples) -> str | None:
        share = clipped(sound)
        if share < CLIPPED_SHARE:
            return None
        return (
            f"The microphone is too loud, its sound is cut off ({share:.1%} of it): lower its recording "
            "level by about 12 dB, or move it to the side of the mouth."
        )

    def _too_quiet(self) -> str | None:
        levels = np.array([a_weighted(frame) for frame in self._quiet] or [SILENCE])
        loudest, background = np.percentile(levels, [95, 20])
        spoke = loudest - background >= STANDS_OUT
        if loudest >= SHOULD_REACH or not (spoke or loudest < NOT_EVEN_A_ROOM):
            return None
        return (
            f"The microphone is too quiet, its loudest lies at {loudest:.0f} dB of full scale: raise its "
            f"recording level by about {AIM - loudest:.0f} dB, or bring it nearer to the mouth."
        )


def of_the_device(rate: int | None, dead_channel: str | None) -> list[str]:
    """What the device itself tells: a channel that gives nothing, and a headset at 16 kHz."""
    lines = []
    if dead_channel:
        other = "right" if dead_channel == "left" else "left"
        lines.append(
            f"The {dead_channel} channel of the microphone is dead, so I listen to the {other} one: push its "
            "plug fully in, or change the cable."
        )
    if rate == RATE:
        lines.append(
            "The microphone is a headset at 16 kHz: that is enough, change nothing. Should it fall silent, "
            "choose its headset profile again in the sound settings."
        )
    return lines


def _spectra(sound: Samples) -> NDArray[np.float64]:
    """Powers at each hertz, a row for each half second; a sine of full scale comes to a half."""
    windows = np.lib.stride_tricks.sliding_window_view(sound, RATE)[:: RATE // 2]
    fade = np.hanning(RATE)
    powers: NDArray[np.float64] = np.abs(np.fft.rfft(windows * fade, axis=1)) ** 2
    return powers * 2 / (RATE * np.sum(fade**2))


def _decibels(power: float) -> float:
    return 10 * float(np.log10(power + 1e-20))


def _telephone(sound: Samples) -> str | None:
    powers = _spectra(sound).mean(axis=0)
    speech, above = powers[300:3400], powers[TELEPHONE + 400 : 7600]
    if _decibels(speech.sum()) < NOTHING or _decibels(speech.mean() / (above.mean() + 1e-20)) < NOTHING_ABOVE:
        return None
    return (
        "The microphone sounds like a telephone (a headset at 8 kHz): short words are misheard more often. "
        "Choose its wideband profile (mSBC) in the sound settings, or a microphone with a cable."
    )


def _hum(sound: Samples) -> str | None:
    """Steady tones at the mains frequency and its multiples. Speech comes and goes, so it does not count."""
    steady = np.percentile(_spectra(sound), 25, axis=0)
    for mains in MAINS:
        found = [power for k in range(1, HARMONICS + 1) if (power := _harmonic(steady, mains, k))]
        level = _decibels(sum(found))
        if len(found) >= PLAIN_HARMONICS and level >= HUM:
            return (
                f"The microphone hears mains hum ({mains} Hz, {level:.0f} dB of full scale): unplug the "
                "charger, lead its cable away from mains leads, or use a headset."
            )
    return None


def _harmonic(steady: NDArray[np.float64], mains: int, k: int) -> float:
    """The power of one multiple where it stands out, else 0; an engine's lie closer together."""
    at = mains * k
    half_way = at + mains // 2
    peak = float(steady[at - 2 : at + 3].sum())
    beside = float(np.median(np.concatenate([steady[at - 15 : at - 5], steady[at + 6 : at + 16]]))) * 5
    between = float(steady[half_way - 2 : half_way + 3].sum())
    return peak if _decibels(peak / (max(beside, between) + 1e-20)) >= SHARP else 0.0
