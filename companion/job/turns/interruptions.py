"""Stopping and going on: hold, carry on, the emergency stop, and coming back after an interruption."""

from collections.abc import Iterator
from datetime import timedelta

from companion.job.facts import events as ev
from companion.job.facts.deadlines import running
from companion.job.facts.instant import Instant
from companion.job.facts.said.given import Given
from companion.job.facts.said.questions import AdviceUnderstood, PartOnBench
from companion.job.facts.sayings import Priority, Tone
from companion.job.facts.state import How, State
from companion.job.messages import Opened
from companion.job.rules.gates import refusal
from companion.job.rules.ledger import open_things
from companion.job.turns.next_step import advance, begin
from companion.job.turns.parts import (
    ask_wait,
    awaited,
    came_with_the_answer,
    is_known,
    part_and_wait,
    part_name,
)
from companion.job.turns.proof import ask_proof, lose_proofs
from companion.job.turns.reminders import announce_due, heed_a_new_boot, heed_the_clocks
from companion.job.turns.turn import Turn
from companion.job.words.reading_out import hazard_saying, left_out_sayings, open_sayings
from companion.job.words.sentences import in_threes
from companion.procedure.nouns import as_many, bare, verb
from companion.procedure.units import short

MOST_ADVICE = 3
"""So many pieces are told before the work; more are not kept in mind."""
INTERRUPTION = timedelta(minutes=1)
"""A restart after less than this is a hiccup of the program, not an interruption of the work."""


def open_job(turn: Turn, message: Opened) -> None:
    """The companion was started: greet, or carry on exactly where the log ends."""
    same_boot = message.boot == turn.state.boot
    away = _away(turn.state.last, turn.now, same_boot)
    if turn.state.job is None:
        assert message.particulars is not None, "a new job is opened with its particulars"
        turn.record(message.particulars)
    else:
        if same_boot:
            heed_the_clocks(turn)
        else:
            heed_a_new_boot(turn)
        if away >= INTERRUPTION or not same_boot or turn.state.held:
            lose_proofs(turn, "the work was interrupted")
    turn.record(
        ev.SessionStarted(
            boot=message.boot,
            away_s=away.total_seconds(),
            alone_every_s=_seconds(message.alone_every),
            alone_under_vehicle_s=_seconds(message.alone_under_vehicle),
            mechanic=message.mechanic,
        )
    )
    if turn.state.settled or turn.state.current or turn.state.closed:
        _come_back(turn, away)
    else:
        _greet(turn)


def _seconds(length: timedelta | None) -> float | None:
    return None if length is None else length.total_seconds()


def _away(last: Instant | None, now: Instant, same_boot: bool) -> timedelta:
    if last is None:
        return timedelta()
    gone = now.mono - last.mono if same_boot else now.wall - last.wall
    return max(gone, timedelta())


def _greet(turn: Turn) -> None:
    procedure = turn.state.procedure
    steps = "one step" if len(procedure.steps) == 1 else f"{len(procedure.steps)} steps"
    turn.say(f"{_which(turn.state)}, {steps}. The vehicle maker's data rules.")
    for caution in procedure.cautions:
        saying = hazard_saying(caution)
        turn.say(saying.text, saying.priority, saying.tone, saying.safety)
    if turn.state.held:
        turn.record(ev.JobCarriedOn())
    announce_due(turn, boundary=True)
    _pick_up(turn)


def _which(state: State) -> str:
    """The job, with its vehicle where that is known."""
    return f"{state.procedure.title}, {state.vehicle}" if state.vehicle else state.procedure.title


def _ask_next_part(turn: Turn) -> bool:
    """Before the job starts, ask for each single-use part; False when none is left to ask for."""
    for id_, part in turn.state.procedure.parts.items():
        if part.single_use and id_ not in turn.state.parts:
            new = f"are {part.count} new" if part.count > 1 else "is the new"
            what = as_many(part.count, bare(part.name))
            turn.ask(PartOnBench(id_), f"{new} {what} on the bench? Yes or no?")
            return True
    return False


def _ask_understood(turn: Turn) -> bool:
    """What is odd in the procedure is told before anything else is asked; False when nothing is."""
    advice = turn.state.advice
    for odd in advice[:MOST_ADVICE]:
        turn.say(f"Odd in this procedure: {odd}", Priority.URGENT)
    if advice:
        more = len(advice) - MOST_ADVICE
        rest = f"And {more} more, which companion check lists. " if more > 0 else ""
        turn.ask(AdviceUnderstood(), f"{rest}Look at each before you rely on it. Say understood.")
    return bool(advice)


def hear_understood(turn: Turn, understood: bool) -> None:
    """Only "understood", or yes, lets the work begin."""
    if understood:
        turn.answered("understood")
        _pick_up(turn)
    else:
        turn.refuse("no", "the work waits; have the procedure put right, or say understood")


def answer_part(turn: Turn, part: str, there: bool) -> None:
    """A part is on the bench, or is not."""
    asked_before = part in turn.state.parts
    turn.record(ev.PartChecked(part=part, on_bench=there))
    if there:
        came_with_the_answer(turn, part)
    turn.answered("yes" if there else "no")
    if not asked_before:
        if not there:
            turn.say(f"Missing, then. {_when_wanted(turn.state, part)}")
        _pick_up(turn)
    elif there:
        advance(turn)
    else:
        turn.say("The joint stays shut until it is here. Say carry on when it is, or waiting for a part.")


def _when_wanted(state: State, part: str) -> str:
    """When a missing part is asked for again: that of a seal before its joint is opened."""
    if any(seal.part == part for seal in state.procedure.seals.values()):
        return "I will ask again before the joint is opened."
    it_is = "They are" if state.procedure.parts[part].count > 1 else "It is"
    return f"{it_is} needed when things go back together."


def hold(turn: Turn, because: str = "") -> None:
    """ "Hold the job", perhaps with why: say what is open, isolated, curing and awaited; the clock stops."""
    _hold(turn, because)
    turn.say("Say carry on to go on.")


def _hold(turn: Turn, because: str) -> None:
    turn.record(ev.JobHeld(because=because))
    turn.say(f"Job held: {because}." if because else "Job held.")
    for text in standing(turn.state, turn.now):
        turn.say(text)


def await_part(turn: Turn, given: Given | None) -> None:
    """ "Waiting for a part", perhaps with its name and the day: hold the job, ask what is still wanted."""
    part, wait = part_and_wait(turn.state, given)
    certain = part if is_known(turn.state, part) else ""
    _hold(turn, f"waiting for {part_name(turn.state, certain)}")
    ask_wait(turn, part, wait)


def standing(state: State, now: Instant) -> Iterator[str]:
    """Where the job stands, aloud: open things, what waits, parts that are missing."""
    things = open_things(state)
    if things:
        yield from open_sayings(things)
    else:
        yield "Nothing is open."
    yield from left_out_sayings(state)
    waits = [d.told(now.wall) for d in running(state.deadlines.values(), now.wall)]
    expected = list(awaited(state))
    late = [
        f"{name} {verb(name)} late"
        for name in (part_name(state, d.about) for d in expected if d.due <= now.wall)
    ]
    dated = {d.about for d in expected}
    missing = [part_name(state, p) for p, there in state.parts.items() if not there and p not in dated]
    yield from in_threes([*waits, *late, *(f"{name} {verb(name)} awaited" for name in missing)])


def carry_on(turn: Turn) -> None:
    """Go on after a hold or a stop: proofs are asked for again, then the step is read."""
    lose_proofs(turn, "the job was held")
    turn.record(ev.JobCarriedOn())
    turn.say("Carrying on.")
    _pick_up(turn)


def _pick_up(turn: Turn) -> None:
    """Back to the proof or the part that was asked for, or to the step being worked on."""
    state = turn.state
    if state.to_prove:
        ask_proof(turn)
    elif _ask_understood(turn) or _ask_next_part(turn):
        return
    elif state.step and refusal(state, state.step, turn.wall) is None:
        begin(turn, state.step)
    else:
        advance(turn)


def _tell_again(turn: Turn) -> None:
    """What was announced just before the program ended may never have been heard."""
    for what in turn.before.told:
        turn.say(what, tone=Tone.CUE)


def _come_back(turn: Turn, away: timedelta) -> None:
    state = turn.state
    if state.closed:
        turn.say("This job is closed.")
        _tell_again(turn)
        return
    gone = f" after {short(away)}" if away >= INTERRUPTION else ""
    turn.say(f"Back to {_which(state)}{gone}.")
    _tell_again(turn)
    announce_due(turn, boundary=True)
    done = [s for s in state.settled.values() if s.how is not How.NOT_NEEDED]
    if done:
        last = done[-1]
        number = state.procedure.number(last.step)
        turn.say(f"Step {number} was {last.how} last: {state.procedure.step(last.step).say}")
    for text in standing(state, turn.now):
        turn.say(text)
    if state.held:
        turn.record(ev.JobCarriedOn())
    _pick_up(turn)
