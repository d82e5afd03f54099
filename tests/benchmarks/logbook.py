"""What durability costs: `python -m tests.benchmarks.logbook [--logs DIR]`.

Appending as the logbook does (checked, flushed and fsynced) beside a plain append that is only handed to
the system, on the disk of DIR; and opening a log of 10,000 events again beside reading its JSON alone.
"""

import argparse
import json
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from companion.job.facts.events import Event, HeardCommand, JobOpened, Record, Said, StepBegun, StepDone
from companion.logbook.jobs import list_jobs
from companion.logbook.lines import encode
from companion.logbook.logbook import FileLogbook

EVENTS = 10_000
APPENDS = 300
BEGUN = datetime(2031, 4, 2, 8, 0, tzinfo=UTC)


def records(count: int) -> list[Record]:
    """A job as it goes: a command, the step done, the next one begun and said."""
    turn: list[Event] = [
        HeardCommand(command="done", text="done", score=0.93),
        StepDone(step="drain-oil"),
        StepBegun(step="fit-plug", act="fit", book_s=120, work="0" * 16),
        Said(text="Step five: fit the drain plug with a new washer; 25 newton metres."),
    ]
    opened = JobOpened(job="bench", title="Sump reseal", revision="1", procedure_sha256="0" * 64)
    events = [opened, *(turn[n % len(turn)] for n in range(count - 1))]
    return [
        Record(seq=n, at=BEGUN + timedelta(seconds=n), mono=timedelta(seconds=n), event=event)
        for n, event in enumerate(events, start=1)
    ]


def timed(act: Callable[[], object]) -> float:
    """Milliseconds that it takes."""
    start = time.perf_counter()
    act()
    return (time.perf_counter() - start) * 1000


def spread(times: list[float]) -> tuple[float, float]:
    """Median and 95th percentile."""
    return statistics.median(times), statistics.quantiles(times, n=20)[-1]


def appending(folder: Path) -> None:
    book = FileLogbook.create(folder, "appending")
    plain = os.open(folder / "plain.txt", os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    durable, handed = [], []
    for record in records(APPENDS):
        # Turn and turn about, so that whatever else the machine does falls on both.
        durable.append(timed(lambda record=record: book.append([record])))
        handed.append(timed(lambda record=record: os.write(plain, encode(record))))
    os.close(plain)
    book.close()
    (durable_p50, durable_p95), (plain_p50, plain_p95) = spread(durable), spread(handed)
    print(f"append one event, {APPENDS} times       median      p95")
    print(f"  plain, not durable              {plain_p50:8.3f} {plain_p95:8.3f} ms")
    print(f"  the logbook, fsynced            {durable_p50:8.3f} {durable_p95:8.3f} ms")
    print(f"  ratio                           {durable_p50 / plain_p50:8.1f} {durable_p95 / plain_p95:8.1f}")


def opening(folder: Path) -> None:
    book = FileLogbook.create(folder, "opening")
    book.append(records(EVENTS))
    book.close()
    path = book.path

    def resume() -> None:
        FileLogbook.resume(folder, "opening", BEGUN)[0].close()

    def torn() -> None:
        with path.open("ab") as file:
            file.write(b'{"schema": 1, "seq"')
        resume()

    def json_alone() -> list[object]:
        return [json.loads(line) for line in path.read_bytes().splitlines()]

    bare = statistics.median(timed(json_alone) for _ in range(9))
    print(f"\nopen a log of {EVENTS} events ({path.stat().st_size / 1e6:.1f} MB), median of 9")
    print(f"  its JSON alone                  {bare:8.1f} ms")
    for name, act in (
        ("open and check every event", resume),
        ("the same, last line torn", torn),
        ("sum it up for the list of jobs", lambda: list_jobs(folder)),
    ):
        took = statistics.median(timed(act) for _ in range(9))
        print(f"  {name:<30}  {took:8.1f} ms   ratio {took / bare:.2f}")


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "--logs", type=Path, help="a folder on the disk to measure (default: the temporary one)"
    )
    with tempfile.TemporaryDirectory(dir=parser.parse_args().logs) as folder:
        for part in (appending, opening):
            (Path(folder) / part.__name__).mkdir()
            part(Path(folder) / part.__name__)


if __name__ == "__main__":
    main()
