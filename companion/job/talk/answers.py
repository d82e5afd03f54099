"""Answers to what the companion asked. Each question knows what counts as an answer to it."""

from datetime import timedelta
from typing import assert_never

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said import questions as q
from companion.job.facts.said.given import Given, Length, SpokenState, words_of
from companion.job.facts.said.log_map import as_map
from companion.job.rules.expected import LEAVES
from companion.job.rules.wants import proof_measure, proof_words
from companion.job.talk.looking_ahead import Obey
from companion.job.turns.emergency import answer_stop_work
from companion.job.turns.end_of_job import confirm_close
from companion.job.turns.interruptions import answer_part, hear_understood
from companion.job.turns.next_step import advance
from companion.job.turns.notes import take_note
from companion.job.turns.parts import (
    ask_when,
    confirm_here,
    confirm_part,
    confirm_wait,
    hear_name,
    hear_wait,
)
from companion.job.turns.proof import ask_proof, prove_again
from companion.job.turns.readings import back_to_work, confirm_reading, hear_reading
from companion.job.turns.reminders import start_timer
from companion.job.turns.skipped.leave_out import confirm_leaving, hear_why
from companion.job.turns.skipped.skip import skip
from companion.job.turns.turn import Turn

_NO_TIME = timedelta(minutes=1e7)
"""So long is no length of time."""


def answer_question(turn: Turn, command: Command, given: Given | None, clip: str | None, obey: Obey) -> bool:
    """Take the command as the answer to the open question; False when it is none."""
    question = turn.state.question
    if question is None:
        return False
    if isinstance(question, q.Proof):
        return _proof(turn, question, command, given)
    if isinstance(question, q.ForWords | q.ForLength):
        if command in LEAVES:
            _leave(turn, question)
        elif command is (Command.WORDS if isinstance(question, q.ForWords) else Command.DURATION):
            _take(turn, question, given, clip)
        else:
            return False
        _back_to_proof(turn)
        return True
    if command is Command.YES or command in (LEAVES if isinstance(question, q.ReadBack) else (Command.NO,)):
        _yes_or_no(turn, question, command is Command.YES, obey)
        return True
    return False


def _take(turn: Turn, question: q.ForWords | q.ForLength, given: Given | None, clip: str | None) -> None:
    """What was asked for was said."""
    text = words_of(given)
    match question:
        case q.NoteWords():
            take_note(turn, text, clip)
            turn.answered(text)
        case q.SkipReason():
            _reason(turn, question.step, text)
        case q.LeaveOutReason():
            hear_why(turn, question.step, text)
        case q.PartName():
            hear_name(turn, given)
        case q.PartWhen():
            _part_when(turn, question.part, given)
        case q.TimerLength():
            turn.answered(as_map(given).get("minutes", ""))
            start_timer(turn, given or Length(timedelta()))
        case _:
            assert_never(question)


def _leave(turn: Turn, question: q.ForWords | q.ForLength) -> None:
    """Leave the question without an answer. Everything stays as it was."""
    turn.answered("dropped" if isinstance(question, q.NoteWords | q.SkipReason) else "no")
    match question:
        case q.TimerLength():
            turn.say("No timer, then.")
        case q.PartName() | q.PartWhen():
            turn.say("No reminder, then. Say carry on to go on.")
        case q.NoteWords() if question.again is not None:
            turn.say("The note stays as it was.")
        case q.NoteWords() | q.SkipReason() | q.LeaveOutReason():
            turn.say("Dropped.")
        case _:
            assert_never(question)


def _back_to_proof(turn: Turn) -> None:
    """Ask again for a proof that was asked for before the note or the timer."""
    if turn.state.to_prove and turn.state.question is None and not turn.state.held:
        ask_proof(turn)


def _reason(turn: Turn, step: str, text: str) -> None:
    """Why a step is to be skipped."""
    if not text:
        turn.say("I need a reason to skip. Why?")
        return
    turn.answered(text)
    if step == turn.state.current:
        skip(turn, text)
    else:
        turn.refuse("skip", "that step is not being worked on any more")


def _part_when(turn: Turn, part: str, given: Given | None) -> None:
    said = as_map(given).get("minutes", "")
    turn.answered(said)
    if not isinstance(given, Length) or not timedelta() < given.time < _NO_TIME:
        turn.refuse("waiting for a part", f"{said!r} is not a length of time")
        ask_when(turn, part)
    else:
        hear_wait(turn, part, given.time)


def _proof(turn: Turn, question: q.Proof, command: Command, given: Given | None) -> bool:
    energy = question.energy
    if command is Command.READING:
        hear_reading(turn, given)
        return True
    words = proof_words(turn.state.procedure, energy)
    said_so = command is Command.STATE and given == SpokenState(words)
    if said_so and proof_measure(turn.state.procedure, energy) is None:
        turn.answered(words)
        prove_again(turn, energy, words, back_to_work)
        return True
    if command is Command.NO:
        turn.refuse("no", "it must be proved before the work goes on; say hold the job to leave it")
        return True
    return False


def _yes_or_no(turn: Turn, question: q.YesOrNo | q.ReadBack, yes: bool, obey: Obey) -> None:
    match question:
        case q.AdviceUnderstood():
            hear_understood(turn, yes)
        case q.PartOnBench():
            answer_part(turn, question.part, yes)
        case q.StepWanted():
            _wanted(turn, question.step, yes)
        case q.ReadingRight():
            confirm_reading(turn, question, yes)
        case q.PartKnown():
            confirm_part(turn, question, yes)
        case q.PartRight():
            confirm_wait(turn, question, yes)
        case q.PartHere():
            confirm_here(turn, question.deadline, yes)
        case q.StopWork():
            answer_stop_work(turn, question, yes)
        case q.LeaveOut():
            confirm_leaving(turn, question, yes)
        case q.Close():
            confirm_close(turn, yes)
        case q.DidYouSay():
            _did_you_say(turn, question, yes, obey)
        case _:
            assert_never(question)


def _wanted(turn: Turn, step_id: str, yes: bool) -> None:
    turn.answered("yes" if yes else "no")
    if yes:
        turn.record(ev.StepWanted(step=step_id))
        advance(turn)
    else:
        turn.record(ev.StepNotNeeded(step=step_id))
        advance(turn, "Left as it is.")


def _did_you_say(turn: Turn, question: q.DidYouSay, yes: bool, obey: Obey) -> None:
    turn.answered("yes" if yes else "no")
    if yes:
        obey(turn, question.command, question.given, None)
    else:
        turn.say("Say it again, or say help.")
