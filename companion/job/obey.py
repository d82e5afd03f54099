"""Carrying a command out, or saying why not: one case a command, as it has one row in `facts/commands.py`."""

from typing import assert_never

from companion.job.facts.commands import Command, Kind, When
from companion.job.facts.said.given import Count, Given, Reason, SpokenState, StepNumber, Thing, words_of
from companion.job.facts.said.questions import AdviceUnderstood, DidYouSay, Proof, Question
from companion.job.talk import asked_by_mechanic as asked
from companion.job.talk.answers import answer_question
from companion.job.talk.help import tell_what_can_be_said
from companion.job.talk.looking_ahead import what_is_next
from companion.job.turns.emergency import stop, stop_work
from companion.job.turns.end_of_job import close
from companion.job.turns.interruptions import await_part, carry_on, hear_understood, hold
from companion.job.turns.next_step import advance, redo, take_up
from companion.job.turns.notes import drop_note, start_note
from companion.job.turns.parts import ask_whether_here
from companion.job.turns.proof import ask_proof
from companion.job.turns.readings import hear_reading
from companion.job.turns.reminders import cancel_timer, got_it, start_timer
from companion.job.turns.skipped.leave_out import leave_out
from companion.job.turns.skipped.skip import ask_to_skip
from companion.job.turns.step_in_hand import carry_on_from_look, count, go_back, move_on, undo
from companion.job.turns.turn import Turn

_QUESTIONS = (Kind.ABOUT_STEP, Kind.ABOUT_JOB)
_ONWARDS = (Kind.MOVES, Kind.ANSWERS)


def obey(turn: Turn, command: Command, given: Given | None, clip: str | None) -> None:
    """Carry a command out, or say why not."""
    kind, when = command.row.kind, command.row.when
    if isinstance(turn.state.question, DidYouSay) and not _leaves_a_guess(command):
        turn.answered("something else was said")
    if kind in (Kind.URGENT, Kind.VOICE):
        _do(turn, command, given, clip)
    elif turn.state.log_failed and kind not in _QUESTIONS:
        turn.refuse(command, "the log cannot be written, so nothing you say counts now")
    elif turn.state.closed and When.CLOSED not in when:
        turn.refuse(command, "the job is closed")
    elif answer_question(turn, command, given, clip, obey):
        return
    elif turn.state.question is not None and _asks_or_moves(turn.state.question, command, given):
        turn.refuse(command, "answer first")
        turn.say(turn.state.asked)
    elif turn.state.held and kind in _ONWARDS and command is not Command.CARRY_ON:
        turn.refuse(command, "the job is held; say carry on first")
    elif turn.state.looking_at and kind is Kind.MOVES and When.LOOKING not in when:
        turn.refuse(command, "this is an earlier step; say carry on first")
    else:
        _do(turn, command, given, clip)


def _leaves_a_guess(command: Command) -> bool:
    """Does "did you say" stay open? Yes and no answer it; help, repeat and the voice leave it as it is."""
    beside = command.row.kind in (*_QUESTIONS, Kind.ANSWERS, Kind.VOICE)
    return beside and When.YES_OR_NO in command.row.when


def _asks_or_moves(question: Question, command: Command, given: Given | None) -> bool:
    """Does the command answer another question, leave the open one behind, or ask one in its place?"""
    match command:
        case Command.AGAIN | Command.PART_HERE:
            return True
        case Command.NOTE:
            return not words_of(given) and not isinstance(question, Proof)
        case Command.START_TIMER:
            return given is None and not isinstance(question, Proof)
        case _:
            return command.row.kind in _ONWARDS


def _do(turn: Turn, command: Command, given: Given | None, clip: str | None) -> None:  # noqa: PLR0915
    """One case a command, in the order of their rows. mypy tells which one is missing."""
    match command:
        case Command.GOT_IT if isinstance(turn.state.question, AdviceUnderstood):
            hear_understood(turn, True)
        case Command.GOT_IT:
            got_it(turn)
        case Command.YES | Command.NO | Command.DURATION | Command.WORDS:
            turn.refuse(command, "that answers nothing I asked")
        case Command.DONE:
            _done(turn)
        case Command.CLOSE_JOB:
            _close(turn)
        case Command.CARRY_ON:
            _carry_on(turn)
        case Command.SCRATCH_THAT | Command.AGAIN:
            drop_note(turn, again=command is Command.AGAIN)
        case Command.PART_HERE:
            ask_whether_here(turn)
        case Command.STATE:
            move_on(turn, given.words if isinstance(given, SpokenState) else "")
        case Command.READING:
            hear_reading(turn, given)
        case Command.COUNT:
            count(turn, given.number if isinstance(given, Count) else None)
        case Command.STEP:
            take_up(turn, given.number if isinstance(given, StepNumber) else None)
        case Command.WHAT_SIZE:
            asked.tell_of_step(turn, asked.size)
        case Command.WHAT_TORQUE:
            asked.tell_of_step(turn, asked.torque)
        case Command.HOW_MANY:
            asked.tell_of_step(turn, asked.count)
        case Command.WHERE:
            asked.tell_of_step(turn, asked.where)
        case Command.WHAT_TOOLS:
            asked.tell_of_step(turn, asked.tools)
        case Command.MORE:
            asked.tell_of_step(turn, asked.more)
        case Command.WHAT_IS_NEXT:
            turn.say(what_is_next(turn))
        case Command.REPEAT:
            asked.repeat(turn)
        case Command.NOTE:
            start_note(turn, words_of(given), clip)
        case Command.SKIP:
            ask_to_skip(turn, given.text if isinstance(given, Reason) else "")
        case Command.UNDO:
            undo(turn)
        case Command.GO_BACK:
            go_back(turn)
        case Command.WHAT_IS_OPEN:
            asked.what_is_open(turn)
        case Command.HOLD:
            hold(turn, words_of(given).strip(" .,;"))
        case Command.AWAIT_PART:
            await_part(turn, given)
        case Command.HOW_LONG_LEFT:
            asked.how_long_left(turn)
        case Command.WHAT_IS_WAITING:
            asked.what_is_waiting(turn)
        case Command.START_TIMER:
            start_timer(turn, given)
        case Command.CANCEL_TIMER:
            cancel_timer(turn)
        case Command.LEAVE_OUT:
            leave_out(turn, given if isinstance(given, Thing) else Thing())
        case Command.STOP_WORK:
            stop_work(turn)
        case Command.STOP_TALKING:
            pass  # The mouth obeys at the edge, and whoever wants silence wants no answer.
        case Command.LOUDER | Command.QUIETER | Command.SLOWER | Command.FASTER:
            turn.say(f"{command.capitalize()}.")  # The mouth obeys at the edge.
        case Command.STOP:
            stop(turn)
        case Command.HELP:
            tell_what_can_be_said(turn, obey)
        case _:
            assert_never(command)


def _done(turn: Turn) -> None:
    if turn.state.looking_at:
        carry_on_from_look(turn)
    else:
        move_on(turn)


def _close(turn: Turn) -> None:
    reopened = close(turn)
    if reopened:
        redo(turn, reopened)
        advance(turn)


def _carry_on(turn: Turn) -> None:
    if turn.state.held:
        carry_on(turn)
    elif turn.state.looking_at:
        carry_on_from_look(turn)
    elif turn.state.to_prove:
        ask_proof(turn)
    elif turn.state.step:
        turn.say("The job is not held.")
    else:
        advance(turn)
