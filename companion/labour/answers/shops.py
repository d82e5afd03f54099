"""Shops compared: against the book, each with what can be known of it, small ones drawn towards the rest.

For one procedure, shop i has n_i jobs with the mean y_i of log(time / book). Its error is s²/n_i, where s² is
the variance within shops, of all of them together (a shop with one job has none of its own). Shops truly
differ by tau²:

    y_i ~ N(mu, tau² + s²/n_i)

tau² is the moment estimate of DerSimonian and Laird (1986), as in reviews of clinical trials; the tests hold
it against statsmodels. A shop is then expected at

    mu + B_i (y_i - mu),   B_i = tau² / (tau² + s²/n_i),

with variance B_i s²/n_i + (1 - B_i)² var(mu). One job says little of a shop, so it stands near the rest.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from statistics import NormalDist
from typing import Any

from companion.labour.table.fleet import Asked

_USUAL_WITHIN = 0.25**2
"""The variance of log(time / book) of a job about its shop's mean, where no shop has two jobs (common
practice, no source)."""


@dataclass(frozen=True)
class ShopRow:
    """One shop on one procedure."""

    title: str
    shop: str
    jobs: int
    mechanics: int
    active: timedelta
    over: timedelta
    """Time over the book, of all its jobs; below nothing when it was quicker."""
    seen: float
    """The geometric mean of time over book."""
    expected: float
    """The same, drawn towards the other shops by as much as little was seen of it."""
    low: float
    high: float
    """The range of `expected` that holds with probability 95 %."""


@dataclass(frozen=True)
class Pooled:
    """What shops have in common."""

    mean: float
    error: float
    """The standard error of the mean."""
    between: float
    """tau², how much they truly differ."""


def compare(tables: Asked) -> list[ShopRow]:
    """Every shop on every procedure, procedure by procedure, the slowest first."""
    rows: dict[str, list[dict[str, Any]]] = {}
    for row in tables.ask("by_shop"):
        rows.setdefault(row["title"], []).append(row)
    return [one for title in sorted(rows) for one in _compared(rows[title])]


def _compared(rows: Sequence[dict[str, Any]]) -> Iterator[ShopRow]:
    within = _within(rows)
    errors = [within / row["jobs"] for row in rows]
    pooled = pool([row["off"] for row in rows], errors)
    found = [_row(row, error, pooled) for row, error in zip(rows, errors, strict=True)]
    yield from sorted(found, key=lambda row: (-row.expected, row.shop))


def _row(row: dict[str, Any], error: float, pooled: Pooled) -> ShopRow:
    own = pooled.between / (pooled.between + error)
    expected = pooled.mean + own * (row["off"] - pooled.mean)
    spread = math.sqrt(own * error + ((1 - own) * pooled.error) ** 2)
    margin = NormalDist().inv_cdf(0.975) * spread
    return ShopRow(
        row["title"], row["shop"], row["jobs"], row["mechanics"], timedelta(seconds=row["active_s"]),
        timedelta(seconds=row["active_s"] - row["book_s"]), math.exp(row["off"]), math.exp(expected),
        math.exp(expected - margin), math.exp(expected + margin),
    )  # fmt: skip


def _within(rows: Sequence[dict[str, Any]]) -> float:
    """s², of all shops together; the usual one counts as a shop with two jobs."""
    free = sum(row["jobs"] - 1 for row in rows)
    squares = sum((row["jobs"] - 1) * (row["off_var"] or 0.0) for row in rows if row["jobs"] > 1)
    return float((squares + _USUAL_WITHIN) / (free + 1))


def pool(means: Sequence[float], errors: Sequence[float]) -> Pooled:
    """The common mean and the true differences, by the moments of DerSimonian and Laird.

    Args:
        means: of the shops.
        errors: the variance of each of these means.
    """
    weights = [1 / error for error in errors]
    total = math.fsum(weights)
    fixed = math.fsum(w * y for w, y in zip(weights, means, strict=True)) / total
    q = math.fsum(w * (y - fixed) ** 2 for w, y in zip(weights, means, strict=True))
    scale = total - math.fsum(w * w for w in weights) / total
    between = max(0.0, (q - (len(means) - 1)) / scale) if len(means) > 1 else 0.0
    weights = [1 / (error + between) for error in errors]
    total = math.fsum(weights)
    mean = math.fsum(w * y for w, y in zip(weights, means, strict=True)) / total
    return Pooled(mean, total**-0.5, between)
