"""What each engine makes of what is said: the ear as it works in the program, and its rivals on the same."""

import difflib
import time
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np

from companion.speech.hearing.ear import Ear
from companion.speech.hearing.recorded import hear_samples
from companion.speech.language.phrases import Phrase, plain
from companion.speech.network.whisper import WINDOW, Whisper
from companion.speech.recognisers import settings
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.recognisers.vosk import VoskRecogniser
from companion.speech.sound.samples import RATE, Clip, Samples
from companion.work.sound.wiring import found_model
from tests.benchmarks.hearing import data, noises

OURS, EXACT, NEAREST, SPHINX = "the ear", "Whisper, exact", "Whisper, nearest", "PocketSphinx JSGF"
VOSK = "Vosk alone"
"""Where an English model lies in `models/`."""
ENGINES = (OURS, EXACT, NEAREST, SPHINX, VOSK)
CONDITIONS = {
    "clean": (None, 0.0),
    "pink 10 dB": ("pink", 10.0),
    "impact 10 dB": ("impact", 10.0),
    "pink 5 dB": ("pink", 5.0),
    "impact 5 dB": ("impact", 5.0),
}
FINAL = set(settings.FINAL_COMMANDS)
PROMPTS, CALLS, ORDERS = "people: prompts", "people: calls in a game", "people: orders"


@dataclass
class Job:
    """Something to listen to: an utterance in a scene, a prompt, or minutes of noise."""

    group: str
    said: str = ""
    """The phrase, or empty when nothing that is said is a command."""
    family: str = ""
    speaker: data.Speaker | None = None
    noise: str | None = None
    snr: float = 0.0
    seed: int = 0
    seconds: float = 0.0
    phrases: tuple[Phrase, ...] = field(default_factory=data.plain_step)
    compare: bool = True
    """Whether the other engines listen too."""


def jobs(quick: bool) -> list[Job]:
    """Everything to listen to."""
    step = 9 if quick else 1
    found = []
    for condition, (noise, snr) in CONDITIONS.items():
        pairs = [(s, t) for s in data.REPORTED for t in data.TWENTY]
        for n, (speaker, text) in enumerate(pairs[:: 2 * step if "5 dB" in condition else step]):
            found.append(Job(condition, text, speaker.family, speaker, noise, snr, seed=10_000 + n))
    speakers = data.REPORTED[::3]
    chat = [(s, t) for s in speakers for t in data.CHATTER][::step]
    found += [Job("chatter", "", s.family, s, seed=20_000 + n) for n, (s, _) in enumerate(chat)]
    for job, (_, text) in zip(found[-len(chat) :], chat, strict=True):
        job.said = text
    minutes = 2 if quick else 30
    for name in noises.WORKSHOP:
        found += [Job("noise: " + name, seed=m, seconds=60.0) for m in range(minutes)]
    return found


@cache
def _ear() -> Ear:
    return Ear(EmbeddedRecogniser(Whisper(adapt=False, threads=1), Whisper(threads=1)))


@cache
def _free() -> Whisper:
    return Whisper(threads=1, adapt=False)


@cache
def _sphinx():
    import tempfile

    from pocketsphinx import Decoder

    words = " | ".join(data.TWENTY)
    path = Path(tempfile.mkdtemp()) / "commands.gram"
    path.write_text(f"#JSGF V1.0;\ngrammar commands;\npublic <command> = {words};\n")
    return Decoder(jsgf=str(path), loglevel="FATAL")


@cache
def _vosk() -> VoskRecogniser | None:
    """A model of one's own with a grammar, asked alone."""
    folder = found_model("en")
    if folder is None:
        return None
    vosk = VoskRecogniser(folder)
    vosk.expect(data.plain_step())
    return vosk


def listen(job: Job) -> dict[str, object]:
    """What each engine makes of a job: the phrases taken for commands."""
    ear = _ear()
    ear.expect(job.phrases)
    sound = _sound(job)
    began = time.process_time()
    heard = list(hear_samples(sound, ear))
    spent = time.process_time() - began
    accepted = [
        h.judgement.phrase for h in heard if h.judgement.verdict is Verdict.ACCEPTED and h.judgement.phrase
    ]
    unsure = [
        h.judgement.phrase.text for h in heard if h.judgement.verdict is Verdict.UNSURE and h.judgement.phrase
    ]
    found: dict[str, object] = {
        OURS: [p.text for p in accepted], "unsure": unsure, "spent": spent, "length": len(sound) / RATE,
        "tones": sum(h.judgement.verdict is Verdict.REJECTED and h.near_a_command for h in heard),
        "best": [(h.judgement.phrase.text, h.judgement.score) for h in heard if h.judgement.phrase],
    }  # fmt: skip
    if job.compare and not job.group.startswith("noise"):
        clips = [h.clip for h in heard]
        found[EXACT], found[NEAREST] = _freely(clips)
        found[SPHINX] = [text for text in map(_by_grammar, clips) if text]
        if vosk := _vosk():
            judged = map(vosk.judge, clips)
            found[VOSK] = [j.phrase.text for j in judged if j.phrase and j.score >= settings.VOSK_ACCEPT]
    return found


def _sound(job: Job) -> Samples:
    if job.speaker:
        noise = noises.REPORTED_NOISES[job.noise] if job.noise else None
        return noises.scene(data.say(job.speaker, job.said), noise, job.snr, job.seed)
    if job.group in (PROMPTS, CALLS):
        return noises.scene(_people()[job.said], None, 0, job.seed)
    if job.group == ORDERS:
        return data.read_any(data.ORDERS / job.said)
    name = job.group.removeprefix("noise: ")
    return np.float32(0.1) * noises.WORKSHOP[name](np.random.default_rng(job.seed), job.seconds)


@cache
def _people() -> dict[str, Samples]:
    said = [*data.english_prompts(), *data.game_voices(data.GAME_REPORTED)]
    return {text: sound * np.float32(0.5 / np.abs(sound).max()) for text, sound in said}


def _freely(clips: list[Clip]) -> tuple[list[str], list[str]]:
    exact, nearest = [], []
    for clip in clips:
        text = plain(_free().decode(_free().encode(clip.samples, WINDOW), 40, beam=5).text)
        exact += [text] if text in data.TWENTY else []
        nearest += difflib.get_close_matches(text, data.TWENTY, n=1, cutoff=0.6)
    return exact, nearest


def _by_grammar(clip: Clip) -> str:
    decoder = _sphinx()
    decoder.start_utt()
    decoder.process_raw((np.clip(clip.samples, -1, 1) * 32767).astype("<i2").tobytes(), full_utt=True)
    decoder.end_utt()
    return decoder.hyp().hypstr if decoder.hyp() else ""


def people() -> list[Job]:
    """People speaking English who served no fitting; what is a command is left out.

    They need Debian's packages asterisk-core-sounds-en-wav and hedgewars-data, and `data.ORDERS`.
    """
    found = []
    if data.ENGLISH_PROMPTS.is_dir():
        found = [(PROMPTS, t) for t, _ in data.english_prompts() if not data.is_for_fitting(t)]
    if data.GAME_VOICES.is_dir():
        found += [(CALLS, t) for t, _ in data.game_voices(data.GAME_REPORTED)]
    once = [(group, t) for group, t in dict.fromkeys(found) if plain(t) not in data.TWENTY]
    once += [(ORDERS, path.name) for path in sorted(data.ORDERS.glob("*.flac"))]
    return [Job(group, t, "people", seed=n) for n, (group, t) in enumerate(once)]
