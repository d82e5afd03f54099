"""What happened at the edges of the program."""

from typing import Literal

from companion.job.facts.events.event import Event


class MicrophoneChanged(Event):
    """The microphone was lost, or is there again."""

    event: Literal["microphone_changed"] = "microphone_changed"
    present: bool
    """It is there."""
    reason: str = ""
    """What went wrong."""


class HearingFailed(Event):
    """Nothing is heard any more, for another reason than the microphone."""

    event: Literal["hearing_failed"] = "hearing_failed"
    reason: str
    """What went wrong."""


class LogFailed(Event):
    """The log could not be written from here on; this line and the next were added once it could."""

    event: Literal["log_failed"] = "log_failed"
    reason: str
    """What went wrong."""


class LogMended(Event):
    """The log is written again."""

    event: Literal["log_mended"] = "log_mended"


class AlarmCommandRun(Event):
    """The user's own command of the check-in alarm."""

    event: Literal["alarm_command"] = "alarm_command"
    stage: int
    """That of the check-in."""
    outcome: str
    """"started", then "done", "failed", "timed out" or "could not start"."""
    status: int | None = None
    """Its exit status, when it ended by itself; negative when a signal ended it."""
    line: str = ""
    """As shown."""


EdgeEvent = MicrophoneChanged | HearingFailed | LogFailed | LogMended | AlarmCommandRun
