"""The performance: a scripted mechanic works through the procedure by voice, until the job is closed."""

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from enum import StrEnum

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said.given import Count, Length, Measured, SpokenState, words_of
from companion.job.facts.said.log_map import minutes
from companion.job.facts.said.questions import DidYouSay, SkipReason
from companion.job.facts.state import State
from companion.procedure.spoken import for_the_ear
from companion.rehearsal.obliging import next_answer
from companion.rehearsal.script import Cue
from companion.rehearsal.stage import Stage
from companion.speech.language.part_names import of_a_part
from companion.speech.language.phrases import language, parse_typed
from companion.speech.sound.samples import Samples

TRIES = 4
"""So often something is said by voice; then the mechanic types it."""
MOST_TURNS = 2000


class Outcome(StrEnum):
    """What became of one thing said."""

    UNDERSTOOD = "understood"
    ASKED_AGAIN = "asked again"
    NOT_UNDERSTOOD = "not understood"
    """Shown as such, and logged."""
    NOT_HEARD = "not heard"
    TAKEN_FOR_ANOTHER = "taken for another"
    KEYED = "keyed in"


@dataclass(frozen=True)
class Attempt:
    """One thing the mechanic said, and what became of it."""

    at: timedelta
    """In the recording."""
    step: str | None
    said: str
    outcome: Outcome
    heard: str = ""


@dataclass
class Performance:
    """A mechanic on a stage."""

    stage: Stage
    speak: Callable[[str, int], Samples]
    """Renders what the mechanic says; the second argument counts the tries."""
    script: Sequence[Cue]
    pace: Callable[[str], float]
    """How long a step takes, as a share of its book time."""
    go_away: Callable[[timedelta], msg.Opened]
    """Ends the session, lets the time pass with the machine off, and opens the job again from its log."""
    attempts: list[Attempt] = field(default_factory=list)
    worked: set[str] = field(default_factory=set)

    def run(self, opened: msg.Opened) -> State:
        """Open the job and work until it is closed.

        Raises:
            RuntimeError: the job does not come to an end; a fault of the procedure or the program.
        """
        self.stage.post(opened)
        cues: dict[str, deque[Cue]] = {}
        for cue in self.script:
            cues.setdefault(cue.at, deque()).append(cue)
        for _ in range(MOST_TURNS):
            self.stage.listen(timedelta(minutes=3))
            state = self.stage.session.state
            if state.closed:
                return state
            waiting = cues.get(state.current or "")
            if waiting and state.question is None and not state.held:
                self._follow(waiting.popleft())
            else:
                self._go_on(state)
        raise RuntimeError(f"the rehearsal did not end in {MOST_TURNS} turns")

    def _follow(self, cue: Cue) -> None:
        if cue.say is not None:
            self._try(cue.say)
        elif cue.away is not None:
            self._try("hold the job")
            self.stage.listen(timedelta(minutes=2))
            self.stage.post(self.go_away(cue.away))

    def _go_on(self, state: State) -> None:
        answer = next_answer(state)
        if isinstance(answer, timedelta):
            self.stage.work(answer)
            return
        step = state.step
        if step and step.id not in self.worked and state.question is None:
            self.worked.add(step.id)
            happened = self.stage.work(step.book * self.pace(step.id))
            if any(isinstance(e, ev.Asked | ev.StepBegun | ev.DeadlineAnnounced) for e in happened):
                return
        if isinstance(state.question, SkipReason) or answer.command is Command.WORDS:
            self._try(words_of(answer.given))
        else:
            self._try(words_for(answer))

    def _try(self, text: str) -> None:
        """Say it until it is understood; the last resort is the keys."""
        for attempt in range(TRIES):
            before = self.stage.session.state
            meant = meaning(text, self.stage)
            at = self.stage.recorded
            happened = self.stage.say(self.speak(text, attempt))
            outcome, heard = judged(happened, meant)
            self.attempts.append(Attempt(at, before.current, text, outcome, heard))
            if outcome in (Outcome.UNDERSTOOD, Outcome.TAKEN_FOR_ANOTHER):
                return
            self.stage.listen(timedelta(minutes=2))
            state = self.stage.session.state
            if isinstance(state.question, DidYouSay):
                right = meant is not None and state.question.command == meant.command
                self._try("yes" if right else "no")
                if right:
                    return
                self.stage.listen(timedelta(minutes=2))
        meant = meaning(text, self.stage)
        if meant is not None:
            self.attempts.append(
                Attempt(self.stage.recorded, self.stage.session.state.current, text, Outcome.KEYED)
            )
            self.stage.post(msg.Heard(meant.command, meant.given, text, "keys"))


def meaning(text: str, stage: Stage) -> msg.Heard | None:
    """What the words mean in the present state of the job."""
    can = stage.session.expecting()
    phrases = language().that_answer(can)
    phrase = parse_typed(text, phrases, reading=can.reading, free_speech=can.free_speech)
    if phrase is None:
        return None
    given = of_a_part(phrase.given) if can.names_a_part else phrase.given
    return msg.Heard(Command(phrase.command), given, text)


def words_for(answer: msg.Heard) -> str:
    """The words that give an answer."""
    spoken = language()
    match answer.given:
        case SpokenState(words):
            return words
        case Count(number):
            return spoken.counted(number)
        case Measured(value, unit):
            return for_the_ear(f"{value:g} {unit}")
        case Length(time):
            return for_the_ear(f"{minutes(time)} min")
        case _:
            return spoken.commands[answer.command][0]


_FREE = ("text", "reason")


def judged(happened: Sequence[ev.Event], meant: msg.Heard | None) -> tuple[Outcome, str]:
    """Compare what was logged with what was meant. Free speech counts when it was taken as free speech."""
    for event in happened:
        if isinstance(event, ev.HeardCommand):
            same = meant is not None and event.command == meant.command
            exact = same and meant is not None and _plain(event.arguments) == _plain(meant.arguments)
            return (Outcome.UNDERSTOOD if exact else Outcome.TAKEN_FOR_ANOTHER), event.text
        if isinstance(event, ev.Misheard):
            return (Outcome.ASKED_AGAIN if event.guess or event.text else Outcome.NOT_UNDERSTOOD), event.text
    return Outcome.NOT_HEARD, ""


def _plain(arguments: dict[str, str]) -> dict[str, str]:
    """Free words are not compared: the sound is the record. Numbers are compared as numbers."""
    kept = {k: v for k, v in arguments.items() if k not in _FREE}
    return {k: f"{float(v):g}" if k in ("value", "minutes", "number") else v for k, v in kept.items()}
