"""Recordings through the ear: what `companion hear FILE...` prints, one mapping a recognised command."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from companion.speech.devices.microphone import cut_in_frames
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.utterance import Hearing
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.sound.recordings import read_clip
from companion.speech.sound.samples import FRAME_TIME, Samples, silence


def hear_samples(samples: Samples, ear: Ear) -> Iterator[Hearing]:
    """Every utterance of a recording, judged as it would be live."""
    ear.reset()
    for frame in cut_in_frames(samples):
        yield from ear.feed(frame)
    yield from ear.flush()


def hear_files(paths: Iterable[Path], ear: Ear) -> Iterator[dict[str, Any]]:
    """One mapping for each accepted command: file, start, end (seconds), phrase, command, arguments, score,
    latency_ms. The ear must expect something already. A file starts a new stream.

    Raises:
        SoundError: a file that cannot be used; those before it have been given.
    """
    for path in paths:
        for hearing in hear_samples(read_clip(path).samples, ear):
            if hearing.judgement.verdict is Verdict.ACCEPTED:
                yield as_mapping(path, hearing)


def as_mapping(path: Path, hearing: Hearing) -> dict[str, Any]:
    """A hearing as plain data."""
    judgement = hearing.judgement
    phrase = judgement.phrase
    return {
        "file": str(path),
        "start": round(hearing.start.total_seconds(), 3),
        "end": round(hearing.end.total_seconds(), 3),
        "phrase": phrase.text if phrase else "",
        "command": str(phrase.command) if phrase else "",
        "arguments": phrase.arguments if phrase else {},
        "score": round(judgement.score, 3),
        "latency_ms": round(hearing.latency.total_seconds() * 1000),
    }


def settle(ear: Ear) -> None:
    """Feed a moment of silence, so that models are loaded before the first word."""
    for _ in range(3):
        ear.feed(silence(FRAME_TIME))
    ear.reset()
