"""The session: takes one message at a time, and makes the log, the mouth, the ear and the view follow.

The same code works in the garage and in a rehearsal; only the edges differ.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import TypeGuard

from companion.errors import LogbookError
from companion.job import messages as msg
from companion.job.decide import BOOK, decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command, Kind
from companion.job.facts.instant import Instant
from companion.job.facts.sayings import Saying
from companion.job.facts.state import State
from companion.job.left import TimeLeft
from companion.job.rules.expected import Expecting, expected
from companion.job.turns.reminders import wake_times
from companion.logbook.logbook import Logbook
from companion.procedure.spoken import for_the_ear
from companion.speech.saying.happenings import Cut, Failed, Started
from companion.speech.saying.sayer import Sayer
from companion.work.edges.clock import Clock
from companion.work.edges.wake import Waker
from companion.work.views.view import View

_QUIET_AFTER = (Command.STOP_TALKING, Command.STOP, Command.REPEAT)
"""After one of these, what was cut short is not said again."""


def _obeyed(message: msg.Message) -> TypeGuard[msg.Heard | msg.Unsure]:
    """Is it a command that is carried out? An unclear "stop work" is, and an unclear "stop"."""
    stops = (Command.STOP_WORK, Command.STOP)
    unclear_stop = isinstance(message, msg.Unsure) and message.command in stops
    return isinstance(message, msg.Heard) or unclear_stop


TRY_AGAIN = timedelta(seconds=2)
"""How long after a failure the log is tried again. Chosen here, no source."""


@dataclass(frozen=True)
class Edges:
    """Everything around the job that a session needs."""

    logbook: Logbook
    clock: Clock
    mouth: Sayer
    waker: Waker
    view: View


class Session:
    """One job and its edges. Not safe to use from two threads: one inbox, one reader."""

    def __init__(self, state: State, edges: Edges, time_left: TimeLeft = BOOK) -> None:
        """`time_left` has seen what the logbook holds already."""
        self.state = state
        self._logbook = edges.logbook
        self._clock = edges.clock
        self._mouth = edges.mouth
        self._waker = edges.waker
        self._view = edges.view
        self._time_left = time_left
        self._unlogged: list[tuple[Sequence[ev.Event], Instant]] = []
        """What happened since the log failed, to be logged when it can be."""
        self._tried: Instant | None = None
        self._why = ""
        self._said = 0
        self._unheard: dict[str, Saying] = {}
        """Sayings given to the mouth and not yet known to be heard."""
        self._cut: list[Saying] = []
        self._lost: list[msg.SayingFailed] = []
        self._to_repeat: list[Saying] = []
        """Safety sayings that could not be played; said again when sound is back."""

    def expecting(self) -> Expecting:
        """What can be said now."""
        return expected(self.state)

    def handle(self, message: msg.Message) -> Sequence[ev.Event]:
        """Let the job decide, make the events durable, and only then say anything.

        While the log cannot be written the job is held, and nothing that is said counts. Waits and
        check-ins go on from memory, and are logged as soon as the log can be written.

        Raises:
            LogbookError: the log failed at the start of the session; nothing was said.
        """
        now = self._clock.now()
        try:
            return self._turn(message, now)
        except LogbookError as error:
            if isinstance(message, msg.Opened):
                raise
            events = self._log_failed(error, now)
        if isinstance(message, msg.Heard) and message.command.row.kind is not Kind.URGENT:
            return events
        return [*events, *self._turn(message, now)]

    def _turn(self, message: msg.Message, now: Instant) -> Sequence[ev.Event]:
        step = self.state.current
        decision = decide(self.state, message, now, self._time_left)
        self._log(decision.events, now)
        self.state = decision.state
        self._view.heard(message)
        cut = self._obey_with_the_mouth(message.command) if _obeyed(message) else []
        for saying in decision.sayings:
            self._say(saying)
        if self.state.current == step:
            for saying in cut:
                self._say(saying)
        self._waker.wake_at(wake_times(self.state, now))
        self._view.show(self.state, now.wall)
        return decision.events

    def _log(self, events: Sequence[ev.Event], now: Instant) -> None:
        if self._unlogged:
            self._unlogged.append((events, now))
            return
        try:
            self._write(events, now)
        except LogbookError:
            # What failed once may have passed: one hiccup ends nothing.
            self._write(events, now)

    def _write(self, events: Sequence[ev.Event], at: Instant) -> None:
        for record in self._logbook.log(events, at):
            self._time_left.see(record)

    def _log_failed(self, error: LogbookError, now: Instant) -> Sequence[ev.Event]:
        """From now on events stay in memory; the core says so and holds the job."""
        self._tried, self._why = now, str(error)
        self._unlogged = [((), now)]
        self._view.warn(f"the log cannot be written: {error}")
        return self._turn(msg.LogFailed(error.reason), now)

    def write_again(self, at_once: bool = False) -> None:
        """Try to log what could not be logged, every two seconds or `at_once`; to be called often."""
        now = self._clock.now()
        too_soon = self._tried is not None and now.mono - self._tried.mono < TRY_AGAIN
        if not self._unlogged or (too_soon and not at_once):
            return
        self._tried = now
        try:
            while self._unlogged:
                self._write(*self._unlogged[0])
                self._unlogged.pop(0)
        except LogbookError:
            return
        self.handle(msg.LogMended())

    def unlogged(self) -> str | None:
        """What to say at the end about events that could not be logged; None when all of them are."""
        if not self._unlogged:
            return None
        since = self._unlogged[0][1].wall.astimezone()
        return f"{self._why}; what happened since {since:%H:%M} is not in the log"

    def _say(self, saying: Saying) -> None:
        if not saying.text:
            if saying.tone:
                self._mouth.sound(saying.tone)
            return
        self._said += 1
        saying_id = str(self._said)
        self._unheard[saying_id] = saying
        self._view.said(saying)
        self._mouth.say(saying_id, for_the_ear(saying.text), saying.priority, saying.tone)

    def _obey_with_the_mouth(self, command: Command) -> list[Saying]:
        """Silence what is still to be said, since the command makes it stale; obey what is about the voice.

        Returns the safety sayings that were cut short, to be said again.
        """
        self._mouth.stop()
        match command:
            case Command.LOUDER:
                self._mouth.louder()
            case Command.QUIETER:
                self._mouth.quieter()
            case Command.SLOWER:
                self._mouth.slower()
            case Command.FASTER:
                self._mouth.faster()
            case _:
                pass
        self._look_at_the_mouth()
        cut, self._cut = self._cut, []
        return [] if command in _QUIET_AFTER else [s for s in cut if s.safety]

    def _look_at_the_mouth(self) -> None:
        """Find out what became of the sayings."""
        for happening in self._mouth.events():
            if isinstance(happening, Started):
                continue
            saying = self._unheard.pop(happening.saying_id, None)
            if saying is None:
                continue
            if isinstance(happening, Cut):
                self._cut.append(saying)
            elif isinstance(happening, Failed):
                self._lost.append(msg.SayingFailed(saying.text, happening.reason, saying.safety))
                if saying.safety:
                    self._to_repeat.append(saying)

    def lost_sayings(self) -> list[msg.SayingFailed]:
        """What the mouth could not play since the last call, as messages for the inbox."""
        self._look_at_the_mouth()
        self._cut.clear()
        lost, self._lost = self._lost, []
        return lost

    def say_again(self) -> None:
        """Sound is back: repeat the safety sayings that nobody heard."""
        repeat, self._to_repeat = self._to_repeat, []
        for saying in repeat:
            self._say(saying)
