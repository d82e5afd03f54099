"""The chart of a plan: in the terminal and on a page."""

from datetime import datetime, timedelta
from html.parser import HTMLParser

from rich.console import Console

from companion.labour.plan.calendar import Split
from companion.labour.plan.gantt import Axis, gantt_text
from companion.labour.plan.gantt_page import gantt_page
from companion.labour.plan.planner import Plan, make_plan
from companion.labour.plan.project import Activity, Lag, Project
from companion.labour.table.hours import Hours

SHOP = Hours.parse("Mon-Fri 08:00-12:00 13:00-17:00")
HOSTILE = '<script>alert("x")</script>'


def plan(mechanics: int = 1) -> Plan:
    activities = (
        Activity("clean", timedelta(hours=1)),
        Activity("seal", timedelta(minutes=30), split=Split.NEVER),
        Activity("drain", timedelta(minutes=30), occupies=False),
        Activity("fill", timedelta(minutes=30), name=HOSTILE),
    )
    cure = Lag("seal", "fill", timedelta(hours=15), because="sealant cures")
    project = Project(activities, (Lag("clean", "seal"), cure, Lag("clean", "drain")), "Reseal")
    return make_plan(project, datetime(2026, 3, 2, 15, 0), SHOP, mechanics=mechanics)


def printed(chart: object, width: int) -> list[str]:
    console = Console(width=width, record=True, file=None, color_system=None)
    with console.capture() as capture:
        console.print(chart)
    return capture.get().splitlines()


def test_the_terminal_chart_shows_work_waits_nights_and_the_bound() -> None:
    lines = printed(gantt_text(plan(), 90), 90)
    assert all(len(line) <= 90 for line in lines)
    by_name = {line.split("  ")[0].strip(): line for line in lines}
    assert "█" in by_name["clean"]
    assert by_name["clean"].rstrip().endswith("15:00–16:00")
    assert "·" in by_name["seal"], "it cures after the step"
    assert "░" in by_name["drain"]
    assert "│" in by_name["clean"], "the night"
    assert "Mon 2 Mar" in lines[0]
    assert "proven earliest (bound Tue 3 Mar 08:00)" in lines[-1].replace("08:30", "08:00")


def test_working_time_is_to_scale_and_nights_are_slivers() -> None:
    made = plan()
    axis = Axis(made, 101, 1)
    assert axis.x(made.start) == 0
    assert axis.x(made.finish) == 101
    hour = axis.x(datetime(2026, 3, 2, 16)) - axis.x(datetime(2026, 3, 2, 15))
    assert abs(hour - 40) < 1e-9, "two hours and a half share a hundred, the night has one"
    assert 80 < axis.x(datetime(2026, 3, 2, 23)) < 81
    assert [night for _, _, night in axis.breaks()] == [True]
    assert [f"{day:%a}" for _, _, day in axis.days()] == ["Mon", "Tue"]


class Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        assert not any(name.startswith("on") or name in {"src", "srcset"} for name, _ in attrs)

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def test_the_page_has_the_chart_its_table_and_no_script() -> None:
    source = gantt_page(plan(mechanics=2))
    page = Page()
    page.feed(source)
    assert "script" not in page.tags
    assert HOSTILE in "".join(page.words), "shown as words"
    assert {"svg", "title", "desc", "table", "caption", "main", "header", "footer", "nav"} <= set(page.tags)
    assert "http" not in source.replace("http-equiv", "")
    assert "Planned from Mon 2 Mar 15:00 for 2 mechanics." in source
    assert source.count('scope="row"') == 4


def test_the_chart_is_named_where_it_is_not_seen() -> None:
    source = gantt_page(plan())
    name = "Reseal: steps and waits over time"
    for place in (
        f'<figure aria-label="{name}">',
        f'role="region" tabindex="0" aria-label="Chart: {name}"',
        f'<summary>The same as a table<span class="unseen">: {name}</span></summary>',
        f'<title id="gantt-t">{name}</title>',
        'role="img" aria-labelledby="gantt-t" aria-describedby="gantt-d"',
    ):
        assert source.count(place) == 1, place
    said, shapes = source.split('<g aria-hidden="true">')
    assert "<rect" not in said
    assert "<title>clean: Mon 2 Mar 15:00 to Mon 2 Mar 16:00</title></rect>" in shapes, "for the mouse"


def test_an_empty_plan_is_still_a_page() -> None:
    nothing = make_plan(Project(()), datetime(2026, 3, 2, 15, 0), SHOP)
    assert nothing.finish == nothing.start
    assert "<main" in gantt_page(nothing)
    assert printed(gantt_text(nothing, 80), 80)[-1].startswith("finish Mon 2 Mar 15:00; proven")
