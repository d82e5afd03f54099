"""The house is as DEVELOPERS.md draws it, and each rule is shown to fail on a house that is not."""

from pathlib import Path

import pytest

from tests.house import FULLEST, LONGEST, House, faults

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def house() -> House:
    folders = (ROOT / "companion", ROOT / "tests")
    files = {f.relative_to(ROOT).as_posix(): f.read_text("utf-8") for d in folders for f in d.rglob("*.py")}
    return House(files, (ROOT / "DEVELOPERS.md").read_text("utf-8"))


def test_the_house_is_as_drawn(house: House) -> None:
    assert not (found := faults(house)), "\n".join(f"{what} ({size})" for what, size in found.items())


LONG = '"""Long."""\n' * (LONGEST + 1)


@pytest.mark.parametrize(
    ("path", "text", "fault"),
    [
        ("job/x.py", "from companion.speech.saying.mouth import Mouth", "job/x.py imports speech"),
        ("procedure/x.py", "def f():\n    import companion.job.decide", "procedure/x.py imports job"),
        ("papers/x.py", "from companion import cli", "papers/x.py imports cli"),
        ("speech/x.py", "from ..work import inbox", "speech/x.py imports work"),
        ("attic/x.py", "import companion.errors", "attic has no row"),
        ("papers/x.py", "import companion.papers.y", "modules import each other: companion.papers.x"),
        ("logbook/x/y.py", "import companion.logbook.z.w", "logbook/x and companion/logbook/z import each"),
        ("job/rules/x.py", "import numpy as np", "job/rules/x.py is pure and uses numpy"),
        ("job/turns/x.py", "from threading import Thread", "job/turns/x.py is pure and uses threading"),
        ("job/facts/x.py", "def f():\n    from time import time", "job/facts/x.py is pure and uses time"),
        ("procedure/x.py", "from pathlib import Path", "procedure/x.py is pure and uses pathlib"),
        ("job/x.py", "from datetime import datetime as d\nd.now()", "uses datetime.datetime.now"),
        ("job/x.py", "import datetime\ntoday = datetime.date.today", "uses datetime.date.today"),
        ("job/x.py", "def f(name): return open(name)", "job/x.py is pure and uses open"),
        ("work/x.py", "from companion.work.views.screen import FullScreen", "imports the adapter FullScreen"),
        ("job/left.py", LONG, "job/left.py is too long"),
        ("errors.py", "class CompanionError(Exception): ...", "errors.py does not say what it is for"),
        ("work/new/x.py", '"""A room."""', "work/new has no __init__.py"),
    ],
)  # fmt: skip
def test_each_rule_can_fail(house: House, path: str, text: str, fault: str) -> None:
    others = {
        "companion/papers/y.py": "import companion.papers.x",
        "companion/logbook/z/w.py": "import companion.logbook.x.y",
    }
    worse = House({**house.files, **others, f"companion/{path}": text}, house.page)
    found = faults(worse)
    assert [what for what in found if fault in what], found


def test_a_room_can_be_too_full(house: House) -> None:
    fuller = {f"companion/papers/x{n}.py": '"""One more."""' for n in range(FULLEST)}
    assert "companion/papers is too full" in faults(House({**house.files, **fuller}, house.page))


@pytest.mark.parametrize(
    ("before", "after", "fault"),
    [
        ("| `errors` | nothing |", "| `errors` | work |", "which stands below it"),
        ("`FullScreen`", "`BigScreen`", "no such class"),
        ("| `procedure` |", "| `procedures` |", "procedure has no row"),
    ],
)
def test_the_page_cannot_drift(house: House, before: str, after: str, fault: str) -> None:
    assert before in house.page
    found = faults(House(house.files, house.page.replace(before, after, 1)))
    assert [what for what in found if fault in what]


def test_the_top_level_is_what_a_newcomer_is_told() -> None:
    """A page about a thing lives in that thing's folder, so the top has two pages and no more."""
    known = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
    known |= {"companion", "procedures", "models", "tests", "logs", "build"}
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    locks = {name for name in there if name.startswith("requirements") and name.endswith(".lock")}
    made = {name for name in there if name.endswith(".egg-info") or name == "__pycache__"}
    assert there - locks - made - known == set()
