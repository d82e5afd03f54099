"""What holds for every test: none can hang, and none fails because the machine is busy.

What tests share otherwise is in `tests/helpers`.
"""

import faulthandler
import signal
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

LONGEST = 300
"""Seconds for a test with what it needs set up. The slowest needs a twentieth of it on a machine of its own.

Twice as long, and pytest's faulthandler ends the whole run: see `pyproject.toml`.
"""
AT_THE_END = 60
"""Seconds for the end of the process, once all tests are done."""

settings.register_profile("busy machine", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("busy machine")


class TookTooLongError(BaseException):
    """Not an Exception: what is under test, or looks for smaller examples, must not catch it."""


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol() -> Iterator[None]:
    """A test that waits for ever fails, with the place where it waits."""

    def over(*_: object) -> None:
        raise TookTooLongError(f"not done within {LONGEST} s")

    before = signal.signal(signal.SIGALRM, over)
    signal.setitimer(signal.ITIMER_REAL, LONGEST, AT_THE_END)  # again for what is taken down after it
    try:
        return (yield)
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def pytest_unconfigure() -> None:
    """A thread that never ends would hold the process."""
    faulthandler.dump_traceback_later(AT_THE_END, exit=True)
