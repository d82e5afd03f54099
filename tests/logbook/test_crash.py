"""Killed at any instant, the log holds every line that was acknowledged."""

from __future__ import annotations

import os
import random
import signal
import time
from datetime import UTC, datetime

from companion.logbook.logbook import FileLogbook
from tests.helpers.programs import PYTHON, Program

KILLS = 20

# Logs steps as fast as it can, two at a time, and says the number of each once it is durable. It is run
# anew for each kill by a process that has done the slow imports already.
WRITER = """
import os, sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from companion.job.facts.events import Record, StepDone
from companion.logbook.logbook import FileLogbook

def write(logs):
    now = datetime.now(UTC)
    book, recovered = FileLogbook.resume(logs, "crash", now)
    seq = len(recovered.records)
    while True:
        pair = [
            Record(seq=n, at=now, mono=timedelta(seconds=n), event=StepDone(step="long " * 300 + str(n)))
            for n in (seq + 1, seq + 2)
        ]
        book.append(pair)
        seq += 2
        os.write(1, b"%d\\n" % seq)

for _ in sys.stdin:
    child = os.fork()
    if child == 0:
        write(Path(sys.argv[1]))
    os.write(1, b"pid %d\\n" % child)
    os.waitpid(child, 0)
    os.write(1, b"dead\\n")
"""


def test_every_acknowledged_line_survives_being_killed(tmp_path, steps):
    book = FileLogbook.create(tmp_path, "crash")
    book.append(steps(0))
    book.close()
    chance = random.Random(20310402)
    logged = 1
    with Program(PYTHON, "-c", WRITER, tmp_path) as nursery:
        for _ in range(KILLS):
            acknowledged = run_and_kill(nursery, chance.uniform(0.001, 0.05))
            book, recovered = FileLogbook.resume(tmp_path, "crash", datetime.now(UTC))
            book.close()
            assert len(recovered.records) >= max(acknowledged, logged)
            logged = len(recovered.records)
    assert logged > KILLS, "the writer hardly wrote"


def run_and_kill(nursery: Program, after: float) -> int:
    """Let a writer run until a moment after its first line, kill it; the last number it acknowledged."""
    nursery.types("go")
    pid = acknowledged = 0
    while not (pid and acknowledged):
        word = nursery.line().split()
        assert word != ["dead"], "the writer failed by itself"
        if word[0] == "pid":
            pid = int(word[1])
        else:
            acknowledged = int(word[0])
    time.sleep(after)
    os.kill(pid, signal.SIGKILL)
    while (line := nursery.line()) != "dead\n":
        acknowledged = int(line)
    return acknowledged
