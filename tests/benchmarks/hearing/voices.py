"""Commands while others talk: `python -m tests.benchmarks.hearing.voices [--clips N] [--minutes M]`.

Behind each command lie four people who talk at once, or one (a radio play). They lie a number of decibels
under the loud part of the command, in the mean of all that they say, pauses included. Two in three commands
come after four seconds of it, the others after 0.8 s. Then minutes of nothing but them. The twenty phrases of
a plain step can be said. The people are those of `data.ORDERS`. Nobody wrote down who is who, so the halves
for fitting and for the report are told apart by recording, not by person.
"""

import argparse
import hashlib
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache

import numpy as np

from companion.speech.hearing.ear import Ear
from companion.speech.hearing.recorded import hear_samples
from companion.speech.network.whisper import Whisper
from companion.speech.recognisers import settings
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.sound.samples import RATE, Samples
from tests.benchmarks.hearing import data
from tests.benchmarks.hearing.noises import mixed

VOICES = {4: "four people", 1: "one voice, as a radio play"}
BELOW = (15.0, 10.0, 5.0)
PIECE = 30.0
"""Seconds of talk that are heard in one go."""


@dataclass(frozen=True)
class Scene:
    """A command over talk, or talk alone."""

    voices: int
    below: float = 0.0
    speaker: data.Speaker | None = None
    said: str = ""
    seed: int = 0


@cache
def recordings(fitting: bool) -> list[str]:
    """One half of the sentences."""
    names = sorted(path.name for path in data.ORDERS.glob("*.flac"))
    return [n for n in names if (hashlib.sha256(n.encode()).digest()[0] % 2 == 0) is fitting]


@cache
def _sentence(name: str) -> Samples:
    sound = data.read_any(data.ORDERS / name)
    loud = np.flatnonzero(np.abs(sound) > 0.05 * np.abs(sound).max())
    sound = sound[max(0, loud[0] - RATE // 10) : loud[-1] + RATE // 10]
    return sound / _loudness(sound)


def _loudness(sound: Samples) -> np.float32:
    powers = np.mean(sound[: len(sound) // 320 * 320].reshape(-1, 320) ** 2, axis=1)
    return np.float32(np.sqrt(np.mean(powers[powers > 0.01 * powers.max()])))


def talk(rng: np.random.Generator, seconds: float, voices: int, fitting: bool = False) -> Samples:
    """People who talk on, with pauses of up to 0.4 s; of root mean square 1."""
    count = round(seconds * RATE)
    whole = np.zeros(count, np.float32)
    for _ in range(voices):
        one = np.zeros(0, np.float32)
        while len(one) < count + 4 * RATE:
            pause = np.zeros(rng.integers(0, round(0.4 * RATE)), np.float32)
            one = np.concatenate([one, _sentence(rng.choice(recordings(fitting))), pause])
        start = rng.integers(0, 4 * RATE)
        whole += one[start : start + count]
    return whole / np.float32(np.sqrt(np.mean(whole**2)))


def sound(scene: Scene, fitting: bool = False) -> Samples:
    """What the microphone hears."""
    rng = np.random.default_rng(scene.seed)
    if scene.speaker is None:
        return np.float32(0.05) * talk(rng, PIECE, scene.voices, fitting)
    lead, tail = (0.8, 0.7) if scene.seed % 3 == 0 else (4.0, 1.5)
    said = data.say(scene.speaker, scene.said)
    whole = np.concatenate([np.zeros(round(lead * RATE)), said, np.zeros(round(tail * RATE))])
    together = mixed(
        whole.astype(np.float32), talk(rng, len(whole) / RATE, scene.voices, fitting), scene.below
    )
    return together * np.float32(min(1.0, 0.9 / np.abs(together).max()))


@cache
def _ear() -> Ear:
    return Ear(EmbeddedRecogniser(Whisper(adapt=False, threads=1), Whisper(threads=1)))


def listen(scene: Scene) -> tuple[list[str], list[str]]:
    """What was obeyed, and what was asked back."""
    ear = _ear()
    ear.expect(data.plain_step())
    found = [h.judgement for h in hear_samples(sound(scene), ear)]
    obeyed = [j.phrase.text for j in found if j.phrase and j.verdict is Verdict.ACCEPTED]
    return obeyed, [j.phrase.text for j in found if j.phrase and j.verdict is Verdict.UNSURE]


def kind(speaker: data.Speaker) -> str:
    return speaker.family if speaker.family == "espeak-ng" else f"{speaker.family} {speaker.voice}"


def main() -> None:
    """Print what was heard."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clips", type=int, default=100, help="commands for each distance")
    parser.add_argument("--minutes", type=float, default=30, help="of nothing but talk, of each kind")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument(
        "--whole", action="store_true", help="only whole utterances are judged, as before cuts were"
    )
    options = parser.parse_args()
    if not data.ORDERS.is_dir():
        parser.exit(message=f"There are no recordings of people in {data.ORDERS}: nothing is measured.\n")
    if options.whole:
        settings.CUT_DEPTHS = ()
    rng = np.random.default_rng(options.seed)
    pairs = [(s, t) for s in data.REPORTED for t in data.TWENTY]
    began = time.process_time()
    with ProcessPoolExecutor(options.workers) as pool:
        hear: Callable = map if options.workers == 1 else pool.map
        for voices, name in VOICES.items():
            for below in BELOW:
                chosen = [pairs[i] for i in rng.permutation(len(pairs))[: options.clips]]
                scenes = [Scene(voices, below, s, t, int(rng.integers(1 << 30))) for s, t in chosen]
                _show(f"{name}, {below:.0f} dB below", scenes, list(hear(listen, scenes)))
        for voices, name in VOICES.items():
            scenes = [
                Scene(voices, seed=int(rng.integers(1 << 30)))
                for _ in range(round(options.minutes * 60 / PIECE))
            ]
            taken = [text for obeyed, _ in hear(listen, scenes) for text in obeyed]
            minutes = len(scenes) * PIECE / 60
            if scenes:
                print(f"{name} alone, {minutes:.0f} min: {len(taken)} taken for commands {taken}", flush=True)
    print(f"{time.strftime('%Y-%m-%d')}; {time.process_time() - began:.0f} s of CPU in this process")


def _show(name: str, scenes: list[Scene], heard: list[tuple[list[str], list[str]]]) -> None:
    if not scenes:
        return
    right = [obeyed == [scene.said] for scene, (obeyed, _) in zip(scenes, heard, strict=True)]
    wrong = [(s.said, o) for s, (o, _) in zip(scenes, heard, strict=True) if any(t != s.said for t in o)]
    asked = sum(not o and s.said in u for s, (o, u) in zip(scenes, heard, strict=True))
    every, misses = Counter(), Counter()
    for scene, ok in zip(scenes, right, strict=True):
        every[kind(scene.speaker)] += 1
        misses[kind(scene.speaker)] += not ok
    parts = ", ".join(f"{k} {every[k] - misses[k]} of {every[k]}" for k in sorted(every))
    print(
        f"{name}: {sum(right)} of {len(right)} right, {asked} asked back, wrong {wrong}; {parts}", flush=True
    )


if __name__ == "__main__":
    main()
