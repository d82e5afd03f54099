"""A small invented job, and a mechanic who talks to the core directly."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import pytest

from companion.job import messages as msg
from companion.job.decide import decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant
from companion.job.facts.sayings import Saying
from companion.job.facts.state import State
from companion.procedure.model import Procedure
from companion.rehearsal.obliging import next_answer
from tests.helpers.said import heard

START = datetime(2031, 3, 4, 8, 0, tzinfo=UTC)

SMALL = {
    "title": "Small sump job",
    "revision": "1",
    "applies_to": ["the invented Marlow Tern"],
    "source_of_torques": "Invented for the tests.",
    "parts": {"gasket": {"name": "sump gasket", "single_use": True}},
    "consumables": {
        "sealant": {
            "name": "flange sealant",
            "product_class": "one-part silicone",
            "clock_starts": "assembly",
            "skin_over": "10 min",
            "full_cure": "2 h",
            "reference_temperature": 23,
            "reference_humidity": 50,
            "reference_depth": 2,
        }
    },
    "energy": {
        "battery": {
            "name": "battery",
            "source": "battery",
            "wait": "3 min",
            "prove": {"what": "across the leads", "unit": "V", "at_most": 0.5},
        }
    },
    "items": {
        "sensor": {"name": "the oil level connector", "kind": "connector", "where": "left of the sump"},
        "sump": {"name": "the sump joint", "kind": "joint"},
        "oil": {"name": "the engine oil", "kind": "fluid"},
    },
    "seals": {"sump-gasket": {"name": "sump gasket", "use": "single", "part": "gasket", "joint": "sump"},
              "cap-ring": {"name": "filler cap ring", "use": "inspect"}},
    "steps": [
        {"id": "battery-off", "act": "isolate", "say": "Take the battery earth lead off.", "book": "4 min",
         "isolates": "battery", "state": "battery disconnected"},
        {"id": "battery-dead", "act": "verify", "say": "Measure across the leads.", "book": "1 min",
         "proves": "battery", "measure": {"what": "across the leads", "unit": "V", "at_most": 0.5}},
        {"id": "drain", "act": "drain", "say": "Drain the oil.", "book": "10 min", "opens": ["oil"],
         "disturbs": ["cap-ring"],
         "hazards": [{"signal": "WARNING", "hazard": "Hot oil burns.", "avoid": "Let it cool."}],
         "state": "oil drained"},
        {"id": "unplug", "act": "disconnect", "say": "Unplug the oil level sensor.", "book": "1 min",
         "opens": ["sensor"], "needs_isolated": ["battery"]},
        {"id": "sump-off", "act": "remove", "say": "Take the sump off.", "book": "15 min", "opens": ["sump"],
         "disturbs": ["sump-gasket"], "count": 3, "each": "bolt",
         "fasteners": [{"what": "sump bolt", "thread": "M6", "hex": 10, "count": 3}]},
        {"id": "clean", "act": "clean", "say": "Clean both faces.", "book": "10 min"},
        {"id": "new-gasket", "act": "fit", "say": "Lay the new gasket.", "book": "2 min",
         "renews": ["sump-gasket"]},
        {"id": "seal", "act": "apply", "say": "Run a bead of sealant.", "book": "5 min",
         "applies": {"consumable": "sealant"}},
        {"id": "sump-on", "act": "fit", "say": "Fit the sump.", "book": "10 min", "closes": ["sump"],
         "assembles": "seal",
         "fasteners": [{"what": "sump bolt", "thread": "M6", "hex": 10, "count": 3,
                        "stages": ["5 N·m", "10 N·m"]}]},
        {"id": "plug", "act": "connect", "say": "Plug the oil level sensor in.", "book": "1 min",
         "closes": ["sensor"]},
        {"id": "tidy", "act": "inspect", "say": "Look over the wheel arch liner.", "book": "5 min",
         "optional": "While it is off: look over the liner?", "after": ["plug"]},
        {"id": "ring", "act": "inspect", "say": "Look at the filler cap ring.", "book": "1 min",
         "renews": ["cap-ring"], "after": ["plug"]},
        {"id": "refill", "act": "fill", "say": "Fill with oil.", "book": "6 min", "closes": ["oil"],
         "waits_for": ["sump-on"], "after": ["plug", "ring"]},
        {"id": "battery-on", "act": "restore", "say": "Put the earth lead on.", "book": "3 min",
         "restores": "battery", "state": "battery connected", "after": ["refill", "tidy"]},
    ],
    "follow_ups": [{"what": "Check the sump for leaks", "after": "7 days", "distance_km": 100}],
}  # fmt: skip


@dataclass
class Mechanic:
    """Says things to the job and remembers what came back. Time passes only when told."""

    procedure: Procedure
    state: State = field(init=False)
    now: Instant = field(default_factory=lambda: Instant(START, timedelta(hours=1)))
    events: list[tuple[ev.Event, Instant]] = field(default_factory=list)
    sayings: list[Saying] = field(default_factory=list)
    ambient_c: float | None = None
    humidity: float | None = None

    def __post_init__(self) -> None:
        self.state = State(self.procedure)

    def post(self, message: msg.Message) -> list[str]:
        """Hand a message to the job; what was said in answer. A tone without words is only in `sayings`."""
        decision = decide(self.state, message, self.now)
        self.state = decision.state
        self.events += [(event, self.now) for event in decision.events]
        self.sayings += decision.sayings
        return [s.text for s in decision.sayings if s.text]

    def opens(self, boot: str = "boot-1", **settings: timedelta) -> list[str]:
        particulars = ev.JobOpened(
            ambient_c=self.ambient_c,
            humidity=self.humidity,
            job="job-1",
            title=self.procedure.title,
            revision="1",
            procedure_sha256="0" * 64,
        )
        return self.post(msg.Opened(boot, particulars, **settings))

    def says(self, command: Command, **arguments: str) -> list[str]:
        return self.post(heard(command, arguments))

    def state_is(self, words: str) -> list[str]:
        return self.says(Command.STATE, state=words)

    def reads(self, value: str, unit: str = "V") -> list[str]:
        self.says(Command.READING, value=value, unit=unit)
        return self.says(Command.YES)

    def passes(self, **length: float) -> None:
        """Time passes, and nobody is woken."""
        gone = timedelta(**length)
        self.now = Instant(self.now.wall + gone, self.now.mono + gone)

    def set_clock(self, **by: float) -> None:
        """Somebody sets the wall clock."""
        self.now = Instant(self.now.wall + timedelta(**by), self.now.mono)

    def waits(self, **length: float) -> list[str]:
        """Time passes, and the companion is woken."""
        self.passes(**length)
        return self.post(msg.Woken())

    def obliges(self) -> list[str]:
        """Do what is wanted now, or let the time pass that must."""
        answer = next_answer(self.state, self.now.wall)
        if isinstance(answer, timedelta):
            return self.waits(seconds=answer.total_seconds())
        return self.post(answer)

    def works_to_its_end(self, most: int = 400) -> None:
        """Do what is asked until the job is closed, in so many turns."""
        self.opens()
        for _ in range(most):
            if self.state.closed:
                return
            self.obliges()
        assert self.state.closed

    def happened(self, kind: type[ev.Event]) -> list[ev.Event]:
        return [event for event, _ in self.events if isinstance(event, kind)]

    def isolates_the_battery(self) -> None:
        self.opens()
        self.says(Command.YES)
        self.state_is("battery disconnected")
        self.waits(minutes=3)
        self.reads("0.1")

    def takes_the_sump_off(self) -> None:
        self.isolates_the_battery()
        self.state_is("oil drained")
        self.says(Command.DONE)
        for number in "123":
            self.says(Command.COUNT, number=number)

    def puts_the_sump_on(self) -> None:
        self.says(Command.DONE)
        self.state_is("new seal fitted")
        self.says(Command.DONE)
        self.says(Command.DONE)
        self.says(Command.DONE)


@pytest.fixture
def procedure() -> Procedure:
    return Procedure.from_data(SMALL)


@pytest.fixture
def mechanic(procedure: Procedure) -> Mechanic:
    return Mechanic(procedure)


@pytest.fixture
def mechanic_for() -> Callable[[Procedure], Mechanic]:
    return Mechanic


@pytest.fixture
def new_mechanic(procedure: Procedure) -> Callable[[], Mechanic]:
    return lambda: Mechanic(procedure)
