"""Times of one mechanic, however the name is typed."""

import json
from pathlib import Path

import pytest

from companion.labour.table.task import labour_of
from companion.procedure.read import read_procedure
from tests.labour.conftest import LogWriter

SUMP = Path(__file__).parents[3] / "procedures" / "sump-reseal.yaml"


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    """Ana takes half of the book, Ben twice as much; and only Ben is interrupted."""
    folder = tmp_path / "logs"
    folder.mkdir()
    tasks = labour_of(read_procedure(SUMP), frozenset())
    for day in range(8):
        slow = day % 2
        log = LogWriter(folder, f"job-{day}", day=day, mechanic=("Ana", "Ben")[slow], title="Sump reseal")
        for task in tasks:
            log.begin(task.step, work=task.work, book_s=task.book.total_seconds())
            if slow:
                log.add("job_held", because="phone").after(60).add("job_carried_on")
            log.after(task.book.total_seconds() * (0.5, 2.0)[slow]).done(task.step)
    return folder


def told(result) -> list[dict]:
    assert result.returncode == 0, result.stderr
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_times_are_those_of_the_one_who_is_named(companion, logs):
    ana, ben = (told(companion("times", "--mechanic", who, "--json")) for who in ("Ana", "Ben"))
    assert {one["jobs"] for one in ana + ben} == {4}
    assert all(a["typical_s"] < b["typical_s"] / 2 for a, b in zip(ana, ben, strict=True))
    assert all(not one["interruptions"] for one in ana)
    assert all(one["interruptions"] for one in ben)
    seen = [one["seen_s"] / one["book_s"] for one in ben]
    assert seen == pytest.approx([2.0] * len(ben))
    assert ana[0]["whole_job"]["typical_s"] < ben[0]["whole_job"]["typical_s"] / 2


def test_the_whole_job_is_told_with_its_book_and_range(companion, logs):
    (line,) = [one for one in companion("times").stdout.splitlines() if one.startswith("The whole job")]
    tasks = labour_of(read_procedure(SUMP), frozenset())
    assert f"({len(tasks)} usual steps)" in line
    whole = told(companion("times", "--json"))[0]["whole_job"]
    assert whole["book_s"] == sum(task.book.total_seconds() for task in tasks)
    assert whole["p10_s"] < whole["typical_s"] < whole["p90_s"]
    quote = told(companion("quote", SUMP, "--json"))[0]
    assert quote["mean_h"] * 3600 == pytest.approx(whole["mean_s"], rel=0.02), "the quote says the same"


@pytest.mark.parametrize(
    ("typed", "command"),
    [
        ("ANA", ("times", "--json")),
        ("ana", ("quote", SUMP, "--json")),
        (" Ana ", ("plan", SUMP, "--json", "--limit", "1", "--start", "2031-03-04 09:00")),
        ("aNA", ("choices", "extra", SUMP, "--step", "remove-strainer", "--json")),
        ("ANA", ("choices", "ways", SUMP, "--first", "isolate-battery", "--second", "part-sump", "--json")),
        ("ana", ("choices", "away", SUMP, "--step", "scrape-faces", "--price", "40", "--days", "1",
                 "--rate", "75", "--json")),
    ],
)  # fmt: skip
def test_capitals_do_not_matter(companion, logs, typed, command):
    as_logged = companion(*command, "--mechanic", "Ana")
    assert as_logged.returncode == 0, as_logged.stderr
    assert companion(*command, "--mechanic", typed).stdout == as_logged.stdout
    assert companion(*command, "--mechanic", "Ben").stdout != as_logged.stdout


def test_somebody_who_is_not_there_is_told(companion, logs):
    result = companion("times", "--mechanic", "Bem")
    assert result.returncode == 2
    (line,) = result.stderr.splitlines()
    assert "did you mean 'Ben'?" in line
