"""Parts that are awaited: said at the car or typed at the desk, each with the day on which it is expected.

An awaited part is a deadline like any other, but one that stays until the part has come: when its day is over
it is told, and goes on being listed as late.

"Got it" does not settle it. Until it has come, the companion tells of it between two steps, never in one.
"""

import re
from collections.abc import Iterator
from datetime import timedelta

from companion.job.facts import events as ev
from companion.job.facts.deadlines import Deadline, Kind, later
from companion.job.facts.folding import ARRIVED
from companion.job.facts.ids import part_wait_id
from companion.job.facts.said import questions as q
from companion.job.facts.said.given import Given, PartAndWait, words_of
from companion.job.facts.sayings import Priority
from companion.job.facts.state import State
from companion.job.turns.turn import Turn
from companion.job.words.sentences import sentence
from companion.procedure.nouns import as_many, the, verb
from companion.procedure.units import short

SOME_PART = "a part"
LONGEST = timedelta(days=366)
LONGEST_NAME = 80
_ARTICLES = re.compile(r"^(?:(?:waiting for|the|a|an|new|for)\s+)+", re.IGNORECASE)


def awaited(state: State) -> Iterator[Deadline]:
    """The parts that have not come yet, in the order they were asked for."""
    return (d for d in state.deadlines.values() if d.kind is Kind.PART_EXPECTED)


def part_id(state: State, name: str) -> str:
    """The part of the procedure that goes by this name, or the name itself."""
    own = _ARTICLES.sub("", name).strip(" .,;:")
    plain = own.casefold()
    for id_, part in state.procedure.parts.items():
        if plain in (id_, _ARTICLES.sub("", part.name).casefold()):
            return id_
    return "" if plain in ("a", "part") else own


def part_name(state: State, id_: str) -> str:
    """As it is said: the name in the procedure, the mechanic's own words, or "a part"."""
    part = state.procedure.parts.get(id_)
    return the(as_many(part.count, part.name) if part else id_) if id_ else SOME_PART


def part_and_wait(state: State, given: Given | None) -> tuple[str, timedelta | None]:
    """Which part is waited for, and for how long, from what was said beside "waiting for"."""
    name = " ".join(words_of(given).split()).strip(" .,;:!?")
    wait = None
    if isinstance(given, PartAndWait):
        name, wait = given.name, given.wait
    if len(name) > LONGEST_NAME:
        name = name[:LONGEST_NAME].rsplit(" ", 1)[0]
    part = part_id(state, name)
    return _called_for_short(state, part) or part or _the_missing_one(state), wait


def _called_for_short(state: State, name: str) -> str | None:
    """The only part of the procedure whose name ends like this: "the gasket" for the sump gasket."""
    ends = f" {name.casefold()}"
    found = [id_ for id_, part in state.procedure.parts.items() if part.name.casefold().endswith(ends)]
    return found[0] if name and name not in state.procedure.parts and len(found) == 1 else None


def is_known(state: State, part: str) -> bool:
    """Does the procedure speak of it, or is it awaited already? A part without a name may be any."""
    procedure = state.procedure
    names = [thing.name for thing in procedure.items.values()]
    names += [seal.name for seal in procedure.seals.values()]
    names += [product.name for product in procedure.consumables.values()]
    spoken_of = {_ARTICLES.sub("", name).casefold() for name in names}
    waited_for = {d.about.casefold() for d in awaited(state)}
    return not part or part in procedure.parts or part.casefold() in spoken_of | waited_for


def _the_missing_one(state: State) -> str:
    """The part that is asked for, or the only one that is known to be missing."""
    if isinstance(state.question, q.PartOnBench):
        return state.question.part
    missing = [part for part, there in state.parts.items() if not there]
    return missing[0] if len(missing) == 1 else ""


def ask_wait(turn: Turn, part: str, wait: timedelta | None) -> None:
    """Ask for what is still missing, the name first. A part that is not in the procedure is asked back."""
    name = part_name(turn.state, part)
    why_not = too_long(wait) if wait is not None else None
    if why_not:
        turn.refuse("waiting for a part", why_not)
        wait = None
    if not part and wait is None and not why_not:
        turn.ask(q.PartName(), "Which part? Say its name, or no.")
    elif not is_known(turn.state, part):
        how_long = "" if wait is None else f" {short(wait)}"
        text = f"Wait{how_long} for {name}? It is not in this procedure. Yes or no?"
        turn.ask(q.PartKnown(part, wait), text)
    elif wait is None:
        ask_when(turn, part)
    else:
        hear_wait(turn, part, wait)


def hear_name(turn: Turn, given: Given | None) -> None:
    """The answer to "which part". When it was not understood, the part is awaited without a name."""
    turn.answered(words_of(given))
    part, wait = part_and_wait(turn.state, given)
    if part and is_known(turn.state, part):
        wait_for(turn, part)
    if not part and wait is None:
        ask_when(turn, part)
    else:
        ask_wait(turn, part, wait)


def confirm_part(turn: Turn, question: q.PartKnown, meant: bool) -> None:
    """The answer to "it is not in this procedure"."""
    turn.answered("yes" if meant else "no")
    if not meant:
        ask_wait(turn, "", None)
        return
    wait_for(turn, question.part)
    if question.wait is None:
        ask_when(turn, question.part)
    else:
        _set(turn, question.part, question.wait)


def wait_for(turn: Turn, part: str) -> None:
    """The job is held because of this part."""
    turn.record(ev.JobHeld(because=f"waiting for {part_name(turn.state, part)}"))


def ask_when(turn: Turn, part: str) -> None:
    """No length of time was said."""
    name = part_name(turn.state, part)
    turn.ask(
        q.PartWhen(part),
        f"How long until {name} {verb(name)} here? Say a number of days, or no.",
    )


def hear_wait(turn: Turn, part: str, wait: timedelta) -> None:
    """A length of time was said: read it back and ask."""
    why_not = too_long(wait)
    if why_not:
        turn.refuse("waiting for a part", why_not)
        ask_when(turn, part)
        return
    text = f"{part_name(turn.state, part)}, expected in {short(wait)}. Right? Yes or no?"
    turn.ask(q.PartRight(part, wait), text)


def too_long(wait: timedelta) -> str | None:
    """Why the time is too long to wait for a part; None when it makes sense."""
    return None if timedelta() < wait <= LONGEST else f"a part is awaited for up to {LONGEST.days} days"


def confirm_wait(turn: Turn, question: q.PartRight, right: bool) -> None:
    """The answer to the readback."""
    turn.answered("yes" if right else "no")
    if not right:
        ask_when(turn, question.part)
        return
    _set(turn, question.part, question.wait)


def _set(turn: Turn, part: str, wait: timedelta) -> None:
    set_awaited(turn, part, wait)
    turn.say("I will remind you. Say part is here when it has come.")


def set_awaited(turn: Turn, part: str, wait: timedelta, desk: bool = False) -> None:
    """A part is expected after `wait`. One that is awaited already gets the new day."""
    name = part_name(turn.state, part)
    turn.record(
        ev.DeadlineSet(
            deadline=part_wait_id(part, turn.state.deadlines),
            kind=Kind.PART_EXPECTED,
            what=sentence(f"{name} should be here now"),
            running=f"{name} {verb(name)} expected",
            due=later(turn.start, wait),
            priority=int(Priority.ROUTINE),
            about=part,
            desk=desk,
        )
    )


def ask_whether_here(turn: Turn) -> None:
    """ "Part is here": which one is asked, and nothing is settled without a yes."""
    first = next(awaited(turn.state), None)
    if first is None:
        turn.refuse("part is here", "no part is awaited")
    else:
        _ask_here(turn, first)


def _ask_here(turn: Turn, deadline: Deadline) -> None:
    name = part_name(turn.state, deadline.about)
    turn.ask(q.PartHere(deadline.id), f"{verb(name)} {name} here? Yes or no?")


def confirm_here(turn: Turn, id_: str, here: bool) -> None:
    """The answer; after a no the next awaited part is asked about."""
    turn.answered("yes" if here else "no")
    waiting = list(awaited(turn.state))
    if here:
        turn.record(ev.DeadlineSettled(deadline=id_, how=ARRIVED))
        turn.say("Good. On the bench, then." + (" Say carry on to go on." if turn.state.held else ""))
        return
    later_ones = waiting[[d.id for d in waiting].index(id_) + 1 :]
    if later_ones:
        _ask_here(turn, later_ones[0])
    else:
        turn.say("Still awaited, then.")


def came_with_the_answer(turn: Turn, part: str) -> None:
    """The part is on the bench: nobody waits for it any more."""
    for deadline in list(awaited(turn.state)):
        if deadline.about == part:
            turn.record(ev.DeadlineSettled(deadline=deadline.id, how=ARRIVED))
