"""Logs that somebody or something altered: one clear line, and no other job hidden."""

import copy
import json
import random
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from companion.cli import group
from companion.errors import CompanionError
from companion.job import messages as msg
from companion.job.decide import decide
from companion.job.facts.commands import Command
from companion.papers.handover import as_text
from companion.rehearsal.stage import StagedClock
from companion.work.after import handover_of
from companion.work.opening import read_job, resume_job

GOLDEN = Path(__file__).parents[2] / "logs" / "golden"
ODD: tuple[Any, ...] = (
    None, True, -1, 0, 2**70, 1e300, "", "x", "²", [], {}, "2031-01-01T00:00:00",
)  # fmt: skip


def altered(lines: list[dict[str, Any]], rng: random.Random) -> list[dict[str, Any]]:
    """One change to the structure of a log: a value, a key, a line."""
    lines = copy.deepcopy(lines)
    at = rng.randrange(1, len(lines))
    line = lines[at]
    key = rng.choice(sorted(line))
    match rng.randrange(6):
        case 0 | 1:
            line[key] = rng.choice(ODD)
        case 2:
            donor = rng.choice(lines)
            line |= {k: v for k, v in donor.items() if k not in ("schema", "seq", "at", "mono", "event")}
            line["event"] = donor["event"]
        case 3:
            other = rng.choice(lines)
            line[key] = other.get(key, other["event"])
        case 4:
            del line[key]
        case _:
            other = rng.randrange(1, len(lines))
            lines[at], lines[other] = lines[other], lines[at]
            if rng.random() < 0.8:
                for n, one in enumerate(lines, start=1):
                    one["seq"] = n
    return lines


def written(folder: Path, job: str, lines: list[dict[str, Any]]) -> Path:
    text = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in lines)
    (folder / f"{job}.jsonl").write_text(text)
    return folder


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    folder = tmp_path / "logs"
    shutil.copytree(GOLDEN / "procedures", folder / "procedures")
    return folder


def golden(name: str, lines: int | None = None) -> list[dict[str, Any]]:
    found = [json.loads(line) for line in (GOLDEN / f"{name}.jsonl").read_text().splitlines()]
    return found[:lines]


@pytest.mark.parametrize("name", ["front-brakes", "sump-reseal", "coolant-pump"])
def test_whatever_was_altered_it_is_told_in_one_line(logs, name):
    """Read, handed over, gone on with: the typed error or an answer, and never anything else."""
    whole = golden(name)
    refused: list[str] = []
    for seed in range(60):
        rng = random.Random(seed)
        written(logs, "job", altered(whole[: rng.randrange(40, len(whole))], rng))
        try:
            read_job("job", logs)
            as_text(handover_of("job", logs, datetime(2031, 6, 1, tzinfo=UTC)))
            opened = resume_job("job", logs, StagedClock(datetime(2031, 6, 1, tzinfo=UTC)))
            opened.logbook.close()
            state = opened.state
            clock = StagedClock(datetime(2031, 6, 1, tzinfo=UTC))
            said = (Command.CARRY_ON, Command.HELP, Command.WHAT_IS_OPEN, Command.DONE, Command.UNDO)
            for message in (msg.Opened("b2"), msg.Woken(), *map(msg.Heard, said)):
                clock.advance(timedelta(hours=1))
                state = decide(state, message, clock.now()).state
        except CompanionError as error:
            refused.append(str(error))
    assert len(refused) > 20
    assert all("job.jsonl" in one and "\n" not in one for one in refused)


def test_one_bad_job_hides_no_other(logs):
    lines = golden("front-brakes")
    written(logs, "2031-01-01-good-1", lines)
    bad = copy.deepcopy(lines)
    next(line for line in bad if line["event"] == "step_begun")["step"] = "nowhere"
    written(logs, "2031-01-02-bad-1", bad)
    run = CliRunner()
    good = run.invoke(group, ["due", "--logs", str(logs), "--json"])
    assert good.exit_code == 2
    assert lines[0]["job"] in good.output
    assert "the procedure has no step 'nowhere'" in good.output
    listed = run.invoke(group, ["jobs", "--logs", str(logs)])
    assert "2031-01-01-good-1" in listed.output
    assert listed.exit_code == 0


def test_a_start_that_failed_leaves_nothing_in_the_way(logs):
    """Killed between the making of the log and its first line: an empty file."""
    written(logs, "2031-01-01-good-1", golden("front-brakes"))
    (logs / "2031-01-02-empty-1.jsonl").write_bytes(b"")
    run = CliRunner()
    due = run.invoke(group, ["due", "--logs", str(logs)])
    assert due.exit_code == 0, due.output
    times = run.invoke(group, ["times", "--logs", str(logs)])
    assert times.exit_code == 0, times.output
    assert "never begun" in run.invoke(group, ["jobs", "--logs", str(logs)]).output
