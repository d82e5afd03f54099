"""Deadlines as plain values."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from companion.job.facts.deadlines import REPEAT_EVERY, Deadline, Kind, later, overdue
from companion.job.facts.instant import Instant
from companion.job.facts.sayings import Priority
from companion.job.rules.jumps import unseen_jump

NOON = datetime(2031, 3, 4, 12, tzinfo=UTC)
LENGTHS = st.timedeltas(-timedelta(days=400), timedelta(days=400))


def deadline(due: datetime, priority: Priority = Priority.URGENT) -> Deadline:
    return Deadline("timer:1", Kind.TIMER, "Timer.", due, priority)


@given(LENGTHS)
def test_never_early(after):
    due = NOON + after
    assert bool(overdue([deadline(due)], NOON)) == (due <= NOON)


@given(LENGTHS, LENGTHS)
def test_a_clock_that_is_set_changes_no_length(left, jump):
    moved = deadline(NOON + left).moved(jump)
    assert moved.due - (NOON + jump) == left


def test_only_what_is_urgent_repeats():
    from dataclasses import replace

    said = replace(deadline(NOON), announced=1, last_announced=NOON)
    assert not overdue([said], NOON + REPEAT_EVERY - timedelta(seconds=1))
    assert overdue([said], NOON + REPEAT_EVERY)
    assert not overdue([replace(said, priority=Priority.ROUTINE)], NOON + timedelta(days=1))


def test_the_calendar_has_an_end():
    assert later(NOON, timedelta(days=999_999_999)).year == 9999
    assert later(NOON, timedelta(days=-999_999_999)).year == 1


@given(LENGTHS, st.timedeltas(timedelta(), timedelta(days=400)))
def test_in_one_run_of_the_machine_a_jump_is_told_exactly(jump, passed):
    before = Instant(NOON, timedelta(hours=1))
    after = Instant(NOON + passed + jump, timedelta(hours=1) + passed)
    assert unseen_jump(before, after, same_boot=True) == jump


@given(LENGTHS)
def test_after_a_new_start_only_a_clock_gone_backwards_is_known_to_have_jumped(apart):
    before = Instant(NOON, timedelta(hours=9))
    after = Instant(NOON + apart, timedelta(seconds=20))
    assert unseen_jump(before, after, same_boot=False) == min(apart, timedelta())
