"""Everything the mechanic can say or press: one row a command.

A row tells what the command is to the job, when it may be said, and its place in help, which goes down the
rows in their order. What a command does is its case in `job/obey.py`. Its words are in
`speech/language/phrases/`.
"""

from dataclasses import dataclass
from enum import Enum, Flag, StrEnum, auto


class Kind(Enum):
    """What a command is to the job."""

    URGENT = auto()
    """Obeyed at any time, even while the log fails."""
    VOICE = auto()
    """About the companion's own voice; obeyed always, and it leaves an open question as it is."""
    MOVES = auto()
    """Moves the job on, or back. A proof that was lost is asked for first, and so is what is still asked."""
    BESIDE = auto()
    """Keeps a note, a timer, a part or a hold beside the work. It can be done while the job is held."""
    ABOUT_STEP = auto()
    """A question about the step. Questions change nothing, so they are answered while the log fails, too."""
    ABOUT_JOB = auto()
    """A question about the job."""
    ANSWERS = auto()
    """Answers what the companion asked, and means nothing by itself."""


class When(Flag):
    """Where the job stands, and what is being asked, when a command may be said."""

    AT_STEP = auto()
    """A step is in hand."""
    LOOKING = auto()
    """An earlier step is looked at again."""
    BETWEEN = auto()
    """No step is in hand."""
    HELD = auto()
    CLOSED = auto()
    YES_OR_NO = auto()
    """A question is open that wants a yes or a no."""
    READ_BACK = auto()
    """Something that was said is read back, and wants a yes or a no."""
    LENGTH = auto()
    """It is asked how long."""
    PROOF = auto()
    """A proof that was lost is asked for again."""


class Help(Enum):
    """Its place in help."""

    FIRST = auto()
    """Among what is wanted now: it moves on, or answers."""
    THEN = auto()
    """After that."""
    UNTOLD = auto()
    """Not by its name: what is wanted is told in its place, or it goes without saying."""


_STEP = When.AT_STEP | When.LOOKING
_WORK = _STEP | When.BETWEEN
_FREE = When.AT_STEP | When.BETWEEN
_ASKED = When.YES_OR_NO | When.READ_BACK | When.LENGTH | When.PROOF
_OPEN = _WORK | When.HELD | _ASKED
_ALWAYS = _OPEN | When.CLOSED
_JOB = _WORK | When.HELD | When.PROOF
_YES = When.YES_OR_NO | When.READ_BACK


@dataclass(frozen=True)
class Row:
    """What is so of one command."""

    kind: Kind
    when: When
    help: Help = Help.THEN
    guessed: bool = True
    """When it was unclear, "did you say" may be asked. Else it must be said again."""


class Command(StrEnum):
    """One spoken, typed or pressed command; the value is the name used in logs and phrase files."""

    row: Row

    def __new__(cls, name: str, row: Row | None = None) -> "Command":
        command = str.__new__(cls, name)
        assert row is not None, f"{name} has no row"
        command._value_, command.row = name, row
        return command

    GOT_IT = "got it", Row(Kind.URGENT, _ALWAYS, Help.FIRST)
    """Acknowledges an urgent reminder."""
    YES = "yes", Row(Kind.ANSWERS, _YES, Help.FIRST)
    NO = "no", Row(Kind.ANSWERS, _YES | When.LENGTH, Help.FIRST)
    DONE = "done", Row(Kind.MOVES, _STEP, Help.FIRST)
    CLOSE_JOB = "close the job", Row(Kind.MOVES, When.BETWEEN | When.LOOKING, Help.FIRST, guessed=False)
    CARRY_ON = "carry on", Row(Kind.MOVES, When.LOOKING | When.BETWEEN | When.HELD, Help.FIRST)
    SCRATCH_THAT = "scratch that", Row(Kind.BESIDE, _OPEN, Help.FIRST)
    AGAIN = "again", Row(Kind.BESIDE, _OPEN, Help.FIRST)
    PART_HERE = "part is here", Row(Kind.BESIDE, _OPEN, Help.FIRST)
    STATE = "state", Row(Kind.MOVES, When.AT_STEP | When.PROOF, Help.UNTOLD, guessed=False)
    """A spoken state such as "battery disconnected"; argument `state`."""
    READING = "reading", Row(Kind.MOVES, When.AT_STEP | When.PROOF, Help.UNTOLD, guessed=False)
    """A measured value; arguments `value` and `unit` (both as text)."""
    COUNT = "count", Row(Kind.MOVES, When.AT_STEP, Help.UNTOLD, guessed=False)
    """One of a counted series; argument `number`."""
    STEP = "step", Row(Kind.MOVES, _FREE, Help.UNTOLD)
    """Another step that can be done now; argument `number`."""
    DURATION = "duration", Row(Kind.ANSWERS, When.LENGTH, Help.UNTOLD)
    """An answer to "for how long?"; argument `minutes`."""
    WORDS = "words", Row(Kind.ANSWERS, When(0), Help.UNTOLD)
    """Free speech asked for (a note, a reason); argument `text`."""
    WHAT_SIZE = "what size", Row(Kind.ABOUT_STEP, _STEP)
    WHAT_TORQUE = "what torque", Row(Kind.ABOUT_STEP, _STEP)
    HOW_MANY = "how many", Row(Kind.ABOUT_STEP, _STEP)
    WHERE = "where", Row(Kind.ABOUT_STEP, _STEP)
    WHAT_TOOLS = "what tools", Row(Kind.ABOUT_STEP, _STEP)
    MORE = "more", Row(Kind.ABOUT_STEP, _STEP)
    WHAT_IS_NEXT = "what is next", Row(Kind.ABOUT_JOB, _JOB)
    REPEAT = "repeat", Row(Kind.ABOUT_JOB, _ALWAYS)
    NOTE = "note", Row(Kind.BESIDE, _JOB)
    """Free speech follows; argument `text` when it came in the same breath."""
    SKIP = "skip", Row(Kind.MOVES, When.AT_STEP)
    """A spoken reason follows; argument `reason` when it came in the same breath."""
    UNDO = "undo", Row(Kind.MOVES, _WORK | When.HELD | When.READ_BACK | When.LENGTH)
    GO_BACK = "go back", Row(Kind.MOVES, _WORK)
    WHAT_IS_OPEN = "what is open", Row(Kind.ABOUT_JOB, _JOB)
    HOLD = "hold the job", Row(Kind.BESIDE, _WORK | _ASKED)
    """Argument `text` when the reason came in the same breath."""
    AWAIT_PART = "waiting for a part", Row(Kind.BESIDE, _FREE | When.HELD | When.YES_OR_NO)
    """Holds the job too; argument `text` when the part or the day was said in the same breath."""
    HOW_LONG_LEFT = "how long left", Row(Kind.ABOUT_JOB, _JOB)
    WHAT_IS_WAITING = "what is waiting", Row(Kind.ABOUT_JOB, _JOB | When.CLOSED)
    START_TIMER = "start a timer", Row(Kind.BESIDE, _JOB)
    """Argument `minutes` when it came in the same breath; asked for otherwise."""
    CANCEL_TIMER = "cancel the timer", Row(Kind.BESIDE, _OPEN)
    LEAVE_OUT = "leave it out", Row(Kind.MOVES, _WORK, guessed=False)
    """For good. Argument `item` when it was named."""
    STOP_WORK = "stop work", Row(Kind.URGENT, _ALWAYS)
    """An emergency: everything falls silent, the job holds, the state of every energy source is read out."""
    STOP_TALKING = "stop talking", Row(Kind.VOICE, _ALWAYS)
    LOUDER = "louder", Row(Kind.VOICE, _ALWAYS)
    QUIETER = "quieter", Row(Kind.VOICE, _ALWAYS)
    SLOWER = "slower", Row(Kind.VOICE, _ALWAYS)
    FASTER = "faster", Row(Kind.VOICE, _ALWAYS)
    STOP = "stop", Row(Kind.VOICE, _ALWAYS, Help.UNTOLD)
    """Stops the talking; said twice in a row, stop work is offered."""
    HELP = "help", Row(Kind.ABOUT_JOB, _ALWAYS, Help.UNTOLD)
