"""The command line within this process: what was loaded once stays loaded, so many cases cost little."""

import io
import signal
import subprocess
import sys
import warnings
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from tempfile import TemporaryFile

import pytest

from companion.cli import main

QUIET = (DeprecationWarning, PendingDeprecationWarning, ImportWarning, ResourceWarning)
"""Warnings that Python itself does not show."""


class CommandLine:
    """Runs `companion` in a folder as a process would run it, and tells the same of it.

    What is written by the libraries beneath Python counts too, and so do warnings.
    """

    def __init__(self, folder: Path, patch: pytest.MonkeyPatch, written: pytest.CaptureFixture[str]) -> None:
        """`written` captures the descriptors."""
        self._folder = folder
        self._patch = patch
        self._written = written

    def __call__(self, *arguments: object, typed: str = "") -> "subprocess.CompletedProcess[str]":
        """Run one command."""
        words = ["companion", *map(str, arguments)]
        self._written.readouterr()
        with (
            self._patch.context() as patch,
            signals_kept(),
            TemporaryFile() as typing,
            warnings.catch_warnings(record=True) as warned,
        ):
            typing.write(typed.encode())
            typing.seek(0)
            warnings.resetwarnings()
            for category in QUIET:
                warnings.simplefilter("ignore", category)
            patch.chdir(self._folder)
            patch.setattr(sys, "argv", words)
            patch.setattr(sys, "stdin", io.TextIOWrapper(typing, "utf-8"))
            try:
                main()
                code: object = 0
            except SystemExit as ended:
                code = ended.code or 0
        out, errors = self._written.readouterr()
        errors += "".join(warnings.formatwarning(w.message, w.category, w.filename, w.lineno) for w in warned)
        assert isinstance(code, int)
        return subprocess.CompletedProcess(words, code, out, errors)


@contextmanager
def signals_kept() -> Iterator[None]:
    """A job at work listens to signals; afterwards they are again as they were."""
    with ExitStack() as back:
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGQUIT):
            back.callback(signal.signal, number, signal.getsignal(number))
        yield
