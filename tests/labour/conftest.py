"""Small job logs, written by hand."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from companion.job.facts.events import Record
from companion.logbook.lines import encode

OPENED = datetime(2031, 3, 3, 8, 0, tzinfo=UTC)


class LogWriter:
    """Writes one job log; `after` lets time pass on both clocks."""

    def __init__(self, folder: Path, job: str, day: int = 0, mechanic: str = "Aske", **about: Any) -> None:
        self.path = folder / f"{job}.jsonl"
        self.wall = OPENED + timedelta(days=day)
        self.mono = 5000.0
        self.records: list[Record] = []
        opened = {"title": "Small job", "revision": "1", "procedure_sha256": "0" * 64, "mechanic": mechanic}
        self.add("job_opened", job=job, **{**opened, **about})
        self.add("session_started", boot="one")

    def after(self, seconds: float) -> "LogWriter":
        self.wall += timedelta(seconds=seconds)
        self.mono += seconds
        return self

    def add(self, event: str, **fields: Any) -> "LogWriter":
        line = {
            "schema": 1, "seq": len(self.records) + 1, "at": self.wall.isoformat().replace("+00:00", "Z"),
            "mono": self.mono, "event": event, **fields,
        }  # fmt: skip
        self.records.append(Record.from_line(line))  # so that every log here is one the companion can write
        with self.path.open("ab") as file:
            file.write(encode(self.records[-1]))
        return self

    def begin(self, step: str, work: str = "w1", act: str = "fit", book_s: float = 60.0) -> "LogWriter":
        return self.add("step_begun", step=step, act=act, book_s=book_s, work=work)

    def done(self, step: str) -> "LogWriter":
        return self.add("step_done", step=step)

    def reboot(self, away_s: float) -> "LogWriter":
        """The machine restarts: the monotonic clock begins again."""
        self.wall += timedelta(seconds=away_s)
        self.mono = 3.0
        return self


@pytest.fixture
def write_log(tmp_path: Path) -> Callable[..., LogWriter]:
    def write(job: str = "job-1", **about: Any) -> LogWriter:
        return LogWriter(tmp_path, job, **about)

    return write
