"""What follows an event: the handover page of a held job, and the user's own command when nobody answers."""

import shlex
import sys
import time

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.turns.reminders import HOOK_STAGE
from companion.papers.handover import as_text, handover
from companion.work.after import After, handover_of, local
from companion.work.edges.hook import parse_hook
from companion.work.inbox import Inbox
from companion.work.last_words import last_words
from companion.work.views.plain_view import PlainLines
from tests.helpers.said import heard
from tests.helpers.waiting import until


class Told(PlainLines):
    """Keeps what is shown."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def _print(self, mark: str, text: str) -> None:
        self.lines.append(mark + text)

    def waits_for(self, words: str) -> str:
        told = until(
            lambda: [line for line in self.lines if words in line], lambda: f"no {words!r} in {self.lines}"
        )
        return told[0]


def escalated(bench, command: str, stage: int, inbox: Inbox | None = None) -> Told:
    told = Told()
    post = (inbox or Inbox()).post
    after = After(bench.job.logbook, bench.log, told, post, parse_hook(command) if command else ())
    after([ev.CheckInEscalated(stage=stage)], bench.session.state, bench.clock.now().wall)
    return told


class TestAlarm:
    def test_the_command_is_run_with_what_is_known_of_the_job(self, bench, tmp_path):
        bench.begin()
        proof = tmp_path / "proof"
        program = f"import os; open({str(proof)!r}, 'w').write(os.environ['COMPANION_MECHANIC'] + ' {{job}}')"
        told = escalated(bench, shlex.join([sys.executable, "-c", program]), HOOK_STAGE)
        told.waits_for("= check-in command")
        assert proof.read_text() == f"Ana {bench.log.stem}"

    @pytest.mark.parametrize("stage", [1, HOOK_STAGE - 1, HOOK_STAGE + 1])
    def test_it_is_run_at_its_stage_and_no_other(self, bench, tmp_path, stage):
        bench.begin()
        escalated(bench, f"touch {tmp_path}/proof", stage)
        time.sleep(0.3)
        assert not (tmp_path / "proof").exists()

    @pytest.mark.parametrize(
        ("command", "says"),
        [("no-such-program --loud", "cannot be started"), ("sh -c 'echo no signal; exit 3'", "no signal")],
    )
    def test_one_that_fails_is_told(self, bench, command, says):
        bench.begin()
        assert says in escalated(bench, command, HOOK_STAGE).waits_for("! check-in command")

    @pytest.mark.parametrize(
        ("command", "outcome", "status"),
        [("true", "done", 0), ("sh -c 'exit 3'", "failed", 3), ("no-such-program", "could not start", None)],
    )
    def test_that_it_was_started_and_how_it_ended_is_logged(self, bench, command, outcome, status):
        bench.begin()
        inbox = Inbox()
        told = escalated(bench, command, HOOK_STAGE, inbox)
        told.waits_for("check-in command")
        for message in inbox.drain():
            bench.session.handle(message)
        logged = [r.event for r in bench.job.logbook.records() if isinstance(r.event, ev.AlarmCommandRun)]
        assert [(e.stage, e.outcome, e.status) for e in logged] == [
            (HOOK_STAGE, "started", None),
            (HOOK_STAGE, outcome, status),
        ]
        assert logged[1].line in told.lines[-1]

    def test_without_a_command_nothing_happens(self, bench):
        bench.begin()
        assert escalated(bench, "", HOOK_STAGE).lines == []


class TestHandover:
    def hold(self, bench, told: Told) -> None:
        after = After(bench.job.logbook, bench.log, told, Inbox().post)
        events = bench.session.handle(msg.Heard(Command.HOLD))
        after(events, bench.session.state, bench.clock.now().wall)

    def test_a_held_job_has_its_page_beside_the_log(self, bench):
        bench.begin()
        for _ in range(12):
            bench.obliges()
        told = Told()
        self.hold(bench, told)
        page = bench.log.with_name(f"{bench.log.stem}.handover.html")
        assert str(page) in told.waits_for("handover page")
        assert "Do first on return" in page.read_text()
        text = page.with_suffix(".txt").read_text()
        assert f"Job {bench.log.stem}" in text
        assert "Mechanic Ana" in text

    def test_it_tells_of_a_part_that_is_awaited_and_what_was_said_before_the_hold(self, bench):
        bench.begin()
        for _ in range(12):
            bench.obliges()
        before = [r.event.text for r in bench.job.logbook.records() if isinstance(r.event, ev.Said)][-1]
        after = After(bench.job.logbook, bench.log, Told(), Inbox().post)
        for message in (
            heard(Command.AWAIT_PART, {"text": "the brake hose in two days"}),
            msg.Heard(Command.YES),
        ):
            events = bench.session.handle(message)
            after(events, bench.session.state, bench.clock.now().wall)
        text = bench.log.with_name(f"{bench.log.stem}.handover.txt").read_text()
        assert "the brake hose is expected in 2 days." in text
        assert "Held: waiting for the brake hose" in text
        assert text.rstrip().endswith(before)

    def test_a_part_that_comes_while_the_job_is_held_is_awaited_on_the_page_no_more(self, bench):
        bench.begin()
        after = After(bench.job.logbook, bench.log, Told(), Inbox().post)

        def says(*messages: msg.Heard) -> str:
            for message in messages:
                events = bench.session.handle(message)
                after(events, bench.session.state, bench.clock.now().wall)
            return bench.log.with_name(f"{bench.log.stem}.handover.txt").read_text()

        hose = heard(Command.AWAIT_PART, {"text": "the brake hose in two days"})
        assert "the brake hose is expected in" in says(hose, msg.Heard(Command.YES))
        page = says(msg.Heard(Command.PART_HERE), msg.Heard(Command.YES))
        assert bench.session.state.held
        assert "is expected" not in page

    def test_a_page_that_cannot_be_written_is_told_and_the_job_goes_on(self, bench):
        bench.begin()
        bench.log.with_name(f"{bench.log.stem}.handover.html").mkdir()
        told = Told()
        self.hold(bench, told)
        assert "no handover page" in told.waits_for("!")
        assert bench.session.state.held
        bench.session.handle(msg.Heard(Command.CARRY_ON))
        assert not bench.session.state.held


class TestRecord:
    def test_a_job_that_is_left_has_its_handover_page_too(self, bench):
        bench.begin()
        told = Told()
        after = After(bench.job.logbook, bench.log, told, Inbox().post)
        after(bench.session.handle(msg.Leaving()), bench.session.state, bench.clock.now().wall)
        assert bench.log.with_name(f"{bench.log.stem}.handover.html").exists()

    def test_a_job_that_is_closed_has_its_record_and_an_old_handover_says_that_nothing_is_left(self, bench):
        bench.begin()
        told = Told()
        after = After(bench.job.logbook, bench.log, told, Inbox().post)
        after(bench.session.handle(msg.Heard(Command.HOLD)), bench.session.state, bench.clock.now().wall)
        while not bench.session.state.closed:
            after(bench.obliges(), bench.session.state, bench.clock.now().wall)
        record = bench.log.with_name(f"{bench.log.stem}.record.html")
        assert str(record) in told.waits_for("record of work")
        assert "Record of work: Front brake overhaul" in record.read_text()
        handover = bench.log.with_name(f"{bench.log.stem}.handover.txt")
        assert "Nothing: the job is closed." in handover.read_text()
        kept = last_words(bench.session.state, bench.job.logbook, bench.log, ())
        assert "Closed" in kept
        assert f"Record of work: {record}" in kept
        assert not any("Go on with" in line for line in kept)

    def test_a_record_that_cannot_be_written_is_told(self, bench):
        bench.begin()
        bench.log.with_name(f"{bench.log.stem}.record.html").mkdir()
        told = Told()
        after = After(bench.job.logbook, bench.log, told, Inbox().post)
        while not bench.session.state.closed:
            after(bench.obliges(), bench.session.state, bench.clock.now().wall)
        assert "no record of work" in told.waits_for("!")


def test_the_page_of_the_log_is_the_page_of_the_state(bench):
    """`companion jobs --handover` folds the log anew and comes to the same."""
    bench.begin("sump-reseal")
    for _ in range(20):
        bench.obliges()
    now = bench.clock.now().wall
    live = handover(bench.session.state, bench.job.logbook.records(), now, local)
    assert as_text(handover_of(bench.log.stem, bench.logs, now)) == as_text(live)
