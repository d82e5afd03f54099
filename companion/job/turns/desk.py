"""What is typed at the desk while nobody is at the car: a part is awaited or has come, a follow-up is done, a
quote is kept.

Nothing is said; a refusal says why not.

Events written here are marked `desk`, and are no sign that anybody was at the car: they move neither
`State.last` nor the stopwatch. The desk refuses when the clock was set since the job was left.
"""

from companion.job.facts import events as ev
from companion.job.facts.folding import ARRIVED, FOLLOWED_UP
from companion.job.facts.ids import follow_up_id
from companion.job.messages import FollowedUp, PartAwaited, PartCame, QuoteGiven
from companion.job.turns.parts import LONGEST_NAME, awaited, part_id, part_name, set_awaited, too_long
from companion.job.turns.turn import Turn


def at_desk(turn: Turn, message: PartAwaited | PartCame | FollowedUp | QuoteGiven) -> None:
    """Do what was typed."""
    if isinstance(message, FollowedUp):
        _follow_up(turn, message.what)
    elif turn.state.closed:
        _refuse(turn, "the job is closed")
    elif isinstance(message, QuoteGiven):
        turn.record(message.quote)
    elif isinstance(message, PartCame):
        _came(turn, part_id(turn.state, message.part))
    else:
        _await(turn, message)


def _await(turn: Turn, message: PartAwaited) -> None:
    part = part_id(turn.state, message.part)
    named = part and len(part) <= LONGEST_NAME
    why_not = too_long(message.wait) if named else f"name the part, in up to {LONGEST_NAME} letters"
    if why_not:
        _refuse(turn, why_not)
    else:
        set_awaited(turn, part, message.wait, desk=True)


def _came(turn: Turn, part: str) -> None:
    ids = {d.about.casefold(): d.id for d in awaited(turn.state)}
    if part.casefold() in ids:
        turn.record(ev.DeadlineSettled(deadline=ids[part.casefold()], how=ARRIVED, desk=True))
        return
    names = ", ".join(part_name(turn.state, d.about) for d in awaited(turn.state))
    _refuse(turn, f"{part_name(turn.state, part)} is not awaited; what is awaited: {names or 'nothing'}")


def _follow_up(turn: Turn, words: str) -> None:
    state = turn.state
    left = {
        follow_up_id(number): follow_up.what
        for number, follow_up in enumerate(state.procedure.follow_ups, start=1)
        if follow_up_id(number) not in state.followed_up
    }
    meant = [id_ for id_, what in left.items() if words.strip().casefold() in what.casefold()]
    if not state.closed:
        _refuse(turn, "the job is not closed, so nothing is to be followed up yet")
    elif len(meant) == 1 and words.strip():
        turn.record(ev.DeadlineSettled(deadline=meant[0], how=FOLLOWED_UP, desk=True))
    else:
        which = "more than one follow-up is" if meant else "no follow-up is"
        _refuse(turn, f"{which} called {words!r}; what is left: {'; '.join(left.values()) or 'nothing'}")


def _refuse(turn: Turn, reason: str) -> None:
    turn.record(ev.Refused(command="desk", reason=reason))
