"""`companion quote`: what a job is likely to cost in hours and money, at a chosen confidence.

The time-study rule adds allowances (for fetching, cleaning up, personal needs) as a part A of either the job
time or the workday:

    on the job time:  hours = time x (1 + A)
    on the workday:   hours = time / (1 - A)

They differ (15 % gives 1.150 or 1.176), so a quote says which was used.
"""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from html import escape

from companion.errors import LabourError
from companion.labour.predict import Basis, Estimates, Prediction, Task


class AllowanceOn(StrEnum):
    """What an allowance is a part of."""

    JOB_TIME = "job time"
    WORKDAY = "workday"


@dataclass(frozen=True)
class Allowance:
    """A part from 0 (none) to below 1."""

    part: float = 0.0
    on: AllowanceOn = AllowanceOn.JOB_TIME

    def __post_init__(self) -> None:
        if not 0 <= self.part < 1:
            raise LabourError(f"an allowance of {self.part:g} is not a part: give 0.15 for 15 %")

    @property
    def factor(self) -> float:
        """By which the time is multiplied."""
        return 1 + self.part if self.on is AllowanceOn.JOB_TIME else 1 / (1 - self.part)

    def __str__(self) -> str:
        return f"{self.part * 100:g} % of the {self.on}" if self.part else "none"


@dataclass(frozen=True)
class PartPrice:
    """A part or material in the quote; the price is for one."""

    name: str
    price: Decimal
    count: int = 1


@dataclass(frozen=True)
class QuoteLine:
    """One step, for information: typical times do not add up to the total, means do."""

    step: str
    book: timedelta
    typical: timedelta
    mean: timedelta
    basis: Basis


@dataclass(frozen=True)
class Quote:
    """A quote; times include the allowance unless said otherwise."""

    title: str
    confidence: float
    labour: Prediction
    """Active time, without the allowance."""
    book: timedelta
    """The sum of the book times, without the allowance."""
    allowance: Allowance
    rate: Decimal | None
    """Per hour."""
    currency: str
    parts: tuple[PartPrice, ...]
    lines: tuple[QuoteLine, ...]

    @property
    def time(self) -> timedelta:
        """Not exceeded with the chosen confidence."""
        return self.labour.quantile(self.confidence) * self.allowance.factor

    @property
    def expected(self) -> timedelta:
        """The mean: what many such jobs cost on the average."""
        return self.labour.mean * self.allowance.factor

    @property
    def even(self) -> timedelta:
        """As likely over as under."""
        return self.labour.quantile(0.5) * self.allowance.factor

    @property
    def book_risk(self) -> float:
        """The probability that the job takes longer than its book time."""
        return 1 - self.labour.at_most(self.book)

    @property
    def labour_cost(self) -> Decimal | None:
        """Quoted time at the rate, rounded to cents; None without a rate."""
        return None if self.rate is None else _money(self.rate * Decimal(f"{_hours(self.time):.2f}"))

    @property
    def parts_cost(self) -> Decimal:
        """All parts together."""
        return _money(sum((p.price * p.count for p in self.parts), Decimal()))

    @property
    def total(self) -> Decimal | None:
        """Labour and parts; None without a rate."""
        return None if self.labour_cost is None else self.labour_cost + self.parts_cost


def quote(
    title: str,
    tasks: Sequence[Task],
    estimates: Estimates,
    *,
    confidence: float = 0.8,
    allowance: Allowance | None = None,
    rate: Decimal | None = None,
    currency: str = "",
    parts: Sequence[PartPrice] = (),
    mechanic: str = "",
) -> Quote:
    """A quote for these steps. LabourError when a number makes no sense."""
    if not 0.01 <= confidence <= 0.99:
        raise LabourError(f"a confidence of {confidence:g} cannot be quoted: give one from 0.01 to 0.99")
    if not tasks:
        raise LabourError(f"{title}: there are no steps to quote")
    if rate is not None and rate < 0:
        raise LabourError(f"a labour rate of {rate} is negative: give the price of an hour")
    bad = next((p for p in parts if p.price < 0 or p.count < 1), None)
    if bad:
        raise LabourError(f"part {bad.name!r}: price and count must be positive")
    lines = []
    for task in tasks:
        one = estimates.step(task, mechanic)
        lines.append(QuoteLine(task.step, task.book, one.typical, one.mean, one.basis))
    return Quote(
        title=title,
        confidence=confidence,
        labour=estimates.total(tasks, mechanic),
        book=sum((t.book for t in tasks), timedelta()),
        allowance=allowance or Allowance(),
        rate=rate,
        currency=currency,
        parts=tuple(parts),
        lines=tuple(lines),
    )


def as_csv(quote: Quote) -> str:
    """The quote as CSV (RFC 4180): one table of kind, item, hours, price. A cell that a spreadsheet would
    take for a formula is disarmed with an apostrophe."""
    out = io.StringIO()
    write = csv.writer(out).writerow
    write(["kind", "item", "book_h", "hours", "price"])
    for line in quote.lines:
        write(["step", _inert(line.step), f"{_hours(line.book):.3f}", f"{_hours(line.mean):.3f}", ""])
    for part in quote.parts:
        write(["part", _inert(f"{part.count} x {part.name}"), "", "", _money(part.price * part.count)])
    cost = "" if quote.labour_cost is None else quote.labour_cost
    write(["labour", f"P{quote.confidence * 100:g}, allowance {quote.allowance}", f"{_hours(quote.book):.3f}",
           f"{_hours(quote.time):.3f}", cost])  # fmt: skip
    if quote.total is not None:
        write(["total", quote.currency, "", "", quote.total])
    return out.getvalue()


def as_html(quote: Quote) -> str:
    """A page for the printer: no network, no script, all text escaped."""
    rows = "".join(
        f"<tr><td>{escape(line.step.replace('-', ' '))}</td><td>{_minutes(line.book)}</td>"
        f"<td>{_minutes(line.typical)}</td><td>{escape(str(line.basis))}</td></tr>"
        for line in quote.lines
    )
    sums = [
        (
            f"Labour, not exceeded in {quote.confidence * 100:g} of 100 such jobs",
            f"{_hours(quote.time):.2f} h",
        ),
        ("As likely over as under", f"{_hours(quote.even):.2f} h"),
        ("Mean of many such jobs", f"{_hours(quote.expected):.2f} h"),
        ("Book time, without allowance", f"{_hours(quote.book):.2f} h"),
        ("Allowance included", str(quote.allowance)),
        ("Resting on", str(quote.labour.basis)),
    ]
    for part in quote.parts:
        sums.append((f"{part.count} x {part.name}", _priced(_money(part.price * part.count), quote.currency)))
    if quote.rate is not None and quote.labour_cost is not None and quote.total is not None:
        sums.append(
            (
                f"Labour at {_priced(quote.rate, quote.currency)} an hour",
                _priced(quote.labour_cost, quote.currency),
            )
        )
        sums.append(("Total", _priced(quote.total, quote.currency)))
    summed = "".join(f'<tr><th scope="row">{escape(a)}</th><td>{escape(b)}</td></tr>' for a, b in sums)
    title = escape(quote.title)
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Quote: {title}</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<style>
body {{ font: 16px/1.4 system-ui, sans-serif; max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }}
table {{ border-collapse: collapse; width: 100%; margin-bottom: 2rem; }}
th, td {{ text-align: left; padding: .3rem .6rem; border-bottom: 1px solid #999; vertical-align: top; }}
tr {{ break-inside: avoid; }}
</style></head><body>
<h1>Quote: {title}</h1>
<table><caption>Summary</caption><tbody>{summed}</tbody></table>
<table><caption>Steps, for information (typical times do not add up to the total)</caption>
<thead><tr><th scope="col">Step</th><th scope="col">Book, min</th><th scope="col">Typical, min</th>
<th scope="col">Resting on</th></tr></thead><tbody>{rows}</tbody></table>
</body></html>
"""


def _hours(time: timedelta) -> float:
    return time.total_seconds() / 3600


def _minutes(time: timedelta) -> str:
    return f"{time.total_seconds() / 60:.1f}"


def _money(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.01"), ROUND_HALF_UP)


def _priced(amount: Decimal, currency: str) -> str:
    return f"{amount} {currency}".strip()


def _inert(text: str) -> str:
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
