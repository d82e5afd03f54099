"""Ids of deadlines, made and read here alone: a kind, a colon, and what the deadline is about."""

from collections.abc import Iterable

LOG_ID = "log"
"""By which a failed log is told again."""
_TIMER, _PART = "timer:", "part:"


def cure_id(starter: str) -> str:
    """Of the cure that the step `starter` starts."""
    return f"cure:{starter}"


def skin_id(applier: str) -> str:
    """Of the moment by which what the step `applier` applied must be assembled."""
    return f"skin-over:{applier}"


def skin_warning_id(applier: str) -> str:
    """Of the warning some time before that."""
    return f"{skin_id(applier)}:warning"


def isolation_wait_id(energy: str) -> str:
    """Of the wait between isolating and proving."""
    return f"isolation-wait:{energy}"


def step_wait_id(step: str) -> str:
    """Of a step that is itself a wait."""
    return f"wait:{step}"


def follow_up_id(number: int) -> str:
    """Of a follow-up of the procedure, counted from 1."""
    return f"follow-up:{number}"


def next_timer_id(taken: Iterable[str]) -> str:
    """Of one more timer: each has a number that none had before."""
    return f"{_TIMER}{_next(taken, _TIMER)}"


def part_wait_id(part: str, taken: Iterable[str]) -> str:
    """Of an awaited part; each without a name is a reminder of its own, and gets a number."""
    return f"{_PART}{part.casefold() or _next(taken, _PART)}"


def _next(taken: Iterable[str], prefix: str) -> int:
    numbers = [id_.removeprefix(prefix) for id_ in taken if id_.startswith(prefix)]
    return max((int(n) for n in numbers if n.isdecimal()), default=0) + 1
