"""Quotes kept with the job that came of them, and what they were worth."""

import csv
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from companion.labour.answers.quoted import HowOften
from tests.labour.conftest import LogWriter

PROCEDURES = Path(__file__).parents[3] / "procedures"
SUMP = PROCEDURES / "sump-reseal.yaml"
KEPT = {"confidence": 0.8, "mean_s": 3000.0, "rate": "60", "currency": "EUR"}


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    folder = tmp_path / "logs"
    folder.mkdir()
    return folder


def job(logs: Path, name: str, day: int, took: float, *, close: bool = True, **quote: object) -> LogWriter:
    log = LogWriter(logs, name, day=day, vehicle="Plover").begin("a").add("session_ended").after(60)
    if quote:
        log.add("quote_kept", **{**KEPT, **quote})
    log.after(60).add("session_started", boot="one").begin("a").after(took).done("a")
    if close:
        log.add("job_closed")
    return log


def told(companion, *more: object) -> list[dict]:
    result = companion("quoted", "--json", *more)
    assert result.returncode == 0, result.stderr
    return [json.loads(line) for line in result.stdout.splitlines()]


class TestKeeping:
    @pytest.fixture
    def begun(self, companion, logs) -> str:
        companion("work", SUMP, "--keys", "--quiet", typed="yes\n")
        (log,) = logs.glob("*.jsonl")
        return log.stem

    def test_a_quote_goes_into_the_log_of_its_job_and_the_job_goes_on(self, companion, logs, begun):
        made = companion("quote", SUMP, "--rate", "75", "--part", "washer=0.80x2", "--job", begun)
        assert made.returncode == 0, made.stderr
        assert made.stdout.endswith(f"Kept with the job: {begun}\n")
        *_, last = map(json.loads, (logs / f"{begun}.jsonl").read_text().splitlines())
        again = json.loads(
            companion("quote", SUMP, "--rate", "75", "--part", "washer=0.80x2", "--json").stdout
        )
        assert last["event"] == "quote_kept"
        assert last["quoted_s"] == pytest.approx(again["hours"] * 3600, abs=1)
        assert (last["labour_price"], last["parts_price"]) == (again["labour_cost"], "1.60")
        assert companion("jobs", begun).returncode == 0
        resumed = companion("work", "--resume", "--keys", "--quiet", typed="help\n")
        assert resumed.returncode == 0, resumed.stderr

    def test_the_allowance_is_paid_for_and_is_no_time_of_work(self, companion, logs, begun):
        kept = []
        for allowance in ("0", "20"):
            companion("quote", SUMP, "--rate", "100", "--allowance", allowance, "--job", begun)
            kept.append(json.loads((logs / f"{begun}.jsonl").read_text().splitlines()[-1]))
        assert kept[0]["quoted_s"] == kept[1]["quoted_s"]
        assert float(kept[1]["labour_price"]) == pytest.approx(1.2 * float(kept[0]["labour_price"]), rel=0.01)

    def test_one_that_comes_after_work_has_begun_says_so(self, companion, begun):
        assert not companion("quote", SUMP, "--job", begun).stderr
        companion("work", "--resume", "--keys", "--quiet", typed="yes\nyes\nyes\nyes\nbattery disconnected\n")
        late = companion("quote", SUMP, "--job", begun)
        assert late.returncode == 0
        assert "1 step of" in late.stderr
        assert "came before this quote" in late.stderr

    @pytest.mark.parametrize(
        ("procedure", "name", "says"),
        [
            ("sump-reseal", "nobody", "nobody"),
            ("front-brakes", None, "this quote is of 'Front brake overhaul'"),
        ],
    )
    def test_what_cannot_be_kept_is_one_line(self, companion, logs, begun, procedure, name, says):
        before = (logs / f"{begun}.jsonl").read_bytes()
        result = companion("quote", PROCEDURES / f"{procedure}.yaml", "--job", name or begun)
        assert result.returncode == 2
        assert says in result.stderr.splitlines()[-1]
        assert "Traceback" not in result.stderr
        assert (logs / f"{begun}.jsonl").read_bytes() == before


def test_profit_and_what_an_hour_brought(companion, logs):
    job(logs, "slow", 0, 7200, quoted_s=5400.0, labour_price="90.00")
    job(logs, "quick", 1, 3600, quoted_s=5400.0, labour_price="90.00")
    slow, quick = told(companion)
    assert [slow[key] for key in ("took_s", "enough", "hourly_rate", "profit")] == [
        7200,
        False,
        "45.00",
        "-30.00",
    ]
    assert [quick[key] for key in ("took_s", "enough", "hourly_rate", "profit")] == [
        3600,
        True,
        "90.00",
        "30.00",
    ]
    slow, quick = told(companion, "--cost", "40")
    assert (slow["profit"], quick["profit"]) == ("10.00", "50.00")
    shown = companion("quoted", "--cost", "40").stdout
    assert "The quoted time was enough in 1 of 2 jobs (50 %; the true share is likely 9 to 91 %)" in shown
    assert "Profit of 2 jobs, at 40 an hour: 60.00 in all." in shown


def test_a_night_or_an_hour_without_price_is_no_profit(companion, logs):
    job(logs, "free", 0, 3600, quoted_s=5400.0, rate="", labour_price="")
    (free,) = told(companion)
    assert (free["profit"], free["hourly_rate"], free["enough"]) == (None, None, True)
    assert "Profit" not in companion("quoted").stdout.splitlines()[-1]


def test_the_last_quote_counts_and_an_open_job_is_not_judged(companion, logs):
    log = LogWriter(logs, "twice").begin("a").add("session_ended")
    log.add("quote_kept", quoted_s=10.0, **KEPT).add("quote_kept", quoted_s=9000.0, **KEPT)
    log.add("session_started", boot="one").begin("a").after(3600).done("a").add("job_closed")
    job(logs, "open", 1, 60, close=False, quoted_s=30.0)
    job(logs, "unquoted", 2, 60)
    (twice,) = told(companion)
    assert (twice["job"], twice["enough"]) == ("twice", True)
    assert "1 job with a quote is not closed yet, and not judged." in companion("quoted").stdout


def test_csv_has_the_same_and_a_row_is_a_job(companion, logs, tmp_path):
    job(logs, "one", 0, 7200, quoted_s=5400.0, labour_price="90.00")
    assert companion("quoted", "--csv", "quoted.csv").returncode == 0
    with (tmp_path / "quoted.csv").open(newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["job"], row["enough"], row["profit"], row["currency"]) == ("one", "0", "-30.00", "EUR")


def test_without_any_it_says_how_to_keep_one(companion, logs):
    job(logs, "one", 0, 60)
    assert "quote --job JOB" in companion("quoted").stdout


@given(st.integers(1, 200).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_interval_is_that_of_an_independent_library(case):
    times, of = case
    low, high = proportion_confint(times, of, alpha=0.05, method="wilson")
    assert HowOften(times, of, 0.8).interval == pytest.approx((low, high), abs=1e-9)
