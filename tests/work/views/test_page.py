"""The full screen as rows: what must be readable is there, at the sizes that terminals have."""

import re
from datetime import timedelta
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.job.facts.commands import Command
from companion.job.facts.said import questions as q
from companion.job.facts.state import State
from companion.job.rules.choice import other_steps
from companion.job.rules.ledger import open_things
from companion.job.rules.wants import Kind, first_want, measure_of, tightenings
from companion.work.views.figures import clock
from companion.work.views.numerals import large
from companion.work.views.rows import Row
from tests.helpers.said import heard
from tests.work.views.looking import PROCEDURES, SIZES, a_whole_job, dangerous, drawn, run_together, to_a_step


@pytest.mark.parametrize("procedure", PROCEDURES)
def test_every_step_stands_whole_with_its_hazards_and_what_is_wanted_at_every_size(bench, procedure):
    """Or is cut with a mark and the way to hear the rest; here nothing needs to be."""
    steps = set()
    for state in a_whole_job(bench, procedure):
        step = state.shown_step
        if step is None or state.question or state.closed:
            continue
        steps.add(step.id)
        want = first_want(state, step)
        for width, height in SIZES:
            text = run_together(drawn(state, bench.clock.now().wall, width, height))
            where = f"step {state.procedure.number(step.id)} at {width}x{height}:\n{text}"
            assert "Hathersen Plover" in text, where
            assert state.procedure.title in text, where
            assert f"{state.procedure.number(step.id)} of {len(state.procedure.steps)}" in text, where
            whole = [
                step.say,
                *(part for hazard in step.hazards for part in (hazard.hazard[1:], hazard.avoid[1:])),
            ]
            for words in whole:
                assert words in text, where
            for words in want.states or (["say done"] if want.kind is Kind.DONE else []):
                assert words in text.replace("Say done", "say done"), where
    assert len(steps) > 35


@pytest.mark.parametrize("procedure", PROCEDURES)
def test_the_smallest_terminals_show_the_words_of_the_step_and_what_is_wanted(bench, procedure):
    """Down to 40x12 whole; in less, as much as fits, with the way to hear the rest."""
    for state in a_whole_job(bench, procedure):
        step = state.shown_step
        if step is None or state.question or state.closed:
            continue
        now = bench.clock.now().wall
        text = run_together(drawn(state, now, 40, 12))
        assert step.say in text
        assert first_want(state, step).prompt[1:].rstrip(".") in text
        for width, height in ((30, 8), (20, 6), (20, 3)):
            rows = drawn(state, now, width, height)
            text = run_together(rows)
            assert step.say[:7] in text
            assert step.say in text or "… say repeat" in text


@pytest.mark.parametrize("procedure", PROCEDURES)
def test_the_numbers_wanted_now_are_large(bench, procedure):
    """Size, torque, stage, count so far, limits: in block numerals at every usual size."""
    kinds = set()
    for state in a_whole_job(bench, procedure):
        step = state.shown_step
        if step is None or state.closed:
            continue
        want = first_want(state, step)
        numbers = []
        if isinstance(state.question, q.ReadingRight):
            numbers = [f"{state.question.value:g}"]
        elif state.question:
            continue
        elif want.kind is Kind.STAGE:
            now = tightenings(step)[state.stage]
            numbers = [
                f"{now.value.newton_metres:g}",
                *([f"{now.stage}/{now.stages}"] if now.stages > 1 else []),
            ]
        elif want.kind is Kind.COUNT:
            numbers = [f"{state.counted}/{step.count}"]
        elif want.kind is Kind.READING:
            measure = measure_of(state.procedure, step)
            numbers = [f"{b:g}" for b in (measure.at_least, measure.at_most) if b is not None]
        elif len(step.fasteners) == 1 and step.fasteners[0].hex:
            numbers = [f"{step.fasteners[0].hex:g}"]
        if numbers:
            kinds.add(type(state.question) if state.question else want.kind)
        for width, height in SIZES:
            rows = drawn(state, bench.clock.now().wall, width, height)
            for number in numbers:
                for line in large(number):
                    assert any(line.strip() in row for row in rows), f"no large {number} at {width}x{height}"
    assert kinds >= {Kind.STAGE, Kind.READING, Kind.DONE, q.ReadingRight}


def test_the_time_left_of_a_wait_is_large_and_never_too_short(bench, seen):
    bench.begin("sump-reseal")
    to_a_step(bench, lambda step: step.wait == timedelta(minutes=10))
    bench.session.handle(heard(Command.START_TIMER, {"minutes": "1"}))
    for passed, shown_left in ((0, "10:00"), (28.6, "9:32"), (570, "0:02")):
        bench.clock.advance(timedelta(seconds=passed))
        for width, height in SIZES:
            shown = seen(width, height)
            assert all(line.strip() in shown for line in large(shown_left)), f"no {shown_left} on\n{shown}"
            assert "minutes to wait" in shown


def test_what_can_be_done_meanwhile_is_offered_with_its_words(bench, seen):
    bench.begin("sump-reseal")
    for _ in range(200):
        if other := other_steps(bench.session.state, bench.clock.now().wall):
            break
        bench.obliges()
    number = bench.session.state.procedure.number(other[0].id)
    for width, height in SIZES:
        text = run_together(seen(width, height).splitlines())
        assert f"Or step {number}: {other[0].say} Say step {number}." in text


def test_while_a_step_shows_no_number_the_wait_that_is_over_first_is_large(bench, seen):
    bench.begin("sump-reseal")
    bench.session.handle(heard(Command.START_TIMER, {"minutes": "5"}))
    to_a_step(bench, lambda step: step.id == "let-oil-cool")
    now = bench.clock.now().wall
    soonest = min(bench.session.state.deadlines.values(), key=lambda d: d.due)
    for width, height in SIZES:
        shown = seen(width, height)
        assert all(line.strip() in shown for line in large(clock(soonest.due - now)))
        assert f"minutes left, {soonest.name}" in shown


def test_a_cure_of_a_day_is_told_in_hours(bench, seen):
    bench.begin("sump-reseal")
    for _ in range(400):
        if bench.session.state.step is None and any(
            d.kind == "cure" and d.due - bench.clock.now().wall > timedelta(hours=20)
            for d in bench.session.state.deadlines.values()
        ):
            break
        bench.obliges()
    assert "hours to wait" in seen(80, 24)


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_nothing_is_cut_without_a_mark_and_a_way_to_hear_it(bench, width, height):
    """Things that are open and wait: whole, or counted with what to say for the rest."""
    for state in a_whole_job(bench, "coolant-pump"):
        rows = drawn(state, bench.clock.now().wall, width, height)
        text = run_together(rows)
        things = open_things(state)
        if not things:
            continue
        heading = re.search(rf"open {len(things)}(… say what is open)?", text)
        assert heading, text
        if not heading[1]:
            assert all(thing.text in text for thing in things)
        if state.deadlines:
            heading = re.search(rf"waiting {len(state.deadlines)}(… say what is waiting)?", text)
            assert heading, text


def test_a_long_text_is_cut_with_the_way_to_hear_it(bench, seen):
    bench.begin("sump-reseal")
    to_a_step(bench, dangerous)
    step = bench.session.state.step
    hazard = step.hazards[0].model_copy(update={"avoid": "Mind the gap. " * 40})
    long = step.model_copy(update={"say": "Turn it slowly and look. " * 24, "hazards": (hazard,)})
    procedure = bench.session.state.procedure
    steps = tuple(long if s.id == step.id else s for s in procedure.steps)
    data = procedure.model_copy(update={"steps": steps})
    data.model_post_init(None)
    from dataclasses import replace

    state = replace(bench.session.state, procedure=data)
    for width, height in (*SIZES, (40, 12), (20, 6)):
        text = run_together(drawn(state, bench.clock.now().wall, width, height))
        whole = long.say.strip() in text and hazard.avoid.strip() in text
        assert whole or "… say repeat" in text
        assert whole or width < 80
        assert f'"{step.state}"'[:8] in text, "what is wanted is there all the same"


@given(
    width=st.integers(1, 220), height=st.integers(1, 70), text=st.text(max_size=80), which=st.integers(0, 400)
)
@settings(max_examples=150)
def test_any_size_and_any_words_make_a_page(width, height, text, which):
    """No row is wider than the terminal, there are as many as it has, and no word is obeyed by it."""
    state, now = _states()[which % len(_states())]
    talk = (Row(text), Row("한국어 토크 " + text, "bold"))
    for letters in ("utf-8", "ascii", "latin-1"):
        for typed, warning in ((text, ""), ("", text)):
            rows = drawn(state, now, width, height, letters, talk=talk, typed=typed, warning=warning)
            assert all(row.replace("\u200c", "").replace("\u200d", "").isprintable() for row in rows)
            for row in rows:
                row.encode(letters)


@cache
def _states() -> list[tuple[State, object]]:
    import tempfile
    from datetime import UTC, datetime

    from companion.work.edges.clock import StagedClock
    from tests.work.conftest import Bench

    found = []
    for procedure in PROCEDURES:
        with tempfile.TemporaryDirectory() as folder:
            bench = Bench(Path(folder) / "logs", StagedClock(datetime(2031, 3, 4, 8, tzinfo=UTC)))
            found += [(state, bench.clock.now().wall) for state in a_whole_job(bench, procedure)]
            bench.leave()
    return found


def test_of_a_long_talk_the_end_is_shown_and_the_cut_is_marked(bench, seen):
    bench.begin("front-brakes")
    shown = seen(
        60,
        20,
        talk=tuple(
            Row(f"> Sentence {n} is a good deal longer than a row{' is wide' * 9} here.") for n in range(6)
        ),
    )
    assert shown.splitlines()[-2].endswith("here.")
    assert any(row.startswith("… ") for row in shown.splitlines())
