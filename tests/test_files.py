"""Files are written whole or not at all."""

import os
from pathlib import Path
from threading import Thread

import pytest

from companion.files import replacing, write_whole
from tests.helpers.waiting import PATIENCE


def test_what_fails_halfway_leaves_the_old_file_and_nothing_else(tmp_path: Path) -> None:
    report = tmp_path / "report.html"
    write_whole(report, b"old")

    def fails() -> None:
        with replacing(report) as new:
            new.write_bytes(b"half of the n")
            raise OSError("the disk is full")

    with pytest.raises(OSError, match="full"):
        fails()
    assert report.read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["report.html"]


def test_a_link_is_replaced_and_what_it_leads_to_stays(tmp_path: Path) -> None:
    log, link = tmp_path / "job.jsonl", tmp_path / "due.ics"
    log.write_bytes(b"a job")
    link.symlink_to(log)
    write_whole(link, b"a calendar")
    assert (log.read_bytes(), link.read_bytes(), link.is_symlink()) == (b"a job", b"a calendar", False)


def test_a_pipe_is_written_to_and_stays_a_pipe(tmp_path: Path) -> None:
    pipe, read = tmp_path / "pipe", list[bytes]()
    os.mkfifo(pipe)
    reader = Thread(target=lambda: read.append(pipe.read_bytes()), daemon=True)
    reader.start()
    write_whole(pipe, b"kind,item\r\n")
    reader.join(PATIENCE)
    assert (read, pipe.is_fifo()) == ([b"kind,item\r\n"], True)
