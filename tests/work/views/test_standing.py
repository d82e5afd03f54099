"""What stands on the screen until it is dealt with: proofs that failed, alarms, questions, holds."""

import re
from datetime import timedelta

import pytest

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.deadlines import REPEAT_EVERY
from companion.job.rules.wants import limits, measure_of
from companion.work.views.rows import Row
from tests.helpers.said import heard
from tests.work.views.looking import SIZES, dangerous, run_together, to_a_step


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_a_failed_proof_stays_until_the_source_is_proved_dead(bench, seen, width, height):
    bench.begin("sump-reseal")
    to_a_step(bench, lambda step: step.proves == "battery")

    def reads(value: str) -> None:
        bench.session.handle(heard(Command.READING, {"value": value, "unit": "V"}))
        bench.session.handle(msg.Heard(Command.YES))

    def failed() -> bool:
        text = run_together(seen(width, height).splitlines())
        whole = "PROOF FAILED: the battery is still live, 11.9 V, not at most 0.5 V. Disconnect it again"
        return whole in text

    assert not failed()
    reads("11.9")
    assert failed()
    for command in (Command.REPEAT, Command.WHAT_IS_OPEN, Command.HOLD):
        bench.session.handle(msg.Heard(command))
        assert failed()
    bench.session.handle(msg.Heard(Command.CARRY_ON))
    bench.leave()
    bench.clock.advance(timedelta(days=2))
    bench.resume()
    assert failed(), "after a restart too"
    bench.obliges()
    reads("0.1")
    assert bench.session.state.is_done(bench.session.state.procedure.steps[1].id)
    assert not failed()


def test_a_proof_lost_in_a_break_and_failing_again_stays_too(bench, seen):
    bench.begin("sump-reseal")
    to_a_step(bench, lambda step: "battery" in step.needs_isolated)
    bench.session.handle(msg.Heard(Command.HOLD))
    bench.session.handle(msg.Heard(Command.CARRY_ON))
    told = next(line for line in run_together(seen().splitlines()).split("PROVE AGAIN: ")[1:])
    assert "the battery is not proved dead" in told
    while getattr(bench.session.state.question, "energy", "") != "battery":
        bench.obliges()
    bench.session.handle(heard(Command.READING, {"value": "12.1", "unit": "V"}))
    bench.session.handle(msg.Heard(Command.YES))
    assert "PROOF FAILED: the battery is still live, 12.1 V" in seen()
    for _ in range(20):
        if not bench.session.state.to_prove:
            break
        bench.obliges()
    assert "PROVE" not in seen()
    assert "PROOF FAILED" not in seen()


def test_a_reading_outside_of_its_limits_stays_until_there_is_a_better_one(bench, seen):
    bench.begin("front-brakes")
    to_a_step(bench, lambda step: step.measure and not step.proves)
    state = bench.session.state
    measure = measure_of(state.procedure, state.step)
    bad = (measure.at_least or 0) - 1 if measure.at_least is not None else measure.at_most + 1
    bench.session.handle(heard(Command.READING, {"value": f"{bad:g}", "unit": measure.unit}))
    bench.session.handle(msg.Heard(Command.YES))
    told = f"OUT OF LIMITS: {bad:g} {measure.unit}, not {limits(measure)}."
    assert told in seen()
    bench.session.handle(msg.Heard(Command.REPEAT))
    assert told in seen()
    bench.obliges()
    bench.obliges()
    assert told not in seen()


def test_what_is_said_and_heard_and_what_went_wrong_stand_there(bench, seen):
    bench.begin("front-brakes")
    page = seen(talk=(Row("you: say again"), Row("> Keep clear.", "bold reverse")), warning="no sound")
    for words in ("you: say again", "> Keep clear.", "no sound"):
        assert words in page
    assert seen(typed="undo").splitlines()[-1] == "type: undo_"


def test_a_question_is_shown_until_it_is_answered(bench, seen):
    bench.begin("sump-reseal")
    assert bench.session.state.asked in seen()
    to_a_step(bench, dangerous)
    bench.session.handle(msg.Unsure(Command.GO_BACK, None, "go back", 0.4))
    assert "Did you say go back?" in seen()


@pytest.mark.parametrize(("width", "height"), [*SIZES, (40, 12)])
def test_held_is_shown_with_the_way_on_and_asks_for_nothing_else(bench, seen, width, height):
    bench.begin("sump-reseal")
    to_a_step(bench, dangerous)
    state = bench.session.state.step.state
    bench.session.handle(msg.Heard(Command.HOLD))
    page = seen(width, height)
    assert "HELD: say carry on" in page
    assert f'say "{state}"' not in page


def test_a_question_is_shown_while_the_job_is_held_too(bench, seen):
    bench.begin("sump-reseal")
    to_a_step(bench, dangerous)
    bench.session.handle(heard(Command.AWAIT_PART, {"text": "the strainer"}))
    asked = bench.session.state.asked
    assert bench.session.state.question
    assert asked in seen()
    assert "HELD" in seen().splitlines()[0] or not bench.session.state.held


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_an_urgent_wait_that_is_over_stands_across_the_screen_until_it_is_acknowledged(
    bench, seen, width, height
):
    bench.begin("sump-reseal")
    bench.session.handle(heard(Command.START_TIMER, {"minutes": "5"}))
    assert "5 min  timer of 5 min" in seen(width, height)
    assert "Say got it" not in seen(width, height)
    bench.clock.advance(timedelta(minutes=6))
    bench.session.handle(msg.Woken())
    assert "Timer of 5 min is over. Say got it" in seen(width, height)
    bench.session.handle(msg.Heard(Command.GOT_IT))
    assert "Say got it" not in seen(width, height)


@pytest.mark.parametrize(("width", "height"), [*SIZES, (40, 12), (36, 2)])
def test_the_check_in_and_the_alarm_stand_on_every_screen(bench, seen, width, height):
    bench.begin("sump-reseal")
    bench.session.handle(msg.Opened(bench.clock.boot(), None, timedelta(minutes=15)))
    bench.clock.advance(timedelta(minutes=15))
    bench.session.handle(msg.Woken())
    assert "ARE YOU ALL RIGHT?" in seen(width, height)
    for _ in range(2):
        bench.clock.advance(REPEAT_EVERY)
        bench.session.handle(msg.Woken())
    assert "ALARM: NO ANSWER" in seen(width, height)
    bench.session.handle(msg.Heard(Command.GOT_IT))
    assert "ALARM" not in seen(width, height)


def test_when_every_step_is_settled_it_asks_for_the_closing_words(bench, seen):
    bench.begin("front-brakes")
    for _ in range(400):
        if len(bench.session.state.settled) == len(bench.session.state.procedure.steps):
            break
        bench.obliges()
    assert "say close the job" in seen() or "Close the job?" in seen()


def test_an_earlier_step_is_shown_as_one(bench, seen):
    bench.begin("front-brakes")
    to_a_step(bench, lambda step: step.opens)
    bench.obliges()
    bench.session.handle(msg.Heard(Command.GO_BACK))
    assert "LOOKING BACK" in seen()
    assert "say carry on to return" in seen()


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_what_is_left_out_for_good_never_goes_from_the_screen(bench, seen, width, height):
    bench.begin("sump-reseal")
    to_a_step(bench, lambda step: step.id == "fit-strainer")
    for said in (
        msg.Heard(Command.LEAVE_OUT),
        msg.Heard(Command.YES),
        heard(Command.WORDS, {"text": "cracked"}),
    ):
        bench.session.handle(said)
    text = run_together(seen(width, height).splitlines())
    assert "left out 1" in text
    assert "the oil strainer is left out" in text or "… say what is open" in text
    bench.works_to_the_end()
    assert "the oil strainer is left out" in seen(width, height)


def test_a_closed_job(bench, seen):
    bench.begin("front-brakes")
    bench.works_to_the_end()
    assert "JOB CLOSED" in seen()


def test_no_colour_is_needed(bench, monkeypatch):
    """With NO_COLOR no colour is written at all; the words are the same."""
    from companion.work.views.screen import FullScreen
    from tests.helpers.terminal import Emulator

    monkeypatch.setenv("NO_COLOR", "1")
    terminal = Emulator()
    bench.begin("sump-reseal")
    to_a_step(bench, dangerous)
    screen = FullScreen(terminal.slave)
    screen.show(bench.session.state, bench.clock.now().wall)
    assert "DANGER: " in terminal.until("DANGER")
    screen.close()
    assert not re.search(r"\x1b\[[0-9;]*3[0-7]", terminal.raw)
    terminal.close()
