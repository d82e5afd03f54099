"""The step table turned into what the model is fitted to: for each procedure a matrix of jobs by steps."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.labour.model.fit import fit, prior
from companion.labour.model.fitted import Fitted, StepSeen
from companion.labour.model.mixed_model import Observations, repetitions
from companion.labour.table.collect import StepTable

SHORTEST_S = 0.5
"""A shorter active time was not worked on: it counts as this."""


@dataclass(frozen=True)
class Evidence:
    """All that was timed of one procedure."""

    title: str
    jobs: int
    observations: Observations
    number: NDArray[np.int64]
    """(jobs,) of each row: jobs are numbered in the order in which they were opened."""
    steps: tuple[StepSeen, ...]
    mechanics: tuple[str, ...]

    def fit(self) -> Fitted:
        """What it says about the next job."""
        return fit(self.observations, self.steps, self.mechanics, self.title, self.jobs)


def evidence(table: StepTable, title: str | None = None) -> Iterator[Evidence]:
    """For each procedure title in the table (or the one that is named), in order of title."""
    table.per_job()
    titles = table.connection.execute("SELECT DISTINCT title FROM per_job ORDER BY title").fetchall()
    for (one,) in titles:
        if title is None or one == title:
            if ("evidence", one) not in table.found:
                table.found["evidence", one] = _evidence(table, one)
            yield table.found["evidence", one]


def _evidence(table: StepTable, title: str) -> Evidence:
    connection = table.connection
    chosen = {"title": title}
    for name, key, also in (
        ("step_columns", "step, work", ", max(book_s) AS book_s"),
        ("people", "mechanic", ""),
    ):
        connection.execute(
            f"CREATE OR REPLACE TEMP TABLE {name} AS SELECT *, "
            f"CAST(row_number() OVER (ORDER BY {key}) - 1 AS INTEGER) AS place "
            f"FROM (SELECT {key}{also} FROM per_job WHERE title = $title GROUP BY {key})",
            chosen,
        )
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE job_rows AS "
        "SELECT job_number, CAST(row_number() OVER (ORDER BY any_value(job)) - 1 AS INTEGER) AS place "
        "FROM per_job WHERE title = $title GROUP BY job_number",
        chosen,
    )
    rows = connection.execute(
        "SELECT j.place AS job, s.place AS step, m.place AS mechanic, p.censored, "
        f"ln(greatest(p.active_s, {SHORTEST_S}) / p.book_s) AS log_ratio FROM per_job AS p "
        "JOIN step_columns AS s ON s.step = p.step AND s.work = p.work "
        "JOIN people AS m ON m.mechanic = p.mechanic JOIN job_rows AS j ON j.job_number = p.job_number "
        "WHERE p.title = $title AND p.book_s > 0",
        chosen,
    ).fetchnumpy()
    columns = connection.execute("SELECT step, work, book_s FROM step_columns ORDER BY place").fetchall()
    steps, book_s = [c[:2] for c in columns], np.array([c[2] or np.nan for c in columns], float)
    mechanics = connection.execute("SELECT mechanic FROM people ORDER BY place").fetchall()
    number = connection.execute("SELECT job_number FROM job_rows ORDER BY place").fetchnumpy()["job_number"]
    jobs = len(number)
    job, step = rows["job"], rows["step"]
    log_ratio = np.full((jobs, len(steps)), np.nan)
    censored = np.zeros((jobs, len(steps)), bool)
    mechanic = np.zeros(jobs, np.int64)
    log_ratio[job, step], censored[job, step], mechanic[job] = (
        rows["log_ratio"],
        rows["censored"],
        rows["mechanic"],
    )
    repetition = repetitions(mechanic, number)
    seen = Observations(log_ratio, censored, mechanic, len(mechanics), repetition, book_s)
    timed = seen.timed
    people = np.array([timed[mechanic == m].any(0) for m in range(len(mechanics))]).sum(0)
    told = tuple(
        StepSeen(step, work, int(timed[:, n].sum()), int(people[n]), int(censored[:, n].sum()))
        for n, (step, work) in enumerate(steps)
    )
    return Evidence(title, jobs, seen, number, told, tuple(m for (m,) in mechanics))


def fit_title(table: StepTable, title: str) -> Fitted:
    """The fit of one procedure; the book alone when none of it was timed."""
    for one in evidence(table, title):
        return one.fit()
    return prior(title)
