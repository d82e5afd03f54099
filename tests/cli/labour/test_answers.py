"""The commands about labour as their user runs them, on the demo logs."""

import csv
import json
import re
import shutil
from datetime import datetime, timedelta
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from tests.helpers.programs import PYTHON, run
from tests.helpers.waiting import PATIENCE
from tests.shops.logs import write_logs
from tests.shops.shop import Shop, Trouble

HERE = Path(__file__).parents[3]
SUMP = HERE / "procedures" / "sump-reseal.yaml"
STEPS = re.findall(r"^  - id: (\S+)", SUMP.read_text(encoding="utf-8"), re.MULTILINE)
WAITS = {"let-drain", "flash-off", "let-oil-settle"}
NASTY = "rust <script>alert(1)</script> \x1b[2J[bold]loud[/bold]"
"""In place of every note: nothing of it may be obeyed by a browser, a terminal or a table."""


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo logs of one procedure, with nasty notes."""
    folder = tmp_path_factory.mktemp("labour") / "logs"
    shutil.copytree(HERE / "logs" / "demo" / "procedures", folder / "procedures")
    for log in (HERE / "logs" / "demo").glob("*-sump-reseal-*.jsonl"):
        lines = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
        for line in lines:
            if line["event"] == "note_taken":
                line["text"] = NASTY
        (folder / log.name).write_text("".join(json.dumps(line) + "\n" for line in lines))
    return folder


def answer(result: CompletedProcess[str]) -> str:
    assert result.returncode == 0, result.stderr
    assert not result.stderr, result.stderr
    return result.stdout


def data(result: CompletedProcess[str]) -> dict:
    (line,) = answer(result).splitlines()
    return json.loads(line)


def test_nothing_heavy_is_loaded_before_a_command_runs():
    heavy = {"numpy", "duckdb", "ibis", "rich", "pydantic", "ortools"}
    code = (
        "import sys, importlib\n"
        "for name in ('labour.times', 'labour.quote', 'labour.choices', 'labour.plan', 'shop.report'):\n"
        "    importlib.import_module(f'companion.cli.{name}')\n"
        f"print(sorted({heavy!r} & set(sys.modules)))"
    )
    told = run(PYTHON, "-c", code)
    assert told.stdout.strip() == "[]", told


class TestTimes:
    def test_every_step_of_the_procedure_in_its_order(self, companion, logs):
        shown = answer(companion("times", SUMP, "--logs", logs))
        assert "\x1b" not in shown
        assert "[bold]loud[/bold]" in shown
        *table, whole = shown.split("\n\n")[0].splitlines()[2:]
        assert [line.split()[0] for line in table] == [s for s in STEPS if s not in WAITS]
        assert whole.startswith("The whole job (")
        by_step = {line.split()[0]: line for line in table}
        assert "eight jobs, three mechanics" in by_step["clean-strainer"]
        assert "13 jobs, three mechanics" in by_step["part-sump"]
        for heading in ("Most different from the book", "What interrupts", "Said in the slowest tenth"):
            assert f"\n{heading}\n- " in shown

    def test_the_same_as_json_with_the_counts_of_the_logs(self, companion, logs):
        steps = [
            json.loads(line)
            for line in answer(
                companion("times", "--title", "SUMP RESEAL", "--logs", logs, "--json")
            ).splitlines()
        ]
        done: dict[str, set[str]] = {}
        for log in logs.glob("*.jsonl"):
            for line in log.read_text().splitlines():
                record = json.loads(line)
                if record["event"] == "step_done":
                    done.setdefault(record["step"], set()).add(log.name)
        for step in steps:
            assert step["jobs"] - step["unfinished"] == len(done[step["step"]]), step
            assert 0 < step["p10_s"] < step["typical_s"] < step["mean_s"] < step["p90_s"] < step["p95_s"]
        assert {n for s in steps for c in s["slowest"] for n in c["notes"]} == {NASTY}
        assert any(s["interruptions"] for s in steps)

    def test_calls_that_nobody_logged_are_told_and_kept_apart(self, companion, tmp_path):
        shop = Shop.of(8, steps=8, trouble=Trouble(unlogged=0.02))
        list(write_logs(tmp_path, shop, 40, title="Belt change"))
        told = " ".join(answer(companion("times", "--logs", str(tmp_path))).split())
        times, of = map(int, re.search(r"(\d+) of (\d+) times are far off the rest", told).groups())
        assert of == 320
        assert 2 <= times <= 12, "one in fifty is 6.4"
        assert 'Say "hold the job" when called away' in told
        one = json.loads(answer(companion("times", "--logs", str(tmp_path), "--json")).splitlines()[0])
        assert one["odd"] == {"times": times, "of": of}
        page = tmp_path / "report.html"
        answer(companion("report", "--logs", str(tmp_path), "--out", str(page)))
        assert f"{times} of 320 times are far off the rest" in page.read_text(encoding="utf-8")


class TestQuote:
    def test_what_the_customer_pays(self, companion, logs, tmp_path):
        common = ("quote", SUMP, "--logs", logs, "--rate", 80, "--allowance", 15)
        job = data(companion(*common, "--json"))
        parts = ("--part", "washer <b>=0.80x2", "--part", "=sum=3")
        refused = companion(*common, *parts)
        assert refused.returncode == 2
        parts = ("--part", "washer <b>=0.80x2")
        files = ("--csv", tmp_path / "q.csv", "--html", tmp_path / "q.html")
        shown = answer(companion(*common, "--allowance-on", "workday", *parts, *files))
        hours = float(re.search(r"Enough in 80 of 100 such jobs +([\d.]+) h", shown)[1])
        assert hours == pytest.approx(job["hours"] / 1.15 / 0.85, abs=0.006)
        rows = list(csv.DictReader((tmp_path / "q.csv").open()))
        priced = {row["kind"]: float(row["price"]) for row in rows if row["price"]}
        assert priced["labour"] == pytest.approx(80 * hours)
        assert priced["part"] == 1.6
        assert priced["total"] == pytest.approx(priced["labour"] + priced["part"])
        assert f"{priced['total']:.2f}" in shown
        assert "15 % of the workday" in shown
        page = (tmp_path / "q.html").read_text()
        assert "washer &lt;b&gt;" in page
        assert f"{priced['total']:.2f}" in page

    def test_more_confidence_is_more_time_and_mechanics_differ(self, companion, logs):
        anyone = data(companion("quote", SUMP, "--logs", logs, "--json"))
        one = data(companion("quote", SUMP, "--logs", logs, "--json", "--mechanic", "Corwen"))
        more = data(
            companion(
                "quote", SUMP, "--logs", logs, "--json", "--with", "remove-strainer", "--confidence", 95
            )
        )
        assert anyone["even_h"] < anyone["hours"] < more["hours"]
        assert more["hours"] / more["even_h"] > 1.1 * anyone["hours"] / anyone["even_h"]
        assert one["even_h"] != anyone["even_h"]
        assert {s["step"] for s in more["steps"]} - {s["step"] for s in anyone["steps"]} == {
            "remove-strainer",
            "clean-strainer",
            "fit-strainer",
        }

    def test_without_any_logs_it_is_the_book_and_says_so(self, companion):
        shown = answer(companion("quote", SUMP))
        assert "book time only" in shown
        assert "No job on 'Sump reseal' is logged" in shown


class TestChoices:
    def test_two_ways_are_mirrored_when_they_change_places(self, companion, logs):
        one, other = "remove-sump-bolts,part-sump", "remove-filter,fit-filter,fill-oil"
        ways = ("choices", "ways", SUMP, "--logs", logs, "--json")
        forth = data(companion(*ways, "--first", one, "--second", other))
        back = data(companion(*ways, "--first", other, "--second", one))
        assert {forth["quicker"], back["quicker"]} == {"first", "second"}
        assert 0.5 < forth["sure"] < 1
        assert forth["sure"] == pytest.approx(back["sure"], abs=0.03)
        assert forth["saved_mean_s"] == pytest.approx(forth["second_mean_s"] - forth["first_mean_s"], abs=1)

    def test_two_procedures_share_their_common_work(self, companion, logs, tmp_path):
        longer = tmp_path / "longer.yaml"
        text = SUMP.read_text().replace("title: Sump reseal", "title: Sump reseal the long way")
        other = text.replace("id: inspect-flange", "id: straighten-flange")
        longer.write_text(
            re.sub(r"(id: straighten-flange\n(?:.*\n)*?    book: )3 min", r"\g<1>30 min", other)
        )
        shown = answer(companion("choices", "ways", SUMP, longer, "--logs", logs))
        assert "sump-reseal is quicker by" in shown
        assert "No job on 'Sump reseal the long way' is logged" in shown
        assert "by lot" not in shown, "one way was never done"
        by = float(re.search(r"quicker by ([\d.]+) min", shown)[1])
        assert 5 < by < 60, "all else is the same work and must cancel"

    def test_ways_that_were_done_on_different_cars_are_said_not_to_be_drawn_by_lot(
        self, companion, logs, tmp_path
    ):
        both, other = tmp_path / "both", tmp_path / "other-way.yaml"
        shutil.copytree(logs, both)
        title = '"title": "Sump reseal"'
        for n, log in enumerate(sorted(both.glob("*.jsonl"))):
            if n % 2:
                assert title in log.read_text(), "a log names what it is a log of"
                log.write_text(log.read_text().replace(title, '"title": "Sump reseal, other way"'))
        other.write_text(SUMP.read_text().replace("title: Sump reseal", "title: Sump reseal, other way"))
        ways = ("choices", "ways", SUMP, other, "--logs", both)
        shown = " ".join(answer(companion(*ways)).split())
        assert re.search(
            r"min\. Each way was timed in jobs of its own, and which car went which way was not drawn by lot"
            r": if the easy cars went one way, that is part of the difference\.$",
            shown,
        )
        assert data(companion(*ways, "--json"))["not_by_lot"] is True
        steps = ("--first", "remove-filter", "--second", "part-sump")
        alike = data(companion("choices", "ways", SUMP, *steps, "--logs", logs, "--json"))
        assert alike["not_by_lot"] is False, "steps of the same jobs were done on the same cars"

    def test_extra_work_counts_shared_steps_once(self, companion, logs):
        extra = ("choices", "extra", SUMP, "--logs", logs, "--json", "--step", "remove-strainer")
        found = data(companion(*extra, "--rate", 60, "--parts", "6.40"))
        own = {"remove-strainer", "clean-strainer", "fit-strainer"}
        assert not own & set(found["shared"])
        assert {"part-sump", "apply-sealant", "fit-sump", "fill-oil", "lower-vehicle"} <= set(found["shared"])
        assert found["now_mean_s"] < found["later_mean_s"]
        assert float(found["added_cost"]) == pytest.approx(found["now_mean_s"] / 60 + 6.4, abs=0.02)
        alone = data(companion(*extra, "--alone", "drain-oil,remove-strainer,clean-strainer,fit-strainer"))
        assert alone["shared"] == ["drain-oil"]
        assert alone["now_mean_s"] == pytest.approx(found["now_mean_s"], rel=0.05)

    def test_work_sent_out_costs_its_price_and_its_days(self, companion, logs):
        away = ("choices", "away", SUMP, "--logs", logs, "--step", "scrape-faces", "--days", 2, "--price", 80)
        found = data(companion(*away, "--rate", 60, "--start", "2031-03-04 09:00", "--json"))
        assert float(found["saved"]) == pytest.approx(found["here_mean_s"] / 60 - 80, abs=0.02)
        later = datetime.fromisoformat(found["finish_away"]) - datetime.fromisoformat(found["finish_here"])
        assert timedelta(days=1) < later < timedelta(days=5)


class TestPlan:
    def test_a_plan_keeps_every_rule_and_both_solvers_agree(self, companion, logs, tmp_path):
        ask = ("plan", SUMP, "--logs", logs, "--start", "2031-03-04 13:00", "--solver", "own")
        found = data(companion(*ask, "--hours", "Mon-Fri 08:00-12:00,13:00-17:00", "--json"))
        at = {
            s["step"]: (datetime.fromisoformat(s["begin"]), datetime.fromisoformat(s["end"]))
            for s in found["steps"]
        }
        assert timedelta() <= at["fit-sump"][0] - at["apply-sealant"][1] <= timedelta(minutes=10)
        assert at["fill-oil"][0] - at["fit-sump"][1] >= timedelta(hours=24)
        work = sorted(at[s["step"]] for s in found["steps"] if s["mechanic"])
        assert all(first[1] <= second[0] for first, second in pairwise(work))
        for begin, end in work:
            assert 8 <= begin.hour < 17
            assert begin.hour != 12
            assert end.hour < 17 or (end.hour, end.minute) == (17, 0)
        assert max(end for _, end in at.values()).isoformat() == found["finish"]
        assert found["proven"] == (found["bound"] >= found["finish"])
        assert found["finish_p50"] <= found["finish_p80"] <= found["finish_p95"]
        assert any("before you go home" in line for line in found["advice"])

        cold = data(companion(*ask, "--ambient", 8, "--json"))
        assert cold["finish"] > found["finish"]
        dry = data(companion(*ask, "--humidity", 20, "--json"))
        assert dry["finish"] > found["finish"]
        at = {s["step"]: datetime.fromisoformat(s["begin"]) for s in dry["steps"]}
        assert at["fill-oil"] - at["fit-sump"] > timedelta(hours=60), "the sheet's 24 h are for 50 %"

        html = tmp_path / "plan.html"
        if find_spec("ortools"):
            ask = (*ask[:-1], "cp-sat", "--limit", PATIENCE)
        shown = answer(companion(*ask, "--html", html))
        finish = datetime.fromisoformat(found["finish"])
        assert re.search(
            rf"^finish Wed {finish.day} Mar {finish:%H:%M}; proven earliest \(bound ", shown, re.M
        )
        assert re.search(r"^fit sump +│?.*█·+", shown, re.M)
        assert "<script" not in html.read_text()

    def test_what_is_left_of_a_job_is_planned_with_the_cure_that_runs(self, companion, tmp_path):
        demo = HERE / "logs" / "demo"
        job = "2031-06-02-coolant-pump-and-thermostat-1"
        shutil.copytree(demo / "procedures", tmp_path / "left" / "procedures")
        lines = (demo / f"{job}.jsonl").read_text().splitlines(keepends=True)
        (tmp_path / "left" / f"{job}.jsonl").write_text("".join(lines))
        events = [json.loads(line) for line in lines]
        done = {e["step"] for e in events if e["event"] == "step_done"}
        (sealed,) = (e["at"] for e in events if e["event"] == "step_done" and e["step"] == "fit-pump")
        sealed_at = datetime.fromisoformat(sealed).astimezone()
        hours = ("--hours", "Mon-Sun 00:00-24:00", "--start", sealed_at + timedelta(hours=3))
        found = data(companion("plan", "--job", job, "--logs", "left", *hours, "--json"))
        at = {s["step"]: datetime.fromisoformat(s["begin"]) for s in found["steps"]}
        assert found["job"] == job
        assert not done & at.keys()
        assert timedelta(hours=24) <= at["fill-coolant"] - sealed_at < timedelta(hours=24, seconds=2)
        both = companion("plan", SUMP, "--job", job)
        assert (both.returncode, "name a procedure, or a job with --job" in both.stderr) == (2, True)


def test_the_report_is_one_harmless_page(companion, logs, tmp_path):
    told = answer(companion("report", "--logs", logs, "--shop", "Marlow & Sons", "--out", "r.html"))
    assert told.startswith("r.html: 13 jobs, ")
    page = (tmp_path / "r.html").read_text(encoding="utf-8")
    assert "Marlow &amp; Sons" in page
    assert "&lt;script&gt;alert(1)" in page
    assert "<script" not in page
    assert "\x1b" not in page
    assert "://" not in page.replace("http://www.w3.org/2000/svg", "")
