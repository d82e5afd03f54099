"""What time it is, on two clocks, and whether the wall clock has jumped.

The monotonic clock counts suspended time, so a laptop that slept is not a jump: both clocks went on.
"""

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol
from uuid import uuid4

from companion.job.facts.instant import Instant
from companion.job.rules.jumps import TOLERANCE, unseen_jump

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> Instant: ...

    def boot(self) -> str:
        """Names the run of the machine: monotonic times compare only within the same one."""
        ...


class SystemClock:
    """The clocks of the machine."""

    def __init__(self) -> None:
        # Where the system does not name its boots, each start of the companion is taken for one:
        # then monotonic times are not compared across starts, which is the safe side.
        self._boot = _boot_id() or f"start-{uuid4()}"

    def now(self) -> Instant:
        # Linux has a clock that counts suspended time; elsewhere the monotonic clock is the nearest.
        clock = getattr(time, "CLOCK_BOOTTIME", None)
        ns = time.monotonic_ns() if clock is None else time.clock_gettime_ns(clock)
        return Instant(wall=datetime.now(UTC), mono=timedelta(microseconds=ns // 1000))

    def boot(self) -> str:
        return self._boot


def _boot_id() -> str | None:
    try:
        return _BOOT_ID.read_text(encoding="ascii").strip() or None
    except OSError:
        return None


class StagedClock:
    """A clock moved by hand: for rehearsals, where hours pass in seconds, and for tests."""

    def __init__(self, wall: datetime, mono: timedelta = timedelta(0)) -> None:
        """`wall` must be aware; it is kept as UTC."""
        self._wall = wall.astimezone(UTC)
        self._mono = mono
        self._boots = 1

    def now(self) -> Instant:
        return Instant(self._wall, self._mono)

    def boot(self) -> str:
        return f"staged-{self._boots}"

    def advance(self, by: timedelta) -> None:
        """Time passes."""
        if by < timedelta(0):
            raise ValueError("time passes forwards only; use jump_wall to set the clock back")
        self._wall += by
        self._mono += by

    def suspend(self, by: timedelta) -> None:
        """The machine sleeps: time passes on both clocks, and nothing runs meanwhile."""
        self.advance(by)

    def jump_wall(self, by: timedelta) -> None:
        """Somebody, or a time server, sets the wall clock."""
        self._wall += by

    def reboot(self, away: timedelta) -> None:
        """The machine is off for a while; its monotonic clock starts again."""
        self.advance(away)
        self._mono = timedelta(0)
        self._boots += 1


class JumpWatch:
    """Compares the clocks between looks. Nothing is lost to small jumps: they add up until reported."""

    def __init__(self) -> None:
        self._agreed: Instant | None = None

    def look(self, now: Instant) -> timedelta | None:
        """How far the wall clock has jumped (positive: forward), when it has."""
        if self._agreed is None:
            self._agreed = now
        jump = unseen_jump(self._agreed, now, same_boot=True)
        if abs(jump) <= TOLERANCE:
            return None
        self._agreed = now
        return jump
