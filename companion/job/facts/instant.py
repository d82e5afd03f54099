"""A moment, read from two clocks at once."""

from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True)
class Instant:
    """Now, as handed to the core by an edge."""

    wall: datetime
    """UTC, aware: what the calendar says; may jump."""
    mono: timedelta
    """Since the machine was started, suspended time included; never jumps, restarts at boot."""
