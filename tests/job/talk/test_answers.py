"""What is taken for an answer and what never is: any question can be left, a command stays a command."""

import pytest

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.folding import replay
from companion.job.facts.said import questions as q
from companion.job.facts.state import How
from companion.job.rules.expected import expected

ASKS = {
    "a note": (Command.NOTE, q.NoteWords),
    "a reason": (Command.SKIP, q.SkipReason),
    "a timer": (Command.START_TIMER, q.TimerLength),
    "a part": (Command.AWAIT_PART, q.PartName),
}
CONTROLS = (Command.NO, Command.SCRATCH_THAT, Command.UNDO, Command.HELP, Command.REPEAT,
            Command.STOP_TALKING, Command.STOP_WORK)  # fmt: skip


@pytest.fixture
def at_work(mechanic):
    """At step 4, a plain one."""
    mechanic.isolates_the_battery()
    mechanic.state_is("oil drained")
    assert mechanic.state.current == "unplug"
    return mechanic


@pytest.fixture(params=ASKS)
def asked(request, at_work):
    command, question = ASKS[request.param]
    at_work.says(command)
    assert isinstance(at_work.state.question, question)
    return at_work


def replayed(mechanic):
    lines = [
        ev.Record(seq=n, at=at.wall, mono=at.mono, event=event).line()
        for n, (event, at) in enumerate(mechanic.events, start=1)
    ]
    return replay(mechanic.procedure, [ev.Record.from_line(line) for line in lines])


@pytest.mark.parametrize("command", CONTROLS)
def test_the_controls_can_be_said_whatever_is_asked_for(asked, command):
    assert command in expected(asked.state).commands


@pytest.mark.parametrize("command", [Command.NO, Command.SCRATCH_THAT, Command.UNDO])
def test_every_question_for_words_or_a_time_can_be_left(asked, command):
    done = set(asked.state.settled)
    said = asked.says(command)
    assert asked.state.question is None
    assert said[0] in ("Dropped.", "No timer, then.", "No reminder, then. Say carry on to go on.")
    assert set(asked.state.settled) == done, "undo takes the question back, and nothing before it"
    assert not asked.state.notes
    assert not [d for d in asked.state.deadlines if d.startswith(("timer", "part"))]


def test_a_bare_command_that_would_move_the_job_does_not_while_something_is_asked(asked):
    question = asked.state.question
    for command in (Command.DONE, Command.SKIP, Command.YES, Command.GO_BACK):
        said = asked.says(command)
        assert said[0].endswith("answer first.")
        assert said[1] == asked.state.asked
        assert asked.state.question == question
        assert asked.state.current == "unplug"


def test_questions_are_answered_in_between_and_the_question_stays(asked):
    question = asked.state.question
    asked.says(Command.WHAT_IS_OPEN)
    asked.says(Command.HELP)
    assert asked.says(Command.REPEAT) == [asked.state.asked]
    assert asked.state.question == question


def test_a_hold_leaves_the_question_and_the_step_is_still_to_be_done(at_work):
    at_work.says(Command.SKIP)
    assert Command.HOLD in expected(at_work.state).commands
    assert at_work.says(Command.HOLD)[0] == "Job held."
    assert at_work.state.question is None
    assert "unplug" not in at_work.state.settled


def test_what_is_read_back_is_taken_back_by_scratch_that_and_undo(mechanic):
    mechanic.opens()
    mechanic.says(Command.YES)
    mechanic.state_is("battery disconnected")
    mechanic.waits(minutes=3)
    for command in (Command.SCRATCH_THAT, Command.UNDO):
        mechanic.says(Command.READING, value="0.1")
        assert command in expected(mechanic.state).commands
        assert mechanic.says(command) == ["Say the reading again."]
    assert mechanic.state.reading is None
    assert mechanic.state.is_done("battery-off")


def test_a_proof_cannot_be_said_no_to_but_the_way_to_leave_it_is_told(mechanic):
    mechanic.isolates_the_battery()
    mechanic.says(Command.HOLD)
    mechanic.says(Command.CARRY_ON)
    assert isinstance(mechanic.state.question, q.Proof)
    (said,) = mechanic.says(Command.NO)
    assert "say hold the job to leave it" in said
    assert mechanic.says(Command.HOLD)[0] == "Job held."


class TestAgain:
    """ "Again" takes the note anew; until the new one is there, the first one stays."""

    @pytest.fixture
    def noted(self, at_work):
        at_work.says(Command.NOTE, text="the clip is broken")
        return at_work

    @pytest.mark.parametrize("command", [Command.SCRATCH_THAT, Command.NO, Command.STOP_WORK, Command.HOLD])
    def test_left_without_new_words_the_first_note_is_as_it_was(self, noted, command):
        before = noted.state.notes
        noted.says(Command.AGAIN)
        noted.says(command)
        assert noted.state.notes == before
        assert replayed(noted) == noted.state

    def test_new_words_come_in_place_of_it_and_are_fresh_themselves(self, noted):
        noted.says(Command.AGAIN)
        noted.says(Command.WORDS, text="the clip is gone")
        assert [note.text for note in noted.state.notes] == ["the clip is gone"]
        assert replayed(noted) == noted.state
        assert noted.says(Command.SCRATCH_THAT) == ["Note dropped."]
        assert not noted.state.notes

    def test_a_log_that_ends_in_between_holds_both_rather_than_none(self, noted):
        noted.says(Command.AGAIN)
        before = len(noted.events)
        noted.says(Command.WORDS, text="the clip is gone")
        taken = next(n for n, (e, _) in enumerate(noted.events[before:]) if isinstance(e, ev.NoteTaken))
        noted.events = noted.events[: before + taken + 1]
        assert [note.text for note in replayed(noted).notes] == ["the clip is broken", "the clip is gone"]

    def test_an_old_log_in_which_again_dropped_the_note_at_once_folds_as_before(self, noted):
        now = noted.now
        noted.events += [
            (ev.HeardCommand(command="again"), now),
            (ev.NoteDropped(note=1), now),
            (ev.Asked(question="note words", text="Go ahead."), now),
            (ev.HeardCommand(command="words", arguments={"text": "gone"}), now),
            (ev.NoteTaken(note=2, step="unplug", text="gone"), now),
        ]
        state = replayed(noted)
        assert [note.text for note in state.notes] == ["gone"]
        assert state.fresh_note == 2


class TestTooEarly:
    """A reading that cannot count yet is refused before anybody is asked whether it is right."""

    def test_while_the_wait_of_a_failed_proof_runs(self, mechanic):
        mechanic.opens()
        mechanic.says(Command.YES)
        mechanic.state_is("battery disconnected")
        mechanic.waits(minutes=3)
        mechanic.reads("12.4")
        assert mechanic.state.current == "battery-dead"
        said = mechanic.says(Command.READING, value="0.1", unit="V")
        assert said == ["No: the isolation wait for the battery has 3 min left."]
        assert mechanic.state.question is None
        mechanic.waits(minutes=3)
        assert mechanic.says(Command.READING, value="0.1", unit="V") == ["0.1 V. Right? Yes or no?"]

    def test_while_the_wait_before_a_lost_proof_runs(self, mechanic):
        mechanic.isolates_the_battery()
        mechanic.says(Command.HOLD)
        mechanic.says(Command.CARRY_ON)
        mechanic.reads("12.4")
        said = mechanic.says(Command.READING, value="0.1", unit="V")
        assert said[0] == "No: the isolation wait for the battery has 3 min left."
        assert isinstance(mechanic.state.question, q.Proof)


def test_a_step_is_skipped_only_for_a_reason(at_work):
    at_work.says(Command.SKIP)
    at_work.says(Command.WORDS, text="")
    assert isinstance(at_work.state.question, q.SkipReason)
    at_work.says(Command.WORDS, text="connector is seized")
    assert at_work.state.settled["unplug"].how is How.SKIPPED
