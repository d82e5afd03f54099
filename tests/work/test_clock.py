"""The clocks, and jumps between them."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.job.rules.jumps import TOLERANCE
from companion.work.edges.clock import Clock, JumpWatch, StagedClock, SystemClock

START = datetime(2031, 3, 30, 0, 30, tzinfo=UTC)
SECOND = timedelta(seconds=1)
HOUR = timedelta(hours=1)


class Contract:
    @pytest.fixture
    def clock(self) -> Clock:
        raise NotImplementedError

    def pass_time(self, clock: Clock) -> None:
        raise NotImplementedError

    def test_the_wall_clock_is_utc(self, clock):
        assert clock.now().wall.tzinfo is UTC

    def test_both_clocks_go_on_together(self, clock):
        apart = []
        for _ in range(20):
            before = clock.now()
            self.pass_time(clock)
            after = clock.now()
            assert after.mono > before.mono >= timedelta(0)
            apart.append(abs((after.wall - before.wall) - (after.mono - before.mono)))
        # The two are read one after the other, and a busy machine may do other things between them.
        assert min(apart) < timedelta(milliseconds=50)

    def test_the_run_of_the_machine_keeps_its_name(self, clock):
        assert clock.boot()
        assert clock.boot() == clock.boot()


def up() -> timedelta:
    """How long the machine is up, as Linux tells it."""
    return timedelta(seconds=float(Path("/proc/uptime").read_text().split()[0]))


class TestSystemClock(Contract):
    @pytest.fixture
    def clock(self) -> Clock:
        return SystemClock()

    def pass_time(self, clock: Clock) -> None:
        time.sleep(0.01)

    def test_it_is_the_clock_of_this_machine(self, clock):
        before, wall, after = datetime.now(UTC), clock.now().wall, datetime.now(UTC)
        assert before <= wall <= after

    @pytest.mark.skipif(not Path("/proc/uptime").exists(), reason="only Linux tells how long it is up")
    def test_it_counts_from_the_start_of_the_machine_suspended_time_included(self, clock):
        before, mono, after = up(), clock.now().mono, up()
        assert before <= mono < after + timedelta(seconds=0.01), "the system tells it in hundredths"

    @pytest.mark.skipif(
        not Path("/proc/sys/kernel/random/boot_id").exists(), reason="only Linux names its boots"
    )
    def test_two_starts_of_the_companion_see_the_same_boot(self, clock):
        assert clock.boot() == SystemClock().boot()


class TestStagedClock(Contract):
    @pytest.fixture
    def clock(self) -> Clock:
        return StagedClock(START)

    def pass_time(self, clock: Clock) -> None:
        assert isinstance(clock, StagedClock)
        clock.advance(SECOND)

    def test_it_stands_still_by_itself(self, clock):
        assert clock.now() == clock.now()

    def test_any_zone_is_kept_as_utc(self):
        clock = StagedClock(datetime(2031, 3, 30, 9, 30, tzinfo=timezone(timedelta(hours=9))))
        assert (clock.now().wall, clock.now().wall.tzinfo) == (START, UTC)

    def test_time_does_not_pass_backwards(self, clock):
        with pytest.raises(ValueError, match="forwards"):
            clock.advance(-SECOND)

    def test_a_reboot_starts_the_monotonic_clock_again_and_has_a_new_name(self, clock):
        boot = clock.boot()
        clock.advance(HOUR)
        clock.reboot(away=2 * HOUR)
        assert clock.now().wall == START + 3 * HOUR
        assert clock.now().mono == timedelta(0)
        assert clock.boot() != boot


@pytest.fixture
def watched():
    clock, watch = StagedClock(START, mono=5 * HOUR), JumpWatch()
    assert watch.look(clock.now()) is None
    return clock, watch


@pytest.mark.parametrize("jump", [HOUR, -HOUR, 3 * SECOND, -3 * SECOND, timedelta(days=-400)])
def test_a_jump_is_told_once(watched, jump):
    clock, watch = watched
    clock.advance(SECOND)
    clock.jump_wall(jump)
    assert watch.look(clock.now()) == jump
    clock.advance(SECOND)
    assert watch.look(clock.now()) is None


def test_time_that_passes_is_no_jump_awake_or_asleep(watched):
    clock, watch = watched
    clock.advance(timedelta(days=2))
    assert watch.look(clock.now()) is None
    clock.suspend(timedelta(days=9))
    assert watch.look(clock.now()) is None


def test_a_jump_while_asleep_is_told_apart_from_the_sleep(watched):
    clock, watch = watched
    clock.suspend(8 * HOUR)
    clock.jump_wall(-HOUR)
    assert watch.look(clock.now()) == -HOUR


def test_daylight_saving_is_no_jump_of_a_clock_in_utc(watched):
    clock, watch = watched
    clock.advance(HOUR)  # Over the hour in which central European clocks go forward.
    assert watch.look(clock.now()) is None


def test_a_clock_corrected_little_by_little_is_noticed_in_the_end(watched):
    clock, watch = watched
    told = []
    for _ in range(10):
        clock.advance(SECOND)
        clock.jump_wall(timedelta(milliseconds=900))
        told.append(watch.look(clock.now()))
    assert [jump for jump in told if jump] == [timedelta(milliseconds=2700)] * 3


moves = st.lists(
    st.tuples(
        st.timedeltas(timedelta(0), timedelta(days=30)),
        st.timedeltas(timedelta(days=-30), timedelta(days=30)),
    )
)


@given(moves=moves)
def test_what_is_told_adds_up_to_what_happened(moves):
    clock, watch = StagedClock(START), JumpWatch()
    watch.look(clock.now())
    jumped = told = timedelta(0)
    for passing, jump in moves:
        clock.advance(passing)
        clock.jump_wall(jump)
        jumped += jump
        told += watch.look(clock.now()) or timedelta(0)
        assert abs(jumped - told) <= TOLERANCE
