"""What is tried beside the obliging mechanic's way: anything that can be said, refused, or can happen."""

from collections.abc import Iterator
from datetime import timedelta
from typing import TYPE_CHECKING

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.said import questions as q
from companion.job.facts.said.given import words_of
from companion.job.facts.state import State
from companion.job.messages import Heard
from companion.job.rules.expected import expected
from companion.job.rules.wants import measure_of, proof_measure
from companion.procedure.model import Measure
from tests.helpers.said import heard, unsure

if TYPE_CHECKING:
    from tests.job.words.transcript import Move, Talk

MINUTE = timedelta(minutes=1)
HOUR = timedelta(hours=1)
BREAKS = (Command.STOP_WORK, Command.HOLD)
SEALS = ("new seal fitted", "seal is fit to use", "renew the seal")


def overheard(move: "Move") -> str:
    """The cause as it is written down."""
    match move:
        case timedelta():
            return f"({_length(move)} go by)"
        case Heard():
            given = move.text or words_of(move.given) or ", ".join(move.arguments.values())
            return f"{move.command}: {given}" if given else str(move.command)
        case msg.Unsure():
            return f"(unclear) {move.text}"
        case msg.NotUnderstood():
            return f"(not understood, {move.source}) {move.text}"
        case msg.Opened():
            return "(opened)"
        case _:
            return f"({type(move).__name__})"


def _length(time: timedelta) -> str:
    return f"{time.total_seconds():g} s"


def asides(talk: "Talk") -> None:
    """Try all of it from where the talk is, without going there."""
    for moves in (*_commands(talk.state), *_readings(talk.state), *_interruptions(talk.state)):
        talk.aside().does(*moves)
    if talk.state.current and talk.state.question is None:
        for command in BREAKS:
            talk.aside().does(Heard(command), Heard(Command.CARRY_ON)).goes_on()
        away = msg.Opened("another boot")
        later = talk.aside()
        later.now = type(later.now)(later.now.wall + 16 * HOUR, HOUR)
        later.does(away).goes_on()


def _commands(state: State) -> "Iterator[tuple[Move, ...]]":
    for command in Command:
        yield (Heard(command),)
    for words in (*expected(state).states, *SEALS, "all well"):
        yield (heard(Command.STATE, {"state": words}),)
    yield heard(Command.STATE, {"state": "renew the seal"}), Heard(Command.DONE), Heard(Command.UNDO)
    yield heard(Command.STATE, {"state": "new seal fitted"}), Heard(Command.UNDO)
    yield (heard(Command.COUNT, {"number": "7"}),)
    yield heard(Command.COUNT, {"number": str(state.counted + 1)}), Heard(Command.UNDO)
    yield Heard(Command.SKIP), heard(Command.WORDS, {"text": ""}), heard(Command.WORDS, {"text": "no time"})
    yield Heard(Command.SKIP), Heard(Command.NO)
    yield Heard(Command.LEAVE_OUT), Heard(Command.NO)
    yield (
        Heard(Command.LEAVE_OUT), Heard(Command.YES),
        heard(Command.WORDS, {"text": ""}), heard(Command.WORDS, {"text": "it is not to be had"}),
        Heard(Command.WHAT_IS_OPEN), Heard(Command.UNDO),
    )  # fmt: skip
    yield (heard(Command.SKIP, {"reason": "the thread is worn"}),)
    yield Heard(Command.NOTE), heard(Command.WORDS, {"text": "the bracket is cracked"}), Heard(Command.AGAIN)
    yield heard(Command.NOTE, {"text": "the clip is broken"}), Heard(Command.SCRATCH_THAT)
    yield Heard(Command.NOTE), heard(Command.WORDS, {"text": ""}), Heard(Command.NO)
    yield Heard(Command.GO_BACK), Heard(Command.GO_BACK), Heard(Command.WHAT_TORQUE), Heard(Command.DONE)
    yield Heard(Command.GO_BACK), heard(Command.STATE, {"state": "all well"}), Heard(Command.UNDO)
    yield Heard(Command.DONE), Heard(Command.UNDO), Heard(Command.REPEAT)
    yield Heard(Command.START_TIMER), Heard(Command.NO)
    yield Heard(Command.START_TIMER), heard(Command.DURATION, {"minutes": "nan"})
    yield heard(Command.START_TIMER, {"minutes": "10"}), Heard(Command.CLOSE_JOB), Heard(Command.CANCEL_TIMER)
    yield (
        heard(Command.START_TIMER, {"minutes": "10"}), Heard(Command.WHAT_IS_WAITING), 10 * MINUTE,
        Heard(Command.WHAT_IS_WAITING), MINUTE, Heard(Command.GOT_IT),
    )  # fmt: skip
    yield Heard(Command.CLOSE_JOB), Heard(Command.NO), Heard(Command.CLOSE_JOB), Heard(Command.YES)


def _readings(state: State) -> "Iterator[tuple[Move, ...]]":
    measure = _measure(state)
    if measure is None:
        yield (heard(Command.READING, {"value": "1", "unit": "V"}),)
        return
    wrong = "bar" if measure.unit != "bar" else "V"
    yield (heard(Command.READING, {"value": "1", "unit": wrong}),)
    yield (heard(Command.READING, {"value": "many", "unit": measure.unit}),)
    for limit, beyond in ((measure.at_most, 12.4), (measure.at_least, -1.5)):
        if limit is not None:
            said = heard(Command.READING, {"value": f"{limit + beyond:g}", "unit": measure.unit})
            yield said, Heard(Command.NO)
            yield said, Heard(Command.DONE), Heard(Command.YES), Heard(Command.DONE), Heard(Command.UNDO)


def _measure(state: State) -> Measure | None:
    if isinstance(state.question, q.Proof):
        return proof_measure(state.procedure, state.question.energy)
    return measure_of(state.procedure, state.step) if state.step else None


def _interruptions(state: State) -> "Iterator[tuple[Move, ...]]":
    yield 5 * MINUTE, MINUTE, HOUR, MINUTE
    yield 26 * HOUR, Heard(Command.WHAT_IS_WAITING), Heard(Command.DONE), Heard(Command.GOT_IT)
    yield msg.Unsure(Command.SKIP, None, "skip", 0.5), Heard(Command.NO)
    yield msg.Unsure(Command.SKIP, None, "skip", 0.5), msg.Unsure(Command.SKIP, None, "skip", 0.5)
    yield (msg.Unsure(Command.STOP_WORK, None, "stop work", 0.5),)
    yield (unsure(Command.STATE, {"state": "all well"}, "all well", 0.5),)
    yield msg.NotUnderstood("radio"), msg.NotUnderstood("radio")
    yield (msg.NotUnderstood("grmbl", "keys"),)
    yield (
        heard(Command.HOLD, {"text": "lunch"}),
        Heard(Command.DONE),
        Heard(Command.HELP),
        Heard(Command.REPEAT),
    )
    yield (
        heard(Command.AWAIT_PART, {"text": "the bearing in three days"}), Heard(Command.YES),
        Heard(Command.WHAT_IS_WAITING), Heard(Command.PART_HERE), Heard(Command.NO),
        80 * HOUR, Heard(Command.HOLD), Heard(Command.PART_HERE), Heard(Command.YES),
    )  # fmt: skip
    yield (
        Heard(Command.AWAIT_PART), heard(Command.DURATION, {"minutes": "1e6"}, "1e6"),
        heard(Command.DURATION, {"minutes": "2880"}), Heard(Command.NO), Heard(Command.NO),
    )  # fmt: skip


def at_the_edges(talk: "Talk") -> None:
    """What has nothing to do with the step at hand."""
    talk.aside().does(msg.MicrophoneLost("unplugged"), msg.MicrophoneBack(), msg.HearingFailed("no model"))
    alone = talk.aside()
    alone.does(msg.Opened("boot", None, 20 * MINUTE, 10 * MINUTE), 20 * MINUTE, MINUTE, MINUTE, MINUTE)
    alone.does(Heard(Command.GOT_IT))
