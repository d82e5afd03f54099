"""`companion quoted`: quotes that were kept, against what came of them."""

import json
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.cli.labour import asked
from companion.cli.labour.tables import show_line, show_table
from companion.errors import LogbookError
from companion.extras import Extra
from companion.harmless import one_line
from companion.labour.answers.written import hours
from companion.procedure.nouns import several

if TYPE_CHECKING:
    from companion.job.facts.events import QuoteKept
    from companion.labour.answers.quoted import QuotedJob

_HEADS = ("Job", "Quoted", "Took", "Enough", "Labour", "An hour", "Profit", "Vehicle")


@click.command(
    epilog="Examples: companion quote procedures/sump-reseal.yaml --rate 75 --job 2031-03-04-sump-reseal-1; "
    "companion quoted --cost 42"
)
@click.option(
    "--cost", metavar="PRICE", help="What an hour costs the shop; by default the rate that was quoted."
)
@click.option("--csv", "csv_file", type=options.NewPage(), metavar="FILE", help="Write it as CSV.")
@options.logs
@options.as_json
@options.needs(Extra.LABOUR)
def command(cost: str | None, csv_file: Path | None, logs: Path, as_json: bool) -> None:
    """Closed jobs with the quotes that 'companion quote --job' kept: profit, what an hour brought, and how
    often the quoted time was enough.

    Times are active time, without the allowance of the quote. Profit is the price of the labour less the
    hours of work at --cost; parts are left out.
    """
    from companion.labour.answers.quoted import as_csv, by_job, how_often_enough
    from companion.labour.table.asked_of_table import whole_jobs
    from companion.labour.table.collect import collect

    hour = None if cost is None else asked.price("--cost", cost)
    with collect(logs) as table:
        asked.warn_of_faults(table)
        quotes, still_open = _quotes(logs)
        jobs = by_job(table.ask(whole_jobs()), quotes)
    if csv_file is not None:
        asked.write(csv_file, as_csv(jobs, hour))
    if as_json:
        for job in jobs:
            click.echo(json.dumps(_data(job, hour), ensure_ascii=False))
        return
    if jobs:
        show_table(_HEADS, [_row(job, hour) for job in jobs], "Quoted against actual")
    else:
        show_line("No closed job has a quote; 'companion quote --job JOB' keeps one with a job.")
    if often := how_often_enough(jobs):
        show_line(f"The quoted time was {often}.")
    profits = [p for job in jobs if (p := job.profit(hour)) is not None]
    if profits:
        beyond = "beyond the rate that was quoted" if hour is None else f"at {hour} an hour"
        show_line(f"Profit of {several(len(profits), 'job')}, {beyond}: {sum(profits, Decimal(0))} in all.")
    if still_open:
        verb = "is" if still_open == 1 else "are"
        show_line(f"{several(still_open, 'job')} with a quote {verb} not closed yet, and not judged.")
    if csv_file is not None:
        click.echo(f"Written: {csv_file}")


def _quotes(logs: Path) -> "tuple[dict[str, QuoteKept], int]":
    """The last quote of each closed job, and how many jobs with one are still open."""
    from companion.job.facts.events import QuoteKept
    from companion.logbook.jobs import list_jobs, timed

    found: dict[str, QuoteKept] = {}
    still_open = 0
    for summary in list_jobs(logs):
        if summary.trouble or not summary.begun:
            continue
        try:
            records = timed(logs / f"{summary.job}.jsonl")
        except LogbookError:
            continue  # the step table warned of it
        kept = [record.event for record in records if isinstance(record.event, QuoteKept)]
        if kept and summary.closed:
            found[summary.job] = kept[-1]
        still_open += bool(kept) and not summary.closed
    return found, still_open


def _row(job: "QuotedJob", cost: Decimal | None) -> tuple[str, ...]:
    amounts = ("" if a is None else str(a) for a in (job.labour, job.hourly, job.profit(cost)))
    enough = "yes" if job.enough else "no"
    return one_line(job.job), hours(job.quoted), hours(job.took), enough, *amounts, one_line(job.vehicle)


def _data(job: "QuotedJob", cost: Decimal | None) -> dict[str, object]:
    def amount(of: Decimal | None) -> str | None:
        return None if of is None else str(of)

    return {
        "job": job.job,
        "title": job.title,
        "vehicle": job.vehicle,
        "confidence": job.quote.confidence,
        "quoted_s": job.quote.quoted_s,
        "took_s": round(job.took.total_seconds(), 1),
        "enough": job.enough,
        "labour_price": amount(job.labour),
        "hourly_rate": amount(job.hourly),
        "profit": amount(job.profit(cost)),
        "currency": job.quote.currency,
    }
