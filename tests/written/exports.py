"""What each export holds: the keys of every `--json`, the columns of the CSV, in words.

`tests/test_written.py` runs each command and compares what it prints with these.
"""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Export:
    """One export, as a command with what it prints."""

    command: str
    """As typed; `tests/test_written.py` adds the folder of the logs."""
    each: str
    """What one object, or one row, is."""
    keys: Mapping[str, str]
    """Name -> meaning; "a.b" is b within each a."""


_DUE = {
    "due": "when, UTC",
    "late_s": "how long ago that was; 0 when it is to come",
    "what": "in words",
    "job": "its name",
    "vehicle": "as told; empty when not",
    "priority": "`routine`, `urgent` or `danger`",
    "deadline": "its id within the job",
}

EXPORTS = (
    Export(
        "jobs --json",
        "a job, the one last worked on first",
        {
            "job": "its name",
            "title": "of the procedure",
            "vehicle": "as told; empty when not",
            "mechanic": "who began it, as told; empty when not",
            "mechanics": "all who worked on it, who began it first",
            "state": "`open`, `held`, `closed`, `never begun` or `trouble`",
            "held_because": "in the mechanic's words; empty when it is not held, or nobody said",
            "worked_s": "at work on steps, without holds, absences and nights; null when it cannot be read",
            "first": "its first event, UTC",
            "last": "its last event, UTC",
            "torn": "its last line was cut off",
            "trouble": "why it cannot be read; empty when it can",
        },
    ),
    Export(
        "jobs 2031-03-17-sump-reseal-1 --json",
        "where one job stands",
        {
            "job": "its name",
            "closed": "true when it is closed",
            "held": "true when it is on hold",
            "step": "the current step, by its id",
            "settled": "step id: how it was settled",
            "settled.*.how": "`done`, `skipped` or `not needed`",
            "settled.*.because": "the spoken state, or the reason",
            "open": "what is open, in words",
            "left_out": "what is left out for good, and why, in words",
            "waiting": "deadline id: when it is due, UTC",
            "notes": "what was noted",
            "notes.note": "its number",
            "notes.step": "the step it was said at",
            "notes.text": "in words",
            "notes.clip": "its sound, a file beside the log",
            "record": "the record of work: each part a list of rows, by the heads of its columns, as shown",
        },
    ),
    Export("due --json", "something due, once, soonest first; then what no clock can tell", _DUE | {
        "distance_km": "due after so many km, or when it says, whichever comes first; null when not",
        "heat_cycles": "the same by heat cycles",
    }),
    Export(
        "hours --json",
        "a person on a day; hours to the hundredth, the four parts add up to those present",
        {
            "person": "as told; empty when not",
            "day": "in the shop",
            "first": "when something first happened that day, UTC",
            "last": "when something last did",
            "present_h": "while the companion ran on a job",
            "active_h": "at work on a step",
            "waiting_h": "a step that is a wait",
            "interrupted_h": "on hold",
            "between_h": "between steps",
        },
    ),
    Export(
        "quoted --json",
        "a closed job with the quote that was kept for it",
        {
            "job": "its name",
            "title": "of the procedure",
            "vehicle": "as told; empty when not",
            "confidence": "the quoted time is enough with this chance",
            "quoted_s": "the quoted time of work, without allowance",
            "took_s": "its active time",
            "enough": "the quoted time was enough",
            "labour_price": "of the quoted time with its allowance; null without a rate",
            "hourly_rate": "that price for each hour of work that it took",
            "profit": "what is left of it at `--cost`, or at the rate quoted",
            "currency": "as written behind the amounts",
        },
    ),
    Export(
        "times --json",
        "a step of a procedure; times are active time, for the next job",
        {
            "title": "of the procedure",
            "step": "its id",
            "work": "a digest of what is done; the same while only the words change",
            "act": "of the step",
            "book_s": "the book time last logged; null when none was",
            "typical_s": "the median of the next job",
            "mean_s": "the mean of the next job",
            "p10_s": "one job in ten is quicker",
            "p50_s": "half of the jobs are quicker",
            "p80_s": "eight jobs in ten are quicker",
            "p90_s": "nine jobs in ten are quicker",
            "p95_s": "19 jobs in 20 are quicker",
            "off_book": "typical over book: 1.25 is a quarter longer; null without a book time",
            "trend_10_jobs": "change over ten jobs: 0.1 is a tenth longer; null when none is shown",
            "more_jobs_10": "still to be logged until the mean is right to ±10 %, 95 times of 100",
            "more_jobs_5": "the same for ±5 %; null with fewer than two finished",
            "seen_s": "what the jobs logged took, on the average",
            "jobs": "in which it was timed",
            "mechanics": "who did it",
            "unfinished": "jobs that say only \"at least\"",
            "repeated": "jobs in which it was done more than once",
            "basis": "what the times rest on, in words",
            "interrupted_s": "holds and stops, taken out of the times",
            "interruptions": "by reason",
            "interruptions.reason": "as told",
            "interruptions.times": "how often",
            "interruptions.seconds": "together",
            "slowest": "the slowest tenth of its jobs",
            "slowest.job": "its name",
            "slowest.mechanic": "as told",
            "slowest.vehicle": "as told",
            "slowest.active_s": "how long it took",
            "slowest.notes": "what was noted at it",
            "whole_job": "steps timed in half of the jobs or more, together: their number, book, times",
            "learning": "what the procedure shows of learning; null when nothing",
            "odd": "times far off the rest; null when none",
        },
    ),
    Export(
        "quote procedures/sump-reseal.yaml --rate 75 --part washer=0.80x2 --json",
        "the quote",
        {
            "title": "of the procedure",
            "confidence": "the hours are enough with this chance",
            "hours": "quoted, with the allowance",
            "even_h": "as likely over as under",
            "mean_h": "the mean",
            "book_h": "by the book",
            "book_risk": "the chance that the book time is not enough",
            "allowance": "0.15 is 15 %",
            "allowance_on": "what the allowance is a part of",
            "rate": "price of an hour, as text",
            "labour_cost": "hours times rate, as text",
            "parts": "as given",
            "parts.name": "as given",
            "parts.price": "of one, as text",
            "parts.count": "how many",
            "total": "labour and parts, as text",
            "currency": "as given",
            "basis": "what the hours rest on, in words",
            "steps": "each step of the work",
            "steps.step": "its id",
            "steps.book_h": "by the book",
            "steps.typical_h": "the median; these do not add up to the job's",
            "steps.mean_h": "the mean",
            "steps.basis": "what it rests on, in words",
        },
    ),
    Export(
        "plan procedures/sump-reseal.yaml --start 2031-07-01T09:00 --json",
        "the plan; its times are the shop's own",
        {
            "job": "whose rest is planned; null for a whole job",
            "title": "of the procedure",
            "start": "when work can begin",
            "finish": "when it is done, at mean times",
            "bound": "no plan can finish before",
            "proven": "no plan can finish earlier than this one",
            "finish_p50": "half of such jobs are done by then; null when nothing is logged",
            "finish_p80": "eight in ten are",
            "finish_p95": "19 in 20 are",
            "mechanics": "who work on it",
            "work_s": "work together",
            "critical_s": "with hands enough, day and night",
            "advice": "what to know, in sentences",
            "steps": "in the order of their beginning",
            "steps.step": "its id",
            "steps.begin": "when it begins",
            "steps.end": "when it ends",
            "steps.mechanic": "which of them does it; null for a wait",
            "steps.length_s": "of the work itself, breaks not counted",
            "steps.slack_s": "how much later it may begin without making the job longer",
        },
    ),
)  # fmt: skip

QUOTE_CSV = Export(
    "quote procedures/sump-reseal.yaml --rate 75 --csv FILE",
    "a step, a part, the labour, the total",
    {
        "kind": "`step`, `part`, `labour` or `total`",
        "item": "the step's id, the part, or the title of the procedure",
        "count": "how many of the item",
        "book_h": "hours by the book; those of the steps add up to the labour's",
        "mean_h": "mean hours of work, without the allowance; they add up, too",
        "quoted_h": "what is quoted, with the allowance",
        "confidence": "the chance that `quoted_h` is enough",
        "allowance": "what is added, and to what",
        "price": "for all of `count`; those of parts and labour add up to the total",
        "currency": "of `price`",
    },
)
