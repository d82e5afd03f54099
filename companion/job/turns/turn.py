"""One turn: a message comes in, events and sayings go out. A Turn gathers them while a handler works."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from companion.job.facts import events as ev
from companion.job.facts.folding import fold
from companion.job.facts.instant import Instant
from companion.job.facts.said.log_map import about
from companion.job.facts.said.questions import Question
from companion.job.facts.sayings import Priority, Saying, Tone
from companion.job.facts.state import State
from companion.job.left import TimeLeft
from companion.job.rules.jumps import drift


@dataclass(frozen=True)
class Decision:
    """What comes of one message."""

    state: State
    """After all the events; the same as folding them."""
    events: tuple[ev.AnyEvent, ...]
    """To be made durable before anything is said."""
    sayings: tuple[Saying, ...]


@dataclass
class Turn:
    """The working paper of one `decide`; it never leaves the core."""

    state: State
    now: Instant
    time_left: TimeLeft
    events: list[ev.AnyEvent] = field(default_factory=list)
    sayings: list[Saying] = field(default_factory=list)
    before: State = field(init=False)
    """The state when the message came in."""

    def __post_init__(self) -> None:
        self.before = self.state

    @property
    def wall(self) -> datetime:
        """The earliest that it may be, UTC: what is due by then is surely due."""
        return self.now.wall - max(drift(self.state.clocks, self.now), timedelta())

    @property
    def start(self) -> datetime:
        """The latest that it may be, UTC: a wait that starts then is never too short."""
        return self.now.wall - min(drift(self.state.clocks, self.now), timedelta())

    def record(self, event: ev.AnyEvent) -> None:
        """Note an event and go on from the state it leads to."""
        self.events.append(event)
        self.state = fold(self.state, event, self.now)

    def say(
        self,
        text: str,
        priority: Priority = Priority.ROUTINE,
        tone: Tone | None = None,
        safety: bool = False,
    ) -> None:
        """Say something; what is said is also an event."""
        text = f"{text[:1].upper()}{text[1:]}"
        self.record(ev.Said(text=text, priority=int(priority)))
        self.sayings.append(Saying(text, priority, tone, safety))

    def sound(self, tone: Tone) -> None:
        """A tone without words. Why it sounds is an event of its own."""
        self.sayings.append(Saying("", tone=tone))

    def ask(self, question: Question, text: str) -> None:
        """Ask something; the next answer belongs to it."""
        text = f"{text[:1].upper()}{text[1:]}"
        self.record(ev.Asked(question=question.name, about=about(question), text=text))
        self.say(text)

    def answered(self, answer: str) -> None:
        """Settle the open question."""
        self.record(ev.Answered(answer=answer))

    def refuse(self, command: str, reason: str) -> None:
        """Say no, and why. An illegal move is an answer, never an exception."""
        self.record(ev.Refused(command=command, reason=reason))
        self.say(self._no(command, reason), tone=Tone.ERROR)

    def _no(self, command: str, reason: str) -> str:
        """The refusal as said. A reason that says no by itself is enough: "no timer is running"."""
        if reason.startswith(("no ", "nothing ", "I ")):
            return f"{reason}."
        return f"{'Not yet' if command == 'done' and not self.state.closed else 'No'}: {reason}."

    def decision(self) -> Decision:
        """What goes out."""
        return Decision(self.state, tuple(self.events), tuple(self.sayings))
