"""The program as its user runs it: a process, its words and its exit code."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def companion(tmp_path: Path) -> Run:
    """Runs the command line in an empty folder."""

    def run(
        *arguments: object, typed: str = "", env: dict[str, str] | None = None
    ) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "companion", *map(str, arguments)],
            input=typed,
            capture_output=True,
            text=True,
            cwd=tmp_path,
            env=env,
            timeout=120,
            check=False,
        )

    return run
