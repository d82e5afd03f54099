"""A job worked without sound, with a real log file on a staged clock."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.rehearsal.obliging import next_answer
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.work.edges.clock import StagedClock
from companion.work.edges.wake import StagedWaker
from companion.work.opening import OpenJob, Particulars, new_job, resume_job
from companion.work.session import Edges, Session
from companion.work.views.plain_view import PlainLines
from companion.work.views.view import View
from tests.helpers.logs import events

PROCEDURES = Path(__file__).parents[2] / "procedures"


@dataclass
class Bench:
    """One session at a time on a log in a folder; nothing is heard, everything is logged."""

    logs: Path
    clock: StagedClock
    job: OpenJob | None = None
    session: Session | None = None
    mouth: Mouth | None = None

    def begin(self, procedure: str = "front-brakes") -> list[ev.Event]:
        path = PROCEDURES / f"{procedure}.yaml"
        return self._open(new_job(path, self.logs, Particulars("Hathersen Plover", "Ana"), self.clock))

    def resume(self) -> list[ev.Event]:
        return self._open(resume_job(self.log.stem, self.logs, self.clock))

    def _open(self, job: OpenJob) -> list[ev.Event]:
        self.job = job
        self.mouth = Mouth(SilentVoice())
        edges = Edges(job.logbook, self.clock, self.mouth, StagedWaker(), PlainLines())
        self.session = Session(job.state, edges)
        return list(self.session.handle(msg.Opened(self.clock.boot(), job.particulars)))

    def shown_on(self, view: View, mouth: Mouth) -> Session:
        """The same job, with another view."""
        assert self.job
        assert self.session
        edges = Edges(self.job.logbook, self.clock, mouth, StagedWaker(), view)
        self.session = Session(self.session.state, edges)
        return self.session

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

    def logged(self) -> list[dict[str, Any]]:
        """What is in the log now."""
        return events(self.logs.parent)

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
