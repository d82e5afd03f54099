"""The job opened, left, taken up again and closed."""

from typing import Literal

from companion.job.facts.events.event import Event


class JobOpened(Event):
    """A job was begun."""

    event: Literal["job_opened"] = "job_opened"
    job: str
    """Also the name of the log file."""
    title: str
    """Of the procedure."""
    revision: str
    """Of the procedure."""
    procedure_sha256: str
    """Of the procedure file; its bytes are kept in `procedures/` beside the log."""
    vehicle: str = ""
    """As told; empty when not."""
    mechanic: str = ""
    """As told; empty when not."""
    ambient_c: float | None = None
    """Workshop temperature, °C, when told; a cold shop lengthens cures."""
    humidity: float | None = None
    """Relative humidity in the workshop, %, when told; dry air lengthens cures by moisture."""
    advice: tuple[str, ...] = ()
    """What the check found odd in the procedure; told before the work, which waits until it is understood."""


class SessionStarted(Event):
    """The companion was started on the job (also the first time)."""

    event: Literal["session_started"] = "session_started"
    boot: str
    """Which run of the machine this is: its monotonic clock counts within it."""
    away_s: float = 0.0
    """Since the last event, when this is not the first session."""
    alone_every_s: float | None = None
    """The check-in interval; None when nobody asked for check-ins."""
    alone_under_vehicle_s: float | None = None
    """The same while the vehicle stands supported."""
    mechanic: str = ""
    """Who goes on, where somebody was named; it may be another than the one who began."""


class SessionEnded(Event):
    """The companion was left."""

    event: Literal["session_ended"] = "session_ended"


class JobHeld(Event):
    """The job is on hold."""

    event: Literal["job_held"] = "job_held"
    because: str = ""
    """In the mechanic's words, or "waiting for" and a part; empty when no reason was given."""


class JobCarriedOn(Event):
    """The hold is over."""

    event: Literal["job_carried_on"] = "job_carried_on"


class WorkStopped(Event):
    """The emergency "stop work"."""

    event: Literal["work_stopped"] = "work_stopped"


class JobClosed(Event):
    """The job is finished for good."""

    event: Literal["job_closed"] = "job_closed"


class QuoteKept(Event):
    """What was quoted for the job. A later one takes its place."""

    event: Literal["quote_kept"] = "quote_kept"
    confidence: float
    """The quoted time is enough with this chance, 0 to 1."""
    quoted_s: float
    """The quoted time of work, without any allowance."""
    mean_s: float
    """The mean that was expected, without any allowance."""
    rate: str = ""
    """The price of an hour; empty when none was given."""
    labour_price: str = ""
    """Of the quoted time with its allowance; empty without a rate."""
    parts_price: str = ""
    """Of all parts together."""
    currency: str = ""
    """As written behind the amounts."""
    desk: bool = True
    """Written by the command line: nobody was at the car."""


SessionEvent = (
    JobOpened | SessionStarted | SessionEnded | JobHeld | JobCarriedOn | WorkStopped | JobClosed | QuoteKept
)
