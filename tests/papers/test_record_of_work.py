"""The record of work: everything that belongs into the customer's file, from jobs that are really worked."""

from datetime import timedelta

import pytest

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.deadlines import REPEAT_EVERY
from companion.job.facts.said import questions as q
from companion.job.rules.wants import tightenings
from companion.papers.record_of_work import (
    DUE,
    HELD,
    ISOLATED,
    LEFT_OUT,
    MEASURED,
    NOTED,
    RENEWED,
    STEPS,
    STILL_OPEN,
    TIGHTENED,
    WAITED,
    active_time,
    as_data,
    as_html,
    as_text,
)
from tests.papers.jobs import Job


@pytest.fixture
def job() -> Job:
    return Job("sump-reseal")


def reads(job: Job, value: str, unit: str) -> None:
    job.says(Command.READING, value=value, unit=unit)
    job.says(Command.YES)


@pytest.mark.parametrize("procedure", ["sump-reseal", "coolant-pump", "front-brakes"])
def test_a_whole_job_leaves_nothing_out(procedure):
    """Every reading, torque, seal, new fastener and isolation of the procedure has its row, and each who and
    when."""
    job = Job(procedure).until(None)
    record, steps = job.record(), job.state.procedure.steps
    measured = record.rows(MEASURED)
    wanted = [s for s in steps if s.measure or (s.proves and job.state.procedure.energy[s.proves].prove)]
    assert len(measured) == len([s for s in wanted if job.state.is_done(s.id)])
    assert all(within == "yes" and limits for _, _, limits, within, _, _ in measured)
    tight = record.rows(TIGHTENED)
    for step in steps:
        for tightening in tightenings(step):
            number = f"Step {job.state.procedure.number(step.id)}"
            (row,) = [r for r in tight if r[0] == number and tightening.fastener.what.split()[0] in r[1]]
            assert str(tightening.value) in row[2]
    renewed = "\n".join(what for what, *_ in record.rows(RENEWED)).lower()
    for seal in job.state.procedure.seals.values():
        assert seal.name.lower() in renewed
    new = {f.what for s in steps for f in s.fasteners if f.renew and job.state.is_done(s.id) and f.tightening}
    assert all(what.split()[0] in renewed for what in new)
    isolated = "\n".join(what for what, *_ in record.rows(ISOLATED))
    assert isolated.count("said") >= 2 * len([s for s in steps if s.isolates]) - 1
    assert len(record.rows(STEPS)) == len(steps)
    for part in record.parts:
        if "By" in part.heads:
            assert all(row[-1] == "Ida" for row in part.rows if row[-2]), part
    assert not record.rows(STILL_OPEN)
    assert record.rows(DUE)
    about = "\n".join(record.about)
    assert "Vehicle Tern, grey" in about
    assert "Done by Ida" in about
    assert f"closed {job.now.wall:%d.%m. %H:%M}" in about
    assert job.state.procedure.source_of_torques in about


def test_a_proof_that_failed_stands_there_with_its_value_limits_and_time(job):
    job.until(job.state.procedure.steps[1].id)
    reads(job, "11.9", "V")
    failed = f"{job.now.wall:%d.%m. %H:%M}"
    job.passes(minutes=3)
    reads(job, "0.1", "V")
    record = job.record()
    rows = [row[1:4] for row in record.rows(MEASURED)]
    assert rows == [("11.9 V", "at most 0.5 V", "no"), ("0.1 V", "at most 0.5 V", "yes")]
    battery = [row for row in record.rows(ISOLATED) if "battery" in row[0]]
    assert [row[0] for row in battery[1:]] == [
        "The battery is still live: 11.9 V, at most 0.5 V.",
        "The battery is dead: 0.1 V, at most 0.5 V.",
    ]
    assert 'said "battery disconnected"' in battery[0][0]
    assert battery[1][1] == failed


def test_a_proof_that_was_lost_is_told_with_why_and_with_the_new_one(job):
    job.until("unplug-level-sensor")
    job.says(Command.HOLD, text="lunch")
    job.passes(minutes=30)
    job.says(Command.CARRY_ON)
    while job.state.to_prove:
        job.turn()
    record = job.record()
    what = "\n".join(row[0] for row in record.rows(ISOLATED))
    assert "The battery is not proved dead any more: the job was held." in what
    assert what.count("The battery is dead: ") == 2
    (held,) = record.rows(HELD)
    assert held[0] == "Held: lunch."
    assert held[1] != held[2]


class TestTakenBack:
    def test_a_reading(self, job):
        proof = job.state.procedure.steps[1].id
        job.until(proof)
        reads(job, "0.2", "V")
        job.says(Command.UNDO)
        job.until(proof)
        reads(job, "0.3", "V")
        rows = [row[1:4:2] for row in job.record().rows(MEASURED) if "battery" in row[0]]
        assert rows == [("0.2 V", "taken back"), ("0.3 V", "yes")]

    def test_a_torque_and_a_seal(self):
        job = Job("sump-reseal")
        fit = next(s for s in job.state.procedure.steps if s.renews and tightenings(s))
        following = job.state.procedure.steps[job.state.procedure.number(fit.id)]
        job.until(following.id)
        seal = job.state.procedure.seals[fit.renews[0]].name.capitalize()
        number = f"Step {job.state.procedure.number(fit.id)}"
        assert number in [row[0] for row in job.record().rows(TIGHTENED)]
        assert seal in [row[0] for row in job.record().rows(RENEWED)]
        job.says(Command.UNDO)
        assert number not in [row[0] for row in job.record().rows(TIGHTENED)]
        assert seal not in [row[0] for row in job.record().rows(RENEWED)]

    def test_new_fasteners(self):
        job = Job("front-brakes")
        fit = next(s for s in job.state.procedure.steps if any(f.renew and f.tightening for f in s.fasteners))
        job.until(job.state.procedure.steps[job.state.procedure.number(fit.id)].id)
        number = job.state.procedure.number(fit.id)
        assert any(
            f"(step {number})" in row[0] and row[1] == "new ones fitted" for row in job.record().rows(RENEWED)
        )
        job.says(Command.UNDO)
        assert not any(f"(step {number})" in row[0] for row in job.record().rows(RENEWED))

    def test_a_note(self, job):
        job.says(Command.NOTE, text="wrong bracket")
        job.says(Command.SCRATCH_THAT)
        assert not job.record().rows(NOTED)


def test_notes_by_whom_and_when(job):
    job.until("remove-undertray")
    job.says(Command.NOTE, text="plug thread <worn>")
    job.passes(minutes=5)
    job.post(msg.Opened("boot", None, mechanic="Ben"))
    job.says(Command.NOTE, text="second note")
    first, second = job.record().rows(NOTED)
    assert first[0] == "plug thread <worn>"
    assert first[1] == "step 7"
    assert (first[3], second[3]) == ("Ida", "Ben")
    assert first[2] != second[2]
    assert "Done by Ida, Ben" in job.record().about


def test_who_goes_on_settles_the_steps_from_then_on(job):
    job.until("remove-undertray")
    job.post(msg.Opened("boot", None, mechanic="Ben"))
    job.until("let-drain")
    by = {row[0]: row[4] for row in job.record().rows(STEPS)}
    assert (by["1"], by["7"]) == ("Ida", "Ben")
    assert job.state.mechanic == "Ben"


def test_steps_left_out_with_their_reason(job):
    job.until("remove-undertray")
    number = job.state.procedure.number(job.state.current)
    job.says(Command.SKIP, reason="it has none")
    while job.state.question:
        job.says(Command.YES)
    rows = job.record().rows(LEFT_OUT)
    assert any(
        row[0].startswith(f"Step {number}: ") and row[1] == "it has none" and row[3] == "Ida" for row in rows
    )


def test_a_thing_left_out_for_good_with_who_and_why(job):
    job.until("fit-strainer")
    job.post(msg.Opened("boot", None, mechanic="Ben"))
    job.until("fit-strainer")
    job.says(Command.LEAVE_OUT, item="strainer")
    job.says(Command.YES)
    job.says(Command.WORDS, text="the ring does not fit")
    what, why, _, by = job.record().rows(LEFT_OUT)[0]
    assert (what, why, by) == ("The oil strainer: left out for good.", "the ring does not fit", "Ben")


def test_optional_steps_that_were_declined_are_not_needed():
    job = Job("front-brakes")
    while not isinstance(job.state.question, q.StepWanted):
        job.turn()
    optional = job.state.question.step
    job.says(Command.NO)
    number = job.state.procedure.number(optional)
    assert any(
        row[0].startswith(f"Step {number}: ") and row[1] == "not needed"
        for row in job.record().rows(LEFT_OUT)
    )


def test_timers_and_how_each_ended(job):
    job.until("unplug-level-sensor")
    for minutes in ("10", "20", "60"):
        job.says(Command.START_TIMER, minutes=minutes)
        if minutes == "20":
            job.says(Command.CANCEL_TIMER)
    job.passes(minutes=11)
    job.says(Command.GOT_IT)
    ended = {row[0]: row[3] for row in job.record().rows(WAITED)}
    assert ended["Timer of 10 min."] == "over"
    assert ended["Timer of 20 min."] == "cancelled"
    assert ended["Timer of 1 h."] == "still running"
    assert ended["Isolation wait for the battery."] == "over"


def test_a_stop_and_an_alarm(job):
    job.post(msg.Opened("boot", None, timedelta(minutes=15)))
    job.passes(minutes=15)
    for _ in range(2):
        job.passes(seconds=REPEAT_EVERY.total_seconds())
    job.says(Command.STOP_WORK)
    told = [row[0] for row in job.record().rows(HELD)]
    assert told == ["No answer to the check-in: alarm.", "Work stopped."]
    assert job.record().rows(HELD)[1][2] == "still held"


def test_the_time_at_work_is_without_holds(job):
    job.until("remove-undertray")
    before = active_time(job.records)
    job.passes(minutes=4)
    job.says(Command.HOLD)
    job.passes(hours=3)
    job.says(Command.CARRY_ON)
    assert active_time(job.records) - before == timedelta(minutes=4)


def test_a_job_at_work_tells_what_is_still_open(job):
    job.until("let-drain")
    open_now = " ".join(row[0] for row in job.record().rows(STILL_OPEN))
    assert "The battery is disconnected and dead." in open_now
    assert "ngine oil is drained" in open_now
    assert any("not closed" in line for line in job.record().about)


def test_the_page_is_whole_and_escaped_and_the_text_tells_the_same(job):
    job.until("let-drain")
    job.says(Command.NOTE, text="<script>alert(1)</script> & \u202eback")
    record = job.record()
    html, text = as_html(record), "\n".join(as_text(record))
    assert "<script" not in html
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp;" in html
    assert html.count("<table") == html.count("</table>") == len(record.parts)
    assert "Record of work: Sump reseal" in html
    for part in record.parts:
        assert part.heading in text
    assert as_data(record)["measured"][0]["limits"] == "at most 0.5 V"
