"""The shop's report: what it says, and that nothing spoken into a log can do harm in it."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest

from companion.labour.model.learning import Learnt
from companion.labour.report.gather import MOST_POINTS, gather
from companion.labour.report.report import build_report
from companion.labour.report.report_data import Held, JobPoint, Lost, ReportData, SlowNote, StepRow
from companion.labour.report.steps_section import MOST_STEPS
from companion.labour.table.collect import collect
from tests.shops.logs import write_logs
from tests.shops.shop import Shop

MADE = datetime(2031, 9, 1, 8, 0, tzinfo=UTC)
HOSTILE = (
    """"><script>alert('x')</script><img src=x onerror=alert(1)>' style='x:url(//evil.example)' &lt;b&gt;"""
)
VOID = {"meta", "br", "img", "link", "input", "hr"}


class Page(HTMLParser):
    """What a browser would see: elements, attributes and text, properly nested."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.words: list[str] = []
        self._open: list[str] = []
        self.feed(source)
        self.close()
        assert not self._open, f"left open: {self._open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def values(self, name: str) -> list[str]:
        return [value for _, attribute, value in self.attributes if attribute == name]


def minutes(number: float) -> timedelta:
    return timedelta(minutes=number)


def report(word: str = "plain") -> ReportData:
    """A small report with the same word wherever text comes from a log."""
    return ReportData(
        made=MADE,
        jobs=3,
        mechanics=2,
        work=timedelta(hours=5),
        first=datetime(2031, 2, 3),
        last=datetime(2031, 8, 30),
        steps=(
            StepRow(
                word,
                f"slow {word}",
                minutes(10),
                minutes(20),
                minutes(12),
                minutes(40),
                3,
                "three jobs",
                -0.2,
            ),
            StepRow(word, "unknown", minutes(5), minutes(5), minutes(2), minutes(13), 0, "book time only"),
        ),
        points=(
            JobPoint(datetime(2031, 2, 3), 1.5, word, word, word, word, minutes(90)),
            JobPoint(datetime(2031, 5, 3), 0.9, "Aske", "", "Reseal", "job-2", minutes(70)),
        ),
        held=(Held(0.5, 5, 10, 3, 0.3, 0.7), Held(0.8, 4, 10, 3, 0.7, 0.9), Held(0.95, 10, 10, 3, 1.0, 1.0)),
        lost=(Lost(word, timedelta(hours=2), 4), Lost("let-drain", timedelta(hours=1), 3, waiting=True)),
        notes=(SlowNote(word, word, word, word, word, minutes(40), minutes(20), word),),
        shop=word,
    )


def test_hostile_text_is_shown_as_text_wherever_it_comes_from() -> None:
    source = build_report(report(HOSTILE))
    page = Page(source)
    assert not {"script", "img", "iframe", "link", "object"} & set(page.tags)
    plain = "!" * len(HOSTILE)
    assert page.tags == Page(build_report(report(plain))).tags, "the same elements as without markup"
    assert not [name for _, name, _ in page.attributes if name.startswith("on")]
    assert page.values("style") == []
    assert page.words.count(HOSTILE) >= 8, "told in full, in the tables"


def test_control_characters_do_not_reach_the_page() -> None:
    source = build_report(report("torn\x00\x1b[31m\u202eline"))
    assert not re.search(r"[\x00-\x08\x0b-\x1f\u202e]", source)
    assert "torn[31mline" in source


def test_the_page_needs_no_network_and_forbids_it() -> None:
    page = Page(build_report(report()))
    assert "default-src 'none'" in "".join(page.values("content"))
    assert page.values("src") + page.values("srcset") == []
    assert all(v.startswith("#") for v in page.values("href"))
    assert "url(" not in "".join(page.words)
    assert "@import" not in "".join(page.words)


def test_a_screen_reader_finds_its_way() -> None:
    source = build_report(report())
    page = Page(source)
    for landmark in ("header", "nav", "main", "footer"):
        assert page.tags.count(landmark) == 1
    assert ("html", "lang", "en") in page.attributes
    ids = page.values("id")
    assert len(ids) == len(set(ids))
    for reference in (r for name in ("aria-labelledby",) for v in page.values(name) for r in v.split()):
        assert reference in ids
    assert all(v[1:] in ids for v in page.values("href"))
    charts = page.tags.count("svg")
    assert charts == 4
    assert page.tags.count("desc") == charts
    assert page.values("role").count("img") == charts
    assert page.tags.count("details") == charts, "each chart has its table"
    assert source.count('</details><div class="figures">') == charts, "outside, so that paper shows it"
    assert "@media not print{details:not([open])+.figures{display:none}}" in source
    assert page.tags.count("table") == page.tags.count("caption") == charts + 1
    headings = [tag for tag in page.tags if re.fullmatch("h[1-6]", tag)]
    assert headings[0] == "h1"
    assert headings.count("h1") == 1
    assert set(headings[1:]) == {"h2"}, "one procedure needs no third level"


def test_each_chart_has_a_name_of_its_own_where_it_is_not_seen() -> None:
    two = report()
    two = replace(two, steps=two.steps + tuple(replace(row, title="Strap swap") for row in two.steps))
    source = build_report(two)
    names = re.findall(r'<figure aria-label="([^"]+)">', source)
    assert names == [
        "plain: actual time against book time, by step",
        "Strap swap: actual time against book time, by step",
        "Time of each job against the book, over time",
        "Stated ranges against what happened",
        "Time that was not work",
    ]
    assert re.findall(r'aria-label="Chart: ([^"]+)"', source) == names
    assert re.findall(r'The same as a table<span class="unseen">: ([^<]+)</span>', source) == names
    assert re.findall(r'role="img" aria-labelledby="([^"]+)-t" aria-describedby="\1-d"', source) == (
        re.findall(r'<desc id="([^"]+)-d">', source)
    )
    assert re.findall(r'<title id="[^"]+">([^<]+)</title>', source) == names
    alone = re.findall(r'<figure aria-label="([^"]+)">', build_report(report()))
    assert alone[0] == "Actual time against book time, by step", "of the one procedure there is"


def test_the_shapes_of_a_chart_are_hidden_from_a_screen_reader_and_named_to_the_mouse() -> None:
    source = build_report(report())
    for chart in re.findall(r"<svg.*?</svg>", source, re.DOTALL):
        said, shapes = chart.split('<g aria-hidden="true">')
        assert not re.search("<(rect|line|circle|polygon|polyline|text)", said)
        assert shapes.endswith("</g></svg>")
    assert re.search(r"<circle[^>]*><title>slow plain: 20\u00a0min \(10\u00a0min\)</title></circle>", source)
    assert "Of the 80 % ranges 40 % held (by chance 70 to 90 %): too narrow." in source, "without the colour"


def test_it_reads_in_the_dark_and_on_paper() -> None:
    """Text on its background, by the contrast formula of WCAG 2 (4.5:1 for text)."""
    source = build_report(report())
    assert "@media print" in source
    light, dark, paper = (_colours(block) for block in re.findall(r":root\{([^}]*)\}", source))
    for theme in (light, dark, paper):
        for ink in ("ink", "soft", "blue"):
            for ground in ("page", "card"):
                assert _contrast(theme[ink], theme[ground]) >= 4.5, (ink, ground, theme)
        for mark in ("blue", "red", "c1", "c2", "c3", "c4", "c5"):
            assert _contrast(theme[mark], theme["card"]) >= 3, "graphics (3:1)"


def _colours(block: str) -> dict[str, str]:
    return dict(re.findall(r"--(\w+):(#[0-9a-f]{3,6})", block))


def _contrast(first: str, second: str) -> float:
    def luminance(colour: str) -> float:
        digits = colour[1:] if len(colour) == 7 else "".join(c * 2 for c in colour[1:])
        parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(first), luminance(second)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_it_tells_what_stands_out() -> None:
    words = " ".join(Page(build_report(report())).words).replace("\u00a0", " ")
    assert "Slow plain typically takes 20 min, longer than the book's 10 min (+100 %; three jobs)." in words
    assert "Slow plain gets quicker: 20 % over ten jobs." in words
    assert "Most time is lost to “plain”: 2.0 h, 4 times." in words
    assert "40 % held: too narrow" in words, "ranges that do not hold are called so"
    assert "80 min" not in words


def test_where_mechanics_get_faster_the_curve_is_told_as_a_table() -> None:
    faster = Learnt(0.8, 0.75, 0.85, 20)
    page = Page(build_report(replace(report(), learnt=(("Reseal", faster),))))
    words = " ".join(page.words)
    assert f"Reseal: {faster}. The times are those of the next repetition." in words
    # Unit model at 80 %: the tenth takes .4765 of the first, the first ten together 6.3154 times it.
    rows = [page.words[n : n + 5] for n, word in enumerate(page.words) if word == "10"]
    assert ["10", "48 %", "38 %", "58 %", "6.32"] in rows
    assert "Getting faster" not in Page(build_report(report())).words, "only where it is shown"


def test_it_tells_how_many_more_jobs_to_log() -> None:
    first, second = report().steps
    source = build_report(replace(report(), steps=(replace(first, more_10=12, more_5=88), second)))
    assert '<td class="n">12</td><td class="n">88</td>' in source
    assert "More jobs for ±10\u00a0%" in source


def test_with_nothing_logged_it_says_so() -> None:
    page = Page(build_report(ReportData(MADE, 0, 0, timedelta(), None, None)))
    assert "Work a job first; its times appear here." in page.words
    assert "svg" not in page.tags


def test_a_very_long_procedure_shows_what_differs_most() -> None:
    row = report().steps[0]
    rows = tuple(replace(row, step=f"step-{n}", typical=minutes(10 + n / 10)) for n in range(MOST_STEPS + 20))
    words = " ".join(Page(build_report(replace(report(), steps=rows))).words)
    assert f"The {MOST_STEPS} of {MOST_STEPS + 20} steps that differ most from the book." in words
    assert "step 79" in words
    assert "step 19" not in words


@pytest.fixture(scope="module")
def shop_logs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("logs")
    list(write_logs(folder, Shop.of(3, steps=8), 45))
    return folder


def test_the_report_of_an_invented_shop(shop_logs: Path) -> None:
    with collect(shop_logs) as table:
        data = gather(table, made=MADE, shop="Sallow Lane Garage")
        direct = table.query("SELECT sum(active_s) AS s, sum(interrupted_s) AS i FROM steps WHERE labour")[0]
    assert (data.jobs, len(data.steps), len(data.points)) == (45, 8, 45)
    assert data.work.total_seconds() == pytest.approx(direct["s"])
    assert sum(one.together.total_seconds() for one in data.lost) == pytest.approx(direct["i"])
    assert [point.started for point in data.points] == sorted(point.started for point in data.points)
    assert all(row.low < row.typical < row.high for row in data.steps)
    assert [held.level for held in data.held] == [0.5, 0.8, 0.95]
    assert data.held[0].jobs == 15, "the later third"
    page = Page(build_report(data))
    assert "Labour report: Sallow Lane Garage" in page.words


def test_a_procedure_never_logged_gives_an_empty_report(shop_logs: Path) -> None:
    with collect(shop_logs) as table:
        data = gather(table, "Never done", made=MADE)
    assert (data.steps, data.points, data.jobs, data.work) == ((), (), 0, timedelta())
    assert "Nothing logged yet" in Page(build_report(data)).words


def test_many_jobs_are_drawn_in_groups(tmp_path: Path) -> None:
    list(write_logs(tmp_path, Shop.of(5, steps=2), MOST_POINTS + 60, hold_every=0))
    with collect(tmp_path) as table:
        data = gather(table, made=MADE)
    assert len(data.points) == 60
    assert sum(point.jobs for point in data.points) == MOST_POINTS + 60
    assert all(point.low <= point.ratio <= point.high for point in data.points)
    assert "median of 5 jobs" in " ".join(Page(build_report(data)).words)
