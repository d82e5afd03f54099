"""Do the ranges hold what they promise, and are the estimates better than the obvious ones?

    python -m tests.benchmarks.labour_recovery [--shops 400]
    python -m tests.benchmarks.labour_recovery --shops 200 --trouble

Each invented shop (known truth, drawn anew) works n jobs; the next job is foretold and then done. One step
and the total of each shop count, so that trials are independent. A range of level L over N shops passes when
the number it covers lies in the central 99 % of Binomial(N, L). CRPS (scoringrules) is in minutes, lower is
better, averaged over all steps of the next job; a single number is scored by its absolute error, which is
its CRPS.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np
import scoringrules
from numpy.typing import NDArray
from scipy.stats import binom

from companion.labour.fitted import StepSeen
from companion.labour.model import fit
from companion.labour.predict import Prediction
from companion.labour.shop import Shop, Trouble
from companion.labour.shop_logs import tasks_of

Array = NDArray[np.float64]

LEVELS = (0.50, 0.80, 0.95)
SIZES = (1, 3, 10, 30)
PEOPLE = ("Aske", "Brunla", "Corwen")
TROUBLES = {
    "heavy tails (t with 3 degrees of freedom)": Trouble(heavy_tails=True),
    "an unlogged interruption in 2 % of the steps": Trouble(unlogged=0.02),
    "one mechanic of three says done late": Trouble(late=True),
    "the first job is on a rusty car": Trouble(rusty=(0,)),
}


@dataclass
class Scores:
    """One row of the table."""

    step: list[list[bool]] = field(default_factory=list)
    total: list[list[bool]] = field(default_factory=list)
    crps: list[list[float]] = field(default_factory=list)


def run(shops: int, jobs: int, trouble: Trouble, steps: int = 20) -> Scores:
    """Foretell the next job of many shops from `jobs` jobs each."""
    scores = Scores()
    for seed in range(shops):
        shop = Shop.of(100_000 * jobs + seed, steps, trouble)
        tasks = tasks_of(shop)
        past, coming = shop.work(jobs), shop.work(1)
        told = tuple(StepSeen(t.step, t.work, jobs, 3) for t in tasks)
        fitted = fit(past.observations(shop.book_s, 3), told, PEOPLE)
        who = PEOPLE[int(coming.mechanic[0])]
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


def show(name: str, shops: int, trouble: Trouble) -> int:
    """Print one table; how many ranges fell outside the binomial interval."""
    print(f"\n{name}: {shops} shops at each n")
    limits = [binom.interval(0.99, shops, level) for level in LEVELS]
    promised = "  ".join(
        f"{level:.0%} may cover {low / shops:.1%} to {high / shops:.1%}"
        for level, (low, high) in zip(LEVELS, limits, strict=True)
    )
    print(promised)
    columns = "jobs, step 50 %, 80 %, 95 %, job 50 %, 80 %, 95 %, CRPS min, book, mean, geometric mean"
    print(f"| {columns.replace(', ', ' | ')} |")
    print("|-----:|---|---|---|---|---|---|---|---|---|---|")
    outside = 0
    for jobs in SIZES:
        scores = run(shops, jobs, trouble)
        cells = []
        for kind in (scores.step, scores.total):
            for covered, (low, high) in zip(np.sum(kind, 0), limits, strict=True):
                good = low <= covered <= high
                outside += not good
                cells.append(f"{covered / shops:.1%}" + ("" if good else " (!)"))
        crps = np.mean(scores.crps, 0)
        print(f"| {jobs} | {' | '.join(cells)} | {' | '.join(f'{x:.2f}' for x in crps)} |", flush=True)
    print(f"{outside} of {6 * len(SIZES)} ranges outside their binomial interval")
    return outside


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--shops", type=int, default=400)
    parser.add_argument("--trouble", action="store_true", help="under model error instead")
    arguments = parser.parse_args()
    if not arguments.trouble:
        show("As the model assumes", arguments.shops, Trouble())
    else:
        for name, trouble in TROUBLES.items():
            show(name, arguments.shops, trouble)
