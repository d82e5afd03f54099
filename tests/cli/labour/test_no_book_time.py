"""Steps that were logged with no book time: each answer has them, and says so."""

import json
from html.parser import HTMLParser
from pathlib import Path

import pytest

from companion.labour.table.task import labour_of
from companion.procedure.read import read_procedure
from tests.labour.conftest import LogWriter

SUMP = Path(__file__).parents[3] / "procedures" / "sump-reseal.yaml"
NONE = (0.0, None)
"""A book time of nothing, and none at all."""


def write(logs: Path, job: str, day: int, book: float | None) -> None:
    """A job with a step that the book knows and one that it does not."""
    log = LogWriter(logs, job, day=day)
    log.begin("known", book_s=60).after(90).done("known")
    log.begin("unknown", book_s=0).after(600 + 60 * (day % 3)).done("unknown")
    if book is None:
        log.path.write_text(
            log.path.read_text().replace(', "book_s": 0.0', "").replace('"book_s": 0.0, ', "")
        )


@pytest.fixture(params=NONE, ids=["nothing", "missing"])
def logs(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    folder = tmp_path / "logs"
    folder.mkdir()
    for day in range(12):
        write(folder, f"job-{day}", day, request.param)
    return folder


def test_times_have_the_step_with_its_own_times(companion, logs):
    shown = companion("times")
    assert shown.returncode == 0, shown.stderr
    assert not shown.stderr
    (line,) = [line for line in shown.stdout.splitlines() if line.startswith("unknown")]
    assert "no book time" in line
    assert "12 jobs" in line
    (whole,) = [line for line in shown.stdout.splitlines() if line.startswith("The whole job")]
    assert "1.0 and 1 with no book time" in whole
    found = {one["step"]: one for one in map(json.loads, companion("times", "--json").stdout.splitlines())}
    assert found["unknown"]["book_s"] is None
    assert found["unknown"]["off_book"] is None
    assert found["unknown"]["typical_s"] == pytest.approx(658, rel=0.05)
    assert found["known"]["typical_s"] == pytest.approx(90, rel=0.05)
    assert found["known"]["whole_job"]["typical_s"] == pytest.approx(748, rel=0.05)


def test_most_different_from_the_book_are_those_that_it_knows(companion, logs):
    after = companion("times").stdout.split("Most different from the book")[1]
    assert "- known: " in after
    assert "- unknown: " not in after


class _Cells(HTMLParser):
    """The text of all cells of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.cells: list[str] = []
        self._within = False

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self._within = tag in ("td", "th")

    def handle_data(self, data: str) -> None:
        if self._within:
            self.cells.append(data)


def test_the_report_has_it_too_and_says_so(companion, logs, tmp_path):
    assert companion("report").returncode == 0
    cells = _Cells()
    cells.feed((tmp_path / "report.html").read_text())
    at = cells.cells.index("unknown")
    assert cells.cells[at : at + 4] == ["unknown", "Small job", "12 jobs, one mechanic", "no book time"]


def test_a_job_with_no_book_time_at_all_is_counted(companion, tmp_path):
    folder = tmp_path / "logs"
    folder.mkdir()
    write(folder, "both", 0, 0.0)
    LogWriter(folder, "none", day=1).begin("unknown", book_s=0).after(300).done("unknown")
    assert companion("report").returncode == 0
    assert "1 job with no book time at all" in (tmp_path / "report.html").read_text()
    (folder / "both.jsonl").unlink()
    assert companion("report").returncode == 0, "nothing but that"
    assert "no book time" in (tmp_path / "report.html").read_text()
    assert companion("times").returncode == 0


@pytest.mark.parametrize("book", NONE)
def test_quote_plan_and_choices_use_times_that_were_logged_with_no_book_time(companion, tmp_path, book):
    """The book has them now: the times count against it."""
    folder = tmp_path / "logs"
    folder.mkdir()
    tasks = labour_of(read_procedure(SUMP), frozenset())
    for day in range(6):
        log = LogWriter(folder, f"job-{day}", day=day, title="Sump reseal")
        for task in tasks:
            log.begin(task.step, work=task.work, book_s=0).after(3 * task.book.total_seconds())
            log.done(task.step)
        if book is None:
            log.path.write_text(log.path.read_text().replace('"book_s": 0.0, ', ""))
    quote = json.loads(companion("quote", SUMP, "--json").stdout)
    assert quote["book_h"] * 2.5 < quote["mean_h"] < quote["book_h"] * 3.5
    assert "six jobs" in quote["basis"]
    plan = json.loads(companion("plan", SUMP, "--json", "--limit", "1").stdout)
    assert plan["work_s"] > 2.5 * sum(task.book.total_seconds() for task in tasks)
    extra = companion("choices", "extra", SUMP, "--step", "remove-strainer", "--json")
    assert extra.returncode == 0, extra.stderr
    ways = companion("choices", "ways", SUMP, "--first", tasks[0].step, "--second", tasks[1].step, "--json")
    assert ways.returncode == 0, ways.stderr
