"""What is asked of the step table, as Ibis expressions: the same on DuckDB and on a distributed engine.

Every function takes a table and returns a table expression. By default the table is bound to no engine:
`STEPS` is the step table, and `JOBS` is the result of `per_job`, where most questions start.
"""

from typing import Any

import ibis

from companion.labour.table.columns import COLUMNS, MINUTES_BY, PER_JOB_COLUMNS, SPELL_COLUMNS

_TYPES = {
    "VARCHAR": "string",
    "BIGINT": "int64",
    "INTEGER": "int32",
    "TIMESTAMP": "timestamp",
    "DATE": "date",
    "DOUBLE": "float64",
    "BOOLEAN": "boolean",
    "VARCHAR[]": "array<string>",
    "DOUBLE[]": "array<float64>",
}

STEPS: Any = ibis.table({c: _TYPES[t] for c, t in COLUMNS.items()}, name="steps")
JOBS: Any = ibis.table({c: _TYPES[t] for c, t in PER_JOB_COLUMNS.items()}, name="per_job")

SPELLS: Any = ibis.table({c: _TYPES[t] for c, t in SPELL_COLUMNS.items()}, name="spells")

_STEP = ["title", "step", "work"]
_OF_JOB = ["shop", "job", "title", "mechanic", "vehicle"]


def per_job(steps: Any = STEPS) -> Any:
    """The labour of each step in each job (`columns.PER_JOB_COLUMNS`), all attempts together.

    Nearly all steps have one attempt. Those are not grouped, which takes a fifth of the time.
    """
    labour = steps.filter(steps.labour & (steps.outcome != "not_needed"))
    key = ["job_number", "step", "work"]
    again = labour.filter(labour.attempt > 1).select(*key).distinct()
    once = labour.anti_join(again, key)
    once = once.mutate(attempts=ibis.literal(1, "int32"), censored=(once.outcome != "done") | once.gap)
    return once.select(*PER_JOB_COLUMNS).union(_together(labour.semi_join(again, key)))


def _together(labour: Any) -> Any:
    """All attempts at each step in each job, as one row."""
    grouped = labour.group_by("job_number", "step", "work").agg(
        **{column: labour[column].arbitrary() for column in _OF_JOB},
        act=labour.act.arbitrary(),
        started=labour.started.min(),
        day=labour.day.min(),
        active_s=labour.active_s.sum(),
        interrupted_s=labour.interrupted_s.sum(),
        book_s=labour.book_s.argmax(labour.attempt),
        attempts=labour.count().cast("int32"),
        last=labour.attempt.max(),
        last_done=ibis.ifelse(labour.outcome == "done", labour.attempt, 0).max(),
        gaps=labour.gap.cast("int32").sum(),
    )
    censored = (grouped.last != grouped.last_done) | (grouped.gaps > 0)
    return grouped.mutate(censored=censored).select(*PER_JOB_COLUMNS)


def by_step(jobs: Any = JOBS) -> Any:
    """What was seen of each step. Times are those of finished steps, in seconds.

    The book time is the last that was logged; where none was, there is none.
    The variances and the covariance are for the trend: the slope of the log time on the number of the job
    among those of its procedure.
    """
    of_title = ibis.window(group_by="title", order_by="job_number")
    nth = jobs.select("title", "job_number").distinct()
    nth = nth.mutate(number=ibis.row_number().over(of_title).cast("float64"))
    jobs = jobs.join(nth, ["title", "job_number"])
    jobs = jobs.mutate(log_s=jobs.active_s.clip(lower=0.1).log())
    whole = ~jobs.censored
    return jobs.group_by(_STEP).agg(
        act=jobs.act.max(),
        book_s=jobs.book_s.argmax(jobs.job_number, where=jobs.book_s > 0),
        jobs=jobs.count(),
        mechanics=jobs.mechanic.nunique(),
        unfinished=jobs.censored.cast("int64").sum(),
        repeated=(jobs.attempts > 1).cast("int64").sum(),
        seen_s=jobs.log_s.mean(where=whole).exp(),
        mean_s=jobs.active_s.mean(where=whole),
        deviation_s=jobs.active_s.std(where=whole, how="sample"),
        interrupted_s=jobs.interrupted_s.sum(),
        log_var=jobs.log_s.var(where=whole, how="pop"),
        number_var=jobs.number.var(where=whole, how="pop"),
        both_cov=jobs.log_s.cov(jobs.number, where=whole, how="pop"),
    )


def interruptions(steps: Any = STEPS) -> Any:
    """What interrupts each step: the reason, how often, and the seconds together."""
    both = steps.filter(steps.interrupted_by.length() > 0).select(
        *_STEP, pair=steps.interrupted_by.zip(steps.interrupted_for_s)
    )
    one = both.mutate(pair=both.pair.unnest())
    one = one.select(*_STEP, reason=one.pair.f1, seconds=one.pair.f2)
    return one.group_by([*_STEP, "reason"]).agg(times=one.count(), seconds=one.seconds.sum())


def slowest(jobs: Any = JOBS) -> Any:
    """The slowest tenth of each step's finished jobs. Steps with fewer than ten are left out."""
    whole = jobs.filter(~jobs.censored)
    limits = whole.group_by(_STEP).agg(limit_s=whole.active_s.quantile(0.9), of=whole.count())
    limits = limits.filter(limits.of >= 10)
    slow = whole.join(limits, _STEP)
    slow = slow.filter(slow.active_s > slow.limit_s)
    return slow.select(*_STEP, "job_number", "job", "mechanic", "vehicle", "active_s")


def noted(slow: Any, steps: Any = STEPS) -> Any:
    """Those of the `slowest` in which something was noted, with the notes: a list for each attempt."""
    said = steps.filter(steps.notes.length() > 0).select(*_STEP, "job_number", "attempt", "notes")
    return slow.join(said, [*_STEP, "job_number"])


def usual_order(steps: Any = STEPS) -> Any:
    """Where in a job each step is usually begun.

    Steps that come in at least half of the jobs are ordered by the mean number of that event in its log. A
    rarer step comes in other, longer jobs, so its number tells nothing. It goes half a place behind the mean
    place of the usual steps that were begun before it.
    """
    first = steps.filter(steps.attempt == 1)
    seen = first.group_by(_STEP).agg(at=first.began_at.mean(), jobs=first.count())
    of_title = ibis.window(group_by="title")
    seen = seen.mutate(usual=2 * seen.jobs >= seen.jobs.max().over(of_title))
    in_order = ibis.window(group_by=["title", "usual"], order_by=["at", "step", "work"])
    seen = seen.mutate(rank=ibis.ifelse(seen.usual, ibis.row_number().over(in_order) + 1, 0))
    rare = seen.filter(~seen.usual)
    jobs = first.semi_join(rare, _STEP).select("title", "job_number").distinct()
    placed = first.semi_join(jobs, ["title", "job_number"]).join(seen, _STEP)
    placed = placed.select(*_STEP, "job_number", "began_at", "usual", "rank")
    before = ibis.window(group_by=["title", "job_number"], order_by="began_at", preceding=None, following=0)
    placed = placed.mutate(after=placed["rank"].max().over(before))
    behind = placed.filter(~placed.usual).group_by(_STEP).agg(after=placed.after.mean())
    found = seen.left_join(behind, _STEP)
    place = ibis.ifelse(found.usual, found["rank"].cast("float64"), found.after + 0.5)
    return found.mutate(place=place).select(*_STEP, "place", "at")


def by_shop(jobs: Any = JOBS) -> Any:
    """How the jobs of each procedure went in each shop: their number, and the log of time over book.

    Only finished steps with a book time count. A job without any is left out.
    """
    told = jobs.filter(~jobs.censored & (jobs.book_s > 0))
    each = told.group_by(["shop", "title", "job_number"]).agg(
        mechanic=told.mechanic.max(), active_s=told.active_s.sum(), book_s=told.book_s.sum()
    )
    each = each.mutate(off=(each.active_s.clip(lower=1.0) / each.book_s).log())
    return each.group_by(["title", "shop"]).agg(
        jobs=each.count(),
        mechanics=each.mechanic.nunique(),
        active_s=each.active_s.sum(),
        book_s=each.book_s.sum(),
        off=each.off.mean(),
        off_var=each.off.var(how="sample"),
    )


def whole_jobs(jobs: Any = JOBS) -> Any:
    """What each job took, all its labour together, in the order in which they were begun."""
    found = jobs.group_by("job_number").agg(
        job=jobs.job.arbitrary(),
        title=jobs.title.arbitrary(),
        vehicle=jobs.vehicle.arbitrary(),
        active_s=jobs.active_s.sum(),
    )
    return found.order_by("job_number")


def presence(spells: Any = SPELLS) -> Any:
    """How long each person was there on each day, in seconds, and what for; the four parts are the whole."""

    def doing(what: str) -> Any:
        return ibis.coalesce(spells.seconds.sum(where=spells.doing == what), 0.0)

    found = spells.group_by("person", "day").agg(
        first=spells.started.min(),
        last=spells.ended.max(),
        present_s=spells.seconds.sum(),
        active_s=doing("active"),
        waiting_s=doing("waiting"),
        interrupted_s=doing("interrupted"),
        between_s=doing("between"),
    )
    return found.order_by("person", "day")


def of_mechanic(name: str) -> dict[str, Any]:
    """The questions about steps, put to the jobs of one mechanic, by what they are called."""
    jobs = JOBS.filter(JOBS.mechanic == name)
    steps = STEPS.filter(STEPS.mechanic == name)
    slow = slowest(jobs)
    return {
        "interruptions": interruptions(steps),
        "noted": noted(slow, steps),
        "usual_order": usual_order(steps),
        "by_step": by_step(jobs),
        "slowest": slow,
    }


def minutes_by(by: str, jobs: Any = JOBS) -> Any:
    """The seconds over the book of each group, summed over its jobs: their number, sum, mean and deviation.

    Only finished steps with a book time count. A step keeps its procedure beside it.
    """
    told = jobs.filter(~jobs.censored & (jobs.book_s > 0))
    told = told.mutate(over_s=told.active_s - told.book_s, month=told.started.strftime("%Y-%m"))
    told = told.mutate(of=told[MINUTES_BY[by]], within=told.title if by == "step" else ibis.literal(""))
    each = told.group_by(["of", "within", "job_number"]).agg(
        over_s=told.over_s.sum(), first=told.started.min(), last=told.started.max()
    )
    return each.group_by(["of", "within"]).agg(
        jobs=each.count(),
        over_s=each.over_s.sum(),
        mean_s=each.over_s.mean(),
        deviation_s=each.over_s.std(how="sample"),
        first=each["first"].min(),
        last=each["last"].max(),
    )
