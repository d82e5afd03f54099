"""Jobs that are really worked, with all that is logged of them."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from companion.job import messages as msg
from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.papers.handover import Handover, handover
from companion.papers.record_of_work import RecordOfWork, record_of_work
from companion.procedure.read import read_procedure
from companion.rehearsal.obliging import next_answer
from tests.helpers.said import heard

PROCEDURES = Path(__file__).parents[2] / "procedures"


class Job:
    """A job worked by an obliging mechanic."""

    def __init__(self, name: str, vehicle: str = "Tern, grey") -> None:
        self.state = State(read_procedure(PROCEDURES / f"{name}.yaml"))
        self.now = Instant(datetime(2031, 3, 4, 8, tzinfo=UTC), timedelta(hours=1))
        self.records: list[ev.Record] = []
        particulars = ev.JobOpened(job=f"{name}-1", title=self.state.procedure.title, revision="1",
                                   procedure_sha256="0", vehicle=vehicle, mechanic="Ida")  # fmt: skip
        self.post(msg.Opened("boot", particulars))

    def post(self, message: msg.Message) -> None:
        decision = decide(self.state, message, self.now)
        for event in decision.events:
            seq = len(self.records) + 1
            self.records.append(ev.Record(seq=seq, at=self.now.wall, mono=self.now.mono, event=event))
        self.state = decision.state

    def until(self, step: str | None) -> "Job":
        """As far as this step; to the end for None."""
        while not self.state.closed and (step is None or self.state.current != step or self.state.question):
            self.turn()
        return self

    def turn(self) -> None:
        """One answer of an obliging mechanic."""
        answer = next_answer(self.state, self.now.wall)
        if isinstance(answer, timedelta):
            self.now = Instant(self.now.wall + answer, self.now.mono + answer)
            self.post(msg.Woken())
        else:
            self.post(answer)

    def says(self, command: Command, **arguments: str) -> None:
        self.post(heard(command, arguments))

    def passes(self, **length: float) -> None:
        """Time passes, and the companion is woken."""
        gone = timedelta(**length)
        self.now = Instant(self.now.wall + gone, self.now.mono + gone)
        self.post(msg.Woken())

    def record(self) -> RecordOfWork:
        return record_of_work(self.state, self.records, lambda at: f"{at:%d.%m. %H:%M}")

    def page(self) -> Handover:
        return handover(self.state, self.records, self.now.wall, lambda at: f"{at:%d.%m. %H:%M}")
