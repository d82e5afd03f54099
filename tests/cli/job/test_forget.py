"""What somebody wants forgotten is gone from logs, sounds and pages, and the rest stays what it was."""

import json
from pathlib import Path

import numpy as np
import pytest

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.events import NoteTaken
from companion.logbook import forget
from companion.speech.sound.samples import Clip
from companion.work.edges.clock import SystemClock
from companion.work.opening import read_job, resume_job
from tests.helpers.said import heard

BRAKES = Path(__file__).parents[3] / "procedures" / "front-brakes.yaml"
TYPED = (
    "yes\n" * 4
    + "battery disconnected\nnote Ana's bracket is cracked\nnote the clip is loose\nhold the job\n"
)


@pytest.fixture
def job(companion, tmp_path) -> str:
    """A held job with two notes, one of them with its sound."""
    done = companion(
        "work", BRAKES, "--keys", "--quiet", "--vehicle", "Tarn", "--mechanic", "Ana", typed=TYPED
    )
    assert done.returncode == 0, done.stderr
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    opened = resume_job(log.stem, tmp_path / "logs", SystemClock())
    clip = opened.logbook.keep_clip("note", Clip(np.zeros(1600, np.float32)))
    from companion.job.decide import decide

    now = SystemClock().now()
    for message in (msg.Opened("b"), heard(Command.NOTE, {"text": "valve rattles"}, clip=clip)):
        decision = decide(opened.state, message, now)
        opened.state = decision.state
        opened.logbook.log(decision.events, now)
    opened.logbook.close()
    return log.stem


def everything(folder: Path) -> str:
    return "".join(p.read_text(errors="replace") for p in sorted(folder.rglob("*")) if p.is_file())


def test_a_note_is_gone_with_its_sound_and_the_job_stands_where_it_stood(companion, tmp_path, job):
    logs = tmp_path / "logs"
    before = read_job(job, logs)
    number = next(n.number for n in before.notes if n.text == "valve rattles")
    done = companion("forget", "--job", job, "--note", number, "--yes")
    assert done.returncode == 0, done.stderr
    assert "rattles" not in everything(logs)
    assert "clip is loose" in everything(logs)
    assert not list(logs.glob("*.wav"))
    after = read_job(job, logs)
    assert (after.settled, after.open_items, after.held) == (before.settled, before.open_items, before.held)
    assert "Deleted" in done.stdout
    assert "What is left" in done.stdout


def test_a_person_is_gone_from_every_log_and_page(companion, tmp_path, job):
    logs = tmp_path / "logs"
    assert list(logs.glob("*.handover.html"))
    done = companion("forget", "--person", "ana", "--yes")
    assert done.returncode == 0, done.stderr
    assert "Ana" not in everything(logs / "..")
    assert read_job(job, logs).mechanic == ""
    assert companion("work", "--resume", "--keys", "--quiet", typed="help\n").returncode == 0


def test_a_job_is_gone_and_another_one_stays(companion, tmp_path, job):
    logs = tmp_path / "logs"
    sump = BRAKES.with_name("sump-reseal.yaml")
    companion("work", sump, "--keys", "--quiet", typed="yes\n")
    done = companion("forget", "--job", job, "--yes")
    assert done.returncode == 0, done.stderr
    assert [p.stem for p in logs.glob("*.jsonl")] != [job]
    assert len(list(logs.glob("*.jsonl"))) == 1
    assert not list(logs.glob(f"{job}*"))
    assert len(list((logs / "procedures").glob("*.yaml"))) == 1


def test_everything_is_gone_but_what_is_not_ours(companion, tmp_path, job):
    (tmp_path / "logs" / "shopping.txt").write_text("milk")
    (tmp_path / "logs" / "sound.log").write_text("underrun occurred")
    assert companion("forget", "--everything", "--yes").returncode == 0
    assert [p.name for p in (tmp_path / "logs").iterdir()] == ["shopping.txt"]


def test_it_asks_first_and_a_no_changes_nothing(companion, tmp_path, job):
    before = everything(tmp_path / "logs")
    done = companion("forget", "--everything", typed="n\n")
    assert "Nothing was changed" in done.stdout
    assert everything(tmp_path / "logs") == before


def test_without_an_answer_nothing_is_changed_and_that_is_told(companion, tmp_path, job):
    before = everything(tmp_path / "logs")
    done = companion("forget", "--everything")
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1] == (
        "companion: nobody answered, nothing was changed: answer y, or give --yes"
    )
    assert everything(tmp_path / "logs") == before


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--person", "Nobody"), "no log names"),
        (("--job", "2031-01-01-nothing-1"), "no such job"),
        (("--note", "1"), "name one of"),
        ((), "name one of"),
        (("--person", " "), "needs a name"),
    ],
)
def test_what_cannot_be_forgotten_is_one_line(companion, job, arguments, told):
    done = companion("forget", *arguments, "--yes")
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_a_note_that_is_a_common_word_blanks_no_step(companion, tmp_path, job):
    """Only talk may repeat a note: the events of the work are left as they are."""
    logs = tmp_path / "logs"
    opened = resume_job(job, logs, SystemClock())
    opened.logbook.log([NoteTaken(note=9, step=None, text="disconnected")], SystemClock().now())
    opened.logbook.close()
    assert companion("forget", "--job", job, "--note", 9, "--yes").returncode == 0
    lines = [json.loads(line) for line in (logs / f"{job}.jsonl").read_text().splitlines()]
    assert any(line.get("state") == "battery disconnected" for line in lines)


def test_of_a_job_at_work_nothing_is_forgotten_not_even_in_part(companion, tmp_path, job):
    logs = tmp_path / "logs"
    number = next(n.number for n in read_job(job, logs).notes if n.clip)
    at_work = resume_job(job, logs, SystemClock())
    done = companion("forget", "--job", job, "--note", number, "--yes")
    at_work.logbook.close()
    assert done.returncode == 2
    assert "at work on this job" in done.stderr
    assert list(logs.glob("*.wav"))
    assert "rattles" in everything(logs)


def test_what_is_logged_just_before_the_log_is_held_is_not_lost(companion, tmp_path, job, monkeypatch):
    logs = tmp_path / "logs"
    lock = forget.lock

    def after_one_more_note(descriptor: int, name: str) -> None:
        monkeypatch.setattr(forget, "lock", lock)
        opened = resume_job(job, logs, SystemClock())
        opened.logbook.log([NoteTaken(note=9, step=None, text="one more")], SystemClock().now())
        opened.logbook.close()
        lock(descriptor, name)

    monkeypatch.setattr(forget, "lock", after_one_more_note)
    assert companion("forget", "--person", "Ana", "--yes").returncode == 0
    assert [n.text for n in read_job(job, logs).notes][-1] == "one more"


def test_an_altered_log_cannot_have_another_file_deleted(companion, tmp_path, job):
    """The sound of a note is named in the log, and anybody may have written there."""
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    other = tmp_path / "logs" / "2031-01-01-other-1.jsonl"
    other.write_bytes(log.read_bytes())
    text = log.read_text()
    for name in ("../outside.wav", other.name, log.name):
        lines = [json.loads(line) for line in text.splitlines()]
        for line in lines:
            if line["event"] == "note_taken":
                line["clip"] = name
        log.write_text("".join(f"{json.dumps(line)}\n" for line in lines))
        (tmp_path / "outside.wav").write_bytes(b"")
        assert companion("forget", "--job", log.stem, "--note", "1", "--yes").returncode == 0
        assert log.exists()
        assert other.exists()
        assert (tmp_path / "outside.wav").exists()
