"""What was timed of one procedure, as the model takes it: a matrix of jobs by steps."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from companion.labour.table.collect import StepTable
from companion.labour.table.task import Task

Array = NDArray[np.float64]

SHORTEST_S = 0.5
"""A shorter active time was not worked on, so it counts as this."""


@dataclass(frozen=True)
class Observations:
    """The times of one procedure: a row for each job, a column for each step."""

    log_ratio: Array
    """(jobs, steps) The log of active time over `book_s`; NaN where the step was not timed in the job."""
    censored: NDArray[np.bool_]
    """(jobs, steps) True where the time only says "at least"."""
    mechanic: NDArray[np.int64]
    """(jobs,) The index of the mechanic."""
    mechanics: int
    """How many there are."""
    repetition: NDArray[np.int64] | None = None
    """(jobs,) The repetition: 1 for the first job of its mechanic on this procedure. None: the model is to
    know of no learning."""
    book_s: Array | None = None
    """(steps,) One book time for each step, in seconds, whatever stood in the book when it was timed. None:
    no time is to count as odd (`odd_times.py`)."""

    def rows(self, jobs: NDArray[np.int64]) -> "Observations":
        """Some of the jobs."""
        repetition = None if self.repetition is None else self.repetition[jobs]
        return replace(
            self,
            log_ratio=self.log_ratio[jobs],
            censored=self.censored[jobs],
            mechanic=self.mechanic[jobs],
            repetition=repetition,
        )

    @property
    def timed(self) -> NDArray[np.bool_]:
        """(jobs, steps) Whether there is a time at all."""
        return ~np.isnan(self.log_ratio)


def repetitions(mechanic: NDArray[np.int64], number: NDArray[np.int64]) -> NDArray[np.int64]:
    """The repetition of each job: 1 for the first of its mechanic. Jobs are done in order of `number`."""
    order = np.lexsort((number, mechanic))
    firsts = np.r_[True, np.diff(mechanic[order]) != 0]
    place = np.arange(len(order))
    found = np.empty(len(order), np.int64)
    found[order] = place - np.maximum.accumulate(np.where(firsts, place, 0)) + 1
    return found


@dataclass(frozen=True)
class StepSeen:
    """A step of a procedure, and how often it was timed."""

    step: str
    work: str
    """A digest of what is done in it."""
    jobs: int = 0
    mechanics: int = 0
    unfinished: int = 0
    """Of those jobs, how many only say "at least"."""
    book_s: float | None = None
    """The book time that its times are compared with, in seconds. None: that of the task asked about."""


@dataclass(frozen=True)
class Observed:
    """All that was timed of one procedure, with the names of what the matrix numbers."""

    title: str
    jobs: int
    observations: Observations
    number: NDArray[np.int64]
    """(jobs,) The number of each job, by when it was opened."""
    steps: tuple[StepSeen, ...]
    """The columns of the observations."""
    mechanics: tuple[str, ...]
    """The mechanics by their index."""

    def rows(self, jobs: NDArray[np.int64]) -> "Observed":
        """Some of the jobs."""
        return replace(
            self, jobs=len(jobs), observations=self.observations.rows(jobs), number=self.number[jobs]
        )

    def by_book(self, tasks: Iterable[Task]) -> "Observed":
        """The same times, compared with the book times of these tasks: a book that was put right has no part
        in what was timed. Steps that are not among them keep theirs."""
        now = {(t.step, t.work): t.book.total_seconds() for t in tasks}
        before = np.array([s.book_s or np.nan for s in self.steps], float)
        after = np.array([now.get((s.step, s.work)) or s.book_s or np.nan for s in self.steps], float)
        return replace(
            self,
            observations=replace(
                self.observations,
                log_ratio=self.observations.log_ratio + np.log(before / after),
                book_s=after,
            ),
            steps=tuple(replace(s, book_s=_known(b)) for s, b in zip(self.steps, after, strict=True)),
        )


def observed(table: StepTable, title: str | None = None) -> Iterator[Observed]:
    """What was timed of each procedure in the table, or of the one with that title, in order of title."""
    table.per_job()
    titles = table.connection.execute("SELECT DISTINCT title FROM per_job ORDER BY title").fetchall()
    for (one,) in titles:
        if title is None or one == title:
            if ("observed", one) not in table.found:
                table.found["observed", one] = _observed(table, one)
            yield table.found["observed", one]


_BOOK = "arg_max(book_s, job_number) FILTER (book_s > 0)"
_LOG_S = f"ln(greatest(active_s, {SHORTEST_S}))"
_OWN = f"exp(coalesce(avg({_LOG_S}) FILTER (NOT censored), avg({_LOG_S})))"
"""A step that no book knows is compared with what it usually takes itself."""


def _known(number: float) -> float | None:
    return None if math.isnan(number) else float(number)


def _observed(table: StepTable, title: str) -> Observed:
    connection = table.connection
    chosen = {"title": title}
    for name, key, also in (
        ("step_columns", "step, work", f", coalesce({_BOOK}, {_OWN}) AS book_s"),
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
        f"ln(greatest(p.active_s, {SHORTEST_S}) / s.book_s) AS log_ratio FROM per_job AS p "
        "JOIN step_columns AS s ON s.step = p.step AND s.work = p.work "
        "JOIN people AS m ON m.mechanic = p.mechanic JOIN job_rows AS j ON j.job_number = p.job_number "
        "WHERE p.title = $title AND s.book_s > 0",
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
    log_ratio[job, step], censored[job, step] = rows["log_ratio"], rows["censored"]
    mechanic[job] = rows["mechanic"]
    repetition = repetitions(mechanic, number)
    seen = Observations(log_ratio, censored, mechanic, len(mechanics), repetition, book_s)
    timed = seen.timed
    people = np.array([timed[mechanic == m].any(0) for m in range(len(mechanics))]).sum(0)
    told = tuple(
        StepSeen(
            step, work, int(timed[:, n].sum()), int(people[n]), int(censored[:, n].sum()), _known(book_s[n])
        )
        for n, (step, work) in enumerate(steps)
    )
    return Observed(title, jobs, seen, number, told, tuple(m for (m,) in mechanics))
