"""The logs of an invented shop: whole jobs on real procedures.

Every event is one that the job core decided. So the logs can be resumed, summed up and analysed like any
other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from companion.demo.invented_job import InventedJob
from companion.demo.shop import Shop
from companion.errors import CompanionError
from companion.files import failures_named, make_folder, write_whole
from companion.job.facts import events as ev
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.logbook.job_names import log_path, new_job_name
from companion.logbook.lines import encode
from companion.logbook.procedures import keep_procedure
from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure

JOBS = 40
SEED = 2033
MECHANICS = ("Aske", "Brunla", "Corwen")
CARS = ("green estate", "white van", "grey hatchback", "red saloon", "blue pickup")
RUSTY_CAR = "rusty pickup"
RUSTY_JOB = 16
"""The number, from 0, of the job on it."""
FIRST_DAY = datetime(2031, 2, 3, 7, 0, tzinfo=UTC)
UNFINISHED = 0.6
"""This part of the last job is done: it is still open."""
SPREADS = np.array([0.28, 0.30, 0.12, 0.12])
"""Of the shop. The order is that of `mixed_model.SPREADS`."""


@dataclass(frozen=True)
class _Kind:
    """One kind of job: a procedure, and how long it takes in the shop."""

    procedure: Procedure
    file: bytes
    shop: Shop


def write_demo(procedures: Path, logs: Path, jobs: int = JOBS, seed: int = SEED) -> tuple[str, ...]:
    """Write the logs of so many jobs, in turn on each procedure file of a folder; the names of the jobs.

    Raises:
        CompanionError: there is no procedure or one is faulty, the logs folder holds other logs, or it cannot
            be written to.
    """
    kinds = _kinds(procedures, seed)
    names = _names(kinds, jobs)
    with failures_named(logs):
        make_folder(logs)
        others = {path.stem for path in logs.glob("*.jsonl")} - {*names}
    if others:
        raise CompanionError(
            f"{logs}: holds other jobs, such as {min(others)}; invented ones must not be mixed with them: "
            "name a new folder"
        )
    rng = np.random.default_rng(seed)
    for number, name in enumerate(names):
        records = _one_job(logs, kinds[number % len(kinds)], name, number, rng, last=number == jobs - 1)
        path = log_path(logs, name)
        with failures_named(path):
            write_whole(path, b"".join(encode(record) for record in records))
    return names


def _kinds(folder: Path, seed: int) -> list[_Kind]:
    with failures_named(folder):
        files = sorted(folder.glob("*.yaml"))
    kinds = []
    for number, path in enumerate(files):
        procedure = read_procedure(path)
        book_s = np.array([step.book.total_seconds() for step in procedure.steps])
        shop = Shop(seed + number, book_s, len(MECHANICS), SPREADS)
        kinds.append(_Kind(procedure, path.read_bytes(), shop))
    if not kinds:
        raise CompanionError(
            f"{folder}: holds no procedure (*.yaml); name a folder of them with --procedures"
        )
    return kinds


def _day(number: int) -> datetime:
    return FIRST_DAY + timedelta(days=3 * number + 2 * (number % 2))


def _names(kinds: Sequence[_Kind], jobs: int) -> tuple[str, ...]:
    names: list[str] = []
    for number in range(jobs):
        title = kinds[number % len(kinds)].procedure.title
        names.append(new_job_name(title, _day(number), names))
    return tuple(names)


def _one_job(
    logs: Path, kind: _Kind, name: str, number: int, rng: np.random.Generator, last: bool
) -> list[ev.Record]:
    """The log of one job."""
    rusty = number == RUSTY_JOB
    mechanic, seconds = kind.shop.next_job(rusty)
    opened = _day(number) + timedelta(minutes=int(rng.integers(0, 90)))
    procedure = kind.procedure
    ids = [step.id for step in procedure.steps]
    job = InventedJob(
        State(procedure),
        Instant(opened, timedelta(seconds=900)),
        rng,
        dict(zip(ids, seconds.tolist(), strict=True)),
        dict(zip(ids, kind.shop.usual_s.tolist(), strict=True)),
    )
    particulars = ev.JobOpened(
        job=name,
        title=procedure.title,
        revision=procedure.revision,
        procedure_sha256=keep_procedure(logs, kind.file),
        vehicle=RUSTY_CAR if rusty else CARS[int(rng.integers(len(CARS)))],
        mechanic=MECHANICS[mechanic],
        ambient_c=23.0,
    )
    job.run(particulars, part=UNFINISHED if last else 1.0)
    return job.records
