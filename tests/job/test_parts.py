"""Parts that are awaited: at the car by voice, at the desk by the command line."""

from datetime import timedelta

import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import replay
from companion.job.facts.said import questions as q
from companion.job.facts.sayings import Priority
from companion.job.rules.expected import expected
from companion.job.turns.reminders import wake_times
from companion.speech.language.part_names import name_and_wait

PART = "part:bearing"


@pytest.fixture
def waiting(mechanic):
    """The drain plug is out, and a bearing is expected in three days."""
    mechanic.isolates_the_battery()
    mechanic.says(Command.AWAIT_PART, text="the bearing, back in three days")
    mechanic.says(Command.YES)
    return mechanic


def replayed(mechanic):
    records = [
        ev.Record(seq=n, at=at.wall, mono=at.mono, event=event)
        for n, (event, at) in enumerate(mechanic.events, start=1)
    ]
    lines = [record.line() for record in records]
    return replay(mechanic.procedure, [ev.Record.from_line(line) for line in lines])


@pytest.mark.parametrize(
    ("text", "name", "days"),
    [
        ("three days", "", 3),
        ("in 3 days", "", 3),
        ("the bearing, back in three days", "the bearing", 3),
        ("bearing tomorrow", "bearing", 1),
        ("bearing is expected in a week.", "bearing", 7),
        ("seal in twenty one days", "seal", 21),
        ("the bearing", "the bearing", None),
        ("box in blue days", "box in blue days", None),
        ("", "", None),
    ],
)
def test_a_part_and_a_day_in_one_breath(text, name, days):
    assert name_and_wait(text) == (name, None if days is None else timedelta(days=days))


def test_waiting_for_a_part_holds_the_job_with_that_reason_and_asks_how_long(mechanic):
    mechanic.isolates_the_battery()
    said = mechanic.says(Command.AWAIT_PART)
    assert said[0] == "Job held: waiting for a part."
    assert said[-1] == "Which part? Say its name, or no."
    assert mechanic.happened(ev.JobHeld) == [ev.JobHeld(because="waiting for a part")]
    assert expected(mechanic.state).free_speech
    said = mechanic.says(Command.WORDS, text="The sump gasket.")
    assert said == ["How long until the sump gasket is here? Say a number of days, or no."]
    assert mechanic.state.held_because == "waiting for the sump gasket"
    assert expected(mechanic.state).durations
    assert mechanic.says(Command.DURATION, minutes="2880") == [
        "The sump gasket, expected in 2 days. Right? Yes or no?"
    ]
    mechanic.says(Command.YES)
    assert mechanic.state.deadlines["part:gasket"].due == mechanic.now.wall + timedelta(days=2)


def test_the_day_is_always_read_back_and_only_a_yes_sets_it(mechanic):
    mechanic.isolates_the_battery()
    said = mechanic.says(Command.AWAIT_PART, text="the bearing in three days")
    assert said[-1] == "Wait 3 days for the bearing? It is not in this procedure. Yes or no?"
    assert not mechanic.happened(ev.DeadlineSet)[1:]
    said = mechanic.says(Command.AWAIT_PART, text="the sump gasket in three days")
    assert said[-1] == "The sump gasket, expected in 3 days. Right? Yes or no?"
    assert not mechanic.happened(ev.DeadlineSet)[1:]
    assert mechanic.says(Command.NO)[0].startswith("How long until the sump gasket is here?")
    mechanic.says(Command.DURATION, minutes="7200")
    mechanic.says(Command.YES)
    assert mechanic.state.deadlines["part:gasket"].due == mechanic.now.wall + timedelta(days=5)


def test_without_a_day_nothing_is_set_but_the_reason_stays(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.AWAIT_PART, text="the bearing")
    mechanic.says(Command.YES)
    assert mechanic.says(Command.NO) == ["No reminder, then. Say carry on to go on."]
    assert mechanic.state.held_because == "waiting for the bearing"
    assert not [d for d in mechanic.state.deadlines if d.startswith("part")]


@pytest.mark.parametrize("minutes", ["0", "-5", "nan", "inf", "x", "", "9999999", "1e300"])
def test_no_sensible_length_is_refused_and_asked_for_again(mechanic, minutes):
    mechanic.isolates_the_battery()
    mechanic.says(Command.AWAIT_PART, text="the sump gasket")
    said = mechanic.says(Command.DURATION, minutes=minutes)
    assert said[0].startswith("No: ")
    assert isinstance(mechanic.state.question, q.PartWhen)


def test_it_is_told_when_it_is_expected_and_stays_until_it_has_come(waiting):
    assert waiting.waits(days=2, hours=23) == []
    assert waiting.waits(hours=1) == ["The bearing should be here now."]
    assert waiting.sayings[-1].priority is Priority.ROUTINE
    assert waiting.waits(days=1) == []
    assert PART in waiting.state.deadlines
    assert PART not in wake_times(waiting.state, waiting.now)
    assert waiting.says(Command.GOT_IT) == ["Nothing is waiting for an answer."]
    assert "The bearing should be here now." in " ".join(waiting.says(Command.WHAT_IS_WAITING))
    assert "The bearing is late." in " ".join(waiting.says(Command.HOLD))
    assert waiting.says(Command.PART_HERE) == ["Is the bearing here? Yes or no?"]
    waiting.says(Command.YES)
    assert PART not in waiting.state.deadlines
    assert waiting.happened(ev.DeadlineSettled)[-1] == ev.DeadlineSettled(deadline=PART, how="arrived")


def test_holding_says_what_is_awaited(waiting):
    assert "The bearing is expected in 3 days." in " ".join(waiting.says(Command.HOLD))


def test_which_of_several_has_come_is_asked_one_by_one(waiting):
    waiting.says(Command.AWAIT_PART, text="the bracket in one day")
    waiting.says(Command.YES)
    assert waiting.says(Command.PART_HERE) == ["Is the bearing here? Yes or no?"]
    assert waiting.says(Command.NO) == ["Is the bracket here? Yes or no?"]
    waiting.says(Command.YES)
    assert [d for d in waiting.state.deadlines if d.startswith("part")] == [PART]
    assert waiting.says(Command.PART_HERE) == ["Is the bearing here? Yes or no?"]
    assert waiting.says(Command.NO) == ["Still awaited, then."]


def test_two_parts_without_a_name_are_two_reminders_and_a_name_said_again_moves_the_day(mechanic):
    mechanic.isolates_the_battery()
    for days in ("one day", "two days"):
        mechanic.says(Command.AWAIT_PART, text=days)
        mechanic.says(Command.YES)
    assert [d for d in mechanic.state.deadlines if d.startswith("part")] == ["part:1", "part:2"]
    for days in ("one day", "nine days"):
        mechanic.says(Command.AWAIT_PART, text=f"The Bearing, {days}")
        mechanic.says(Command.YES)
    assert mechanic.state.deadlines[PART].due == mechanic.now.wall + timedelta(days=9)
    assert len([d for d in mechanic.state.deadlines if d.startswith("part")]) == 3


def test_it_is_folded_from_the_log_and_told_late_after_days_away(waiting):
    assert replayed(waiting) == waiting.state
    waiting.passes(days=5)
    said = waiting.opens(boot="boot-2")
    assert "The bearing should be here now. This was due 2 days ago." in said
    assert "This was due" not in " ".join(waiting.waits(minutes=10))
    assert replayed(waiting) == waiting.state


class TestPartOfTheProcedure:
    """The gasket must be on the bench before its joint is opened."""

    def missing(self, mechanic):
        mechanic.opens()
        mechanic.says(Command.NO)
        mechanic.state_is("battery disconnected")
        mechanic.waits(minutes=3)
        mechanic.reads("0.1")
        mechanic.state_is("oil drained")
        mechanic.says(Command.DONE)
        assert isinstance(mechanic.state.question, q.PartOnBench)
        assert Command.AWAIT_PART in expected(mechanic.state).commands

    def test_waiting_for_it_is_an_answer_and_names_it(self, mechanic):
        self.missing(mechanic)
        said = mechanic.says(Command.AWAIT_PART, text="four days")
        assert said[0] == "Job held: waiting for the sump gasket."
        assert said[-1] == "The sump gasket, expected in 4 days. Right? Yes or no?"
        mechanic.says(Command.YES)
        assert "part:gasket" in mechanic.state.deadlines
        said = " ".join(mechanic.says(Command.HOLD))
        assert said.count("sump gasket is") == 1, "awaited once, with its day"

    def test_once_it_is_here_its_joint_may_be_opened(self, mechanic):
        self.missing(mechanic)
        mechanic.says(Command.AWAIT_PART, text="four days")
        mechanic.says(Command.YES)
        mechanic.says(Command.PART_HERE)
        mechanic.says(Command.YES)
        assert mechanic.state.parts == {"gasket": True}
        mechanic.says(Command.CARRY_ON)
        mechanic.reads("0.1")
        assert mechanic.state.current == "sump-off"

    def test_on_the_bench_is_here_too(self, mechanic):
        self.missing(mechanic)
        mechanic.says(Command.AWAIT_PART, text="four days")
        mechanic.says(Command.YES)
        mechanic.says(Command.CARRY_ON)
        mechanic.reads("0.1")
        mechanic.says(Command.YES)
        assert mechanic.state.current == "sump-off"
        assert "part:gasket" not in mechanic.state.deadlines

    def test_one_that_must_be_ordered_anew_is_no_longer_on_the_bench(self, mechanic):
        mechanic.isolates_the_battery()
        assert mechanic.state.parts == {"gasket": True}
        mechanic.says(Command.AWAIT_PART, text="the sump gasket in two days")
        mechanic.says(Command.YES)
        assert mechanic.state.parts == {"gasket": False}


def test_a_job_closed_while_a_part_is_awaited_says_so_first(waiting):

    for _ in range(200):
        if isinstance(waiting.state.question, q.Close):
            break
        waiting.obliges()
    assert waiting.state.asked == "Still awaited: the bearing. Close the job for good? Yes or no?"
    waiting.says(Command.YES)
    assert waiting.state.closed
    assert ev.DeadlineSettled(deadline=PART, how="cancelled") in waiting.happened(ev.DeadlineSettled)


def test_the_reason_of_a_hold_is_kept_until_the_work_goes_on(mechanic):
    mechanic.isolates_the_battery()
    assert mechanic.says(Command.HOLD, text="lunch")[0] == "Job held: lunch."
    assert mechanic.state.held_because == "lunch"
    mechanic.says(Command.HOLD)
    assert mechanic.state.held_because == "lunch"
    mechanic.says(Command.CARRY_ON)
    assert mechanic.state.held_because == ""


class TestAtTheDesk:
    def test_a_part_is_awaited_and_comes_without_a_word_being_said(self, mechanic):
        mechanic.isolates_the_battery()
        assert mechanic.post(msg.PartAwaited("the Bearing", timedelta(days=3))) == []
        assert mechanic.state.deadlines[PART].what == "The Bearing should be here now."
        assert mechanic.post(msg.PartCame("bearing")) == []
        assert PART not in mechanic.state.deadlines
        assert replayed(mechanic) == mechanic.state

    @pytest.mark.parametrize(
        ("message", "reason"),
        [
            (msg.PartCame("bearing"), "the bearing is not awaited; what is awaited: nothing"),
            (msg.PartAwaited("  ", timedelta(days=1)), "name the part, in up to 80 letters"),
            (msg.PartAwaited("x" * 81, timedelta(days=1)), "name the part, in up to 80 letters"),
            (msg.PartAwaited("bearing", timedelta(days=400)), "a part is awaited for up to 366 days"),
            (msg.PartAwaited("bearing", timedelta()), "a part is awaited for up to 366 days"),
        ],
    )
    def test_what_cannot_be_is_refused_with_the_reason(self, mechanic, message, reason):
        mechanic.isolates_the_battery()
        before = mechanic.state.deadlines
        mechanic.post(message)
        assert mechanic.happened(ev.Refused)[-1].reason == reason
        assert mechanic.state.deadlines == before

    def test_it_is_no_sign_that_anybody_was_at_the_car(self, mechanic):
        """Three days away, and something typed at the desk a moment before the work goes on."""
        mechanic.isolates_the_battery()
        mechanic.passes(days=3)
        mechanic.post(msg.PartAwaited("bearing", timedelta(days=1)))
        mechanic.passes(seconds=10)
        said = mechanic.opens()
        assert any("prove again that the battery is dead" in text for text in said)
        assert mechanic.happened(ev.SessionStarted)[-1].away_s == pytest.approx(3 * 86400 + 10)
