"""Everything that has happened in a job, in the past tense. Events are the only truth.

A log line is the record's envelope (schema, seq, at, mono) with the event's fields beside it.
Fields ending in `_s` are seconds.

Every first part of a log must be safe to go on from, since the program may be killed between any two events.
So events that belong together are one event, and what must not be lost is logged before what it protects. A
reminder announced just before a kill is told again at the next start. A wait counts only when it is known to
have run.

A log of an older program must still fold: add fields only with defaults, and raise `SCHEMA` for anything
else.
"""

from companion.job.facts.events.deadlines import (
    CheckInEscalated,
    ClockMoved,
    DeadlineAnnounced,
    DeadlineSet,
    DeadlineSettled,
)
from companion.job.facts.events.edges import (
    AlarmCommandRun,
    HearingFailed,
    LogFailed,
    LogMended,
    MicrophoneChanged,
)
from companion.job.facts.events.event import Event
from companion.job.facts.events.ledger import (
    EnergyProved,
    FastenersRenewed,
    FastenersTakenBack,
    ItemLeftOut,
    LeftOutTakenBack,
    ProofFailed,
    ProofLost,
    SealJudged,
    SealRenewed,
    SealTakenBack,
)
from companion.job.facts.events.record import AnyEvent, Record
from companion.job.facts.events.session import (
    JobCarriedOn,
    JobClosed,
    JobHeld,
    JobOpened,
    QuoteKept,
    SessionEnded,
    SessionStarted,
    WorkStopped,
)
from companion.job.facts.events.steps import (
    Counted,
    CountTakenBack,
    PartChecked,
    ReadingDropped,
    ReadingTaken,
    StageDone,
    StageTakenBack,
    StepBegun,
    StepDone,
    StepNotNeeded,
    StepSkipped,
    StepUndone,
    StepWanted,
)
from companion.job.facts.events.talk import (
    Answered,
    Asked,
    HeardCommand,
    LookedBack,
    LookEnded,
    Misheard,
    NoteDropped,
    NoteTaken,
    Refused,
    Said,
    SayingLost,
)

__all__ = [
    "AlarmCommandRun",
    "Answered",
    "AnyEvent",
    "Asked",
    "CheckInEscalated",
    "ClockMoved",
    "CountTakenBack",
    "Counted",
    "DeadlineAnnounced",
    "DeadlineSet",
    "DeadlineSettled",
    "EnergyProved",
    "Event",
    "FastenersRenewed",
    "FastenersTakenBack",
    "HeardCommand",
    "HearingFailed",
    "ItemLeftOut",
    "JobCarriedOn",
    "JobClosed",
    "JobHeld",
    "JobOpened",
    "LeftOutTakenBack",
    "LogFailed",
    "LogMended",
    "LookEnded",
    "LookedBack",
    "MicrophoneChanged",
    "Misheard",
    "NoteDropped",
    "NoteTaken",
    "PartChecked",
    "ProofFailed",
    "ProofLost",
    "QuoteKept",
    "ReadingDropped",
    "ReadingTaken",
    "Record",
    "Refused",
    "Said",
    "SayingLost",
    "SealJudged",
    "SealRenewed",
    "SealTakenBack",
    "SessionEnded",
    "SessionStarted",
    "StageDone",
    "StageTakenBack",
    "StepBegun",
    "StepDone",
    "StepNotNeeded",
    "StepSkipped",
    "StepUndone",
    "StepWanted",
    "WorkStopped",
]
