"""Closing the job: only when everything opened, isolated and disturbed is put back."""

from companion.job.facts import events as ev
from companion.job.facts.deadlines import Kind, later
from companion.job.facts.ids import follow_up_id
from companion.job.facts.said.questions import Close
from companion.job.facts.sayings import Priority, Tone
from companion.job.facts.state import How
from companion.job.rules.ledger import not_closable, open_things
from companion.job.turns.parts import awaited, part_name
from companion.job.turns.turn import Turn
from companion.job.words.reading_out import left_out_sayings, open_sayings, to_go_saying
from companion.job.words.sentences import in_threes
from companion.procedure.model import FollowUp
from companion.procedure.units import short
from companion.procedure.wording import listing


def all_settled(turn: Turn, lead: str = "") -> str | None:
    """Every step is settled. Invite closing, or return a step to do again since something is open."""
    if lead:
        turn.say(lead)
    things = not_closable(turn.state)
    if not things:
        _say_left_out(turn)
        turn.say("Nothing is left to do and nothing is open. Say close the job.")
        return None
    _say_open(turn)
    return next((t.closed_by for t in things if t.closed_by in turn.state.settled), None)


def _say_left_out(turn: Turn) -> None:
    for text in left_out_sayings(turn.state):
        turn.say(text, safety=True)


def _say_open(turn: Turn) -> None:
    turn.say("The job cannot be closed.", tone=Tone.ERROR, safety=True)
    things = open_things(turn.state)
    for text in open_sayings(things) if things else ():
        turn.say(text, safety=True)
    _say_left_out(turn)
    to_go = to_go_saying(turn.state)
    if to_go:
        turn.say(to_go)


def close(turn: Turn) -> str | None:
    """ "Close the job": refused with what is open, or asked once more. Returns a step to do again."""
    things = not_closable(turn.state)
    if things:
        turn.record(ev.Refused(command="close the job", reason="; ".join(t.text for t in things)))
        _say_open(turn)
        settled = [t.closed_by for t in things if t.closed_by in turn.state.settled]
        return settled[0] if settled and turn.state.current is None else None
    if not _timers_run(turn):
        _say_left_out(turn)
        names = listing([part_name(turn.state, d.about) for d in awaited(turn.state)])
        late = f"Still awaited: {names}. " if next(awaited(turn.state), None) else ""
        turn.ask(Close(), f"{late}Close the job for good? Yes or no?")
    return None


def _timers_run(turn: Turn) -> bool:
    running = [d for d in turn.state.deadlines.values() if d.kind is Kind.TIMER]
    if running:
        turn.refuse("close the job", "a timer is running; say cancel the timer, or got it when it has rung")
    return bool(running)


def confirm_close(turn: Turn, sure: bool) -> None:
    """The answer to "close the job for good?"."""
    turn.answered("yes" if sure else "no")
    if not sure:
        turn.say("The job stays open.")
        return
    if not_closable(turn.state):
        _say_open(turn)
        return
    if _timers_run(turn):
        return
    for deadline in list(awaited(turn.state)):
        turn.record(ev.DeadlineSettled(deadline=deadline.id, how="cancelled"))
    for number, follow_up in enumerate(turn.state.procedure.follow_ups, start=1):
        if follow_up.after is not None:
            turn.record(
                ev.DeadlineSet(
                    deadline=follow_up_id(number),
                    kind=Kind.FOLLOW_UP,
                    what=f"{follow_up_text(follow_up)}{_asked(follow_up)}",
                    running=follow_up.what,
                    due=later(turn.start, follow_up.after),
                    priority=int(Priority.ROUTINE),
                )
            )
    turn.record(ev.JobClosed())
    turn.say(_summary(turn))
    _say_left_out(turn)
    facts = [f"{follow_up_text(f)}{_when_asked(f)}" for f in turn.state.procedure.follow_ups]
    facts += [d.told(turn.wall) for d in turn.state.deadlines.values() if d.kind is Kind.CURE]
    for text in in_threes(facts):
        turn.say(text)


def follow_up_text(follow_up: FollowUp) -> str:
    """ "Retorque the wheel bolts, after 100 km or 7 days, whichever comes first".

    Heat cycles have no date. Their time says when to ask about them, not when they are due.
    """
    cycles = follow_up.heat_cycles
    whens = ["the next heat cycle" if cycles == 1 else f"{cycles} heat cycles"] if cycles else []
    whens += [f"{follow_up.distance_km} km"] if follow_up.distance_km else []
    whens += [short(follow_up.after)] if follow_up.after and not cycles else []
    both = ", whichever comes first" if len(whens) > 1 else ""
    return f"{follow_up.what}, after {' or '.join(whens)}{both}" if whens else follow_up.what


def _asked(follow_up: FollowUp) -> str:
    """How the reminder of a follow-up ends."""
    if not follow_up.heat_cycles:
        return "."
    return ". Has there been one?" if follow_up.heat_cycles == 1 else ". Have there been as many?"


def _when_asked(follow_up: FollowUp) -> str:
    """What is said of it beforehand."""
    if not follow_up.heat_cycles or not follow_up.after:
        return ""
    return f". I will ask in {short(follow_up.after)}"


def _summary(turn: Turn) -> str:
    settled = turn.state.settled.values()
    done = sum(1 for s in settled if s.how is How.DONE)
    skipped = sum(1 for s in settled if s.how is How.SKIPPED)
    notes = len(turn.state.notes)
    facts = ["one step done" if done == 1 else f"{done} steps done"]
    facts += [f"{skipped} skipped"] if skipped else []
    facts += [f"{notes} notes"] if notes > 1 else ["one note"] if notes else []
    return f"Job closed: {', '.join(facts)}."
