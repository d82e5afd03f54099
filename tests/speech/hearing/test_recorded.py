"""Recordings through the ear."""

from pathlib import Path

import numpy as np
import soxr

from companion.job.facts.commands import Command
from companion.speech.devices import microphone as mic
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.recorded import hear_files
from companion.speech.language.phrases import phrases_for
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.sound.samples import RATE
from tests.helpers.sounds import write_wav


def test_what_a_bluetooth_headset_gives_is_understood(embedded: EmbeddedRecogniser, talker) -> None:
    """Eight thousand samples a second: nothing above 4 kHz, no hiss of an s."""
    said = soxr.resample(talker.stream(0.6, "go back", 0.9, "what size", 0.9), RATE, 8_000)
    ear = Ear(embedded)
    ear.expect(phrases_for((Command.DONE, Command.GO_BACK, Command.REPEAT, Command.WHAT_SIZE)))
    frames = mic.in_frames(iter(np.array_split(said.astype(np.float32), 40)), 8_000)
    heard = [hearing for frame in frames for hearing in ear.feed(frame)] + ear.flush()
    assert [h.judgement.phrase.text for h in heard if h.judgement.verdict is Verdict.ACCEPTED] == [
        "go back",
        "what size",
    ]


def test_many_files_in_one_run(tmp_path: Path, embedded: EmbeddedRecogniser, talker) -> None:
    one = write_wav(tmp_path / "one.wav", talker.stream(0.6, "go back", 0.8, "repeat", 0.6))
    two = write_wav(tmp_path / "two.wav", talker.stream(0.6, "done", 0.6), channels=2)
    ear = Ear(embedded)
    ear.expect(phrases_for((Command.DONE, Command.GO_BACK, Command.REPEAT)))
    lines = list(hear_files([one, two], ear))
    assert [(Path(x["file"]).name, x["command"]) for x in lines] == [
        ("one.wav", "go back"),
        ("one.wav", "repeat"),
        ("two.wav", "done"),
    ]
    assert set(lines[0]) == {"file", "start", "end", "phrase", "command", "arguments", "score", "latency_ms"}
    assert 0 < lines[0]["start"] < lines[0]["end"] < lines[1]["start"]
