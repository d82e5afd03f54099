"""`companion shop`: what the shop says of itself: its hours, its rate, which steps are the same."""

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.cli import options
from companion.cli.labour import asked
from companion.cli.labour.tables import show_line, show_table
from companion.errors import LabourError
from companion.harmless import one_line

if TYPE_CHECKING:
    from companion.labour.table.shop import Pair


@click.command(
    epilog="Example: companion shop --name 'Lindenhof Garage' --hours 'Mon-Fri 08:00-12:00 13:00-17:00' "
    "--rate 75 --currency EUR"
)
@click.option("--name", metavar="TEXT", help="The name at the head of a quote.")
@click.option("--address", metavar="TEXT", help="The address below it.")
@click.option(
    "--hours", metavar="TEXT", help="Working hours. A night outside them is neither work nor interruption."
)
@click.option(
    "--closed",
    type=options.Day(),
    multiple=True,
    metavar="2031-04-14",
    help="A day nobody works. May be repeated.",
)
@click.option("--rate", metavar="PRICE", help="The price of an hour.")
@click.option("--currency", metavar="NAME", help="Written behind the amounts.")
@click.option("--tax", metavar="'NAME PERCENT'", help="The tax on a quote, such as 'sales tax 19'.")
@click.option(
    "--same",
    nargs=3,
    multiple=True,
    metavar="TITLE BEFORE NOW",
    help="Two ids are of the same step: the times of the first count for the second. May be repeated.",
)
@click.option(
    "--not-same",
    nargs=3,
    multiple=True,
    metavar="TITLE ONE OTHER",
    help="Two ids are of different steps, though they do the same. May be repeated.",
)
@options.logs
def command(
    name: str | None,
    address: str | None,
    hours: str | None,
    closed: tuple[date, ...],
    rate: str | None,
    currency: str | None,
    tax: str | None,
    same: tuple[tuple[str, str, str], ...],
    not_same: tuple[tuple[str, str, str], ...],
    logs: Path,
) -> None:
    """Say what is always so in this shop, or show what was said.

    It is kept in shop.yaml beside the logs. An empty text takes a value away.
    """
    from pydantic import ValidationError

    from companion.labour.table.shop import Shop, shop_of, write_shop

    before = shop_of(logs)
    said: dict[str, Any] = {
        "name": name,
        "address": address,
        "hours": hours,
        "closed": closed or None,
        "currency": currency,
        "same": [*before.same, *map(_pair, same)] if same else None,
        "not_same": [*before.not_same, *map(_pair, not_same)] if not_same else None,
    }
    said = {key: value for key, value in said.items() if value is not None}
    if rate is not None:
        said["rate"] = asked.rate_of(rate) if rate.strip() else None
    if tax is not None:
        said["tax"], said["tax_percent"] = _tax(tax)
    if said:
        try:
            now = Shop.model_validate({**dict(before), **said})
        except ValidationError as error:
            raise LabourError(f"{error.errors()[0]['msg'].removeprefix('Value error, ')}") from None
        write_shop(logs, now)
    _show(shop_of(logs), logs)


def _pair(told: tuple[str, str, str]) -> "Pair":
    from companion.labour.table.shop import Pair

    title, before, now = told
    return Pair(procedure=title, before=before, now=now)


def _tax(text: str) -> tuple[str, Decimal]:
    name, _, number = text.strip().rpartition(" ")
    if not text.strip():
        return "", Decimal(0)
    try:
        percent = Decimal(number.rstrip("%"))
    except ArithmeticError:
        percent = Decimal(-1)
    if not name or not 0 <= percent <= 100:
        raise LabourError(f"--tax {text!r} is not understood; write it like 'sales tax 19'")
    return name, percent


def _show(shop: Any, logs: Path) -> None:
    told = [
        ("name", shop.name),
        ("address", shop.address),
        ("hours", shop.hours),
        ("closed", ", ".join(map(str, shop.closed))),
        ("rate", f"{shop.rate} {shop.currency}".strip() if shop.rate is not None else shop.currency),
        ("tax", f"{shop.tax} {shop.tax_percent} %" if shop.tax else ""),
    ]
    told += [("the same", f"{p.procedure}: {p.before} = {p.now}") for p in shop.same]
    told += [("not the same", f"{p.procedure}: {p.before}, {p.now}") for p in shop.not_same]
    rows = [(what, one_line(words)) for what, words in told if words]
    if not rows:
        show_line(f"Nothing is said of the shop in {logs}; 'companion shop --help' tells what can be.")
        return
    show_table(("", "said"), rows, f"The shop of {logs}")
