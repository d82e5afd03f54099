"""The columns of the step table, and the rules by which they are filled.

The table has one row for each attempt at a step, over all job logs. It is made from the logs and never
edited: whoever deletes it gets it made again.

An attempt starts when a step is begun. It ends when the step is done, skipped or not needed. A step that is
begun again before its end (read again after a pause, or returned to) goes on with the same attempt. A step
that is begun again after its end gets a new attempt.

A step costs its job all the time spent on it, attempts that were undone included. The table `per_job` has
that sum. The sum is censored (it says "at least so long") unless the last attempt was done and no part of
it went unseen.
"""

from collections.abc import Mapping
from types import MappingProxyType

COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "shop": "VARCHAR",  # '' in the table of one shop
        "log": "VARCHAR",  # the name of the file
        "job": "VARCHAR",
        "opened": "TIMESTAMP",  # the job, UTC
        "job_number": "BIGINT",  # from 1, by when the jobs were opened
        "title": "VARCHAR",  # of the procedure
        "revision": "VARCHAR",
        "mechanic": "VARCHAR",  # '' when not told
        "vehicle": "VARCHAR",  # '' when not told
        "step": "VARCHAR",
        "work": "VARCHAR",  # a digest of what is done; `step` and `work` together tell steps apart
        "act": "VARCHAR",
        "attempt": "INTEGER",  # from 1 within the job
        "began_at": "BIGINT",  # the number of the event in its log, to put rows in order
        "started": "TIMESTAMP",  # UTC
        "day": "DATE",  # UTC
        "active_s": "DOUBLE",  # holds, stops and time away taken out
        "interrupted_s": "DOUBLE",  # what was taken out
        "interrupted_by": "VARCHAR[]",  # the reason of each interruption
        "interrupted_for_s": "DOUBLE[]",  # the length of each, in the same order
        "book_s": "DOUBLE",
        "outcome": "VARCHAR",  # done, undone, skipped, not_needed or unfinished
        "censored": "BOOLEAN",  # the step takes at least active_s
        "gap": "BOOLEAN",  # the companion died during it, so some of its time was not seen
        "labour": "BOOLEAN",  # false for a wait: nobody works in it
        "notes": "VARCHAR[]",  # spoken while the step was the current one
    }
)
"""The columns of the step table: name -> DuckDB type."""

PER_JOB_COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "shop": "VARCHAR",
        "job": "VARCHAR",
        "job_number": "BIGINT",
        "title": "VARCHAR",
        "mechanic": "VARCHAR",
        "vehicle": "VARCHAR",
        "step": "VARCHAR",
        "work": "VARCHAR",
        "act": "VARCHAR",
        "started": "TIMESTAMP",  # of the first attempt, UTC
        "day": "DATE",
        "active_s": "DOUBLE",  # all attempts together
        "interrupted_s": "DOUBLE",
        "book_s": "DOUBLE",
        "attempts": "INTEGER",
        "censored": "BOOLEAN",
    }
)
"""The columns of `per_job`: the labour of each step in each job, which the model is fitted to. Waits and
steps that were not needed are left out."""

SPELL_COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "person": "VARCHAR",  # '' when not told
        "day": "DATE",  # in the shop
        "doing": "VARCHAR",  # active, waiting, interrupted or between
        "started": "TIMESTAMP",  # UTC
        "ended": "TIMESTAMP",  # UTC
        "seconds": "DOUBLE",
    }
)
"""The columns of `spells`: who was there, from when to when (`spells.py`)."""

MINUTES_BY: Mapping[str, str] = MappingProxyType(
    {"step": "step", "procedure": "title", "vehicle": "vehicle", "mechanic": "mechanic", "month": "month"}
)
"""What minutes over the book are summed by -> the column of `per_job`, or the month in which a step began."""

CACHE = ".times"
"""The folder beside the logs in which results are kept between runs. It can always be deleted."""
