"""`companion quote`: hours and money for a job, at a chosen confidence."""

import json
import re
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.cli.labour import asked
from companion.cli.labour.tables import show_line, show_table
from companion.errors import LabourError
from companion.extras import Extra
from companion.harmless import one_line
from companion.labour.answers.written import hours, minutes
from companion.procedure.nouns import several

if TYPE_CHECKING:
    from companion.labour.answers.quote import PartPrice, Quote

_PART = re.compile(r"(?P<name>[^=]*\S)\s*=\s*(?P<price>[^x×]+?)\s*(?:[x×]\s*(?P<count>\d{1,4}))?\s*")
_ON = {"job": "JOB_TIME", "workday": "WORKDAY"}


@click.command(
    epilog="Example: companion quote procedures/sump-reseal.yaml --confidence 80 --rate 75 "
    "--allowance 15 --part 'drain washer=0.80x2' --html quote.html"
)
@options.procedure
@click.option(
    "--confidence",
    type=float,
    default=80.0,
    show_default=True,
    metavar="PERCENT",
    help="The quoted time is enough in so many of 100 such jobs.",
)
@asked.wanted_option
@asked.mechanic_option
@click.option(
    "--allowance",
    type=float,
    default=0.0,
    metavar="PERCENT",
    help="For fetching, cleaning up and personal needs.",
)
@click.option(
    "--allowance-on",
    type=click.Choice(list(_ON)),
    default="job",
    show_default=True,
    help="What the allowance is a part of: 15 % of the job adds 15 %, 15 % of the workday 17.6 %.",
)
@asked.rate_option
@click.option(
    "--part", "parts", multiple=True, metavar="NAME=PRICE[xN]", help="A part or material. May be repeated."
)
@click.option(
    "--currency", type=options.Words(), default="", metavar="NAME", help="Written behind the amounts."
)
@click.option("--steps", is_flag=True, help="Show each step, too.")
@click.option("--csv", "csv_file", type=options.NewPage(), metavar="FILE", help="Write it as CSV.")
@click.option("--html", "html_file", type=options.NewPage(), metavar="FILE", help="Write a page to print.")
@click.option(
    "--for-customer",
    "customer_file",
    type=options.NewPage(),
    metavar="FILE",
    help="Write a page for the customer: a price range, no statistics. 'companion shop' fills its head.",
)
@click.option("--customer", default="", metavar="NAME", help="Whom that page is for.")
@click.option("--vehicle", default="", metavar="TEXT", help="Which vehicle that page is about.")
@click.option(
    "--valid",
    type=click.IntRange(1, 366),
    default=30,
    show_default=True,
    metavar="DAYS",
    help="It stands so long.",
)
@click.option(
    "--deposit", type=float, default=0.0, metavar="PERCENT", help="Paid beforehand, of the upper price."
)
@click.option("--job", metavar="JOB", help="Keep it with this job; 'companion quoted' tells what came of it.")
@options.logs
@options.as_json
@options.needs(Extra.LABOUR)
def command(
    procedure: Path,
    confidence: float,
    wanted: tuple[str, ...],
    mechanic: str,
    allowance: float,
    allowance_on: str,
    rate: str | None,
    parts: tuple[str, ...],
    currency: str,
    steps: bool,
    csv_file: Path | None,
    html_file: Path | None,
    customer_file: Path | None,
    customer: str,
    vehicle: str,
    valid: int,
    deposit: float,
    job: str | None,
    logs: Path,
    as_json: bool,
) -> None:
    """Quote a job from logged times, or from the book, with a wide range, while none are logged.

    Optional steps are left out unless they are named by --with. The typical times of steps do not add up to
    the quoted time, because not all of them are slow on the same day.
    """
    chosen = asked.percent("--confidence", confidence, 1, 99)
    part = asked.percent("--allowance", allowance, 0, 90)
    beforehand = asked.percent("--deposit", deposit, 0, 100)
    hourly = asked.rate_of(rate)
    from companion.labour.answers.quote import Allowance, AllowanceOn, as_csv, quote
    from companion.labour.answers.quote_page import quote_page
    from companion.labour.table.shop import shop_of
    from companion.labour.table.task import labour_of
    from companion.procedure.read import read_procedure

    shop = shop_of(logs)
    hourly = shop.rate if hourly is None else hourly
    currency = currency or shop.currency
    if customer_file is not None and hourly is None:
        raise LabourError("a page for a customer needs a price: give --rate, or say it with 'companion shop'")
    priced = [_part(text) for text in parts]
    read = read_procedure(procedure)
    tasks = labour_of(read, asked.wanted_steps(read, wanted))
    fitted = asked.fitted_to(read, logs, mechanic)
    found = quote(
        read.title,
        tasks,
        fitted,
        confidence=chosen,
        allowance=Allowance(part, AllowanceOn[_ON[allowance_on]]),
        rate=hourly,
        currency=one_line(currency),
        parts=priced,
        mechanic=mechanic,
    )
    if csv_file is not None:
        asked.write(csv_file, as_csv(found))
    if html_file is not None:
        asked.write(html_file, quote_page(found, date.today()))
    if customer_file is not None and hourly is not None:
        from companion.labour.answers.customer_page import Customer, customer_page

        whom = Customer(customer, vehicle, timedelta(days=valid), Decimal(f"{beforehand}"))
        asked.write(customer_file, customer_page(found, hourly, shop, whom, date.today()))
    if job is not None:
        _keep(found, job, logs)
    if as_json:
        click.echo(json.dumps(_data(found), ensure_ascii=False))
        return
    _show(found, steps)
    if told := asked.rests_on(fitted, logs):
        show_line(told)
    if job is not None:
        click.echo(f"Kept with the job: {job}")
    for file in filter(None, (csv_file, html_file, customer_file)):
        click.echo(f"Written: {file}")


def _keep(found: "Quote", job: str, logs: Path) -> None:
    """Write it into the log of the job. One that comes after work has begun is kept, and told.

    Raises:
        LabourError: the job is of another procedure.
        LogbookError: there is no such job, it is closed, or somebody is at work on it.
    """
    from companion.job.facts.events import QuoteKept
    from companion.job.messages import QuoteGiven
    from companion.work.desk import write_at_desk
    from companion.work.edges.clock import SystemClock
    from companion.work.opening import read_job

    state = read_job(job, logs)
    title = state.procedure.title
    if title != found.title:
        raise LabourError(f"{job} is a job on {title!r}, and this quote is of {found.title!r}")
    kept = QuoteKept(
        confidence=found.confidence,
        quoted_s=round(found.labour.quantile(found.confidence).total_seconds(), 1),
        mean_s=round(found.labour.mean.total_seconds(), 1),
        rate="" if found.rate is None else str(found.rate),
        labour_price="" if found.labour_cost is None else str(found.labour_cost),
        parts_price=str(found.parts_cost) if found.parts else "",
        currency=found.currency,
    )
    write_at_desk(job, logs, QuoteGiven(kept), SystemClock())
    if state.settled:
        steps = several(len(state.settled), "step")
        click.echo(
            f"companion: warning: {steps} of {job} came before this quote, which knows their times", err=True
        )


def _part(text: str) -> "PartPrice":
    from companion.labour.answers.quote import PartPrice

    match = _PART.fullmatch(text)
    if match is None:
        raise LabourError(f"--part {text!r} is not understood; write it like 'drain washer=0.80x2'")
    price = asked.price(f"--part {match['name']!r}:", match["price"])
    count = int(match["count"] or 1)
    if count < 1:
        raise LabourError(f"--part {text!r}: a part that is not needed is left out; give at least 1")
    return PartPrice(match["name"], price, count)


def _show(found: "Quote", steps: bool) -> None:
    if steps:
        told = [
            (one_line(s.step), f"{'≈' * s.book_estimated}{minutes(s.book)}", minutes(s.typical), str(s.basis))
            for s in found.lines
        ]
        show_table(("Step", "Book, min", "Typical, min", "Rests on"), told, f"Steps of {found.title}")
        click.echo()
    prices = [_of(found, found.labour_cost), "", "", ""]
    rows = [(words, hours(time), price) for (words, time), price in zip(found.sureness, prices, strict=True)]
    rows += [(f"{p.count} x {one_line(p.name)}", "", _of(found, p.cost)) for p in found.parts]
    if found.total is not None:
        rows.append(("Total, labour and parts", "", _of(found, found.total)))
    show_table(("", "Hours", "Price"), rows, f"Quote: {found.title}", words=0)
    show_line(f"{found.included} Rests on: {found.labour.basis}.")


def _of(found: "Quote", amount: Decimal | None) -> str:
    from companion.labour.answers.quote import priced

    return "" if amount is None else priced(amount, found.currency)


def _data(found: "Quote") -> dict[str, object]:
    def h(time: timedelta) -> float:
        return round(time.total_seconds() / 3600, 4)

    return {
        "title": found.title,
        "confidence": found.confidence,
        "hours": h(found.time),
        "even_h": h(found.even),
        "mean_h": h(found.expected),
        "book_h": h(found.book),
        "book_risk": round(found.book_risk, 4),
        "allowance": found.allowance.part,
        "allowance_on": str(found.allowance.on),
        "rate": None if found.rate is None else str(found.rate),
        "labour_cost": None if found.labour_cost is None else str(found.labour_cost),
        "parts": [{"name": p.name, "price": str(p.price), "count": p.count} for p in found.parts],
        "total": None if found.total is None else str(found.total),
        "currency": found.currency,
        "basis": str(found.labour.basis),
        "steps": [
            {
                "step": s.step,
                "book_h": h(s.book),
                "typical_h": h(s.typical),
                "mean_h": h(s.mean),
                "basis": str(s.basis),
            }
            for s in found.lines
        ],
    }
