"""What every logbook does, and what the one on disk does besides."""

from __future__ import annotations

import io
import json
import wave
from collections.abc import Iterator
from datetime import timedelta

import numpy as np
import pytest

from companion.errors import LogbookError
from companion.job.facts.events import NoteTaken, ReadingTaken, StepDone
from companion.logbook.logbook import FileLogbook, Logbook, MemoryLogbook
from companion.speech.sound.samples import RATE, Clip

JOB = "sump-1"
TONE = Clip(np.sin(np.arange(RATE // 10) * 0.2).astype(np.float32) * 0.5)


class Contract:
    """Both logbooks keep it."""

    @pytest.fixture
    def book(self) -> Iterator[Logbook]:
        raise NotImplementedError

    def wav(self, book: Logbook, name: str) -> bytes:
        raise NotImplementedError

    def test_a_new_log_is_empty(self, book):
        assert book.records() == []

    def test_what_was_appended_comes_back_in_order(self, book, steps):
        records = steps(5)
        book.append(records[:1])
        book.append(records[1:4])
        book.append(records[4:])
        assert book.records() == records

    def test_words_of_any_language_and_line_ends_come_back(self, book, numbered, opened):
        words = 'Bolzen fünf: "M8"\n\r\u2028 볼트 \\ \x00 \ud83d\udd27'.encode(
            "utf-16", "surrogatepass"
        ).decode("utf-16")
        records = numbered(opened, NoteTaken(note=1, step=None, text=words))
        book.append(records)
        assert book.records() == records

    def test_an_undecodable_argument_is_no_obstacle(self, book, numbered, opened):
        book.append(numbered(opened, NoteTaken(note=1, step=None, text="caf\udce9")))
        assert book.records()[-1].event.text == "caf\ufffd"

    def test_nothing_to_append_is_nothing(self, book):
        book.append([])
        assert book.records() == []

    @pytest.mark.parametrize("after", [0, 2, 6])
    def test_a_number_that_does_not_follow_is_refused_and_logs_nothing(self, book, steps, numbered, after):
        records = steps(1)
        book.append(records)
        if after == 2:
            wrong = numbered(StepDone(step="right"), StepDone(step="wrong"), after=2)[:1] * 2
        else:
            wrong = numbered(StepDone(step="wrong"), after=after)
        with pytest.raises(ValueError, match="does not follow"):
            book.append(wrong)
        assert book.records() == records

    @pytest.mark.parametrize("value", [float("nan"), float("inf")])
    def test_a_value_that_could_not_be_read_back_is_refused(self, book, steps, numbered, value):
        records = steps(1)
        book.append(records)
        with pytest.raises(ValueError, match="finite number"):
            ReadingTaken(step="a", value=value, unit="V", within=False)
        reading = ReadingTaken.model_construct(step="a", value=value, unit="V", within=False)
        with pytest.raises(ValueError, match="JSON"):
            book.append(numbered(reading, after=2))
        assert book.records() == records

    def test_a_clip_is_a_wav_of_16_bits(self, book):
        name = book.keep_clip("note-1", TONE)
        assert name == f"{JOB}.note-1.wav"
        with wave.open(io.BytesIO(self.wav(book, name))) as file:
            assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE)
            heard = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2") / 32767
        assert np.abs(heard - TONE.samples).max() < 1 / 32767

    def test_a_clip_too_loud_is_cut_not_wrapped(self, book):
        name = book.keep_clip("loud", Clip(np.array([2.0, -2.0], dtype=np.float32)))
        assert self.wav(book, name)[-4:] == np.array([32767, -32767], dtype="<i2").tobytes()

    def test_a_clip_is_never_replaced(self, book):
        first = book.keep_clip("note-1", TONE)
        before = self.wav(book, first)
        quiet = Clip(TONE.samples * np.float32(0.1))
        again = [book.keep_clip("note-1", quiet) for _ in range(2)]
        assert again == [f"{JOB}.note-1-2.wav", f"{JOB}.note-1-3.wav"]
        assert self.wav(book, first) == before

    @pytest.mark.parametrize("name", ["../note", "a/b", "", ".hidden"])
    def test_a_clip_cannot_be_put_elsewhere(self, book, name):
        with pytest.raises(LogbookError):
            book.keep_clip(name, TONE)

    def test_nothing_is_logged_after_closing(self, book, steps):
        book.close()
        book.close()
        for use in (lambda: book.append(steps(1)), book.records, lambda: book.keep_clip("a", TONE)):
            with pytest.raises(LogbookError, match="closed"):
                use()


class TestMemoryLogbook(Contract):
    @pytest.fixture
    def book(self) -> Logbook:
        return MemoryLogbook(JOB)

    def wav(self, book: Logbook, name: str) -> bytes:
        assert isinstance(book, MemoryLogbook)
        return book.clips[name]


class TestFileLogbook(Contract):
    @pytest.fixture
    def book(self, tmp_path) -> Iterator[Logbook]:
        book = FileLogbook.create(tmp_path / "new" / "logs", JOB)
        yield book
        book.close()

    def wav(self, book: Logbook, name: str) -> bytes:
        assert isinstance(book, FileLogbook)
        return (book.path.parent / name).read_bytes()

    def test_each_event_is_a_line_of_json(self, book, steps):
        records = steps(2)
        book.append(records)
        lines = book.path.read_text(encoding="utf-8").splitlines()
        assert [json.loads(line) for line in lines] == [record.line() for record in records]
        assert "초록" in lines[0]

    def test_nothing_but_the_log_and_the_clips_is_left_lying(self, book, steps):
        book.append(steps(1))
        book.keep_clip("note-1", TONE)
        book.close()
        assert sorted(p.name for p in book.path.parent.iterdir()) == [f"{JOB}.jsonl", f"{JOB}.note-1.wav"]


def test_a_log_goes_on_where_it_was(tmp_path, steps, now):
    records = steps(4)
    book = FileLogbook.create(tmp_path, JOB)
    book.append(records[:3])
    book.close()
    book, recovered = FileLogbook.resume(tmp_path, JOB, now)
    assert recovered.records == records[:3]
    assert recovered.warning() is None
    book.append(records[3:])
    assert book.records() == records
    book.close()


def test_a_job_is_begun_once(tmp_path, steps, now):
    book = FileLogbook.create(tmp_path, JOB)
    book.append(steps(1))
    book.close()
    with pytest.raises(LogbookError, match=r"already begun.*--resume"):
        FileLogbook.create(tmp_path, JOB)
    book, recovered = FileLogbook.resume(tmp_path, JOB, now)
    book.close()
    assert recovered.records == steps(1)


def test_a_start_that_fails_leaves_no_log(tmp_path):
    FileLogbook.create(tmp_path, JOB).close()
    assert list(tmp_path.iterdir()) == []


def test_a_job_that_got_no_further_than_its_empty_file_is_begun_again(tmp_path, steps, now):
    (tmp_path / f"{JOB}.jsonl").write_bytes(b"")
    with pytest.raises(LogbookError, match="no event was logged"):
        FileLogbook.resume(tmp_path, JOB, now)
    book = FileLogbook.create(tmp_path, JOB)
    book.append(steps(1))
    book.close()


def test_an_unknown_job(tmp_path, now):
    with pytest.raises(LogbookError, match="no such job"):
        FileLogbook.resume(tmp_path, JOB, now)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "job", ["../evil", "a/b", "", ".", "..", "a.b", "-x", "x" * 201, "a\0b", "a b", "가" * 70]
)
def test_a_job_name_cannot_leave_the_folder(tmp_path, job, now):
    for attempt in (FileLogbook.create, lambda logs, job: FileLogbook.resume(logs, job, now)):
        with pytest.raises(LogbookError, match="cannot name a job"):
            attempt(tmp_path / "logs", job)
    assert list(tmp_path.iterdir()) == []


def test_times_are_kept_to_the_millisecond(tmp_path, steps, now):
    first = steps(0)[0]
    odd = first.model_copy(update={"mono": timedelta(seconds=1, microseconds=234_567)})
    book = FileLogbook.create(tmp_path, JOB)
    book.append([odd])
    (back,) = book.records()
    book.close()
    assert back.at == odd.at
    assert abs(back.mono - odd.mono) < timedelta(milliseconds=1)
