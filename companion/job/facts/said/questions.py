"""What the companion asks, one type a question: each holds what its answer is about.

`name` is what the log calls it.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import ClassVar

from companion.job.facts.commands import Command
from companion.job.facts.said.given import Given


@dataclass(frozen=True)
class PartOnBench:
    """Is the new part there?"""

    name: ClassVar[str] = "part on bench"
    part: str


@dataclass(frozen=True)
class AdviceUnderstood:
    """Is it understood what is odd in the procedure? "Understood" answers it."""

    name: ClassVar[str] = "advice understood"


@dataclass(frozen=True)
class StepWanted:
    """Is an optional step to be done?"""

    name: ClassVar[str] = "step wanted"
    step: str


@dataclass(frozen=True)
class DidYouSay:
    """Was this meant? It was not heard beyond doubt."""

    name: ClassVar[str] = "did you say"
    command: Command
    given: Given | None = None


@dataclass(frozen=True)
class ReadingRight:
    """Was the value heard right?"""

    name: ClassVar[str] = "reading right"
    value: float
    unit: str
    energy: str | None = None
    """The source whose lost proof it would give again."""
    step: str | None = None
    """The step that wants it, where it is no such proof."""


@dataclass(frozen=True)
class Proof:
    """After an interruption: a source must be proved dead again."""

    name: ClassVar[str] = "proof"
    energy: str


@dataclass(frozen=True)
class NoteWords:
    """What is to be noted?"""

    name: ClassVar[str] = "note words"
    again: int | None = None
    """The number of the note that this one comes in place of."""


@dataclass(frozen=True)
class SkipReason:
    """Why is the step skipped?"""

    name: ClassVar[str] = "skip reason"
    step: str


@dataclass(frozen=True)
class TimerLength:
    """For how long?"""

    name: ClassVar[str] = "timer length"


@dataclass(frozen=True)
class PartName:
    """Which part is waited for?"""

    name: ClassVar[str] = "part name"


@dataclass(frozen=True)
class PartKnown:
    """The procedure has no such part: is it meant?"""

    name: ClassVar[str] = "part known"
    part: str
    wait: timedelta | None = None


@dataclass(frozen=True)
class PartWhen:
    """How long until the part is there?"""

    name: ClassVar[str] = "part when"
    part: str


@dataclass(frozen=True)
class PartRight:
    """Was the part heard right, and the time?"""

    name: ClassVar[str] = "part right"
    part: str
    wait: timedelta


@dataclass(frozen=True)
class PartHere:
    """Has an awaited part come?"""

    name: ClassVar[str] = "part here"
    deadline: str


@dataclass(frozen=True)
class StopWork:
    """Is the work to stop?"""

    name: ClassVar[str] = "stop work"
    before: "Question | None" = None
    """The question that was open; it waits until this one is answered."""
    asked: str = ""
    """That one, as it was asked aloud."""


@dataclass(frozen=True)
class LeaveOut:
    """Is something left out for good?"""

    name: ClassVar[str] = "leave out"
    step: str
    """The one that would put it back."""
    reason: str = ""
    """When it was said too."""


@dataclass(frozen=True)
class LeaveOutReason:
    """Why?"""

    name: ClassVar[str] = "leave out reason"
    step: str


@dataclass(frozen=True)
class Close:
    """Is the job closed for good?"""

    name: ClassVar[str] = "close"


ForWords = NoteWords | SkipReason | PartName | LeaveOutReason
"""Answered in the mechanic's own words."""
ForLength = TimerLength | PartWhen
"""Answered by a length of time."""
ReadBack = ReadingRight | PartKnown | PartRight | LeaveOut | Close
"""What the mechanic said is read back: yes or no. Whatever leaves a question is a no."""
YesOrNo = AdviceUnderstood | PartOnBench | StepWanted | DidYouSay | PartHere | StopWork
Question = Proof | ForWords | ForLength | ReadBack | YesOrNo
