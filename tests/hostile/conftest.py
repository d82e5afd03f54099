"""The program as its user runs it, for whatever others may write into what it reads."""

from collections.abc import Callable
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from tests.helpers.commands import CommandLine


@pytest.fixture
def companion(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> Callable[..., CompletedProcess[str]]:
    """Runs the command line in an empty folder, within this process."""
    return CommandLine(tmp_path, monkeypatch, capfd)
