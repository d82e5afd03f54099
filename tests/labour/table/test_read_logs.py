"""Logs that cannot be read are left out whole and told; a torn last line is cut off."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from companion.errors import LabourError
from companion.labour.table.collect import collect, told
from companion.labour.table.read_logs import Fault
from tests.labour.table.asking import attempts, faults

Write = Callable[..., Any]


def test_a_torn_last_line_is_left_out_and_told(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("a").after(10).done("a").begin("b")
    with log.path.open("a") as file:
        file.write('{"schema": 1, "seq": 7, "at": "2031-03-03T08:10:00Z", "mono": 5600, "event": "step_do')
    for _ in ("read", "known from before"):
        assert [(r["step"], r["outcome"]) for r in attempts(tmp_path)] == [("a", "done"), ("b", "unfinished")]
        (fault,) = faults(tmp_path)
        assert fault.torn
        assert str(fault) == "job-1.jsonl: its last line (6) is torn and was left out"


def test_a_last_line_that_a_power_cut_filled_with_zeros_is_torn(write_log: Write, tmp_path: Path) -> None:
    log = write_log().begin("a").after(10).done("a")
    with log.path.open("ab") as file:
        file.write(bytes(40) + b"\n")
    assert [r["active_s"] for r in attempts(tmp_path)] == [10]
    assert [f.torn for f in faults(tmp_path)] == [True]


OPENED = (
    '{"schema": 1, "seq": 1, "at": "2031-03-03T08:00:00Z", "mono": 1, "event": "job_opened", "job": "x"}\n'
)
HELD = '{"schema": 1, "seq": 2, "at": "2031-03-03T08:00:00Z", "mono": 2, "event": "job_held"}\n'
UNREADABLE = [
    (HELD.replace("2,", "1,").encode(), "does not begin with job_opened"),
    (OPENED.replace("2031-03-03T08:00:00Z", "yesterday").encode(), "line 1 is without number or times"),
    (OPENED.replace('"schema": 1', '"schema": 2').encode(), "is of schema 2, and this companion reads 1"),
    (b"\n\n", "no event was logged"),
    (b"\x89PNG\x00\xff", "holds no whole line"),
    (b"\x7fELF\x00\xff\xfe\n\x80", "line 1 is not text"),
    (OPENED.encode() + b"\xc3\x28\n", "line 2 is not text"),
    (b"\x00\x01\x02\n", "line 1 is not JSON"),
    (OPENED.encode() + b"not JSON\n" + HELD.encode(), "line 2 is not JSON"),
    (OPENED.encode() + b"not JSON\n{", "line 2 is not JSON"),
    (OPENED.encode() + b"\n" + HELD.encode(), "line 2 is not JSON"),
    (OPENED.encode() + b"[]\n" + HELD.encode(), "line 2 is without number or times"),
    ((OPENED + HELD + HELD).encode(), "line 3 has event 2"),
    ((OPENED + OPENED.replace('"seq": 1', '"seq": 2')).encode(), "line 2 has a second job_opened"),
]


@pytest.mark.parametrize(("content", "why"), UNREADABLE)
def test_a_log_that_cannot_be_read_is_left_out_and_told(
    write_log: Write, tmp_path: Path, content: bytes, why: str
) -> None:
    write_log("good").begin("a").after(10).done("a")
    write_log("odd").begin("a").after(10).done("a")
    (tmp_path / "odd.jsonl").write_bytes(content)
    for _ in ("first", "again"):
        assert [r["log"] for r in attempts(tmp_path)] == ["good.jsonl"]
        (fault,) = faults(tmp_path)
        assert str(fault) == f"odd.jsonl: {why}"
        assert not fault.torn
    (tmp_path / "good.jsonl").unlink()
    with pytest.raises(LabourError, match=r"one log is left out: odd\.jsonl: ") as caught:
        collect(tmp_path)
    assert "\n" not in str(caught.value)


def test_what_is_wrong_is_found_in_each_of_many(write_log: Write, tmp_path: Path) -> None:
    for n, (content, _) in enumerate(UNREADABLE):
        (tmp_path / f"odd-{n:02}.jsonl").write_bytes(content)
        write_log(f"good-{n:02}", day=n).begin("a").after(10 + n).done("a")
    assert [r["active_s"] for r in attempts(tmp_path)] == [10 + n for n in range(len(UNREADABLE))]
    assert [f.why for f in faults(tmp_path)] == [why for _, why in UNREADABLE]
    with collect(tmp_path) as table:
        assert told(table.faults).startswith("14 logs are left out: odd-00.jsonl: does not begin")
        assert told(table.faults).endswith("; and 9 more; 'companion jobs' shows them")


def test_what_is_torn_is_told_apart_from_what_is_left_out() -> None:
    both = [Fault("a.jsonl", "line 2 is not JSON"), Fault("b.jsonl", "its last line (9) is torn", torn=True)]
    assert told(both) == (
        "one log is left out: a.jsonl: line 2 is not JSON; "
        "one log is torn: b.jsonl: its last line (9) is torn; "
        "'companion jobs' shows them"
    )


def test_words_that_could_not_be_decoded_do_not_lose_the_log(write_log: Write, tmp_path: Path) -> None:
    log = write_log(mechanic="J\udcf6rg").begin("a").after(3)
    log.add("note_taken", note=1, step="a", text="caf\udce9").done("a")
    (row,) = attempts(tmp_path)
    assert (row["mechanic"], row["notes"], row["active_s"]) == ("J\ufffdrg", ["caf\ufffd"], 3)
    assert faults(tmp_path) == []
