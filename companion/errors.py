"""Every failure a user can cause, as a flat tree of typed errors.

Each message is one line that says what is wrong and what to do about it.
The command line prints it and exits with code 2; nothing else catches these.
"""


class CompanionError(Exception):
    """The root: the command line shows the message on one line and exits with code 2."""


class MissingPartError(CompanionError):
    """What is asked for needs an extra that is not installed."""


class ProcedureError(CompanionError):
    """A procedure file cannot be used; the message starts with file:line:column.

    `faults` has one line for each fault found; the message is the first of them.
    """

    def __init__(self, *faults: str) -> None:
        self.faults = faults
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        super().__init__(f"{faults[0]}{more}")


class LogbookError(CompanionError):
    """A job log cannot be read or written."""

    def __init__(self, message: str, reason: str = "") -> None:
        """`reason` is what may be said aloud: without the name of the file and without the advice."""
        super().__init__(message)
        self.reason = reason or message

    @classmethod
    def at(cls, place: object, reason: str, advice: str) -> "LogbookError":
        """What is wrong with a file, and what to do about it."""
        return cls(f"{place}: {reason}: {advice}", reason)


class JobInUseError(LogbookError):
    """Another companion already works on this job."""


class SoundError(CompanionError):
    """A sound file, a microphone or a loudspeaker cannot be used."""


class ModelError(CompanionError):
    """A recognition model is missing, broken or not what it claims to be."""


class VoiceError(CompanionError):
    """The voice cannot speak."""


class LabourError(CompanionError):
    """Step times cannot be analysed as asked."""
