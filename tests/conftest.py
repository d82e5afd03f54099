"""What holds for every test: none can hang, and none fails because the machine is busy.

What tests share otherwise is in `tests/helpers`.
"""

import copy
import faulthandler
import functools
import gc
import os
import shutil
import signal
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from companion.procedure import read

LONGEST = 300
"""Seconds for a test with what it needs set up. The slowest needs a twentieth of it on a machine of its own.

Twice as long, and pytest's faulthandler ends the whole run: see `pyproject.toml`.
"""
AT_THE_END = 60
"""Seconds for the end of the process, once all tests are done."""

MEMORY = Path("/dev/shm")
"""Files that lie in memory are made safe at once: a tenth of the time of all tests is waiting for a disk."""
ROOM = 4 * 2**30
"""Bytes that must be free there; all tests together keep less than one."""

LOOK_ON = "LOOK_ON"
"""With this set, property tests draw other examples each time. Otherwise a run can be repeated."""

settings.register_profile(
    "busy machine",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=LOOK_ON not in os.environ,
)
settings.load_profile("busy machine")


LONG = ("sound/test_sound_server", "work/test_crash", "words/test_transcript", "work/test_process")
"""Files that take longest. They come first, so that at the end no process waits for another."""


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """With `-n2` two processes share the tests. Each file goes to one: what it sets up is set up once."""
    if getattr(config.option, "numprocesses", None) and config.option.dist == "no":
        config.option.dist = "loadfile"
        config.option.loadscopereorder = False


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The long ones first."""
    items.sort(key=lambda item: not any(name in item.nodeid for name in LONG))


def pytest_configure() -> None:
    """Temporary files lie in memory where there is room, of the programs that tests start too."""
    if "TMPDIR" not in os.environ and MEMORY.is_dir() and shutil.disk_usage(MEMORY).free > ROOM:
        os.environ["TMPDIR"] = tempfile.tempdir = str(MEMORY)


def pytest_collection_finish() -> None:
    """What is loaded by now stays: looking through it for garbage again and again took a minute."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def _each_file_is_parsed_once() -> Iterator[None]:
    """The same bytes are the same YAML; to find that out again was a quarter of the time of all tests."""
    real = read.parse
    kept = functools.lru_cache(64)(real)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(read, "parse", lambda content, **how: copy.deepcopy(kept(content, **how)))
        yield


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
