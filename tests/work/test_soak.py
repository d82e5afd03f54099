"""A short piece of the long shift: nothing is lost, doubled or missed, and nothing grows with the time."""

from tests.benchmarks import soak


def test_half_an_hour_at_high_speed(capsys):
    assert soak.soak(hours=0.5, an_hour=500, seed=3) == []


def test_the_soak_notices_a_missed_reminder(monkeypatch):
    """The watch itself is watched: a waker that sleeps through timers is found out."""
    monkeypatch.setattr(soak.StagedWaker, "due", lambda self, now: [])
    monkeypatch.setattr(soak.Shift, "passes", asleep)
    assert any("missed" in fault for fault in soak.soak(hours=1, an_hour=300, seed=3))


def asleep(shift: soak.Shift, length: soak.timedelta) -> None:
    shift.clock.advance(length)
    shift._nothing_is_late()
