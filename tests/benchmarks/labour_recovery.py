"""Do the ranges hold what they promise, and are the estimates better than the obvious ones?

    python -m tests.benchmarks.labour_recovery [--shops 400] [--only WORD]

Each invented shop (known truth, drawn anew) works n jobs; the next job is foretold and then done. One step
and the total of each shop count, so that trials are independent. A range of level L over N shops passes when
the number it covers lies in the central 99 % of Binomial(N, L). CRPS (scoringrules) is in minutes, lower is
better, averaged over all steps of the next job; a single number is scored by its absolute error, which is
its CRPS. The last column is how often learning was told, and the middle of the rates told.

The first two tables are as the model assumes, with and without learning; the others are under model error. In
the last one the condition itself is the error: ranges hold over all shops, not over those in which the only
car seen happened to be the one in a hundred. From one job nobody can tell a rusty car from a book that is
wrong for every car, so the range follows that car too far, whatever the model.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np
import scoringrules
from numpy.typing import NDArray
from scipy.stats import binom

from companion.labour.model.prediction import Prediction
from tests.shops.fitting import fit_of
from tests.shops.logs import MECHANICS, tasks_of
from tests.shops.shop import Shop, Trouble

Array = NDArray[np.float64]

LEVELS = (0.50, 0.80, 0.95)
SIZES = (1, 3, 10, 30)
CASES: dict[str, tuple[Trouble, float]] = {
    "as the model assumes": (Trouble(), 1.0),
    "mechanics learn, 85 % unit curve": (Trouble(), 0.85),
    "heavy tails (t with 3 degrees of freedom)": (Trouble(heavy_tails=True), 1.0),
    "an unlogged interruption in 2 % of the steps": (Trouble(unlogged=0.02), 1.0),
    "one mechanic of three says done late": (Trouble(late=True), 1.0),
    "steps differ in how much they vary": (Trouble(uneven=0.5), 1.0),
    "one car in twenty is rusty (everything takes 1.8 times as long)": (Trouble(rusty_share=0.05), 1.0),
    "the first job, of those logged, is on a rusty car": (Trouble(rusty=(0,)), 1.0),
}


@dataclass
class Scores:
    """One row of the table."""

    step: list[list[bool]] = field(default_factory=list)
    total: list[list[bool]] = field(default_factory=list)
    crps: list[list[float]] = field(default_factory=list)
    rates: list[float] = field(default_factory=list)
    """Of the shops in which learning was told."""


def run(shops: int, jobs: int, trouble: Trouble, learning: float = 1.0, steps: int = 20) -> Scores:
    """Foretell the next job of many shops from `jobs` jobs each."""
    scores = Scores()
    for seed in range(shops):
        shop = Shop.of(100_000 * jobs + seed, steps, trouble, learning=learning)
        tasks = tasks_of(shop)
        past, coming = shop.work(jobs), shop.work(1)
        fitted = fit_of(shop, past.observations(shop.book_s, 3))
        if fitted.learnt:
            scores.rates.append(fitted.learnt.rate)
        who = MECHANICS[int(coming.mechanic[0])]
        actual = coming.logged_s[0]
        predictions = [fitted.step(t, who) for t in tasks]
        one = seed % steps
        scores.step.append(list(_within(predictions[one], actual[one])))
        scores.total.append(list(_within(fitted.total(tasks, who), actual.sum())))
        both = zip(actual, predictions, strict=True)
        ours = [float(scoringrules.crps_ensemble(a, p.values)) for a, p in both]
        plain = [shop.book_s, past.logged_s.mean(0), np.exp(np.log(past.logged_s).mean(0))]
        row = [float(np.mean(ours)), *(float(np.abs(p - actual).mean()) for p in plain)]
        scores.crps.append([x / 60 for x in row])
    return scores


def _within(prediction: Prediction, actual: float) -> Iterator[bool]:
    for level in LEVELS:
        low, high = prediction.interval(level)
        yield low <= timedelta(seconds=float(actual)) <= high


def show(name: str, shops: int, trouble: Trouble, learning: float) -> int:
    """Print one table; how many ranges fell outside the binomial interval."""
    print(f"\n{name}: {shops} shops at each n")
    limits = [binom.interval(0.99, shops, level) for level in LEVELS]
    columns = "jobs, step 50 %, 80 %, 95 %, job 50 %, 80 %, 95 %, CRPS min, book, mean, geometric mean"
    print(f"| {columns.replace(', ', ' | ')} | learning told |")
    print("|-----:|---|---|---|---|---|---|---|---|---|---|---|")
    outside = 0
    for jobs in SIZES:
        scores = run(shops, jobs, trouble, learning)
        cells = []
        for kind in (scores.step, scores.total):
            for covered, (low, high) in zip(np.sum(kind, 0), limits, strict=True):
                good = low <= covered <= high
                outside += not good
                cells.append(f"{covered / shops:.1%}" + ("" if good else " (!)"))
        cells += [f"{x:.2f}" for x in np.mean(scores.crps, 0)]
        told = f"{len(scores.rates) / shops:.1%}"
        cells.append(told + (f" ({np.median(scores.rates):.2f})" if scores.rates else ""))
        print(f"| {jobs} | {' | '.join(cells)} |", flush=True)
    print(f"{outside} of {6 * len(SIZES)} ranges outside their binomial interval (!)")
    return outside


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--shops", type=int, default=400)
    parser.add_argument(
        "--only", default="", metavar="WORD", help="only the tables with that word in their name"
    )
    arguments = parser.parse_args()
    for level in LEVELS:
        low, high = binom.interval(0.99, arguments.shops, level)
        print(f"{level:.0%} ranges may cover {low / arguments.shops:.1%} to {high / arguments.shops:.1%}")
    for name, (trouble, learning) in CASES.items():
        if arguments.only in name:
            show(name, arguments.shops, trouble, learning)


if __name__ == "__main__":
    main()
