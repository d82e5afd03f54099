"""Recordings heard from the command line and the same sound at the live loop: the same answers."""

from pathlib import Path

import numpy as np
import pytest

from companion.job import messages as msg
from companion.job.rules.expected import Expecting
from companion.logbook.logbook import FileLogbook
from companion.procedure.read import read_procedure
from companion.speech.devices.echo_free import EchoFree
from companion.speech.devices.microphone import FileMicrophone
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.recorded import hear_files
from companion.speech.language.phrases import phrases_for
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.speech.sound.echo import best_canceller
from companion.speech.sound.played import Played
from companion.speech.sound.samples import RATE
from companion.work.inbox import Inbox
from companion.work.live import Microphoning
from companion.work.sound.listening import Listener, trade_words
from tests.helpers.sounds import Talker, hiss, write_wav
from tests.helpers.waiting import PATIENCE

PROCEDURE = Path(__file__).parents[2] / "procedures" / "front-brakes.yaml"
SAID = (
    "go back",
    "what torque",
    "I will go back home at six",
    "note the bracket is cracked",
    "stop work",
    "done",
)


@pytest.fixture(scope="module")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Two, with three things said in each, in hiss of two levels."""
    folder = tmp_path_factory.mktemp("same")
    talker, paths = Talker(), []
    for number, level in enumerate((3e-4, 1e-2)):
        sound = talker.stream(1.0, *(part for text in SAID[number::2] for part in (text, 1.8)))
        sound += np.float32(level) * hiss(len(sound) / RATE)
        paths.append(write_wav(folder / f"{number}.wav", sound))
    talker.close()
    return paths


def test_files_are_heard_as_they_would_be_live(recordings, tmp_path):
    recogniser = EmbeddedRecogniser()
    can = Expecting(tuple(dict.fromkeys(c for t in SAID for c in _commands(t))))
    ear = Ear(recogniser)
    ear.expect(phrases_for(can.commands), bias=trade_words(read_procedure(PROCEDURE)))
    from_files = [(f["command"], f["arguments"], f["score"]) for f in hear_files(recordings, ear)]
    live = [found for path in recordings for found in _live(path, can, recogniser, tmp_path / path.stem)]
    assert live == from_files
    assert {"go back", "stop work"} <= {command for command, _, _ in live}


def _live(path: Path, can: Expecting, recogniser: EmbeddedRecogniser, logs: Path) -> list[tuple]:
    """What the thread that listens posts, with the microphone as the live loop wires it."""
    logbook = FileLogbook.create(logs, "2031-03-04-job-1")
    mouth, played, inbox = Mouth(SilentVoice()), Played(), Inbox()
    listener = Listener(Ear(recogniser), mouth, logbook, read_procedure(PROCEDURE))
    listener.expect(can)
    microphoning = Microphoning(
        lambda: EchoFree(FileMicrophone(path), played, best_canceller()), lambda: listener, inbox
    )
    microphoning.start()
    found = []
    while not isinstance(message := inbox.take(PATIENCE), msg.MicrophoneLost):
        assert message is not None
        if isinstance(message, msg.Heard):
            found.append((str(message.command), dict(message.arguments), round(message.score, 3)))
    microphoning.close()
    logbook.close()
    return found


def _commands(text: str):
    from companion.speech.language.phrases import language

    spoken = language()
    return [c for c, texts in spoken.commands.items() if text in texts] or list(spoken.carriers)
