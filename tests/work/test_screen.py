"""The full screen as it is seen: what must be readable is there, at the sizes that terminals have."""

import io
from collections.abc import Callable
from datetime import timedelta

import pytest
from rich.console import Console

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.deadlines import REPEAT_EVERY
from companion.job.facts.sayings import Priority, Saying
from companion.job.rules.ledger import open_things
from companion.work.views.numerals import large
from companion.work.views.screen import FullScreen

WIDTH = 110


@pytest.fixture
def seen(bench) -> Callable[..., str]:
    """What stands on the screen now, as plain text."""
    screens: dict[int, FullScreen] = {}

    def look(height: int = 34, before: Callable[[FullScreen], None] | None = None) -> str:
        if height not in screens:
            screens[height] = FullScreen(
                Console(file=io.StringIO(), width=WIDTH, height=height, force_terminal=True)
            )
        if before:
            before(screens[height])
        page = screens[height].page(bench.session.state, bench.clock.now().wall)
        console = Console(record=True, file=io.StringIO(), width=WIDTH, height=height)
        console.print(page)
        return console.export_text()

    yield look
    for screen in screens.values():
        screen.close()


def to_a_step(bench, wanted: Callable[..., bool]) -> None:
    for _ in range(400):
        step = bench.session.state.step
        if step and not bench.session.state.question and wanted(step):
            return
        bench.obliges()
    raise AssertionError("no such step")


def dangerous(step) -> bool:
    return any(hazard.signal == "DANGER" for hazard in step.hazards)


@pytest.mark.parametrize("height", [24, 34, 50])
def test_a_dangerous_step_shows_the_danger_the_words_and_what_to_say(bench, seen, height):
    bench.begin("sump-reseal")
    to_a_step(bench, dangerous)
    step = bench.session.state.step
    page = seen(height)
    assert f"DANGER: {step.hazards[0].hazard}" in page
    assert step.say in " ".join(page.replace("│", " ").split())
    assert f'say "{step.state}"' in page
    number = bench.session.state.procedure.number(step.id)
    assert f"STEP {number} of 41" in page
    assert "next: " in page


def test_when_nothing_can_be_done_it_tells_what_is_waited_for_and_how_long(bench, seen):
    bench.begin("sump-reseal")
    while bench.session.state.step is None or not bench.session.state.step.isolates:
        bench.obliges()
    bench.obliges()
    assert bench.session.state.step is None
    bench.session.handle(msg.Heard(Command.START_TIMER, {"minutes": "1"}))
    assert "WAITING 3 min: isolation wait for the battery" in seen()


def test_when_every_step_is_settled_it_asks_for_the_closing_words(bench, seen):
    bench.begin("front-brakes")
    for _ in range(400):
        if len(bench.session.state.settled) == len(bench.session.state.procedure.steps):
            break
        bench.obliges()
    assert "say close the job" in seen() or "Close the job?" in seen()


def test_why_nothing_is_heard_is_shown(bench, seen):
    bench.begin("front-brakes")
    lost = msg.MicrophoneLost("the Vosk model does not know: torque")
    assert "does not know: torque" in seen(34, lambda screen: screen.heard(lost))


def test_a_warning_goes_when_the_mechanic_has_gone_on(bench, seen):
    bench.begin("front-brakes")
    assert "no sound" in seen(34, lambda screen: screen.warn("no sound"))
    assert "no sound" not in seen(34, lambda screen: screen.heard(msg.Heard(Command.REPEAT, {}, "repeat")))


def test_the_number_of_the_step_is_large_where_there_is_room(bench, seen):
    bench.begin("sump-reseal")
    to_a_step(bench, dangerous)
    rows = large(bench.session.state.procedure.number(bench.session.state.step.id)).splitlines()
    assert all(row.strip() in seen(34) for row in rows)
    assert rows[0] not in seen(24)


def test_a_question_is_shown_until_it_is_answered(bench, seen):
    bench.begin("sump-reseal")
    assert bench.session.state.asked in seen()
    to_a_step(bench, dangerous)
    bench.session.handle(msg.Unsure(Command.GO_BACK, {}, "go back", 0.4))
    assert "Did you say go back?" in seen()


@pytest.mark.parametrize("height", [24, 34])
def test_held_is_shown_with_the_way_on_and_asks_for_nothing_else(bench, seen, height):
    bench.begin("sump-reseal")
    to_a_step(bench, dangerous)
    state = bench.session.state.step.state
    bench.session.handle(msg.Heard(Command.HOLD))
    page = seen(height)
    assert "HELD: say carry on" in page
    assert f'say "{state}"' not in page


def test_a_question_is_shown_while_the_job_is_held_too(bench, seen):
    bench.begin("sump-reseal")
    to_a_step(bench, dangerous)
    bench.session.handle(msg.Heard(Command.AWAIT_PART, {"text": "the strainer in two days"}))
    assert "The strainer, expected in 2 days. Right? Yes or no?" in seen()
    bench.session.handle(msg.Heard(Command.YES))
    assert "HELD: say carry on" in seen()


@pytest.mark.parametrize("height", [24, 34])
def test_an_urgent_wait_that_is_over_stands_across_the_screen_until_it_is_acknowledged(bench, seen, height):
    bench.begin("sump-reseal")
    bench.session.handle(msg.Heard(Command.START_TIMER, {"minutes": "5"}))
    assert "5 min timer of 5 min" in seen(height)
    assert "Say got it" not in seen(height)
    bench.clock.advance(timedelta(minutes=6))
    bench.session.handle(msg.Woken())
    assert "Timer of 5 min is over. Say got it" in seen(height).splitlines()[1]
    bench.session.handle(msg.Heard(Command.GOT_IT))
    assert "Say got it" not in seen(height)


def test_the_check_in_and_the_alarm_stand_across_the_screen(bench, seen):
    bench.begin("sump-reseal")
    bench.session.handle(msg.Opened(bench.clock.boot(), None, timedelta(minutes=15)))
    bench.clock.advance(timedelta(minutes=15))
    bench.session.handle(msg.Woken())
    assert "ARE YOU ALL RIGHT?" in seen().splitlines()[1]
    for _ in range(2):
        bench.clock.advance(REPEAT_EVERY)
        bench.session.handle(msg.Woken())
    assert "ALARM: NO ANSWER" in seen().splitlines()[1]
    bench.session.handle(msg.Heard(Command.GOT_IT))
    assert "ALARM" not in seen()


@pytest.mark.parametrize("height", [24, 34, 50])
def test_open_things_are_listed_and_what_does_not_fit_is_counted(bench, seen, height):
    bench.begin("coolant-pump")
    most: list[str] = []
    for _ in range(400):
        bench.obliges()
        things = [thing.text for thing in open_things(bench.session.state)]
        if len(things) > len(most):
            most, page = things, seen(height)
        if bench.session.state.closed:
            break
    assert len(most) > 5
    assert f"open: {len(most)}" in page
    listed = [text for text in most if text in page]
    assert listed[0] == most[0]
    hidden = len(most) - len(listed)
    assert (f"and {hidden} more" in page) == (hidden > 0)


def test_a_closed_job(bench, seen):
    bench.begin("front-brakes")
    bench.works_to_the_end()
    assert "JOB CLOSED" in seen()


def test_what_was_said_and_heard_and_what_went_wrong(bench, seen):
    bench.begin("front-brakes")

    def happen(screen: FullScreen) -> None:
        screen.heard(msg.Heard(Command.REPEAT, {}, "say again"))
        screen.heard(msg.NotUnderstood("mumble"))
        screen.said(Saying("Keep clear.", Priority.DANGER))
        screen.tell("handover page: logs/a.html")
        screen.warn("the sound output stopped taking sound")

    page = seen(34, happen)
    for words in (
        "you: say again",
        "mumble (not understood)",
        "Keep clear.",
        "logs/a.html",
        "stopped taking",
    ):
        assert words in page


@pytest.mark.parametrize("height", [24, 34, 50])
def test_no_state_of_a_whole_job_breaks_the_page(bench, seen, height):
    """Every line has the width of the terminal and the page its height, from the first step to the last."""
    bench.begin("front-brakes")
    for turn in range(300):
        if bench.session.state.closed:
            break
        bench.obliges()
        if turn % 10 == 0:
            lines = seen(height).splitlines()
            assert len(lines) == height
            assert max(map(len, lines)) <= WIDTH
