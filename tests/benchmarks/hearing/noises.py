"""Noises for measuring the hearing, each `seconds` long and of root mean square 1; and speech among them."""

from collections.abc import Callable

import numpy as np

from companion.speech.sound.samples import RATE, Samples
from tests.benchmarks.hearing.data import CHATTER, READERS, say


def _unit(sound: np.ndarray) -> Samples:
    return (sound / np.sqrt(np.mean(sound**2))).astype(np.float32)


def coloured(rng: np.random.Generator, seconds: float, slope: float) -> Samples:
    """Noise whose power falls as 1/f^slope."""
    count = round(seconds * RATE)
    spectrum = np.fft.rfft(rng.standard_normal(count))
    return _unit(np.fft.irfft(spectrum / np.maximum(np.arange(len(spectrum)), 1.0) ** (slope / 2), count))


def band(rng: np.random.Generator, seconds: float, low: float, high: float) -> Samples:
    """Noise between two frequencies (hertz)."""
    count = round(seconds * RATE)
    spectrum = np.fft.rfft(rng.standard_normal(count))
    f = np.fft.rfftfreq(count, 1 / RATE)
    return _unit(np.fft.irfft(spectrum / (1 + (f / high) ** 6) / (1 + (low / np.maximum(f, 1)) ** 4), count))


def blows(
    rng: np.random.Generator, seconds: float, times: np.ndarray, modes: tuple[float, ...], decay: float
) -> Samples:
    """Blows at given times (seconds): a click and ringing modes (hertz) that die away in `decay` seconds."""
    sound = np.zeros(round((seconds + 1) * RATE))
    clock = np.arange(round(6 * decay * RATE)) / RATE
    for t in times[times < seconds]:
        hit = sum(np.sin(2 * np.pi * f * rng.normal(1, 0.01) * clock + rng.uniform(0, 6)) for f in modes)
        hit = hit * np.exp(-clock / decay) + 2 * rng.standard_normal(len(clock)) * np.exp(-clock / 0.003)
        at = round(t * RATE)
        sound[at : at + len(hit)] += hit * rng.uniform(0.7, 1.1)
    return _unit(sound[: round(seconds * RATE)])


def _steady(rng: np.random.Generator, seconds: float, rate: float, jitter: float) -> np.ndarray:
    return np.cumsum(np.maximum(rng.normal(1 / rate, jitter / rate, round(seconds * rate * 1.2) + 2), 0.003))


def impact(rng: np.random.Generator, seconds: float) -> Samples:
    """An impact tool: about 22 blows a second, on and off as a nut is run down, over a whine."""
    tool = blows(rng, seconds, _steady(rng, seconds, 22, 0.08), (1350, 2900, 4700), 0.012)
    clock = np.arange(len(tool)) / RATE
    whine = np.sin(2 * np.pi * 310 * clock) + 0.5 * np.sin(2 * np.pi * 1240 * clock + 1)
    return _unit(tool + 0.25 * whine + 0.2 * coloured(rng, seconds, 1.0))


def ratchet(rng: np.random.Generator, seconds: float) -> Samples:
    """A ratchet: strokes of 8 to 16 clicks, a stroke every second or so."""
    starts = np.cumsum(rng.uniform(0.6, 1.4, round(seconds * 2)))
    times = np.concatenate([s + np.arange(rng.integers(8, 16)) * rng.uniform(0.022, 0.04) for s in starts])
    return blows(rng, seconds, np.sort(times), (2600, 4100, 6200), 0.005)


def hammer(rng: np.random.Generator, seconds: float) -> Samples:
    """A hammer on steel: one or two blows a second, in runs."""
    times = np.cumsum(rng.choice((0.45, 0.6, 0.8, 2.5), round(seconds * 2), p=(0.35, 0.3, 0.25, 0.1)))
    return blows(rng, seconds, times + rng.normal(0, 0.02, len(times)), (420, 1130, 2210, 3700), 0.07)


def compressor(rng: np.random.Generator, seconds: float) -> Samples:
    """A piston compressor: 16 strokes a second with harmonics, and a rattle."""
    clock = np.arange(round(seconds * RATE)) / RATE
    phase = 2 * np.pi * 16 * clock + 0.3 * np.sin(2 * np.pi * 0.2 * clock)
    strokes = sum(np.sin(k * phase + k) / k**0.6 for k in range(1, 30))
    return _unit(_unit(strokes) + 0.5 * coloured(rng, seconds, 1.2) * (1 + 0.6 * np.sin(phase)))


def air_line(rng: np.random.Generator, seconds: float) -> Samples:
    """A blow gun: bursts of hiss of half a second to three seconds."""
    hiss, gate = band(rng, seconds, 1500, 7000), np.zeros(round(seconds * RATE))
    t = 0.0
    while t < seconds:
        length = rng.uniform(0.5, 3)
        gate[round(t * RATE) : round((t + length) * RATE)] = 1
        t += length + rng.uniform(0.3, 2)
    soft = np.convolve(gate, np.ones(400) / 400, "same")
    return _unit(hiss * (0.02 + soft))


def idle(rng: np.random.Generator, seconds: float) -> Samples:
    """A four-cylinder engine at idle: firing 26 times a second, unevenly, and a belt."""
    clock = np.arange(round(seconds * RATE)) / RATE
    wander = np.cumsum(rng.standard_normal(len(clock))) / RATE * 1.5
    phase = 2 * np.pi * 26.7 * clock + wander
    firing = sum(np.sin(k * phase / 2 + k * k) / k**0.8 for k in range(1, 40))
    return _unit(_unit(firing) + 0.35 * coloured(rng, seconds, 1.6) + 0.05 * band(rng, seconds, 2500, 4500))


def radio(rng: np.random.Generator, seconds: float) -> Samples:
    """A radio across the shop: songs of chords and drums, and between them people reading the news."""
    parts, total = [], 0.0
    while total < seconds:
        part = _song(rng, rng.uniform(8, 20)) if rng.random() < 0.55 else _news(rng, rng.uniform(8, 20))
        parts.append(part)
        total += len(part) / RATE
    return _unit(np.concatenate(parts)[: round(seconds * RATE)])


def _song(rng: np.random.Generator, seconds: float) -> Samples:
    sound, beat = np.zeros(round((seconds + 3) * RATE)), rng.uniform(0.35, 0.6)
    for n, t in enumerate(np.arange(0, seconds, beat)):
        root = 110 * 2 ** (rng.choice((0, 3, 5, 7, 8, 10)) / 12)
        clock = np.arange(round(beat * 2 * RATE)) / RATE
        chord = sum(
            np.sin(2 * np.pi * root * r * k * clock) / k for r in (1, 1.26, 1.5, 2) for k in range(1, 6)
        )
        drum = 3 * rng.standard_normal(len(clock)) * np.exp(-clock * (60 if n % 2 else 25))
        at = round(t * RATE)
        sound[at : at + len(clock)] += chord * np.exp(-clock * 2) + drum
    return _unit(sound[: round(seconds * RATE)])


def _news(rng: np.random.Generator, seconds: float) -> Samples:
    reader = READERS[int(rng.integers(len(READERS)))]
    parts, total = [], 0
    while total < seconds * RATE:
        text = str(rng.choice(CHATTER[:24]))
        parts += [say(reader, text), np.zeros(round(rng.choice((0.05, 0.1, 0.5)) * RATE), np.float32)]
        total += len(parts[-1]) + len(parts[-2])
    return _unit(np.concatenate(parts))


Noise = Callable[[np.random.Generator, float], Samples]
WORKSHOP: dict[str, Noise] = {
    "impact tool": impact, "ratchet": ratchet, "hammer": hammer, "compressor": compressor,
    "air line": air_line,
    "engine at idle": idle, "radio": radio,
}  # fmt: skip
REPORTED_NOISES: dict[str, Noise] = {"pink": lambda rng, s: coloured(rng, s, 1.0), "impact": impact}
FITTED_NOISES: dict[str, Noise] = {
    "white": lambda rng, s: coloured(rng, s, 0.0),
    "brown": lambda rng, s: coloured(rng, s, 1.8),
    "needle gun": lambda rng, s: blows(rng, s, _steady(rng, s, 34, 0.15), (900, 2100, 5200), 0.008),
    "grinder": lambda rng, s: _unit(band(rng, s, 900, 6500) + 0.4 * compressor(rng, s)),
    "panel beating": lambda rng, s: blows(
        rng, s, np.cumsum(rng.uniform(0.2, 0.9, round(3 * s))), (310, 800, 1700), 0.1
    ),
}


def mixed(speech: Samples, noise: Samples, snr: float) -> Samples:
    """Speech in noise of the same length, `snr` decibels; the speech's level is taken where it is loud."""
    frames = speech[: len(speech) // 320 * 320].reshape(-1, 320)
    power = np.mean(frames**2, axis=1)
    level = np.sqrt(np.mean(power[power > 0.01 * power.max()]))
    return (speech + noise * level * 10 ** (-snr / 20) / np.sqrt(np.mean(noise**2))).astype(np.float32)


def scene(
    speech: Samples, noise: Noise | None, snr: float, seed: int, lead: float = 0.8, tail: float = 0.7
) -> Samples:
    """An utterance with room before and after, in noise; where there is none, in hiss 70 dB down."""
    rng = np.random.default_rng(seed)
    whole = np.concatenate([np.zeros(round(lead * RATE)), speech, np.zeros(round(tail * RATE))]).astype(
        np.float32
    )
    if noise is None:
        return whole + np.float32(10 ** (-70 / 20)) * rng.standard_normal(len(whole)).astype(np.float32)
    sound = mixed(whole, noise(rng, len(whole) / RATE), snr)
    return sound * np.float32(min(1.0, 0.9 / np.abs(sound).max()))
