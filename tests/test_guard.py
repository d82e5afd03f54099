"""The guard of `conftest.py`, tried on a test that would wait for ever."""

import os
from pathlib import Path

from tests.helpers.programs import PYTHON, run

HURRIED = """\
from tests import conftest
from tests.conftest import pytest_runtest_protocol

conftest.LONGEST = 1
"""
HANGS = """\
from threading import Event

def test_that_waits():
    while True:
        try:
            Event().wait()
        except Exception:
            pass

def test_after_it():
    pass
"""


def test_a_test_that_hangs_fails_with_its_place_and_the_next_is_run(tmp_path: Path) -> None:
    (tmp_path / "conftest.py").write_text(HURRIED)
    (tmp_path / "test_it.py").write_text(HANGS)
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])}
    done = run(PYTHON, "-m", "pytest", "-q", tmp_path, folder=tmp_path, env=env)
    assert done.returncode == 1, done
    assert "not done within 1 s" in done.stdout
    assert "test_it.py:6" in done.stdout
    assert "1 failed, 1 passed" in done.stdout
