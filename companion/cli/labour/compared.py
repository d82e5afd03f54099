"""Times that stand beside each other, as a table and as data."""

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from companion.cli.labour.tables import show_table
from companion.labour.answers.written import minutes

if TYPE_CHECKING:
    from companion.labour.model.prediction import Prediction


def show_times(
    rows: Sequence[tuple[str, "Prediction"]], title: str, costs: Sequence[Decimal | None] = ()
) -> None:
    """A row for each named time: its mean, its range, its price where there is one, and what it rests on."""
    told = []
    for n, (name, time) in enumerate(rows):
        low, high = time.interval(0.8)
        cost = costs[n] if n < len(costs) else None
        told.append(
            (name, minutes(time.mean), f"{minutes(low)} to {minutes(high)}")
            + (() if not any(c is not None for c in costs) else (f"{cost:.2f}",))
            + (str(time.basis),)
        )
    cost_head = ("Price",) if any(c is not None for c in costs) else ()
    show_table(("", "Mean", "8 of 10", *cost_head, "Rests on"), told, f"{title}: minutes of active time")


def time_data(name: str, time: "Prediction") -> dict[str, float | str]:
    """A time as data, its keys beginning with a name."""
    at = {"p10": 0.1, "p50": 0.5, "p80": 0.8, "p90": 0.9, "p95": 0.95}
    found: dict[str, float | str] = {
        f"{name}_{p}_s": round(time.quantile(q).total_seconds(), 1) for p, q in at.items()
    }
    return {f"{name}_mean_s": round(time.mean.total_seconds(), 1), **found, f"{name}_basis": str(time.basis)}
