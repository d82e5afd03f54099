"""A job worked without sound, with a real log file on a staged clock; and recordings for one with sound."""

import wave
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.rehearsal.obliging import next_answer
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.saying.voice import SilentVoice
from companion.speech.sound.samples import RATE
from companion.work.edges.clock import StagedClock
from companion.work.edges.wake import StagedWaker
from companion.work.opening import OpenJob, Particulars, new_job, resume_job
from companion.work.session import Session
from companion.work.views.lines import PlainLines

PROCEDURES = Path(__file__).parents[2] / "procedures"


@dataclass
class Bench:
    """One session at a time on a log in a folder; nothing is heard, everything is logged."""

    logs: Path
    clock: StagedClock
    job: OpenJob | None = None
    session: Session | None = None

    def begin(self, procedure: str = "front-brakes") -> list[ev.Event]:
        path = PROCEDURES / f"{procedure}.yaml"
        return self._open(new_job(path, self.logs, Particulars("Hathersen Plover", "Ana"), self.clock))

    def resume(self) -> list[ev.Event]:
        return self._open(resume_job(None, self.logs, self.clock))

    def _open(self, job: OpenJob) -> list[ev.Event]:
        self.job = job
        mouth = Mouth(SilentVoice())
        self.session = Session(
            job.state, job.logbook, job.logged, self.clock, mouth, StagedWaker(), PlainLines()
        )
        return list(self.session.handle(msg.Opened(self.clock.boot(), job.particulars)))

    def leave(self) -> None:
        assert self.job
        self.job.logbook.close()

    def obliges(self) -> list[ev.Event]:
        """One turn of the obliging mechanic."""
        assert self.session
        answer = next_answer(self.session.state)
        if isinstance(answer, timedelta):
            self.clock.advance(answer)
            return list(self.session.handle(msg.Woken()))
        self.clock.advance(timedelta(seconds=20))
        return list(self.session.handle(answer))

    def works_to_the_end(self) -> None:
        assert self.session
        for _ in range(1500):
            if self.session.state.closed:
                return
            self.obliges()
        raise AssertionError("the job does not come to an end")

    @property
    def log(self) -> Path:
        (path,) = self.logs.glob("*.jsonl")
        return path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path / "logs", StagedClock(datetime(2031, 3, 4, 8, tzinfo=UTC)))
    yield made
    if made.job:
        made.job.logbook.close()


@pytest.fixture(scope="session")
def spoken() -> Callable[..., Path]:
    """Writes recordings."""

    def write(path: Path, said: dict[float, str], voice: str = "gmw/en-us") -> Path:
        """A recording with something said at some seconds, in a quiet room."""
        sound = np.zeros(round((max(said) + 3) * RATE), np.float32)
        talker = Pyttsx3Voice(voice=voice)
        for at, text in said.items():
            samples = 0.5 * talker.render(text).samples
            sound[round(at * RATE) :][: len(samples)] += samples
        talker.close()
        hiss = np.random.default_rng(1).standard_normal(len(sound)).astype(np.float32)
        sound += np.float32(0.0003) * hiss
        with wave.open(str(path), "wb") as file:
            file.setparams((1, 2, RATE, 0, "NONE", ""))
            file.writeframes((sound * 32767).astype("<i2").tobytes())
        return path

    return write
