"""Quotes: hours at a confidence, allowances by the time-study rule, money, CSV and a page to print."""

import csv
import io
from datetime import date, timedelta
from decimal import Decimal
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import LabourError
from companion.labour.answers.customer_page import Customer, customer_page, offer
from companion.labour.answers.quote import Allowance, AllowanceOn, PartPrice, as_csv, quote
from companion.labour.answers.quote_page import quote_page
from companion.labour.model.fit import prior
from companion.labour.table.shop import Shop
from companion.labour.table.task import Task

TASKS = (
    Task("drain-oil", "w1", timedelta(minutes=6)),
    Task("sump-off", "w2", timedelta(minutes=20)),
    Task("clean-flange", "w3", timedelta(minutes=15)),
)


def test_allowances_by_the_time_study_rule() -> None:
    # Standard time = NT x (1 + A) with the allowance on job time, NT / (1 - A) on the workday (work study).
    assert Allowance(0.15).factor == pytest.approx(1.15)
    assert Allowance(0.15, AllowanceOn.WORKDAY).factor == pytest.approx(1 / 0.85)
    assert str(Allowance(0.15, AllowanceOn.WORKDAY)) == "15 % of the workday"
    plain = quote("Sump", TASKS, prior())
    for on, factor in ((AllowanceOn.JOB_TIME, 1.15), (AllowanceOn.WORKDAY, 1 / 0.85)):
        assert quote("Sump", TASKS, prior(), allowance=Allowance(0.15, on)).time == pytest.approx(
            plain.time * factor, rel=1e-9
        )


@settings(max_examples=25)
@given(st.floats(0.05, 0.9), st.floats(0.0, 0.09), st.floats(0, 0.5))
def test_surer_is_dearer(confidence: float, more: float, part: float) -> None:
    usual = quote("S", TASKS, prior(), confidence=confidence, allowance=Allowance(part), rate=Decimal(90))
    surer = quote(
        "S", TASKS, prior(), confidence=confidence + more, allowance=Allowance(part), rate=Decimal(90)
    )
    assert usual.time <= surer.time
    assert usual.total is not None
    assert surer.total is not None
    assert usual.total <= surer.total


def test_the_money_adds_up() -> None:
    made = quote(
        "Sump", TASKS, prior(), rate=Decimal("84.50"), currency="EUR",
        parts=[PartPrice("oil, 1 L", Decimal("9.99"), 5), PartPrice("filter", Decimal("12.405"))],
    )  # fmt: skip
    assert made.parts_cost == Decimal("62.36")
    hours = Decimal(f"{made.time.total_seconds() / 3600:.2f}")
    assert made.labour_cost == (hours * Decimal("84.50")).quantize(Decimal("0.01"), "ROUND_HALF_UP")
    assert made.total == made.labour_cost + made.parts_cost
    assert made.even < made.time
    assert 0.3 < made.book_risk < 0.8
    assert quote("Sump", TASKS, prior()).total is None


def test_the_csv_reads_back_and_disarms_formulas() -> None:
    made = quote(
        "Sump",
        TASKS,
        prior(),
        rate=Decimal(80),
        parts=[PartPrice("=HYPERLINK(1)", Decimal(1))],
        currency="EUR",
    )
    rows = list(csv.DictReader(io.StringIO(as_csv(made))))
    assert [r["kind"] for r in rows] == ["step", "step", "step", "part", "labour", "total"]
    assert float(rows[0]["book_h"]) == pytest.approx(0.1)
    assert rows[3]["item"] == "'=HYPERLINK(1)"
    assert Decimal(rows[-1]["price"]) == made.total
    for column in ("book_h", "mean_h"):
        steps = sum(float(r[column]) for r in rows if r["kind"] == "step")
        assert steps == pytest.approx(float(rows[4][column]), abs=0.001)
    assert sum(Decimal(r["price"]) for r in rows if r["kind"] in ("part", "labour")) == made.total
    assert {r["currency"] for r in rows if r["price"]} == {"EUR"}
    named = quote("S", [Task("=1+1", "w", timedelta(minutes=1))], prior())
    assert next(csv.DictReader(io.StringIO(as_csv(named))))["item"] == "'=1+1"


class _Text(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_page_escapes_what_it_is_given() -> None:
    nasty = "<script>alert(1)</script>"
    page = quote_page(
        quote(nasty, TASKS, prior(), rate=Decimal(80), currency="<b>", parts=[PartPrice(nasty, Decimal(1))])
    )
    read = _Text()
    read.feed(page)
    assert "script" not in read.tags
    assert read.text.count(nasty) == 3
    assert "book time only" in read.text
    assert "default-src 'none'" in page
    assert "://" not in page


def test_the_page_tells_price_risk_and_day() -> None:
    made = quote(
        "Sump", TASKS, prior(), rate=Decimal(80), currency="EUR", allowance=Allowance(0.15),
        parts=[PartPrice("drain washer", Decimal("0.80"), 2)],
    )  # fmt: skip
    read = _Text()
    read.feed(quote_page(made, date(2031, 3, 4)))
    told = " ".join(read.text.split())
    assert "Made on 4 March 2031." in told
    assert f"{made.time.total_seconds() / 3600:.2f} h at 80 EUR an hour" in told
    assert told.index("2 x drain washer") < told.index(f"{made.total} EUR", told.index("2 x drain washer"))
    assert "15 % of the job time" in told
    unpriced = _Text()
    unpriced.feed(quote_page(quote("Sump", TASKS, prior())))
    assert "What it costs" not in unpriced.text
    assert "Made on" not in unpriced.text


def for_customer(shop: Shop, customer: Customer, **about: object) -> str:
    made = quote("Sump", TASKS, prior(), currency=shop.currency, rate=Decimal(75), **about)  # type: ignore[arg-type]
    read = _Text()
    read.feed(customer_page(made, Decimal(75), shop, customer, date(2031, 3, 4)))
    return " ".join(read.text.partition("}\n")[2].rpartition("}")[2].split())


def test_the_page_for_a_customer_has_prices_and_no_statistics() -> None:
    shop = Shop(
        name="Lindenhof Garage", address="Hill 3", currency="EUR", tax="sales tax", tax_percent=Decimal(19)
    )
    customer = Customer("A. Fictus", "green estate", deposit=Decimal("0.3"))
    told = for_customer(shop, customer, parts=[PartPrice("drain washer", Decimal("0.80"), 2)])
    for words in (
        "Lindenhof Garage", "Hill 3", "A. Fictus", "green estate", "valid until 3 April 2031",
        "2 x drain washer", "sales tax, 19 %", "Deposit",
    ):  # fmt: skip
        assert words in told, words
    assert " of 100" not in told
    for word in ("typical", "likely", "mean", "book", "%"):
        assert word not in told.lower().replace("sales tax, 19 %", ""), word


@settings(max_examples=60)
@given(
    st.decimals("0.01", "500", places=2), st.decimals("0.005", "900", places=3), st.integers(1, 9),
    st.decimals("0", "27.7", places=2),
)  # fmt: skip
def test_the_lines_of_an_offer_add_up_to_the_cent(
    rate: Decimal, price: Decimal, count: int, tax: Decimal
) -> None:
    made = quote("S", TASKS, prior(), rate=rate, parts=[PartPrice("x", price, count)])
    found = offer(made, rate, tax)
    assert found.total.high == found.labour.high + made.parts[0].cost + found.tax.high
    assert found.labour.low <= found.labour.high == made.labour_cost
    for amount in (found.total.low, found.total.high, found.tax.low):
        assert amount == amount.quantize(Decimal("0.01"))


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: quote("S", TASKS, prior(), confidence=1.0), "confidence"),
        (lambda: quote("S", (), prior()), "no steps"),
        (lambda: quote("S", TASKS, prior(), rate=Decimal(-1)), "negative"),
        (lambda: quote("S", TASKS, prior(), parts=[PartPrice("x", Decimal(1), 0)]), "positive"),
        (lambda: Allowance(1.0), "give 0.15 for 15 %"),
        (lambda: Allowance(-0.1), "allowance"),
    ],
)
def test_numbers_that_make_no_sense_are_refused(make: object, why: str) -> None:
    with pytest.raises(LabourError, match=why):
        make()  # type: ignore[operator]
