"""The program as its user runs it: its words and its exit code."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from tests.helpers.commands import CommandLine
from tests.helpers.programs import PYTHON, run

Run = Callable[..., CompletedProcess[str]]


@pytest.fixture
def companion(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Run:
    """Runs the command line in an empty folder, within this process."""
    return CommandLine(tmp_path, monkeypatch, capfd)


@pytest.fixture
def companion_process(tmp_path: Path) -> Run:
    """The same in a process of its own: for what it takes from its environment, and for what could end it."""
    return partial(run, PYTHON, "-m", "companion", folder=tmp_path)
