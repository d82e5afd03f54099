"""A kill, a power cut or a week away: the job goes on exactly where its log ends."""

import json
import random
import time
from datetime import timedelta
from pathlib import Path

import pytest

from companion.job.facts.folding import fold
from companion.job.facts.instant import Instant
from companion.job.facts.state import State
from companion.work import opening
from tests.helpers.logs import events
from tests.helpers.programs import Program

BRAKES = Path(__file__).parents[2] / "procedures" / "front-brakes.yaml"


def test_killed_at_every_event_nothing_acknowledged_is_lost(bench, tmp_path):
    """The log is cut after each event in turn, with half of the next line behind it, and resumed."""
    bench.begin()
    bench.works_to_the_end()
    records = bench.job.logbook.records()
    bench.leave()
    lines = bench.log.read_bytes().splitlines(keepends=True)
    assert len(lines) > 300
    job = bench.log.stem
    state = State(bench.session.state.procedure)
    logs = tmp_path / "cut"
    logs.mkdir()
    (logs / "procedures").symlink_to(bench.logs / "procedures")
    for kept, record in enumerate(records[:-1], start=1):
        state = fold(state, record.event, Instant(record.at, record.mono))
        torn = lines[kept][: len(lines[kept]) // 2]
        (logs / f"{job}.jsonl").write_bytes(b"".join(lines[:kept]) + torn)

        resumed = opening.resume_job(job, logs, bench.clock)
        try:
            assert len(resumed.logbook.records()) == kept
            assert resumed.warning
            assert torn.decode() in json.loads((logs / f"{job}.torn").read_text())["data"]
            assert resumed.state == state
            assert (logs / f"{job}.jsonl").read_bytes() == b"".join(lines[:kept])
        finally:
            resumed.logbook.close()
        (logs / f"{job}.torn").unlink()


@pytest.mark.parametrize("procedure", ["front-brakes", "sump-reseal", "coolant-pump"])
def test_killed_every_few_events_the_job_still_comes_to_its_end(bench, procedure):
    """Killed and resumed again and again, a week apart at times, every step is still done once."""
    bench.begin(procedure)
    chance = random.Random(5)
    turns = 0
    while not bench.session.state.closed:
        bench.obliges()
        turns += 1
        assert turns < 2000
        if turns % 7 == 0 and not bench.session.state.closed:
            before = bench.session.state
            bench.leave()
            if chance.random() < 0.3:
                bench.clock.reboot(timedelta(days=7))
            else:
                bench.clock.advance(timedelta(seconds=5))
            bench.resume()
            assert set(before.settled) <= set(bench.session.state.settled)
            assert bench.session.state.open_items == before.open_items
    assert not bench.session.state.open_items


def test_a_real_process_killed_at_random_has_logged_all_that_it_said(tmp_path):
    """SIGKILL at random instants; whatever was shown as said stands in the log, and --resume goes on."""
    chance = random.Random(3)
    typed = (["yes"] * 4 + ["battery disconnected", "what torque", "note the clip is loose", "help"]) * 30
    for start in (BRAKES, *["--resume"] * 5):
        with Program.companion("work", "--keys", "--quiet", start, folder=tmp_path) as working:
            working.types(*typed)
            working.line()
            time.sleep(chance.uniform(0.0, 0.5))
            working.kill()
            working.ends()
        said = [event["text"] for event in events(tmp_path) if event["event"] == "said"]
        last_may_be_cut = [line for line in working.shown if line.endswith("\n")]
        for line in last_may_be_cut:
            if line.startswith("> "):
                assert line[2:].rstrip("\n") in said
    with Program.companion("work", "--keys", "--quiet", "--resume", folder=tmp_path) as working:
        working.until("Back to Front brake overhaul")
        working.types("help")
        working.hang_up()
        assert working.ends() == 0
