"""Logs of an invented shop, in the logbook's own format, at any size: plain jobs, written fast.

(`shop_demo.py` makes few but complete jobs, through the job core.)
"""

import json
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from companion.labour.table.task import Task
from tests.shops.shop import Jobs, Shop

START = datetime(2031, 1, 6, 7, 30, tzinfo=UTC)
MECHANICS = ("Aske", "Brunla", "Corwen", "Dunja", "Elmo", "Frieda", "Goran", "Hedda")
HELD = ("phone call", "customer at the counter", "waiting for a part", "lunch")


def tasks_of(shop: Shop) -> tuple[Task, ...]:
    """The steps of the shop's procedure."""
    return tuple(
        Task(f"step-{n + 1}", f"{n + 1:012x}", timedelta(seconds=float(b))) for n, b in enumerate(shop.book_s)
    )


def write_logs(
    folder: Path,
    shop: Shop,
    jobs: int,
    title: str = "Invented job",
    hold_every: int = 40,
    batch: int = 1000,
    talk: int = 0,
) -> Iterator[Jobs]:
    """Write that many jobs, one log each, and give back the truth a batch at a time.

    Every `hold_every`th step is interrupted by a hold of some minutes, which is logged; 0 for none. A step
    has four events, and `talk` more of what is said: in a full job there are about six more of all kinds.
    """
    folder.mkdir(parents=True, exist_ok=True)
    tasks = tasks_of(shop)
    done = 0
    while done < jobs:
        truth = shop.work(min(batch, jobs - done))
        for n in range(len(truth.mechanic)):
            name = f"{title.lower().replace(' ', '-')}-{done + n + 1:07d}"
            text = _job(
                name, title, tasks, truth.logged_s[n], int(truth.mechanic[n]), done + n, hold_every, talk
            )
            (folder / f"{name}.jsonl").write_text(text, encoding="utf-8")
        done += len(truth.mechanic)
        yield truth


def _job(
    name: str, title: str, tasks: Sequence[Task], seconds: "np.ndarray[tuple[int], np.dtype[np.float64]]",
    mechanic: int, number: int, hold_every: int, talk: int,
) -> str:  # fmt: skip
    opened = START + timedelta(hours=number * 0.75)
    lines: list[str] = []

    def write(at: float, body: str) -> None:
        wall = (opened + timedelta(seconds=at)).isoformat(timespec="microseconds")[:-6]
        lines.append(
            f'{{"schema": 1, "seq": {len(lines) + 1}, "at": "{wall}Z", "mono": {1000 + at:.3f}, {body}}}\n'
        )

    about = {"job": name, "title": title, "revision": "1", "procedure_sha256": "0" * 64}
    about |= {"vehicle": f"invented {number % 17}", "mechanic": MECHANICS[mechanic % len(MECHANICS)]}
    write(0, f'"event": "job_opened", {json.dumps(about)[1:-1]}')
    write(0, '"event": "session_started", "boot": "b", "away_s": 0.0')
    at = 2.0
    for n, (task, active) in enumerate(zip(tasks, seconds.tolist(), strict=True)):
        write(at, _begun(task))
        write(at, f'"event": "said", "text": "Step {n + 1}: {task.step}, as the sheet says.", "priority": 0')
        for told in range(talk):
            write(
                at,
                f'"event": "said", "text": "Of step {n + 1}: what to watch, what to use and what to check '
                f'while it is done, part {told + 1} of {talk}.", "priority": 0',
            )
        if hold_every and (number * len(tasks) + n) % hold_every == hold_every - 1:
            why = HELD[(number + n) % len(HELD)]
            write(at + active / 2, f'"event": "job_held", "because": "{why}"')
            at += 60.0 * (3 + (number + n) % 30)
            write(at + active / 2, '"event": "job_carried_on"')
        at += active
        write(
            at,
            '"event": "heard", "command": "done", "arguments": {}, "text": "done", "source": "voice", '
            '"score": 0.93, "clip": null',
        )
        write(at, f'"event": "step_done", "step": "{task.step}", "state": null')
    write(at + 5, '"event": "job_closed"')
    write(at + 6, '"event": "session_ended"')
    return "".join(lines)


def _begun(task: Task) -> str:
    return (
        f'"event": "step_begun", "step": "{task.step}", "act": "fit", '
        f'"book_s": {task.book.total_seconds()}, "work": "{task.work}"'
    )
