"""Do the ranges hold what they promise, and are the estimates better than the obvious ones?

    python -m tests.benchmarks.labour_recovery [--shops 400] [--only WORD] [--processes 2] [--strong 40]

Each invented shop (known truth, drawn anew) works n jobs; the next job is foretold and then done. One step
and the whole job of each shop count, so that trials are independent. Two things are printed of each:

- how often the middle ranges of 50, 80 and 95 % held, and
- how often the time was enough that is said to be enough in 50, 80 and 95 of 100 jobs. A shop quotes these.

Of N shops a share passes when the number lies in the central 99 % of Binomial(N, level); (!) marks the rest.

CRPS is in minutes, lower is better, averaged over all steps of the next job. The rivals foretell a
distribution each, as ours does, and all are scored alike:

- book: the book time, scattered as all logged times scatter about theirs (bare, with no job logged);
- mean: a normal distribution of the mean and deviation of that step's times; with one job, the deviation is
  as large a part of the mean as steps of the job scatter about the book;
- geometric: the same of the logs, so a log-normal one;
- seen: the times of that step as they were;
- mixed: a linear mixed model by statsmodels (REML; steps, mechanics and jobs crossed), with what it does not
  know of them added. It is slow, so only `--strong` shops have it, and ours is shown again for those.

The first tables are as the model assumes, with and without learning; the others are under model error. In
the one with a rusty first job the condition itself is the error: ranges hold over all shops, not over those
in which the only car seen happened to be the one in a hundred.
"""

import argparse
import os
import warnings
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

from companion.labour.model.fit import prior
from companion.labour.model.fitted import Fitted
from companion.labour.model.observations import Observations
from tests.shops.fitting import fit_of
from tests.shops.logs import MECHANICS, tasks_of
from tests.shops.shop import Shop, Trouble

Array = NDArray[np.float64]

LEVELS = (0.50, 0.80, 0.95)
SIZES = (0, 1, 3, 10, 30)
RIVALS = ("ours", "book", "mean", "geometric", "seen")
PLACES = np.array([(n + 0.5) / 200 for n in range(200)])
"""Every distribution is scored by so many equally likely values."""


@dataclass(frozen=True)
class Case:
    """A kind of shop."""

    trouble: Trouble = field(default_factory=Trouble)
    learning: float = 1.0
    mechanics: int = 3
    book_corrected: bool = False
    """Half-way through, half of the book times are put right, each by a factor of two."""


CASES: dict[str, Case] = {
    "as the model assumes": Case(),
    "mechanics learn, 85 % unit curve": Case(learning=0.85),
    "one mechanic": Case(mechanics=1),
    "the book is corrected half-way": Case(book_corrected=True),
    "heavy tails (t with 3 degrees of freedom)": Case(Trouble(heavy_tails=True)),
    "an unlogged interruption in 2 % of the steps": Case(Trouble(unlogged=0.02)),
    "one mechanic of three says done late": Case(Trouble(late=True)),
    "steps differ in how much they vary": Case(Trouble(uneven=0.5)),
    "one car in twenty is rusty (everything takes 1.8 times as long)": Case(Trouble(rusty_share=0.05)),
    "the first job, of those logged, is on a rusty car": Case(Trouble(rusty=(0,))),
}


@dataclass(frozen=True)
class Told:
    """What one shop told."""

    step: float
    """Where the time of one step fell in what was foretold, from 0 to 1."""
    total: float
    crps: tuple[float, ...]
    """By RIVALS; then ours and the mixed model's, where it was fitted."""
    rate: float | None
    """The learning rate, where learning was told."""


def one_shop(seed: int, jobs: int, case: Case, strong: bool = False, steps: int = 20) -> Told:
    """Foretell the next job of a shop from `jobs` jobs."""
    shop = Shop.of(100_000 * jobs + seed, steps, case.trouble, case.mechanics, case.learning)
    past = shop.work(jobs)
    if case.book_corrected and jobs > 1:
        past = replace(past, true_s=past.true_s.copy(), logged_s=past.logged_s.copy())
        factor = np.where(np.arange(steps) % 2, np.random.default_rng(seed).choice([0.5, 2.0], steps), 1.0)
        shop.book_s, shop.step = shop.book_s * factor, shop.step - np.log(factor)
    coming = shop.work(1)
    seen = past.observations(shop.book_s, case.mechanics)
    fitted = fit_of(shop, seen) if jobs else prior()
    who, actual = MECHANICS[int(coming.mechanic[0])], coming.logged_s[0]
    tasks = tasks_of(shop)
    draws = fitted.draw(tasks, who)
    one = seed % steps
    scores = [_score(sample, actual) for sample in _samples(fitted, shop, draws, past.logged_s)]
    if strong:
        with suppress(np.linalg.LinAlgError):  # it finds no fit in some shops: those are left out
            scores += [scores[0], _score(_mixed(seen, shop, int(coming.mechanic[0])), actual)]
    return Told(
        float((draws[:, one] < actual[one]).mean()),
        float((draws.sum(1) < actual.sum()).mean()),
        tuple(scores),
        fitted.learnt.rate if fitted.learnt else None,
    )


def _samples(fitted: Fitted, shop: Shop, draws: Array, past: Array) -> Iterator[Array]:
    """(200, steps) What each of RIVALS foretells."""
    from statistics import NormalDist

    z = np.array([NormalDist().inv_cdf(p) for p in PLACES])[:, None]
    yield np.quantile(draws, PLACES, axis=0)
    if not len(past):
        yield np.tile(shop.book_s, (2, 1))  # nothing was seen to scatter it by
        return
    ratios = np.log(past / shop.book_s)
    yield shop.book_s * np.exp(np.quantile(ratios, PLACES))[:, None]
    mean, logs = past.mean(0), np.log(past)
    if len(past) > 1:
        deviation, log_deviation = past.std(0, ddof=1), logs.std(0, ddof=1)
    else:
        log_deviation = np.full(len(mean), ratios.std())
        deviation = mean * ratios.std()
    yield np.maximum(mean + z * deviation, 1.0)
    yield np.exp(logs.mean(0) + z * log_deviation)
    yield np.quantile(past, PLACES, axis=0)


def _mixed(seen: Observations, shop: Shop, mechanic: int) -> Array:
    """(200, steps) What a linear mixed model of an independent library foretells."""
    import pandas as pd
    import statsmodels.formula.api as smf

    jobs, steps = seen.log_ratio.shape
    job, step = np.divmod(np.arange(jobs * steps), steps)
    data = pd.DataFrame({"y": seen.log_ratio.ravel(), "step": step, "job": job, "all": 1})
    data["mechanic"] = seen.mechanic[job]
    parts = {"step": "0 + C(step)", "mechanic": "0 + C(mechanic)", "job": "0 + C(job)"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        made = smf.mixedlm("y ~ 1", data, groups="all", vc_formula=parts).fit(method="lbfgs")
    effects, doubt = made.random_effects[1], np.diag(made.random_effects_cov[1])
    names = list(effects.index)
    variance = dict(zip(made.model.exog_vc.names, made.vcomp, strict=True))

    def effect(kind: str, number: int) -> tuple[float, float]:
        name = next((n for n in names if n.startswith(kind) and n.endswith(f"[{number}]]")), None)
        return (0.0, variance[kind]) if name is None else (effects[name], doubt[names.index(name)])

    person = effect("mechanic", mechanic)
    each = [effect("step", s) for s in range(steps)]
    middle = np.array([float(made.fe_params.iloc[0]) + e + person[0] for e, _ in each])
    spread = np.sqrt([made.scale + v + person[1] + variance["job"] for _, v in each])
    from scipy.stats import norm

    return np.asarray(shop.book_s * np.exp(middle + norm.ppf(PLACES)[:, None] * spread), float)


def _score(sample: Array, actual: Array) -> float:
    """The CRPS of equally likely values, in minutes, averaged over the steps.

    It is E|X - y| - E|X - X'| / 2; for n values in order the second part is a weighted sum.
    """
    n = len(sample)
    weights = (2 * np.arange(1, n + 1) - n - 1) / n**2
    apart = weights @ np.sort(sample, axis=0)
    return float((np.abs(sample - actual).mean(0) - apart).mean() / 60)


def show(name: str, shops: int, case: Case, processes: int, strong: int) -> int:
    """Print one table; how many shares fell outside the binomial interval."""
    print(f"\n{name}: {shops} shops at each n; {min(strong, shops)} with the mixed model")
    middle = [f"{level:.0%}" for level in LEVELS]
    enough = [f"P{100 * level:.0f}" for level in LEVELS]
    heads = ["jobs", *(f"step {w}" for w in middle), *(f"job {w}" for w in middle)]
    heads += [*(f"step {w}" for w in enough), *(f"job {w}" for w in enough), *RIVALS, "ours again", "mixed"]
    print(f"| {' | '.join([*heads, 'learning told'])} |")
    print(f"|{'---|' * (len(heads) + 1)}")
    outside = 0
    with ProcessPoolExecutor(processes, initializer=_alone) as pool:
        for jobs in SIZES:
            if case.trouble.rusty and not jobs:
                continue
            often = partial(_numbered, jobs=jobs, case=case, strong=strong if jobs > 1 else 0)
            told = list(pool.map(often, range(shops), chunksize=4))
            places = np.array([[t.step for t in told], [t.total for t in told]])
            cells = []
            for held in (
                *(np.abs(places[kind] - 0.5) <= level / 2 for kind in (0, 1) for level in LEVELS),
                *(places[kind] <= level for kind in (0, 1) for level in LEVELS),
            ):
                level = LEVELS[len(cells) % len(LEVELS)]
                low, high = binom.interval(0.99, shops, level)
                good = low <= held.sum() <= high
                outside += not good
                cells.append(f"{held.mean():.1%}" + ("" if good else " (!)"))
            means = np.mean([t.crps[: len(RIVALS) if jobs else 2] for t in told], 0)
            cells += [*(f"{x:.2f}" for x in means), *(len(RIVALS) - len(means)) * [""]]
            both = [t.crps[len(RIVALS) :] for t in told if len(t.crps) > len(RIVALS)]
            cells += [f"{x:.2f}" for x in np.mean(both, 0)] if both else ["", ""]
            rates = [t.rate for t in told if t.rate is not None]
            cells.append(f"{len(rates) / shops:.1%}" + (f" ({np.median(rates):.2f})" if rates else ""))
            print(f"| {jobs} | {' | '.join(cells)} |", flush=True)
    print(f"{outside} shares outside their binomial interval (!)")
    return outside


def _numbered(seed: int, jobs: int, case: Case, strong: int) -> Told:
    return one_shop(seed, jobs, case, seed < strong)


def _alone() -> None:
    """Each process on one core: the linear algebra starts no threads of its own."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[name] = "1"


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--shops", type=int, default=400)
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    parser.add_argument("--strong", type=int, default=40, help="so many shops with the mixed model, too")
    parser.add_argument(
        "--only", default="", metavar="WORD", help="only the tables with that word in their name"
    )
    arguments = parser.parse_args()
    for level in LEVELS:
        low, high = binom.interval(0.99, arguments.shops, level)
        print(f"{level:.0%} may hold {low / arguments.shops:.1%} to {high / arguments.shops:.1%}")
    for name, case in CASES.items():
        if arguments.only in name:
            show(name, arguments.shops, case, arguments.processes, arguments.strong)


if __name__ == "__main__":
    main()
