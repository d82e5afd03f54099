"""What stays on the terminal after leaving, and that its command really takes the job up again."""

import json
import shlex
from pathlib import Path

import pytest

PROCEDURES = Path(__file__).parents[3] / "procedures"
SAID = ["yes"] * 4 + ["battery disconnected", "note the clip is broken", "start a timer for 10 minutes"]


@pytest.fixture
def left(companion):
    """A job that was left; what stood on the terminal, and the words to type before it."""

    def leave(*said: str, options: tuple[str, ...] = ()) -> list[str]:
        about = ("--vehicle", "Brackfell Ostler", "--mechanic", "Ana", "--keys", "--quiet")
        result = companion(
            "work", PROCEDURES / "sump-reseal.yaml", *about, *options, typed="\n".join([*SAID, *said, ""])
        )
        assert result.returncode == 0, result.stderr
        return result.stdout.splitlines()

    return leave


def test_it_names_job_vehicle_hours_notes_what_is_due_the_page_and_the_command(left, tmp_path):
    lines = left()
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    at = lines.index(f"Job {log.stem}: Sump reseal, Brackfell Ostler")
    kept = lines[at:]
    assert kept[1].startswith("Left at step ")
    assert kept[2].endswith(" of work, mechanic Ana")
    assert any(line == "Noted: the clip is broken, step 3" for line in kept)
    assert any(line.startswith("Due: 20") and "imer of 10 min" in line for line in kept)
    assert any(line.startswith("Open: the battery is disconnected") for line in kept)
    assert f"Handover page: logs/{log.stem}.handover.html" in kept
    assert kept[-1] == f"Go on with: companion work --job {log.stem} --keys --quiet"
    assert (tmp_path / "logs" / f"{log.stem}.handover.html").exists()


def test_a_held_job_says_so(left):
    assert any(line.startswith("On hold at step ") for line in left("hold the job because lunch"))


def test_the_command_takes_the_job_up_again_with_the_same_options(left, companion, tmp_path):
    options = ("--alone", "20", "--alone-under", "7.5", "--pedal", "x", "--logs", "my logs")
    command = shlex.split(left(options=options)[-1].removeprefix("Go on with: "))
    assert command[0] == "companion"
    assert all(option in command for option in options)
    assert not {"--vehicle", "--mechanic"} & {*command}
    again = companion(*command[1:], typed="help\n")
    assert again.returncode == 0, again.stderr
    assert "Back to Sump reseal, Brackfell Ostler" in again.stdout
    (log,) = (tmp_path / "my logs").glob("*.jsonl")
    started = [e for e in map(json.loads, log.read_text().splitlines()) if e["event"] == "session_started"]
    assert [e["alone_every_s"] for e in started] == [1200, 1200]
    assert [e["alone_under_vehicle_s"] for e in started] == [450, 450]


def test_readings_and_what_was_left_out_stand_there(bench_left):
    what = "Measured: voltage between the two battery leads (step 2)"
    assert f"{what}, 11.9 V (at most 0.5 V), OUT OF LIMITS" in bench_left
    assert f"{what}, 0.25 V (at most 0.5 V)" in bench_left
    (out,) = [line for line in bench_left if line.startswith("Left out: Step ")]
    assert out.endswith(", not on this one")


@pytest.fixture
def bench_left(tmp_path):
    """The last words of a job with readings and a step left out."""
    from datetime import UTC, datetime, timedelta

    from companion.job import messages as msg
    from companion.job.facts.commands import Command
    from companion.work.edges.clock import StagedClock
    from companion.work.last_words import last_words
    from tests.helpers.said import heard
    from tests.work.conftest import Bench

    bench = Bench(tmp_path / "logs", StagedClock(datetime(2031, 3, 4, 8, tzinfo=UTC)))
    bench.begin("sump-reseal")
    while not (bench.session.state.step and bench.session.state.step.proves == "battery"):
        bench.obliges()
    bench.session.handle(heard(Command.READING, {"value": "11.9", "unit": "V"}))
    bench.session.handle(msg.Heard(Command.YES))
    bench.clock.advance(timedelta(minutes=4))
    bench.session.handle(msg.Woken())
    while bench.session.state.current != "unplug-level-sensor":
        bench.obliges()
    bench.session.handle(heard(Command.SKIP, {"reason": "not on this one"}))
    while bench.session.state.question:
        bench.session.handle(msg.Heard(Command.YES))
    yield last_words(bench.session.state, bench.job.logbook, bench.log, ())
    bench.leave()
