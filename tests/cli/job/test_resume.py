"""Which job is gone on with: said with its vehicle, and never another one in the place of a damaged one."""

import json
import os
from pathlib import Path

import pytest

PROCEDURES = Path(__file__).parents[3] / "procedures"
HELD = "yes\n" * 6 + "hold the job\n"


@pytest.fixture
def begin(companion, tmp_path):
    """Begins a job and leaves it; its log is the one written last."""
    count = [0]

    def start(procedure: str, vehicle: str, typed: str = HELD) -> Path:
        before = {*(tmp_path / "logs").glob("*.jsonl")}
        result = companion(
            "work", PROCEDURES / f"{procedure}.yaml", "--keys", "--quiet", "--vehicle", vehicle, typed=typed
        )
        assert result.returncode == 0, result.stderr
        (log,) = {*(tmp_path / "logs").glob("*.jsonl")} - before
        count[0] += 1
        return log

    return start


@pytest.fixture
def resume(companion):
    def go_on(*words: str, typed: str = "help\n"):
        return companion("work", "--resume", *words, "--keys", "--quiet", typed=typed)

    return go_on


def refused(result) -> str:
    assert result.returncode == 2, result.stdout
    assert "Traceback" not in result.stderr
    (line,) = result.stderr.strip().splitlines()
    return line


@pytest.fixture
def two(begin) -> tuple[Path, Path]:
    return begin("sump-reseal", "Brackfell Ostler"), begin("front-brakes", "Hathersen Plover")


@pytest.mark.parametrize(
    ("words", "which"),
    [
        ("Ostler", 0), ("ostler", 0), ("brackfell ostler", 0), ("sump", 0), ("Sump reseal", 0),
        ("sump-reseal", 0), ("procedures/sump-reseal.yaml", 0), ("plover", 1), ("front-brake", 1),
        ("brake plover", 1),
    ],
)  # fmt: skip
def test_a_vehicle_a_procedure_or_part_of_a_name_says_which(two, resume, words, which):
    shown = resume(words)
    assert shown.returncode == 0, shown.stderr
    jobs = [("Sump reseal", "Brackfell Ostler"), ("Front brake overhaul", "Hathersen Plover")]
    title, vehicle = jobs[which]
    assert f"going on with {title}, {vehicle}: job {two[which].stem}" in shown.stdout
    assert f"> Back to {title}, {vehicle}" in shown.stdout, "it is said too"


def test_the_whole_name_says_which_by_either_option(two, resume, companion):
    assert f"job {two[0].stem}" in resume(two[0].stem).stdout
    assert (
        f"job {two[0].stem}"
        in companion("work", "--job", two[0].stem, "--keys", "--quiet", typed="help\n").stdout
    )


def test_without_words_it_is_the_one_worked_on_last_said_with_its_vehicle(two, resume):
    assert "> Back to Front brake overhaul, Hathersen Plover" in resume().stdout
    resume("ostler", typed="help\n")
    assert "> Back to Sump reseal, Brackfell Ostler" in resume().stdout


def test_when_it_is_not_clear_the_candidates_are_listed_and_nothing_is_begun(begin, resume):
    logs = [begin("sump-reseal", "Brackfell Ostler"), begin("front-brakes", "Brackfell Ostler")]
    before = [log.read_bytes() for log in logs]
    line = refused(resume("Ostler"))
    assert "'Ostler' fits 2 jobs" in line
    for log, title in zip(logs, ("Sump reseal", "Front brake overhaul"), strict=True):
        assert f"{log.stem} ({title}, Brackfell Ostler, last worked on 20" in line
    assert "--job" in line
    assert [log.read_bytes() for log in logs] == before


def test_words_that_fit_nothing_are_answered_with_what_is_open(two, resume):
    line = refused(resume("Marlow"))
    assert "'Marlow' fits no open job" in line
    assert two[0].stem in line
    assert "Hathersen Plover" in line


def test_a_closed_job_is_told_as_one(begin, resume, companion, tmp_path):
    log = begin("sump-reseal", "Brackfell Ostler")
    lines = log.read_text().splitlines()
    last = json.loads(lines[-1])
    closed = {**last, "seq": last["seq"] + 1, "event": "job_closed"}
    log.write_text("\n".join([*lines, json.dumps(closed), ""]))
    line = refused(resume("ostler"))
    assert "only closed ones" in line
    assert log.stem in line


class TestDamaged:
    """The newest log is damaged in the middle: no other vehicle's job is taken in its place."""

    @pytest.fixture
    def damaged(self, two) -> Path:
        lines = two[1].read_bytes().splitlines(keepends=True)
        two[1].write_bytes(b"".join([*lines[:3], b"\x00garbled\n", *lines[4:]]))
        return two[1]

    def test_without_words_it_stops_and_names_the_damaged_one(self, damaged, two, resume):
        before = two[0].read_bytes()
        line = refused(resume())
        assert f"{damaged.name}:4" in line
        assert "(Front brake overhaul, Hathersen Plover)" in line
        assert "no other job is taken in its place" in line
        assert two[0].read_bytes() == before

    def test_its_own_words_find_it_and_tell_the_damage(self, damaged, resume):
        line = refused(resume("plover"))
        assert f"{damaged.name}:4" in line

    def test_words_of_another_job_take_that_one(self, damaged, two, resume):
        assert f"job {two[0].stem}" in resume("ostler").stdout

    def test_words_that_fit_it_too_are_not_clear(self, damaged, two, resume):
        line = refused(resume("20"))
        assert "fits 2 jobs" in line
        assert "damaged" in line

    def test_nothing_at_all_that_can_be_read_may_be_the_one_that_is_meant(self, two, resume):
        two[1].write_bytes(b"\x00" * 500 + b"\n" + b"\x01\n")
        line = refused(resume("ostler"))
        assert two[1].name in line
        assert "no other job is taken in its place" in line

    def test_an_old_damaged_log_holds_nobody_up(self, two, resume):
        two[0].write_bytes(b"\x00garbled\n" + two[0].read_bytes())
        text = two[0].read_bytes()
        two[0].write_bytes(text)
        long_ago = two[1].stat().st_mtime - 86400
        lines = text.splitlines(keepends=True)
        two[0].write_bytes(b"".join(lines[:1]) + b"\x00\n")
        os.utime(two[0], (long_ago, long_ago))
        assert "> Back to Front brake overhaul" in resume().stdout

    def test_a_start_that_failed_holds_nobody_up(self, two, resume, tmp_path):
        (tmp_path / "logs" / "2999-01-01-sump-reseal-1.jsonl").touch()
        assert "> Back to Front brake overhaul" in resume().stdout


def test_words_and_a_name_together_are_refused(two, companion):
    result = companion("work", "--resume", "ostler", "--job", two[0].stem)
    assert result.returncode == 2
    assert "give one of them" in result.stderr


def test_a_procedure_and_resume_together_are_refused(companion):
    result = companion("work", PROCEDURES / "sump-reseal.yaml", "--resume")
    assert result.returncode == 2
