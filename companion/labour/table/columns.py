"""The tidy step table: one row for each attempt at a step, over all job logs.

The table is derived from the logs and never edited by hand: delete it and it is built again.

An attempt starts when a step is begun and ends when it is done, skipped or found not to be needed.
A step that is begun again before that (read again after a pause, or returned to from another step)
goes on with the same attempt; one that is begun again after that is a new attempt.

What a step costs a job is everything spent on it, so the time of an attempt that was undone is added to
the attempts that followed: `per_job` gives that sum. It is censored (at least this long) unless the last
attempt was done and all of it was seen.
"""

from collections.abc import Mapping
from types import MappingProxyType

COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "log": "VARCHAR",  # name of the log file
        "job": "VARCHAR",
        "opened": "TIMESTAMP",  # the job, UTC
        "job_number": "BIGINT",  # from 1, in the order in which the jobs were opened
        "title": "VARCHAR",  # of the procedure
        "revision": "VARCHAR",
        "mechanic": "VARCHAR",  # '' when not told
        "vehicle": "VARCHAR",  # '' when not told
        "step": "VARCHAR",
        "work": "VARCHAR",  # digest of what is done; with `step` it is the step's identity
        "act": "VARCHAR",
        "attempt": "INTEGER",  # from 1 within the job
        "began_at": "BIGINT",  # sequence number of the event, so that rows can be put in order
        "started": "TIMESTAMP",  # UTC
        "day": "DATE",  # UTC
        "active_s": "DOUBLE",  # holds, stops and time away taken out
        "interrupted_s": "DOUBLE",  # what was taken out
        "interrupted_by": "VARCHAR[]",  # the reason of each interruption ...
        "interrupted_for_s": "DOUBLE[]",  # ... and its length, in the same order
        "book_s": "DOUBLE",
        "outcome": "VARCHAR",  # done, undone, skipped, not_needed or unfinished
        "censored": "BOOLEAN",  # the step would have taken at least active_s
        "gap": "BOOLEAN",  # the companion died during it: some of its time was not seen
        "labour": "BOOLEAN",  # false for a wait, which does not occupy the mechanic
        "notes": "VARCHAR[]",  # spoken while the step was the current one
    }
)
"""Name and DuckDB type of each column."""

PER_JOB_COLUMNS: Mapping[str, str] = MappingProxyType(
    {
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
"""The labour of each step in each job: what the model is fitted to. Waits and steps that were not needed
are left out."""
