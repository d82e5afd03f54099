"""What a disk, or somebody at it, can do to a log while it is being written."""

from __future__ import annotations

import os
import resource
import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from companion.errors import LogbookError
from companion.logbook.logbook import FileLogbook
from companion.logbook.recover import read_log
from companion.speech.sound.samples import RATE, Clip
from tests.helpers.programs import PYTHON, run

JOB = "sump-1"
SECOND = Clip(np.zeros(RATE, dtype=np.float32))


@pytest.fixture
def synced(monkeypatch):
    """The path and size of everything forced onto the disk, when it was; it still is."""
    seen: list[tuple[str, int]] = []
    real = os.fsync

    def fsync(descriptor: int) -> None:
        real(descriptor)
        seen.append((os.readlink(f"/proc/self/fd/{descriptor}"), os.fstat(descriptor).st_size))

    monkeypatch.setattr(os, "fsync", fsync)
    return seen


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="only Linux names the file of a descriptor")
def test_everything_is_forced_onto_the_disk_before_it_is_acknowledged(tmp_path, steps, synced, now):
    logs = tmp_path / "new" / "logs"
    book = FileLogbook.create(logs, JOB)
    assert {path for path, _ in synced} >= {str(tmp_path), str(tmp_path / "new"), str(logs)}
    for record in steps(2):
        synced.clear()
        book.append([record])
        assert synced == [(str(book.path), book.path.stat().st_size)]
    synced.clear()
    clip = logs / book.keep_clip("note-1", SECOND)
    (_, size), folder = synced
    assert size == clip.stat().st_size
    assert folder[0] == str(logs)
    book.close()
    with book.path.open("ab") as file:
        file.write(b"half")
    synced.clear()
    FileLogbook.resume(logs, JOB, now)[0].close()
    assert [path for path, _ in synced] == [str(logs / f"{JOB}.torn"), str(logs), str(book.path)]


@contextmanager
def room_for(size: int) -> Iterator[None]:
    """No file can grow beyond this: the system writes what fits, then refuses."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("fits", [0, 1, 40])
def test_a_line_that_fits_in_part_is_taken_back_and_can_be_tried_again(tmp_path, steps, now, fits):
    records = steps(3)
    book = FileLogbook.create(tmp_path, JOB)
    book.append(records[:2])
    before = book.path.read_bytes()
    with room_for(len(before) + fits), pytest.raises(LogbookError) as caught:
        book.append(records[2:])
    assert str(caught.value).startswith(f"{book.path}: the disk is full")
    assert "\n" not in str(caught.value)
    assert book.path.read_bytes() == before
    assert book.records() == records[:2]
    book.append(records[2:])
    book.close()
    book, recovered = FileLogbook.resume(tmp_path, JOB, now)
    book.close()
    assert recovered.records == records
    assert recovered.torn is None


def test_a_clip_that_does_not_fit_leaves_nothing(tmp_path, steps):
    book = FileLogbook.create(tmp_path, JOB)
    book.append(steps(1))
    with room_for(book.path.stat().st_size + 100), pytest.raises(LogbookError, match="disk is full"):
        book.keep_clip("note-1", SECOND)
    assert [p.name for p in tmp_path.iterdir()] == [f"{JOB}.jsonl"]
    book.append(steps(2)[2:])
    book.close()


FULL_DISK = """
import os, subprocess, sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from companion.errors import LogbookError
from companion.job.facts.events import NoteTaken, Record
from companion.logbook.logbook import FileLogbook
from companion.logbook.recover import read_log

logs, job = Path(sys.argv[1]), "full"
def note(n):
    at = datetime(2031, 4, 2, tzinfo=UTC)
    event = NoteTaken(note=n, step=None, text="x" * 900)
    return [Record(seq=n, at=at, mono=timedelta(seconds=n), event=event)]
book = FileLogbook.create(logs, job)
logged = 0
try:
    while logged < 1000:
        book.append(note(logged + 1))
        logged += 1
except LogbookError as error:
    print(error)
assert [r.seq for r in book.records()] == list(range(1, logged + 1)), "lost"
before = book.path.read_bytes()
assert before.endswith(b"\\n")
(logs / "ballast").unlink()
book.append(note(logged + 1))
book.close()
book, recovered = FileLogbook.resume(logs, job, datetime.now(UTC))
book.close()
assert len(recovered.records) == logged + 1 and recovered.torn is None
print("logged", logged)
subprocess.run(["mount", "-o", "remount,ro", str(logs)], check=True)
for attempt in (FileLogbook.create, lambda logs, job: FileLogbook.resume(logs, job, datetime.now(UTC))):
    try:
        attempt(logs, job)
    except LogbookError as error:
        print(error)
"""


def test_a_full_and_then_read_only_disk(tmp_path):
    """On a real file system of 64 KiB, mounted for the test alone."""
    disk = tmp_path / "disk"
    disk.mkdir()
    (tmp_path / "fill.py").write_text(FULL_DISK, encoding="utf-8")
    own_mounts = ["unshare", "-Urm"]
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(disk)]
    if run(*own_mounts, *mount).returncode:
        pytest.skip("this system lets nobody mount a small disk for a test")
    fill = f'{shlex.join(mount)} && head -c 16384 /dev/zero > ballast && exec "$@"'
    fill = fill.replace("ballast", shlex.quote(str(disk / "ballast")))
    done = run(*own_mounts, "sh", "-c", fill, "-", PYTHON, tmp_path / "fill.py", disk)
    assert done.returncode == 0, done.stderr
    full, logged, created, resumed = done.stdout.splitlines()
    log = disk / "full.jsonl"
    assert full == f"{log}: the disk is full: free some space and try again; nothing already logged is lost"
    assert int(logged.removeprefix("logged ")) > 10
    assert created == f"{log}: this folder is read-only: choose another with --logs"
    assert resumed == f"{log}: this folder is read-only: choose another with --logs"


def test_a_folder_without_permission(open_folder, as_nobody, now, steps):
    book = FileLogbook.create(open_folder, JOB)
    book.append(steps(1))
    book.close()
    book.path.chmod(0o444)
    open_folder.chmod(0o555)
    with as_nobody():
        with pytest.raises(LogbookError, match=r"new\.jsonl: permission denied"):
            FileLogbook.create(open_folder, "new")
        with pytest.raises(LogbookError, match=r"sump-1\.jsonl: permission denied"):
            FileLogbook.resume(open_folder, JOB, now)


def test_a_file_where_the_folder_should_be(tmp_path, now):
    (tmp_path / "logs").write_text("shopping list")
    for attempt in (FileLogbook.create, lambda logs, job: FileLogbook.resume(logs, job, now)):
        with pytest.raises(LogbookError) as caught:
            attempt(tmp_path / "logs", JOB)
        assert "\n" not in str(caught.value)
    assert (tmp_path / "logs").read_text() == "shopping list"


def test_a_log_removed_while_at_work_is_noticed(tmp_path, steps):
    book = FileLogbook.create(tmp_path, JOB)
    book.append(steps(1))
    book.path.unlink()
    with pytest.raises(LogbookError, match="removed or replaced"):
        book.append(steps(2)[2:])
    book.close()


def test_a_log_moved_away_while_at_work_is_noticed_and_goes_on_when_it_is_back(tmp_path, steps):
    """Also with something else in its place: nobody would find the lines by its name."""
    book = FileLogbook.create(tmp_path, JOB)
    book.append(steps(1))
    aside = book.path.rename(tmp_path / "aside")
    for puts in (lambda: None, lambda: os.mkfifo(book.path), lambda: book.path.write_text("")):
        puts()
        with pytest.raises(LogbookError, match="removed or replaced"):
            book.append(steps(2)[2:])
        book.path.unlink(missing_ok=True)
    aside.rename(book.path)
    book.append(steps(2)[2:])
    assert len(read_log(book.path).records) == len(steps(2))
    book.close()


def test_a_log_that_something_else_writes_into_is_noticed(tmp_path, steps):
    book = FileLogbook.create(tmp_path, JOB)
    book.append(steps(1))
    with book.path.open("a") as file:
        file.write("scribble\n")
    with pytest.raises(LogbookError, match="something else changed"):
        book.append(steps(2)[2:])
    book.close()
