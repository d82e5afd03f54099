"""What the commands about labour share: to read what was asked for, and to find what the logs say of it.

Nothing heavy is loaded before a function is called.
"""

import difflib
from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.errors import LabourError
from companion.harmless import one_line

if TYPE_CHECKING:
    from companion.labour.model.fitted import Fitted
    from companion.labour.table.collect import StepTable
    from companion.labour.table.task import Task
    from companion.procedure.model import Procedure

DEAREST = 1_000_000_000
"""CHOSEN: a price beyond it is a slip of the hand, and sums of many are still exact to the cent."""

mechanic_option = click.option(
    "--mechanic", default="", metavar="NAME", help="Times of this mechanic; of anyone in the shop otherwise."
)
wanted_option = click.option(
    "--with",
    "wanted",
    multiple=True,
    metavar="STEP",
    help="An optional step to be done too, by its id. May be repeated.",
)
rate_option = click.option("--rate", metavar="PRICE", help="Labour rate: the price of an hour.")


def fitted_to(procedure: "Procedure", logs: Path, mechanic: str = "") -> "Fitted":
    """What the logs say of the steps of a procedure; without any logs, what the book says.

    The fit is kept beside the logs, for "how long left" at the car.

    Raises:
        LabourError: the folder was named and is missing, or nobody of that name is in the logs.
    """
    from companion.labour.model.fit import fit_title, prior
    from companion.labour.model.kept import keep, kept_fit
    from companion.labour.table.collect import collect
    from companion.labour.table.task import labour_of

    if not logs.exists() and not _was_named("logs"):
        found = prior(procedure.title)
    else:
        with collect(logs, procedure) as table:
            warn_of_faults(table)
            found = fit_title(table, procedure.title, labour_of(procedure))
            if found.jobs and table.parquet is not None:
                keep(found, kept_fit(logs, procedure.title))
    if mechanic and found.place_of(mechanic) is None:
        names = [name for name in found.mechanics if name]
        raise LabourError(
            f"no job on {procedure.title!r} by {mechanic!r} is logged in {logs}; {_those('mechanics', names)}"
        )
    return found


def warn_of_faults(table: "StepTable") -> None:
    """Say on one line of stderr which logs could not be read, and why. Say nothing if all could."""
    from companion.labour.table.collect import told

    if table.faults:
        click.echo(f"companion: warning: {one_line(told(table.faults))}", err=True)


def rests_on(fitted: "Fitted", logs: Path) -> str | None:
    """What to say when nothing is logged. None when something is."""
    if fitted.jobs:
        return None
    return f"No job on {fitted.title!r} is logged in {logs}: this is the book time and how far it may be off."


def _was_named(option: str) -> bool:
    from click.core import ParameterSource

    return click.get_current_context().get_parameter_source(option) is not ParameterSource.DEFAULT


def logged_title(table: "StepTable", wanted: str | None, logs: Path) -> str | None:
    """The title as it is logged, whatever its capitals. None stands for all titles.

    Raises:
        LabourError: no such title is logged, or nothing is.
    """
    titles = [row["title"] for row in table.query("SELECT DISTINCT title FROM steps ORDER BY title")]
    if not titles:
        raise LabourError(
            f"{logs}: no steps are logged there; work a job first, or name the folder with --logs"
        )
    if wanted is None:
        return None
    for title in titles:
        if title.casefold() == wanted.casefold():
            return str(title)
    raise LabourError(f"no job on {wanted!r} is logged in {logs}; {_those('titles', titles, wanted)}")


def logged_mechanic(table: "StepTable", wanted: str, title: str | None, logs: Path) -> str:
    """A mechanic's name as it is logged, whatever its capitals. An empty one stands for all mechanics.

    Raises:
        LabourError: nobody of that name worked on the title.
    """
    from companion.labour.model.fitted import same_name

    if not wanted.strip():
        return ""
    asked = "SELECT DISTINCT mechanic FROM steps WHERE $title IS NULL OR title = $title ORDER BY mechanic"
    names = [str(row["mechanic"]) for row in table.query(asked, {"title": title})]
    for name in names:
        if same_name(name, wanted):
            return name
    of = f" on {title!r}" if title else ""
    known = _those("mechanics", [name for name in names if name], wanted)
    raise LabourError(f"no job{of} by {wanted!r} is logged in {logs}; {known}")


def _those(what: str, names: Sequence[str], wanted: str = "", most: int = 5) -> str:
    """A hint at the names there are: the nearest one, or the first few."""
    if not names:
        return f"there are no {what} yet"
    near = difflib.get_close_matches(wanted, names, 1, 0.6)
    if near:
        return f"did you mean {near[0]!r}?"
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return f"the {what} there are: {', '.join(names[:most])}{more}"


def wanted_steps(procedure: "Procedure", wanted: Collection[str]) -> frozenset[str]:
    """The ids of the optional steps that are wanted.

    Raises:
        LabourError: one of them is not an optional step of the procedure.
    """
    optional = [step.id for step in procedure.steps if step.optional is not None]
    for id_ in wanted:
        if id_ not in optional:
            known = _those("optional steps", optional, id_)
            raise LabourError(f"{id_!r} is not an optional step of {procedure.title!r}; {known}")
    return frozenset(wanted)


def named_tasks(procedure: "Procedure", ids: Iterable[str]) -> tuple["Task", ...]:
    """Steps by their ids, each once, as labour. A wait is no labour and is left out.

    Raises:
        LabourError: the procedure has no such step.
    """
    from companion.labour.table.task import task_of
    from companion.procedure.model import Act

    known = {step.id: step for step in procedure.steps}
    chosen = []
    for id_ in dict.fromkeys(ids):
        if id_ not in known:
            near = difflib.get_close_matches(id_, known, 1, 0.4)
            hint = f"did you mean {near[0]!r}?" if near else f"the first is {next(iter(known))!r}"
            raise LabourError(f"{procedure.title!r} has no step {id_!r}; {hint}")
        if known[id_].act is not Act.WAIT:
            chosen.append(task_of(known[id_]))
    return tuple(chosen)


def listed_tasks(procedure: "Procedure", text: str, option: str) -> tuple["Task", ...]:
    """The steps that an option lists by their ids, with commas between them.

    Raises:
        LabourError: there is none.
    """
    found = named_tasks(procedure, filter(None, (one.strip() for one in text.split(","))))
    if not found:
        raise LabourError(f"{option} {text!r} names no work; give step ids with commas between them")
    return found


def price(option: str, text: str) -> Decimal:
    """An amount of money.

    Raises:
        LabourError: it is not a number, or it is negative.
    """
    try:
        amount = Decimal(text)
    except InvalidOperation:
        amount = Decimal("NaN")
    if not amount.is_finite() or not 0 <= amount <= DEAREST:
        raise LabourError(f"{option} {text!r} is not a price; write it like 75 or 12.50")
    return amount


def rate_of(text: str | None) -> Decimal | None:
    """The labour rate, when one is given."""
    return None if text is None else price("--rate", text)


def percent(option: str, value: float, low: float, high: float) -> float:
    """A percentage within bounds, as a part.

    Raises:
        LabourError: it is out of bounds.
    """
    if not low <= value <= high:
        raise LabourError(f"{option} {value:g} makes no sense; give a per cent from {low:g} to {high:g}")
    return value / 100


def write(path: Path, content: str | bytes) -> None:
    """Write a file, all of it or nothing.

    Raises:
        LabourError: it cannot be written.
        LogbookError: the name is that of a log, a sound or a procedure.
    """
    from companion.files import check_name, write_whole

    check_name(path)
    try:
        write_whole(path, content.encode() if isinstance(content, str) else content)
    except OSError as error:
        raise LabourError(f"{path}: cannot be written ({error.strerror}); choose another file") from error


def capital(text: str) -> str:
    """A text as the beginning of a sentence."""
    return text[:1].upper() + text[1:]
