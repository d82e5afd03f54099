"""Sounds to train in: made-up noises, and recordings kept in 8 bits (mu-law) so that they travel light."""

import numpy as np

RATE = 16000


def noise(seed):
    """Eight seconds of one made-up noise. The workshop noises of the report are not here."""
    rng = np.random.default_rng(seed)
    n = 8 * RATE

    def coloured(low=0.0, high=2.0):
        spectrum = np.fft.rfft(rng.standard_normal(n)) / np.maximum(np.arange(n // 2 + 1), 1) ** (
            rng.uniform(low, high) / 2
        )
        if rng.random() < 0.4:
            f = np.arange(n // 2 + 1) / 8
            spectrum *= (
                np.exp(
                    -(np.log(np.maximum(f, 1) / rng.uniform(200, 5000)) ** 2)
                    / (2 * rng.uniform(0.3, 1.5) ** 2)
                )
                + 0.03
            )
        sound = np.fft.irfft(spectrum, n)
        return sound / sound.std()

    def bursts():
        rate = np.exp(rng.uniform(np.log(1.5), np.log(45)))
        sound, t = np.zeros(n + RATE), 0.0
        modes = (
            rng.uniform(150, 6500, rng.integers(2, 6)),
            np.exp(rng.uniform(np.log(0.002), np.log(0.08), 6)),
        )
        length = RATE // 3
        clock = np.arange(length) / RATE
        while t < 8:
            hit = sum(
                np.exp(-clock / d) * np.sin(2 * np.pi * f * rng.normal(1, 0.02) * clock + rng.uniform(0, 6))
                for f, d in zip(*modes, strict=False)
            )
            hit = hit + rng.uniform(0, 2) * rng.standard_normal(length) * np.exp(
                -clock / rng.uniform(0.001, 0.03)
            )
            at = int(t * RATE)
            sound[at : at + length] += hit * rng.uniform(0.5, 1.2)
            t += rng.normal(1, rng.uniform(0.02, 0.3)) / rate if rate > 6 else rng.exponential(1 / rate)
            t = max(t, (at + 50) / RATE)
        sound = sound[:n]
        return sound / (sound.std() + 1e-9) + rng.uniform(0, 0.3) * coloured()

    def hum():
        clock, f0 = np.arange(n) / RATE, np.exp(rng.uniform(np.log(15), np.log(300)))
        phase = (
            2 * np.pi * np.cumsum(f0 * (1 + 0.03 * np.sin(2 * np.pi * rng.uniform(0.1, 5) * clock))) / RATE
        )
        sound = sum(
            rng.uniform(0, 1) / k ** rng.uniform(0.2, 1.2) * np.sin(k * phase + rng.uniform(0, 6))
            for k in range(1, 40)
        )
        sound = (
            sound / sound.std() * (1 + rng.uniform(0, 0.7) * np.sin(2 * np.pi * rng.uniform(0.5, 20) * clock))
        )
        return sound + rng.uniform(0.05, 0.8) * coloured()

    def music():
        sound, t = np.zeros(n + 2 * RATE), 0.0
        while t < 8:
            length = rng.uniform(0.1, 0.8)
            clock = np.arange(int(length * RATE)) / RATE
            for _ in range(rng.integers(1, 5)):
                f = 110 * 2 ** (rng.integers(0, 40) / 12)
                note = sum(np.sin(2 * np.pi * f * k * clock) / k for k in range(1, 7)) * np.exp(
                    -clock * rng.uniform(1, 8)
                )
                sound[int(t * RATE) : int(t * RATE) + len(note)] += note
            t += length * rng.uniform(0.4, 1)
        return sound[:n] / (sound.std() + 1e-9)

    makers = (coloured, bursts, bursts, hum, music)
    sound = makers[rng.integers(len(makers))]()
    if rng.random() < 0.3:
        sound = sound + rng.uniform(0.2, 1) * makers[rng.integers(len(makers))]()
    return (sound / (np.abs(sound).max() + 1e-9)).astype(np.float16)


def coded(sound):
    """Sound within -1 and 1 as whole numbers of 8 bits."""
    return np.round(127 * np.sign(sound) * np.log1p(255 * np.abs(sound)) / np.log(256)).astype(np.int8)


def decoded(code):
    """The sound again, within -1 and 1."""
    code = code.astype(np.float32)
    return np.sign(code) * (256 ** (np.abs(code) / 127) - 1) / 255


def recordings(path):
    """Recordings packed at 8 kHz, each doubled in rate, as whole numbers of 16 bits."""
    stored, found = np.load(path), []
    for part in np.split(stored["sound"], stored["ends"][:-1]):
        sound = decoded(part)
        twice = np.fft.irfft(np.fft.rfft(sound), 2 * len(sound)) * 2
        found.append((twice * 12000).astype(np.int16))
    return found
