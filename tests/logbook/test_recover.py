"""Opening a log again after a crash, a power cut, or damage."""

from __future__ import annotations

import json
import shutil

import pytest

from companion.errors import LogbookError
from companion.logbook.lines import encode
from companion.logbook.logbook import FileLogbook
from companion.logbook.recover import examine, read_log

JOB = "sump-1"


@pytest.fixture
def log(tmp_path, steps):
    """A log of five events, nobody at work on it."""
    book = FileLogbook.create(tmp_path, JOB)
    book.append(steps(4))
    book.close()
    return book.path


def set_aside(log):
    """What was set aside, as bytes, oldest first."""
    entries = [json.loads(line) for line in log.with_suffix(".torn").read_text("ascii").splitlines()]
    return [entry["data"].encode("utf-8", "surrogateescape") for entry in entries]


def test_a_power_cut_at_every_byte_loses_no_whole_line_and_no_torn_byte(log, steps, now, tmp_path):
    whole = log.read_bytes()
    first = whole.index(b"\n") + 1
    for cut in range(first, len(whole) + 1):
        folder = tmp_path / "again"
        folder.mkdir()
        (folder / log.name).write_bytes(whole[:cut])
        book, recovered = FileLogbook.resume(folder, JOB, now)
        lines = whole[:cut].count(b"\n")
        left = whole[:cut].rpartition(b"\n")[2]
        assert recovered.records == steps(4)[:lines]
        assert (recovered.torn.data if recovered.torn else b"") == left
        assert (set_aside(book.path) if recovered.kept_in else []) == ([left] if left else [])
        assert (recovered.warning() is None) == (not left)
        book.append(steps(4)[lines:])
        assert book.records() == steps(4)
        book.close()
        shutil.rmtree(folder)


@pytest.mark.parametrize(
    "tail",
    [
        b"\0" * 700,
        b"\0" * 700 + b"\n",
        b'{"schema": 1, "seq": 6',
        b"\n",
        b"\xff\xfe\x00 \x80",
        "초".encode()[:2],
        b"[" * 100_000,
        b"[1, 2]\n",
        b'{"schema": 2, "seq": 6}',
    ],
    ids=[
        "zeros",
        "zeros with a line end",
        "half",
        "blank",
        "bytes",
        "half a letter",
        "deep",
        "no object",
        "newer",
    ],
)
def test_a_tail_that_was_never_acknowledged_is_set_aside_whole_and_told(log, tail, steps, now):
    good = log.read_bytes()
    log.write_bytes(good + tail)
    book, recovered = FileLogbook.resume(log.parent, JOB, now)
    assert recovered.records == steps(4)
    assert recovered.torn is not None
    assert (recovered.torn.line, recovered.torn.data) == (6, tail)
    assert recovered.kept_in == log.parent / f"{JOB}.torn"
    assert f"{JOB}.torn" in recovered.warning()
    assert log.read_bytes() == good
    assert set_aside(log) == [tail]
    entry = json.loads(log.with_suffix(".torn").read_text("ascii"))
    assert (entry["found"], entry["log"], entry["line"]) == ("2031-04-03T07:00:00Z", log.name, 6)
    book.close()
    book, recovered = FileLogbook.resume(log.parent, JOB, now)
    book.close()
    assert recovered.torn is None


def test_what_was_set_aside_before_stays(log, now):
    for tail in (b"one", b"two"):
        with log.open("ab") as file:
            file.write(tail)
        book, _ = FileLogbook.resume(log.parent, JOB, now)
        book.close()
    assert set_aside(log) == [b"one", b"two"]


def test_what_cannot_be_set_aside_stays_in_the_log(log, now):
    with log.open("ab") as file:
        file.write(b"half")
    before = log.read_bytes()
    log.with_suffix(".torn").mkdir()
    with pytest.raises(LogbookError, match=r"sump-1\.torn: "):
        FileLogbook.resume(log.parent, JOB, now)
    assert log.read_bytes() == before


def as_lines(path):
    return path.read_bytes().splitlines(keepends=True)


def broken(line):
    return line[: len(line) // 2] + b"\n"


def changed(**fields):
    return lambda line: json.dumps(json.loads(line) | fields).encode() + b"\n"


def without(field):
    return lambda line: json.dumps({k: v for k, v in json.loads(line).items() if k != field}).encode() + b"\n"


MIDDLE = [
    (broken, "not JSON"),
    (lambda _: b"\n", "not JSON"),
    (lambda line: b"\0" * len(line) + b"\n", "not JSON"),
    (lambda _: b"", "event 3 should be here, not 4"),
    (lambda line: line * 2, "event 4 should be here, not 3"),
    (changed(seq=7), "event 3 should be here, not 7"),
]
ANYWHERE = [
    (changed(event="step_danced"), "step_danced"),
    (changed(at="yesterday"), "at: "),
    (changed(mono="long"), "not an event"),
    (changed(mono=1e300), "not an event"),
    (changed(extra=1), "extra"),
    (changed(schema=0), "schema 0 is not 1"),
    (changed(schema=2), "newer companion (schema 2; this one reads 1): update"),
    (without("schema"), "schema None"),
    (without("seq"), "no 'seq'"),
    (without("mono"), "no 'mono'"),
    (without("event"), "not an event"),
]


@pytest.mark.parametrize(
    ("line", "damage", "reason"),
    [(3, *case) for case in MIDDLE] + [(n, *case) for n in (1, 3, 5) for case in ANYWHERE],
)
def test_damage_is_named_and_changes_nothing(log, line, damage, reason, now):
    lines = as_lines(log)
    lines[line - 1] = damage(lines[line - 1])
    log.write_bytes(b"".join(lines) + b'{"torn')
    before = log.read_bytes()
    with pytest.raises(LogbookError) as caught:
        FileLogbook.resume(log.parent, JOB, now)
    message = str(caught.value)
    assert message.startswith(f"{log}:")
    assert message.removeprefix(f"{log}:").split(":")[0] in {str(line), str(line + 1)}
    assert reason in message
    assert "nothing was changed" in message
    assert "\n" not in message
    assert log.read_bytes() == before
    assert [path.name for path in log.parent.iterdir()] == [log.name]


@pytest.mark.parametrize("content", [b"", b"half a line", b"\x7fELF\0\0", b"\n", b"\0" * 5000])
def test_a_log_without_an_event_is_not_touched(tmp_path, content, now):
    path = tmp_path / f"{JOB}.jsonl"
    path.write_bytes(content)
    with pytest.raises(LogbookError, match="no event was logged"):
        FileLogbook.resume(tmp_path, JOB, now)
    assert path.read_bytes() == content
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_reading_changes_nothing_even_while_a_companion_is_at_work(log, steps, now):
    book, _ = FileLogbook.resume(log.parent, JOB, now)
    with log.open("ab") as file:
        file.write(b"half")
    before = log.read_bytes()
    examined = read_log(log)
    book.close()
    assert examined.records == steps(4)
    assert examined.torn.data == b"half"
    assert log.read_bytes() == before


def test_line_ends_of_another_system_are_read(log, steps):
    data = log.read_bytes().replace(b"\n", b"\r\n")
    examined = examine(data, log)
    assert examined.records == steps(4)
    assert examined.good == len(data)


def test_a_line_is_what_the_record_says(steps):
    (record,) = steps(0)
    assert json.loads(encode(record)) == record.line()
