"""What the log of a job tells, in the order it happened, as rows for the record of work. Pure."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from companion.job.facts import events as ev
from companion.job.facts.deadlines import Deadline, Kind
from companion.job.facts.events import Record
from companion.job.facts.folding import REACHED
from companion.job.facts.sayings import Priority
from companion.job.facts.state import State
from companion.job.rules.wants import limits, measure_of, proof_measure
from companion.job.turns.reminders import ALARM_STAGE
from companion.job.words.sentences import sentence
from companion.procedure.energy_words import energy_words
from companion.procedure.model import Measure
from companion.procedure.nouns import several

Shown = Callable[[datetime], str]
Row = tuple[str, ...]
OVER = "over"
_UNTOLD = (Kind.FOLLOW_UP, Kind.SKIN_OVER_WARNING)
STILL_HELD = "still held"
TAKEN_BACK = "taken back"


@dataclass
class Wait:
    """Something that ran."""

    what: str
    since: str
    to: str
    """When it was due, or when it ended before."""
    how: str = "still running"

    def row(self) -> Row:
        """As in the record."""
        return self.what, self.since, self.to, self.how


@dataclass
class Happened:
    """Rows of the record, each with when and, where somebody did it, by whom."""

    measured: list[Row] = field(default_factory=list)
    renewed: dict[str, Row] = field(default_factory=dict)
    """By seal, or step and fasteners; what was taken back is not there."""
    noted: dict[int, Row] = field(default_factory=dict)
    """By number; what was scratched is not there."""
    isolated: list[Row] = field(default_factory=list)
    waited: list[Wait] = field(default_factory=list)
    held: list[Wait] = field(default_factory=list)
    by: dict[str, str] = field(default_factory=dict)
    """Who settled each step."""
    people: list[str] = field(default_factory=list)
    closed: datetime | None = None


def happened(state: State, records: Sequence[Record], shown: Shown) -> Happened:
    """Read the log of a job; `state` is where it stands at its end."""
    reader = _Reader(state, shown)
    for record in records:
        reader.see(record)
    return reader.told()


class _Reader:
    """Goes through the log once."""

    def __init__(self, state: State, shown: Shown) -> None:
        self._state = state
        self._procedure = state.procedure
        self._shown = shown
        self._log = Happened()
        self._who = ""
        self._when = ""
        self._waits: dict[str, Wait] = {}
        """Those that run, by deadline."""
        self._readings: dict[str, list[int]] = {}
        """Where the rows of the readings of each step stand that have not been taken back."""

    def told(self) -> Happened:
        for seal in [s for s in self._log.renewed if s in self._procedure.seals]:
            if seal not in self._state.mended_seals:
                del self._log.renewed[seal]
        for deadline in self._waits.keys() - self._state.deadlines.keys():
            self._waits[deadline].how = "not needed any more"
        return self._log

    def see(self, record: Record) -> None:
        self._when = self._shown(record.at)
        match record.event:
            case ev.JobOpened() | ev.SessionStarted() as event:
                self._person(event.mechanic)
            case ev.StepDone() as event:
                self._done(event)
            case ev.StepSkipped() | ev.StepNotNeeded() as event:
                self._log.by[event.step] = self._who
            case ev.StepUndone() as event:
                self._undone(event.step)
            case ev.ReadingTaken() as event:
                self._measured(event)
            case ev.ReadingDropped() as event:
                self._take_back_readings(event.step)
            case ev.SealRenewed() as event:
                self._renewed(event.seal, self._procedure.seals[event.seal].name, "new one fitted")
            case ev.SealJudged() as event if event.good:
                self._renewed(event.seal, self._procedure.seals[event.seal].name, "inspected, fit to use")
            case ev.SealJudged() | ev.SealTakenBack() as event:
                self._log.renewed.pop(event.seal, None)
            case ev.FastenersRenewed() as event:
                self._renewed(f"{event.step}/{event.fasteners}", self._many(event), "new ones fitted")
            case ev.FastenersTakenBack() as event:
                self._log.renewed.pop(f"{event.step}/{event.fasteners}", None)
            case ev.NoteTaken() as event:
                self._noted(event)
            case ev.NoteDropped() as event:
                self._log.noted.pop(event.note, None)
            case ev.JobClosed():
                self._log.closed = record.at
            case _:
                self._see_energy(record.event)
                self._see_waiting(record)

    def _see_energy(self, event: ev.Event) -> None:
        match event:
            case ev.EnergyProved():
                words = energy_words(self._procedure.energy[event.energy])
                allowed = _allowed(proof_measure(self._procedure, event.energy))
                self._energy(f"{words.proved}: {event.by}{allowed}")
            case ev.ProofFailed():
                words = energy_words(self._procedure.energy[event.energy])
                allowed = _allowed(proof_measure(self._procedure, event.energy))
                self._energy(f"{words.still}: {event.value:.12g} {event.unit}{allowed}")
            case ev.ProofLost():
                words = energy_words(self._procedure.energy[event.energy])
                self._energy(f"{words.unproved} any more: {event.because}")
            case _:
                pass

    def _see_waiting(self, record: Record) -> None:
        match record.event:
            case ev.DeadlineSet() as event if event.kind not in _UNTOLD:
                self._ends(event.deadline, "begun again")
                wait = Wait(sentence(_name(event)), self._when, self._shown(event.due))
                self._log.waited.append(wait)
                self._waits[event.deadline] = wait
            case ev.DeadlineAnnounced() as event:
                self._ends(event.deadline, OVER)
            case ev.DeadlineSettled() as event:
                self._ends(event.deadline, OVER if event.how == REACHED else event.how)
            case ev.JobHeld() as event:
                because = f": {event.because}" if event.because else ""
                self._log.held.append(Wait(sentence(f"held{because}"), self._when, STILL_HELD))
            case ev.WorkStopped():
                self._log.held.append(Wait("Work stopped.", self._when, STILL_HELD))
            case ev.JobCarriedOn():
                for held in self._log.held:
                    held.to = self._when if held.to == STILL_HELD else held.to
            case ev.CheckInEscalated() as event if event.stage == ALARM_STAGE:
                self._log.held.append(Wait("No answer to the check-in: alarm.", self._when, ""))
            case _:
                pass

    def _person(self, name: str) -> None:
        if name:
            self._who = name
            if name not in self._log.people:
                self._log.people.append(name)

    def _done(self, event: ev.StepDone) -> None:
        step = self._procedure.step(event.step)
        self._log.by[step.id] = self._who
        if step.isolates:
            words = energy_words(self._procedure.energy[step.isolates])
            self._energy(f"{words.isolated}{_words(event.state)}")
        if step.restores:
            words = energy_words(self._procedure.energy[step.restores])
            self._energy(f"{words.restored}{_words(event.state)}")

    def _undone(self, step_id: str) -> None:
        step = self._procedure.step(step_id)
        self._log.by.pop(step_id, None)
        self._take_back_readings(step_id)
        for what in [key for key in self._log.renewed if key.startswith(f"{step_id}/")]:
            del self._log.renewed[what]
        for energy in filter(None, (step.isolates, step.proves, step.restores)):
            number = self._procedure.number(step_id)
            self._energy(f"{self._procedure.energy[energy].name}: step {number} taken back")

    def _measured(self, event: ev.ReadingTaken) -> None:
        step = self._procedure.step(event.step)
        measure = measure_of(self._procedure, step)
        self._readings.setdefault(step.id, []).append(len(self._log.measured))
        self._log.measured.append(
            (
                f"{measure.what if measure else step.say} (step {self._procedure.number(step.id)})",
                f"{event.value:.12g} {event.unit}",
                limits(measure) if measure else "",
                "yes" if event.within else "no",
                self._when,
                self._who,
            )
        )

    def _take_back_readings(self, step: str) -> None:
        for at in self._readings.pop(step, []):
            what, value, allowed, within, when, by = self._log.measured[at]
            if within == "yes":
                self._log.measured[at] = (what, value, allowed, TAKEN_BACK, when, by)

    def _many(self, event: ev.FastenersRenewed) -> str:
        fasteners = self._procedure.step(event.step).fasteners
        count = sum(f.count for f in fasteners if f.what == event.fasteners)
        return f"{several(count, event.fasteners)} (step {self._procedure.number(event.step)})"

    def _renewed(self, key: str, what: str, how: str) -> None:
        self._log.renewed[key] = (sentence(what).rstrip("."), how, self._when, self._who)

    def _noted(self, event: ev.NoteTaken) -> None:
        where = f"step {self._procedure.number(event.step)}" if event.step else ""
        text = event.text or "not understood, listen to the sound"
        sound = f" [{event.clip}]" if event.clip else ""
        self._log.noted[event.note] = (f"{text}{sound}", where, self._when, self._who)

    def _energy(self, what: str) -> None:
        self._log.isolated.append((sentence(what), self._when, self._who))

    def _ends(self, deadline: str, how: str) -> None:
        """A wait that ran its time ends when it was due, any other now."""
        wait = self._waits.pop(deadline, None)
        if wait is not None:
            wait.how = how
            wait.to = wait.to if how == OVER else self._when


def _name(event: ev.DeadlineSet) -> str:
    """What it is as long as it runs; old logs do not tell it."""
    kind = Kind(event.kind)
    return Deadline(event.deadline, kind, event.what, event.due, Priority.ROUTINE, running=event.running).name


def _allowed(measure: Measure | None) -> str:
    return f", {limits(measure)}" if measure else ""


def _words(state: str | None) -> str:
    return f', said "{state}"' if state else ""
