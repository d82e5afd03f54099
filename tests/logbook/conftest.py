from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from companion.job.facts.events import Event, JobOpened, Record, StepDone

BEGUN = datetime(2031, 4, 2, 8, 30, tzinfo=UTC)
OPENED = JobOpened(
    job="sump-1",
    title="Sump reseal",
    revision="3",
    procedure_sha256="0" * 64,
    vehicle="Tarn 1.6, grün, 초록",
    mechanic="Ines",
)


def numbered(*events: Event, after: int = 0) -> list[Record]:
    """The events as records, a minute apart."""
    return [
        Record(
            seq=n,
            at=BEGUN + timedelta(minutes=n),
            mono=timedelta(seconds=60 * n, milliseconds=7),
            event=event,
        )
        for n, event in enumerate(events, start=after + 1)
    ]


def steps(count: int) -> list[Record]:
    """A job begun, and so many steps done."""
    return numbered(OPENED, *(StepDone(step=f"step-{n}") for n in range(1, count + 1)))


@pytest.fixture(name="numbered")
def _numbered() -> Callable[..., list[Record]]:
    return numbered


@pytest.fixture(name="steps")
def _steps() -> Callable[[int], list[Record]]:
    return steps


@pytest.fixture
def opened() -> JobOpened:
    return OPENED


@pytest.fixture
def now() -> datetime:
    return datetime(2031, 4, 3, 7, 0, tzinfo=UTC)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that every user can reach."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


@pytest.fixture
def as_nobody() -> Callable[[], object]:
    """Without the rights of root, whom no permission stops."""

    @contextmanager
    def without_rights() -> Iterator[None]:
        if os.geteuid() != 0:
            yield
            return
        os.seteuid(65534)
        try:
            yield
        finally:
            os.seteuid(0)

    return without_rights
