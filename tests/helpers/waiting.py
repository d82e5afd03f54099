"""Waits for what must happen, not for a time; and not for ever."""

import time
from collections.abc import Callable
from typing import TypeVar

PATIENCE = 120.0
"""Seconds until what must happen counts as never: for a machine that is busy with other things."""

T = TypeVar("T")


def until(happened: Callable[[], T], told: Callable[[], object] = lambda: "it never happened") -> T:
    """What this gives, as soon as it gives something true; when it never does, fail with what is `told`."""
    end = time.monotonic() + PATIENCE
    while not (found := happened()):
        assert time.monotonic() < end, told()
        time.sleep(0.01)
    return found
