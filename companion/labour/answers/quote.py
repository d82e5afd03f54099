"""`companion quote`: what a job is likely to cost in hours and money, at a chosen confidence.

An allowance is for fetching, cleaning up and personal needs. The time-study rule takes it as a part A of the
job time or of the workday:

    on the job time:  hours = time x (1 + A)
    on the workday:   hours = time / (1 - A)

These differ (15 % gives 1.150 or 1.176), so a quote says which was used.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from companion.errors import LabourError
from companion.labour.answers.written import csv_of
from companion.labour.model.fitted import Fitted
from companion.labour.model.prediction import Basis, Prediction
from companion.labour.table.task import Task


class AllowanceOn(StrEnum):
    """What an allowance is a part of."""

    JOB_TIME = "job time"
    WORKDAY = "workday"


@dataclass(frozen=True)
class Allowance:
    """An allowance. The part is from 0 (none) to below 1."""

    part: float = 0.0
    on: AllowanceOn = AllowanceOn.JOB_TIME

    def __post_init__(self) -> None:
        if not 0 <= self.part < 1:
            raise LabourError(f"an allowance of {self.part:g} is not a part: give 0.15 for 15 %")

    @property
    def factor(self) -> float:
        """What the time is multiplied by."""
        return 1 + self.part if self.on is AllowanceOn.JOB_TIME else 1 / (1 - self.part)

    def __str__(self) -> str:
        return f"{self.part * 100:g} % of the {self.on}" if self.part else "none"


@dataclass(frozen=True)
class PartPrice:
    """A part or material in the quote. The price is for one of them."""

    name: str
    price: Decimal
    count: int = 1

    @property
    def cost(self) -> Decimal:
        """The price of all of them, to the cent."""
        return money(self.price * self.count)


@dataclass(frozen=True)
class QuoteLine:
    """One step, for information. Means add up to the total, typical times do not."""

    step: str
    book: timedelta
    typical: timedelta
    mean: timedelta
    basis: Basis
    book_estimated: bool = False
    """Its book time is guessed, for the file gives none."""


@dataclass(frozen=True)
class Quote:
    """A quote. Times include the allowance, unless it says otherwise."""

    title: str
    confidence: float
    labour: Prediction
    """The active time, without the allowance."""
    book: timedelta
    """The sum of the book times, without the allowance."""
    allowance: Allowance
    rate: Decimal | None
    """The price of an hour."""
    currency: str
    parts: tuple[PartPrice, ...]
    lines: tuple[QuoteLine, ...]

    @property
    def time(self) -> timedelta:
        """The quoted time: enough with the chosen confidence."""
        return self.labour.quantile(self.confidence) * self.allowance.factor

    @property
    def expected(self) -> timedelta:
        """The mean: what many such jobs take on the average."""
        return self.labour.mean * self.allowance.factor

    @property
    def even(self) -> timedelta:
        """The time that is as likely over as under."""
        return self.labour.quantile(0.5) * self.allowance.factor

    @property
    def book_risk(self) -> float:
        """The probability that the job takes longer than its book time."""
        return 1 - self.labour.at_most(self.book)

    @property
    def sureness(self) -> tuple[tuple[str, timedelta], ...]:
        """How sure each number of hours is, in words; the quoted one first."""
        return (
            (f"Enough in {100 * self.confidence:g} of 100 such jobs", self.time),
            ("As likely over as under", self.even),
            ("Mean of many such jobs", self.expected),
            (f"Book, exceeded in {100 * self.book_risk:.0f} of 100", self.book),
        )

    @property
    def included(self) -> str:
        """What is said of the allowance, and of book times that are guessed."""
        guessed = sum(line.book_estimated for line in self.lines)
        marked = f" The book times of {guessed} steps are guessed (≈)." if guessed else ""
        if not self.allowance.part:
            return f"No allowance in the hours.{marked}"
        return f"Allowance in the hours, but not in the book's: {self.allowance}.{marked}"

    @property
    def labour_cost(self) -> Decimal | None:
        """The quoted time at the rate, to the cent. None without a rate."""
        return None if self.rate is None else money(self.rate * Decimal(f"{as_hours(self.time):.2f}"))

    @property
    def parts_cost(self) -> Decimal:
        """The price of all parts together."""
        return money(sum((p.price * p.count for p in self.parts), Decimal()))

    @property
    def total(self) -> Decimal | None:
        """Labour and parts. None without a rate."""
        return None if self.labour_cost is None else self.labour_cost + self.parts_cost


def quote(
    title: str,
    tasks: Sequence[Task],
    fitted: Fitted,
    *,
    confidence: float = 0.8,
    allowance: Allowance | None = None,
    rate: Decimal | None = None,
    currency: str = "",
    parts: Sequence[PartPrice] = (),
    mechanic: str = "",
) -> Quote:
    """Quote these steps.

    Raises:
        LabourError: there are none, or a number makes no sense.
    """
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
        one = fitted.step(task, mechanic)
        lines.append(QuoteLine(task.step, task.book, one.typical, one.mean, one.basis, task.book_estimated))
    return Quote(
        title=title,
        confidence=confidence,
        labour=fitted.total(tasks, mechanic),
        book=sum((t.book for t in tasks), timedelta()),
        allowance=allowance or Allowance(),
        rate=rate,
        currency=currency,
        parts=tuple(parts),
        lines=tuple(lines),
    )


COLUMNS = (
    "kind", "item", "count", "book_h", "mean_h", "quoted_h", "confidence", "allowance", "price", "currency",
)  # fmt: skip


def as_csv(quote: Quote) -> str:
    """The quote as CSV (RFC 4180). A column means the same in every row.

    Steps and parts are one row each, then labour, then the total. `book_h` and `mean_h` are hours of work
    without the allowance, and those of the steps add up to those of the labour; `quoted_h` has the allowance,
    and is enough with `confidence`. `price` is for all of `count`; those of parts and labour add up. A cell
    that a spreadsheet would take for a formula is disarmed with an apostrophe.
    """
    return csv_of(COLUMNS, _rows(quote))


def _rows(quote: Quote) -> Iterator[tuple[object, ...]]:
    def h(time: timedelta) -> str:
        return f"{as_hours(time):.4f}"

    nothing = 5 * ("",)
    for line in quote.lines:
        yield "step", line.step, 1, h(line.book), h(line.mean), *nothing
    for part in quote.parts:
        yield "part", part.name, part.count, *nothing, part.cost, quote.currency
    mean = sum((line.mean for line in quote.lines), timedelta())
    times = (h(quote.book), h(mean), h(quote.time))
    cost = ("", "") if quote.labour_cost is None else (quote.labour_cost, quote.currency)
    yield "labour", quote.title, 1, *times, quote.confidence, str(quote.allowance), *cost
    if quote.total is not None:
        yield "total", quote.title, 1, *nothing, quote.total, quote.currency


def as_hours(time: timedelta) -> float:
    """A length as a number of hours."""
    return time.total_seconds() / 3600


def money(amount: Decimal) -> Decimal:
    """An amount to the cent."""
    return amount.quantize(Decimal("0.01"), ROUND_HALF_UP)


def priced(amount: Decimal, currency: str) -> str:
    """An amount with its currency."""
    return f"{amount} {currency}".strip()
