"""Everything that has happened in a job, in the past tense. Events are the only truth.

A log line is the record's envelope (schema, seq, at, mono) with the event's fields beside it.
Fields ending in `_s` are seconds.
"""

from datetime import datetime, timedelta
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from companion.job.schema import SCHEMA


class Event(BaseModel):
    """The root of all events."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class JobOpened(Event):
    event: Literal["job_opened"] = "job_opened"
    job: str
    """Also the name of the log file."""
    title: str
    """Of the procedure."""
    revision: str
    procedure_sha256: str
    """Of the procedure file; its bytes are kept in `procedures/` beside the log."""
    vehicle: str = ""
    mechanic: str = ""
    ambient_c: float | None = None
    """Workshop temperature, °C, when told; a cold shop lengthens cures."""
    humidity: float | None = None
    """Relative humidity in the workshop, %, when told; dry air lengthens cures by moisture."""


class SessionStarted(Event):
    """The companion was started on the job (also the first time)."""

    event: Literal["session_started"] = "session_started"
    boot: str
    away_s: float = 0.0
    """Since the last event, when this is not the first session."""
    alone_every_s: float | None = None
    """The check-in interval; None when nobody asked for check-ins."""
    alone_under_vehicle_s: float | None = None


class SessionEnded(Event):
    event: Literal["session_ended"] = "session_ended"


class HeardCommand(Event):
    event: Literal["heard"] = "heard"
    command: str
    arguments: dict[str, str] = {}
    text: str = ""
    source: str = "voice"
    score: float = 1.0
    clip: str | None = None


class Misheard(Event):
    """Speech that was not acted on: unsure (asked back) or not understood."""

    event: Literal["misheard"] = "misheard"
    text: str
    guess: str | None = None
    score: float = 0.0


class Said(Event):
    event: Literal["said"] = "said"
    text: str
    priority: int = 0


class SayingLost(Event):
    """A saying could not be played."""

    event: Literal["saying_lost"] = "saying_lost"
    text: str
    reason: str


class Refused(Event):
    """A command that the state of the job does not allow."""

    event: Literal["refused"] = "refused"
    command: str
    reason: str


class Asked(Event):
    """The companion asked something; the next answer belongs to it."""

    event: Literal["asked"] = "asked"
    question: str
    """What kind of answer is awaited; a value of `state.Question`."""
    about: dict[str, str] = {}
    text: str = ""
    """As asked aloud."""


class Answered(Event):
    """The open question is settled (or dropped)."""

    event: Literal["answered"] = "answered"
    answer: str


class PartChecked(Event):
    event: Literal["part_checked"] = "part_checked"
    part: str
    on_bench: bool


class StepBegun(Event):
    """A step became the current one and was read out."""

    event: Literal["step_begun"] = "step_begun"
    step: str
    act: str
    book_s: float
    work: str
    """A digest of what is done (act, fasteners, items, seals): the same while only the words change."""


class StepDone(Event):
    event: Literal["step_done"] = "step_done"
    step: str
    state: str | None = None
    """The spoken state that confirmed it."""


class StepSkipped(Event):
    event: Literal["step_skipped"] = "step_skipped"
    step: str
    reason: str


class StepNotNeeded(Event):
    """An optional step that was declined, or one that depends on it."""

    event: Literal["step_not_needed"] = "step_not_needed"
    step: str


class StepWanted(Event):
    """An optional step that was accepted."""

    event: Literal["step_wanted"] = "step_wanted"
    step: str


class StepUndone(Event):
    """A step done, skipped or declined earlier is to be done again; all that it settled is open again."""

    event: Literal["step_undone"] = "step_undone"
    step: str


class StageDone(Event):
    """One tightening stage of the current step."""

    event: Literal["stage_done"] = "stage_done"
    step: str
    stage: int
    """From 1."""


class LookedBack(Event):
    """An earlier step is looked at again; None returns to the current one."""

    event: Literal["looked_back"] = "looked_back"
    step: str | None


class Counted(Event):
    event: Literal["counted"] = "counted"
    step: str
    number: int


class ReadingTaken(Event):
    event: Literal["reading_taken"] = "reading_taken"
    step: str
    value: float
    unit: str
    within: bool


class ReadingDropped(Event):
    """The reading of the current step was taken back."""

    event: Literal["reading_dropped"] = "reading_dropped"
    step: str


class SealJudged(Event):
    """The verdict on a seal that may be used again."""

    event: Literal["seal_judged"] = "seal_judged"
    seal: str
    good: bool


class SealRenewed(Event):
    event: Literal["seal_renewed"] = "seal_renewed"
    seal: str


class SealTakenBack(Event):
    """The last word on a seal, renewed or good, was taken back."""

    event: Literal["seal_taken_back"] = "seal_taken_back"
    seal: str


class ProofLost(Event):
    """An interruption could have re-energised this source: it must be proved dead again."""

    event: Literal["proof_lost"] = "proof_lost"
    energy: str
    because: str


class EnergyProved(Event):
    """Proved dead: by a reading, or by a spoken state."""

    event: Literal["energy_proved"] = "energy_proved"
    energy: str
    by: str


class NoteTaken(Event):
    event: Literal["note_taken"] = "note_taken"
    note: int
    """From 1 in each job."""
    step: str | None
    text: str
    clip: str | None = None


class NoteDropped(Event):
    event: Literal["note_dropped"] = "note_dropped"
    note: int


class JobHeld(Event):
    event: Literal["job_held"] = "job_held"
    because: str = ""
    """In the mechanic's words, or "waiting for" and a part; empty when no reason was given."""


class JobCarriedOn(Event):
    event: Literal["job_carried_on"] = "job_carried_on"


class WorkStopped(Event):
    """The emergency "stop work"."""

    event: Literal["work_stopped"] = "work_stopped"


class DeadlineSet(Event):
    """Something will be due."""

    event: Literal["deadline_set"] = "deadline_set"
    deadline: str
    kind: str
    """A value of `reminders.deadlines.Kind`."""
    what: str
    due: datetime
    priority: int
    about: str = ""
    """The step, energy source, consumable or part concerned."""
    desk: bool = False
    """Written by the command line: nobody was at the car."""


class DeadlineAnnounced(Event):
    event: Literal["deadline_announced"] = "deadline_announced"
    deadline: str
    late_s: float = 0.0
    times: int = 1
    """1 the first time; more for the repeats of an urgent one."""


class DeadlineSettled(Event):
    """Acknowledged or cancelled. A routine one is settled by being announced, unless it is a part that must
    still come; a step that is undone takes the waits it started with it.
    """

    event: Literal["deadline_settled"] = "deadline_settled"
    deadline: str
    how: str
    """"acknowledged", "cancelled", "arrived" of a part, or "done" of a follow-up."""
    desk: bool = False
    """Written by the command line: nobody was at the car."""


class ClockMoved(Event):
    """The wall clock was set, forward when positive: every deadline moves with it and keeps its length."""

    event: Literal["clock_moved"] = "clock_moved"
    by_s: float
    unsure: bool = False
    """The machine was off meanwhile, nobody knows for how long: what skins over may have done so."""


class CheckInEscalated(Event):
    """No answer from someone working alone."""

    event: Literal["check_in_escalated"] = "check_in_escalated"
    stage: int


class MicrophoneChanged(Event):
    event: Literal["microphone_changed"] = "microphone_changed"
    present: bool
    reason: str = ""


class HearingFailed(Event):
    """Nothing is heard any more, for another reason than the microphone."""

    event: Literal["hearing_failed"] = "hearing_failed"
    reason: str


class AlarmCommandRun(Event):
    """The user's own command of the check-in alarm."""

    event: Literal["alarm_command"] = "alarm_command"
    stage: int
    outcome: str
    """"started", then "done", "failed", "timed out" or "could not start"."""
    status: int | None = None
    """Its exit status, when it ended by itself; negative when a signal ended it."""
    line: str = ""
    """As shown."""


class JobClosed(Event):
    event: Literal["job_closed"] = "job_closed"


AnyEvent = Annotated[
    JobOpened
    | SessionStarted
    | SessionEnded
    | HeardCommand
    | Misheard
    | Said
    | SayingLost
    | Refused
    | Asked
    | Answered
    | PartChecked
    | StepBegun
    | StepDone
    | StepSkipped
    | StepNotNeeded
    | StepWanted
    | StepUndone
    | StageDone
    | LookedBack
    | Counted
    | ReadingTaken
    | ReadingDropped
    | SealJudged
    | SealRenewed
    | SealTakenBack
    | ProofLost
    | EnergyProved
    | NoteTaken
    | NoteDropped
    | JobHeld
    | JobCarriedOn
    | WorkStopped
    | DeadlineSet
    | DeadlineAnnounced
    | DeadlineSettled
    | ClockMoved
    | CheckInEscalated
    | MicrophoneChanged
    | HearingFailed
    | AlarmCommandRun
    | JobClosed,
    Field(discriminator="event"),
]
_adapter: TypeAdapter[Any] = TypeAdapter(AnyEvent)


class Record(BaseModel):
    """An event with its place in the log."""

    model_config = ConfigDict(frozen=True)

    seq: int
    """From 1, without gaps."""
    at: datetime
    """UTC."""
    mono: timedelta
    """The monotonic clock at that moment."""
    event: Annotated[Any, Field()]

    def line(self) -> dict[str, Any]:
        """The log line as plain data."""
        return {
            "schema": SCHEMA,
            "seq": self.seq,
            "at": self.at.isoformat().replace("+00:00", "Z"),
            "mono": round(self.mono.total_seconds(), 6),
            **self.event.model_dump(mode="json"),
        }

    @classmethod
    def from_line(cls, data: dict[str, Any]) -> "Record":
        """The record of a log line (ValueError when it is not one)."""
        fields = dict(data)
        schema = fields.pop("schema", None)
        if schema != SCHEMA:
            raise ValueError(f"schema {schema!r} is not {SCHEMA}")
        return cls(
            seq=fields.pop("seq"),
            at=fields.pop("at"),
            mono=timedelta(seconds=fields.pop("mono")),
            event=_adapter.validate_python(fields),
        )
