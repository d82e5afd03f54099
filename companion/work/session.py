"""The session: takes one message at a time, and makes the log, the mouth, the ear and the view follow.

The same code works in the garage and in a rehearsal; only the edges differ.
"""

from collections.abc import Sequence
from typing import TypeGuard

from companion.job import messages as msg
from companion.job.decide import BOOK, decide
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant
from companion.job.facts.sayings import Saying
from companion.job.facts.state import State
from companion.job.left import TimeLeft
from companion.job.rules.expected import Expecting, expected
from companion.job.turns.waiting import wake_times
from companion.logbook.logbook import Logbook
from companion.procedure.spoken import for_the_ear
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.spoken import Cut, Failed, Started
from companion.work.edges.clock import Clock
from companion.work.edges.wake import Waker
from companion.work.views.view import View


def _obeyed(message: msg.Message) -> TypeGuard[msg.Heard | msg.Unsure]:
    """Is it a command that is carried out? An unclear "stop work" is."""
    unclear_stop = isinstance(message, msg.Unsure) and message.command is Command.STOP_WORK
    return isinstance(message, msg.Heard) or unclear_stop


class Session:
    """One job and its edges. Not safe to use from two threads: one inbox, one reader."""

    def __init__(
        self,
        state: State,
        logbook: Logbook,
        logged: int,
        clock: Clock,
        mouth: Mouth,
        waker: Waker,
        view: View,
        time_left: TimeLeft = BOOK,
    ) -> None:
        """`logged` is how many records the logbook holds already; `time_left` has seen them."""
        self.state = state
        self._logbook = logbook
        self._logged = logged
        self._clock = clock
        self._mouth = mouth
        self._waker = waker
        self._view = view
        self._time_left = time_left
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

        Raises:
            LogbookError: the events could not be written; nothing was said, nothing has changed.
        """
        now = self._clock.now()
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
        records = [
            ev.Record(seq=self._logged + n, at=now.wall, mono=now.mono, event=event)
            for n, event in enumerate(events, start=1)
        ]
        self._logbook.append(records)
        self._logged += len(records)
        for record in records:
            self._time_left.see(record)

    def _say(self, saying: Saying) -> None:
        self._said += 1
        saying_id = str(self._said)
        self._unheard[saying_id] = saying
        self._view.said(saying)
        self._mouth.say(saying_id, for_the_ear(saying.text), saying.priority, saying.tone)

    def _obey_with_the_mouth(self, command: Command) -> list[Saying]:
        """A new command makes what was still to be said stale, and some are about the voice itself.

        Returns the safety sayings that were cut short by it, to be said again.
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
        return [] if command in (Command.STOP_TALKING, Command.REPEAT) else [s for s in cut if s.safety]

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
