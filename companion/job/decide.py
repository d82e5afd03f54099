"""`decide(state, message, now)`: the one door into the job. Pure: the same inputs give the same answer.

Any illegal move is an answer spoken to the mechanic, never an exception.
"""

from typing import assert_never

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.instant import Instant
from companion.job.facts.said.given import Count, Given, Reason, SpokenState, StepNumber, Thing, words_of
from companion.job.facts.said.questions import DidYouSay, Proof, Question
from companion.job.facts.sayings import Priority, Tone
from companion.job.facts.state import State
from companion.job.left import BookTimeLeft, TimeLeft
from companion.job.talk.answers import answer_question
from companion.job.talk.asked_by_mechanic import answer
from companion.job.talk.unclear import not_understood, unsure
from companion.job.turns.closing import close
from companion.job.turns.desk import at_desk
from companion.job.turns.emergency import stop, stop_work
from companion.job.turns.interruptions import await_part, carry_on, hold, open_job
from companion.job.turns.next_step import advance, choose, redo, take_up
from companion.job.turns.notes import drop_note, start_note
from companion.job.turns.parts import ask_whether_here
from companion.job.turns.proof import ask_proof, lose_proofs_by_silence
from companion.job.turns.readings import hear_reading
from companion.job.turns.reminders import (
    announce_due,
    cancel_timer,
    check_in,
    got_it,
    heed_the_clocks,
    start_timer,
)
from companion.job.turns.skipped.leaving import leave_out
from companion.job.turns.skipped.skipping import ask_to_skip
from companion.job.turns.step_in_hand import carry_on_from_look, count, go_back, move_on, undo
from companion.job.turns.turn import Decision, Turn
from companion.job.turns.unlogged import STILL_OBEYED, log_failed, log_mended

BOOK = BookTimeLeft()


def decide(state: State, message: msg.Message, now: Instant, time_left: TimeLeft = BOOK) -> Decision:
    """What comes of a message: events to log first, then things to say."""
    turn = Turn(state, now, time_left)
    if isinstance(message, msg.PartAwaited | msg.PartCame | msg.FollowedUp):
        at_desk(turn, message)
        return turn.decision()
    if state.job is not None and not isinstance(message, msg.Opened):
        heed_the_clocks(turn)
    match message:
        case msg.Opened():
            open_job(turn, message)
            if turn.state.log_failed:
                # The program ended before it could say so: this very message was logged.
                log_mended(turn)
        case msg.Heard():
            _heard(turn, message)
        case msg.Unsure():
            unsure(turn, message)
        case msg.NotUnderstood():
            not_understood(turn, message)
        case msg.SayingFailed():
            turn.record(ev.SayingLost(text=message.text, reason=message.reason))
        case msg.MicrophoneLost():
            turn.record(ev.MicrophoneChanged(present=False, reason=message.reason))
            turn.say(
                "The microphone is gone. Use the keys, or plug it in again.", Priority.URGENT, Tone.ERROR
            )
        case msg.MicrophoneBack():
            turn.record(ev.MicrophoneChanged(present=True))
            turn.say("The microphone is back.")
        case msg.HearingFailed():
            turn.record(ev.HearingFailed(reason=message.reason))
            turn.say(
                f"I can hear nothing any more: {message.reason.rstrip('.')}. Use the keys.",
                Priority.URGENT,
                Tone.ERROR,
            )
        case msg.AlarmCommand():
            turn.record(
                ev.AlarmCommandRun(
                    stage=message.stage,
                    outcome=message.outcome,
                    status=message.status,
                    line=message.line,
                )
            )
        case msg.LogFailed():
            log_failed(turn, message.reason)
        case msg.LogMended():
            log_mended(turn)
        case msg.Failing():
            turn.say(
                "I have a fault and must stop. The job is kept. Start me again to go on.",
                Priority.URGENT,
                Tone.ERROR,
                safety=True,
            )
        case msg.Leaving():
            turn.record(ev.SessionEnded())
        case msg.Woken() | msg.ClockJumped():
            pass  # What is due, and whether the clock was set, is told by `now`.
        case _:
            assert_never(message)
    if turn.state.job is not None and not isinstance(message, msg.Leaving):
        announce_due(turn, boundary=False)
        check_in(turn)
        _wake_a_waiting_job(turn, message)
    return turn.decision()


def _wake_a_waiting_job(turn: Turn, message: msg.Message) -> None:
    """Between steps, go on as soon as a wait has ended."""
    state = turn.state
    if not isinstance(message, msg.Woken) or state.held or state.closed or state.question or state.current:
        return
    if choose(state, turn.wall)[0]:
        advance(turn)


def _heard(turn: Turn, heard: msg.Heard) -> None:
    silence = lose_proofs_by_silence(turn)
    turn.record(
        ev.HeardCommand(
            command=heard.command,
            arguments=heard.arguments,
            text=heard.text,
            source=heard.source,
            score=round(heard.score, 4),
            clip=heard.clip,
        )
    )
    if silence and heard.command in (*_MOVES, Command.YES):
        ask_proof(turn, silence)
        return
    obey(turn, heard.command, heard.given, heard.clip)
    if silence and turn.state.to_prove and turn.state.question is None and not turn.state.held:
        ask_proof(turn, silence)


def obey(turn: Turn, command: Command, given: Given | None, clip: str | None) -> None:
    """Carry a command out, or say why not."""
    if isinstance(turn.state.question, DidYouSay) and command not in _ANSWERS_A_GUESS:
        turn.answered("something else was said")
    if command is Command.STOP_WORK:
        stop_work(turn)
    elif command in _VOICE_CONTROLS:
        _voice(turn, command)
    elif command is Command.GOT_IT:
        got_it(turn)
    elif turn.state.log_failed and command not in STILL_OBEYED:
        turn.refuse(command, "the log cannot be written, so nothing you say counts now")
    elif turn.state.closed and command not in _WHEN_CLOSED:
        turn.refuse(command, "the job is closed")
    elif answer_question(turn, command, given, clip, obey) or answer(turn, command, obey):
        return
    elif turn.state.question is not None and _asks_or_moves(turn.state.question, command, given):
        turn.refuse(command, "answer first")
        turn.say(turn.state.asked)
    elif turn.state.held and command not in _WHILE_HELD:
        turn.refuse(command, "the job is held; say carry on first")
    else:
        _act(turn, command, given, clip)


_VOICE_CONTROLS = (
    Command.STOP_TALKING,
    Command.STOP,
    Command.LOUDER,
    Command.QUIETER,
    Command.SLOWER,
    Command.FASTER,
)
_WHILE_HELD = (
    Command.CARRY_ON,
    Command.NOTE,
    Command.SCRATCH_THAT,
    Command.AGAIN,
    Command.START_TIMER,
    Command.CANCEL_TIMER,
    Command.HOLD,
    Command.AWAIT_PART,
    Command.PART_HERE,
)
_MOVES = (
    Command.DONE,
    Command.STEP,
    Command.STATE,
    Command.COUNT,
    Command.SKIP,
    Command.LEAVE_OUT,
    Command.GO_BACK,
    Command.CLOSE_JOB,
    Command.UNDO,
    Command.CARRY_ON,
    Command.READING,
)


_OF_THE_STEP_IN_HAND = (Command.STATE, Command.READING, Command.COUNT, Command.SKIP, Command.STEP)
_WHEN_CLOSED = (Command.REPEAT, Command.HELP, Command.WHAT_IS_WAITING)
_ANSWERS_A_GUESS = (Command.YES, Command.NO, Command.REPEAT, Command.HELP, *_VOICE_CONTROLS)
_ANSWERS = (Command.YES, Command.NO, Command.WORDS, Command.DURATION)


def _asks_or_moves(question: Question, command: Command, given: Given | None) -> bool:
    """Does the command answer another question, leave the open one behind, or ask one in its place?"""
    if command in (*_MOVES, *_ANSWERS, Command.AGAIN, Command.PART_HERE):
        return True
    asks = (command is Command.NOTE and not words_of(given)) or (
        command is Command.START_TIMER and given is None
    )
    return asks and not isinstance(question, Proof)


def _voice(turn: Turn, command: Command) -> None:
    """The mouth obeys at the edge; a word shows the new setting."""
    if command is Command.STOP:
        stop(turn)
    elif command is not Command.STOP_TALKING:
        turn.say(f"{command.capitalize()}.")


def _act(turn: Turn, command: Command, given: Given | None, clip: str | None) -> None:
    if turn.state.looking_at and command in _OF_THE_STEP_IN_HAND:
        turn.refuse(command, "this is an earlier step; say carry on first")
        return
    match command:
        case Command.DONE:
            _done(turn)
        case Command.STATE:
            move_on(turn, given.words if isinstance(given, SpokenState) else "")
        case Command.READING:
            hear_reading(turn, given)
        case Command.STEP:
            take_up(turn, given.number if isinstance(given, StepNumber) else None)
        case Command.COUNT:
            count(turn, given.number if isinstance(given, Count) else None)
        case Command.NOTE:
            start_note(turn, words_of(given), clip)
        case Command.SCRATCH_THAT | Command.AGAIN:
            drop_note(turn, again=command is Command.AGAIN)
        case Command.SKIP:
            ask_to_skip(turn, given.text if isinstance(given, Reason) else "")
        case Command.LEAVE_OUT:
            leave_out(turn, given if isinstance(given, Thing) else Thing())
        case Command.GO_BACK:
            go_back(turn)
        case Command.UNDO:
            undo(turn)
        case Command.HOLD:
            hold(turn, words_of(given).strip(" .,;"))
        case Command.AWAIT_PART:
            await_part(turn, given)
        case Command.PART_HERE:
            ask_whether_here(turn)
        case Command.CARRY_ON:
            _carry_on(turn)
        case Command.START_TIMER:
            start_timer(turn, given)
        case Command.CANCEL_TIMER:
            cancel_timer(turn)
        case Command.CLOSE_JOB:
            reopened = close(turn)
            if reopened:
                redo(turn, reopened)
                advance(turn)
        case _:
            turn.refuse(command, "that answers nothing I asked")


def _done(turn: Turn) -> None:
    if turn.state.looking_at:
        carry_on_from_look(turn)
    else:
        move_on(turn)


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
