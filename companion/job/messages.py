"""Everything that can happen to a job. Each is posted to the one inbox."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Literal

from companion.job.facts.commands import Command
from companion.job.facts.events import JobOpened, QuoteKept
from companion.job.facts.said.given import Given
from companion.job.facts.said.log_map import as_map


@dataclass(frozen=True)
class Opened:
    """The companion was started on this job: for the first time, or again after an interruption."""

    boot: str
    """Identifies the run of the machine, so that its monotonic clock can be compared across restarts."""
    particulars: JobOpened | None = None
    """For a new job; ignored when the log already holds them."""
    alone_every: timedelta | None = None
    """Check-in interval; None turns check-ins off."""
    alone_under_vehicle: timedelta | None = None
    """Check-in interval while a vehicle stands supported; `alone_every` when None."""
    mechanic: str = ""
    """Who works now, where somebody is named."""


@dataclass(frozen=True)
class Heard:
    """A command, spoken or typed, that was understood beyond doubt."""

    command: Command
    given: Given | None = None
    """What was said with it."""
    text: str = ""
    """As heard."""
    source: str = "voice"
    """"voice" or "keys"."""
    score: float = 1.0
    """0 to 1."""
    clip: str | None = None
    """File name of the audio, when it was kept."""

    @property
    def arguments(self) -> dict[str, str]:
        """What was said with it, as the log has it."""
        return as_map(self.given)


@dataclass(frozen=True)
class Unsure:
    """Speech between accept and reject: ask, once."""

    command: Command
    given: Given | None
    text: str
    score: float


@dataclass(frozen=True)
class NotUnderstood:
    """Something was typed or said that is nothing we know."""

    text: str = ""
    source: str = "voice"
    near: bool = False
    """It sounded like something that can be said now."""
    short: bool = False
    """It was no longer than an answer is."""


@dataclass(frozen=True)
class Woken:
    """A deadline may be due, or the clock has moved on. Carries nothing: the state knows what is due."""


@dataclass(frozen=True)
class ClockJumped:
    """The wall clock moved against the monotonic clock."""

    by: timedelta
    """Positive when the wall clock jumped forward."""


@dataclass(frozen=True)
class PartAwaited:
    """Typed at the desk, while nobody works on the job: a part is expected."""

    part: str
    """Its name."""
    wait: timedelta


@dataclass(frozen=True)
class PartCame:
    """Typed at the desk: an awaited part has come."""

    part: str
    """Its name."""


@dataclass(frozen=True)
class FollowedUp:
    """Typed at the desk, when the job is closed: a follow-up has been done."""

    what: str
    """Words of it that name no other."""


@dataclass(frozen=True)
class QuoteGiven:
    """Typed at the desk: what was quoted for the job, to be kept with it."""

    quote: QuoteKept


@dataclass(frozen=True)
class SayingFailed:
    """A saying could not be played."""

    text: str
    reason: str
    safety: bool = False


@dataclass(frozen=True)
class MicrophoneLost:
    """The microphone stopped delivering."""

    reason: str


@dataclass(frozen=True)
class MicrophoneBack:
    """The microphone delivers again."""


@dataclass(frozen=True)
class HearingFailed:
    """What listens cannot go on, though the microphone may be there: a model is missing, or has a fault."""

    reason: str


@dataclass(frozen=True)
class Hindered:
    """The microphone works, but what is heard besides would drown a command."""

    by: Literal["talk", "noise"]


@dataclass(frozen=True)
class LogFailed:
    """The log cannot be written. Until it can, what happens is kept in memory alone."""

    reason: str


@dataclass(frozen=True)
class LogMended:
    """The log is written again, with all that happened meanwhile."""


@dataclass(frozen=True)
class Failing:
    """A part of the companion has a fault: it must stop, and says so."""


@dataclass(frozen=True)
class AlarmCommand:
    """The user's own command of the check-in alarm: begun, or what became of it."""

    stage: int
    outcome: str
    """A value of `work.edges.hook.Ending`, or "started"."""
    status: int | None = None
    """Its exit status, when it ended by itself."""
    line: str = ""


@dataclass(frozen=True)
class Leaving:
    """The program is asked to end (a key, a signal); the job is left as it is."""


Message = (
    Opened
    | Heard
    | Unsure
    | NotUnderstood
    | Woken
    | ClockJumped
    | PartAwaited
    | PartCame
    | FollowedUp
    | QuoteGiven
    | SayingFailed
    | MicrophoneLost
    | MicrophoneBack
    | HearingFailed
    | Hindered
    | LogFailed
    | LogMended
    | AlarmCommand
    | Failing
    | Leaving
)
