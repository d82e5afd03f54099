"""Workshop noise, made up from its physics: a steady hiss and hum, and an impact tool in bursts.

Invented for rehearsals; no recording is behind it.
"""

import numpy as np

from companion.speech.sound.samples import RATE, Samples


def pink(n: int, rng: np.random.Generator) -> Samples:
    """Noise whose power falls by 3 dB an octave, at a level (root mean square) of 1."""
    spectrum = np.fft.rfft(rng.standard_normal(n))
    spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))
    spectrum[0] = 0
    return _levelled(np.fft.irfft(spectrum, n))


def impacts(n: int, rng: np.random.Generator, blows_per_second: float = 22.0) -> Samples:
    """An impact tool: trains of ringing blows of 0.5 to 2 s with pauses between, at a level of 1."""
    sound = np.zeros(n)
    ring_time = np.arange(int(0.04 * RATE)) / RATE
    at = 0.0
    while at < n / RATE:
        at += rng.uniform(0.5, 3.0)
        end = at + rng.uniform(0.5, 2.0)
        while at < end:
            pitch = rng.uniform(1500, 4000)
            blow = np.exp(-ring_time * 120) * np.sin(2 * np.pi * pitch * ring_time)
            start = int(at * RATE)
            stop = min(n, start + len(blow))
            if start < n:
                sound[start:stop] += blow[: stop - start]
            at += 1 / blows_per_second * rng.uniform(0.9, 1.1)
    return _levelled(sound + 0.02 * rng.standard_normal(n))


KINDS = {"pink": pink, "impact": impacts}


def _levelled(sound: np.ndarray) -> Samples:
    level = float(np.sqrt(np.mean(np.square(sound)))) or 1.0
    return (sound / level).astype(np.float32)


class Workshop:
    """An endless stream of one kind of noise, so many decibels below the level of speech."""

    SPEECH_LEVEL = 0.1
    """Root mean square that the mechanic's voice is set to."""

    def __init__(self, kind: str, snr_db: float, seed: int = 7) -> None:
        rng = np.random.default_rng(seed)
        gain = self.SPEECH_LEVEL * 10 ** (-snr_db / 20)
        self._loop = KINDS[kind](30 * RATE, rng) * np.float32(gain)
        self._at = 0

    def take(self, n: int) -> Samples:
        """The next `n` samples."""
        indices = (self._at + np.arange(n)) % len(self._loop)
        self._at = (self._at + n) % len(self._loop)
        return self._loop[indices]
