"""Telling a jump of the wall clock from time that really passed.

Deadlines are moments of the wall clock. When that jumps against the monotonic clock, every deadline moves
with it (`ClockMoved`). Every message compares the two. A drift under two seconds is
no jump. Then a wait begins by the clock that is ahead and ends by the one that is behind, so none is shorter.
"""

from datetime import timedelta

from companion.job.facts.instant import Instant

TOLERANCE = timedelta(seconds=2)
"""A smaller drift between the two clocks is no jump."""


def unseen_jump(last: Instant, now: Instant, same_boot: bool) -> timedelta:
    """The jump of the wall clock between two moments, as far as two clocks can tell.

    In the same run of the machine the monotonic clock tells exactly. After a reboot only a wall
    clock that went backwards is known to have jumped; no time at all is then taken to have passed,
    so that nothing can fall due early.
    """
    wall = now.wall - last.wall
    if same_boot and now.mono >= last.mono:
        return wall - (now.mono - last.mono)
    return min(wall, timedelta())


def drift(agreed: Instant | None, now: Instant) -> timedelta:
    """How far the wall clock has gone ahead (negative: fallen behind) without that being a jump."""
    if agreed is None:
        return timedelta()
    return min(max(unseen_jump(agreed, now, same_boot=True), -TOLERANCE), TOLERANCE)
