"""One companion at a time on a job."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.errors import JobInUseError
from companion.logbook.logbook import FileLogbook
from tests.helpers.programs import PYTHON, Program

JOB = "sump-1"
HOLD = """
import sys
from pathlib import Path
from datetime import datetime, UTC
from companion.logbook.logbook import FileLogbook
FileLogbook.resume(Path(sys.argv[1]), sys.argv[2], datetime.now(UTC))
print("held", flush=True)
sys.stdin.read()
"""


def test_a_second_companion_is_told_who_is_at_work_and_a_killed_one_holds_nothing(tmp_path, steps, now):
    book = FileLogbook.create(tmp_path, JOB)
    book.append(steps(2))
    book.close()
    with Program(PYTHON, "-c", HOLD, tmp_path, JOB) as holder:
        assert holder.line() == "held\n"
        for take in (
            lambda: FileLogbook.resume(tmp_path, JOB, now),
            lambda: FileLogbook.create(tmp_path, JOB),
        ):
            with pytest.raises(JobInUseError) as caught:
                take()
            message = str(caught.value)
            assert "\n" not in message
            assert JOB in message
            if Path("/proc/locks").exists():
                assert f"process {holder.pid}" in message
    book, recovered = FileLogbook.resume(tmp_path, JOB, now)
    book.close()
    assert recovered.records == steps(2)


def test_the_same_process_cannot_open_a_job_twice(tmp_path, steps, now):
    book = FileLogbook.create(tmp_path, JOB)
    book.append(steps(1))
    with pytest.raises(JobInUseError):
        FileLogbook.resume(tmp_path, JOB, now)
    book.append(steps(2)[2:])  # It still holds.
    book.close()


def test_another_job_in_the_same_folder_is_free(tmp_path):
    books = [FileLogbook.create(tmp_path, job) for job in ("one", "two")]
    for book in books:
        book.close()
