"""The report on paper and on a narrow screen: few pages, and nothing that matters out of sight."""

import re
import shutil
import subprocess
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from companion.labour.model.learning import Learnt
from companion.labour.report.report import build_report
from companion.labour.report.report_data import NoBookRow, ReportData, StepRow
from companion.labour.report.steps_section import MOST_ON_PAPER, MOST_STEPS
from tests.labour.report.test_report import Page, minutes, report

PAGES = 6
CHROMIUM = shutil.which("chromium")


def large() -> ReportData:
    """Everything that makes a report long: twelve procedures of sixty steps, and words without end."""
    small = report()
    titles = [f"Procedure {n}" for n in range(12)]
    rows = tuple(
        StepRow(
            title, f"step-{n}-of-{m}", minutes(10), minutes(5 + n / 3), minutes(4), minutes(40), 3 + m, "jobs"
        )
        for m, title in enumerate(titles)
        for n in range(MOST_STEPS)
    )
    long = "had to look for the tool and then went slowly because of the rust " * 2
    return replace(
        small,
        steps=rows,
        points=tuple(replace(p, job=f"job-{n}") for n in range(60) for p in small.points),
        notes=tuple(replace(small.notes[0], note=long) for _ in range(20)),
        lost=tuple(replace(small.lost[0], reason=f"reason {n}") for n in range(15)),
        learnt=tuple((title, Learnt(0.9, 0.85, 0.95, 12)) for title in titles),
        odd=tuple((title, "three of 90 times are far off the rest") for title in titles),
        no_book=tuple(
            NoBookRow("P", f"s-{n}", minutes(3), minutes(2), minutes(9), "jobs") for n in range(30)
        ),
    )


def test_paper_has_the_charts_of_few_procedures_and_says_how_many_are_left_out() -> None:
    source = build_report(large())
    assert "@media print{.screen{display:none}}" in source
    assert "@media print{.figures{display:none}" in source, "the charts tell their figures themselves"
    hidden = source.count('<div class="screen"><h3>')
    assert hidden == 12 - MOST_ON_PAPER
    shown = re.findall(r"(?<!screen\">)<h3>(Procedure \d+)</h3>", source)
    assert shown == ["Procedure 9", "Procedure 10", "Procedure 11"], "those with the most work"
    assert "The 3 procedures with the most work; 9 more on the screen." in source
    assert "14 more on the screen." in source, "notes"
    assert "25 more on the screen." in source, "steps with no book time"
    assert len(re.findall("as by interruptions", source)) == 3
    assert "The same of 9 more procedures" in source


def test_a_small_report_leaves_nothing_out() -> None:
    source = build_report(replace(report(), learnt=()))
    assert 'class="screen"' not in source
    assert 'class="paper"' not in source


def test_a_narrow_screen_has_words_and_marks_in_place_of_what_would_scroll() -> None:
    source = build_report(report())
    assert "@media screen and (max-width:44rem){.replaced{display:none}.brief{display:block}}" in source
    steps, months = re.findall(r'<div class="brief">(.*?)</div>', source)
    assert "▲ +100\u00a0% slower: slow plain, 20\u00a0min (book 10\u00a0min)" in steps
    assert "= as the book: unknown" in steps
    assert "Feb 2031: ▲ +50\u00a0% slower, 1 job" in months
    assert "May 2031: ▼ −10\u00a0% quicker, 1 job" in months
    for chart in re.findall(r'<div class="wide chart[^>]*aria-label="Chart: ([^"]*)"', source):
        replaced = f'chart replaced" role="region" tabindex="0" aria-label="Chart: {chart}"' in source
        assert replaced == ("against" in chart and "ranges" not in chart), chart
    Page(source)


@pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium to print")
def test_the_largest_report_is_six_pages_of_paper(tmp_path: Path) -> None:
    page, paper = tmp_path / "report.html", tmp_path / "report.pdf"
    page.write_text(build_report(large()), encoding="utf-8")
    print_it = [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    subprocess.run(
        [*print_it, f"--user-data-dir={tmp_path}", f"--print-to-pdf={paper}", page.as_uri()],
        capture_output=True, check=True, timeout=timedelta(minutes=2).total_seconds(),
    )  # fmt: skip
    pages = len(re.findall(rb"/Type\s*/Page\b", paper.read_bytes()))
    assert 0 < pages <= PAGES
