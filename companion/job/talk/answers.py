"""Answers to what the companion asked. Each question knows what counts as an answer to it."""

from collections.abc import Mapping
from datetime import timedelta

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.said.given import Given, Length, SpokenState, words_of
from companion.job.facts.said.log_map import as_map, given_in
from companion.job.facts.state import FREE_SPEECH, Question
from companion.job.rules.expected import LEAVES, READ_BACK
from companion.job.rules.wanting import proof_measure, proof_words
from companion.job.talk.looking_ahead import Obey
from companion.job.turns.advancing import advance
from companion.job.turns.closing import confirm_close
from companion.job.turns.noting import take_note
from companion.job.turns.parts import (
    ask_when,
    confirm_here,
    confirm_part,
    confirm_wait,
    hear_name,
    hear_wait,
)
from companion.job.turns.pausing import answer_part
from companion.job.turns.proof import ask_proof, prove_again
from companion.job.turns.readings import back_to_work, confirm_reading, hear_reading
from companion.job.turns.skipped.leaving import confirm_leaving, hear_why
from companion.job.turns.skipped.skipping import skip
from companion.job.turns.stopping import answer_stop_work
from companion.job.turns.turn import Turn
from companion.job.turns.waiting import start_timer

OWN_WORDS = (*FREE_SPEECH, Question.TIMER_LENGTH, Question.PART_WHEN)
"""Questions for something that the mechanic has to say; any of `LEAVES` leaves them."""
_NO_TIME = timedelta(minutes=1e7)
"""So long is no length of time."""


def answer_question(turn: Turn, command: Command, given: Given | None, clip: str | None, obey: Obey) -> bool:
    """Take the command as the answer to the open question; False when it is none."""
    question = turn.state.question
    if question is None:
        return False
    if question is Question.PROOF:
        return _proof(turn, command, given)
    if question in OWN_WORDS:
        if command in LEAVES:
            return _left(turn, question) and _back_to_proof(turn)
        return _given(turn, question, command, given, clip) and _back_to_proof(turn)
    if command is Command.YES or command in (LEAVES if question in READ_BACK else (Command.NO,)):
        _yes_or_no(turn, question, command is Command.YES, obey)
        return True
    return False


def _given(turn: Turn, question: Question, command: Command, given: Given | None, clip: str | None) -> bool:
    """What was asked for in the mechanic's own words was said; False when it was something else."""
    wanted = Command.WORDS if question in FREE_SPEECH else Command.DURATION
    if command is not wanted:
        return False
    text = words_of(given)
    match question:
        case Question.NOTE_WORDS:
            take_note(turn, text, clip)
            turn.answered(text)
        case Question.SKIP_REASON:
            _reason(turn, text)
        case Question.LEAVE_OUT_REASON:
            hear_why(turn, text)
        case Question.PART_NAME:
            hear_name(turn, given)
        case Question.PART_WHEN:
            _part_when(turn, given)
        case _:
            turn.answered(as_map(given).get("minutes", ""))
            start_timer(turn, given or Length(timedelta()))
    return True


def _left(turn: Turn, question: Question) -> bool:
    """The question is left without an answer, and everything stays as it was."""
    again = "again" in turn.state.about
    turn.answered("dropped" if question in (Question.NOTE_WORDS, Question.SKIP_REASON) else "no")
    match question:
        case Question.TIMER_LENGTH:
            turn.say("No timer, then.")
        case Question.PART_NAME | Question.PART_WHEN:
            turn.say("No reminder, then. Say carry on to go on.")
        case _:
            turn.say("The note stays as it was." if again else "Dropped.")
    return True


def _back_to_proof(turn: Turn) -> bool:
    """A proof that was asked for before the note or the timer is asked for again."""
    if turn.state.to_prove and turn.state.question is None and not turn.state.held:
        ask_proof(turn)
    return True


def _reason(turn: Turn, text: str) -> None:
    """Why a step is to be skipped."""
    step = turn.state.about["step"]
    if not text:
        turn.say("I need a reason to skip. Why?")
        return
    turn.answered(text)
    if step == turn.state.current:
        skip(turn, text)
    else:
        turn.refuse("skip", "that step is not being worked on any more")


def _part_when(turn: Turn, given: Given | None) -> None:
    part = turn.state.about["part"]
    said = as_map(given).get("minutes", "")
    turn.answered(said)
    if not isinstance(given, Length) or not timedelta() < given.time < _NO_TIME:
        turn.refuse("waiting for a part", f"{said!r} is not a length of time")
        ask_when(turn, part)
    else:
        hear_wait(turn, part, given.time)


def _proof(turn: Turn, command: Command, given: Given | None) -> bool:
    energy = turn.state.about["energy"]
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


def _yes_or_no(turn: Turn, question: Question, yes: bool, obey: Obey) -> None:
    about = dict(turn.state.about)
    match question:
        case Question.PART_ON_BENCH:
            answer_part(turn, yes)
        case Question.STEP_WANTED:
            _wanted(turn, about["step"], yes)
        case Question.READING_RIGHT:
            confirm_reading(turn, yes)
        case Question.PART_KNOWN:
            confirm_part(turn, yes)
        case Question.PART_RIGHT:
            confirm_wait(turn, yes)
        case Question.PART_HERE:
            confirm_here(turn, yes)
        case Question.STOP_WORK:
            answer_stop_work(turn, yes)
        case Question.LEAVE_OUT:
            confirm_leaving(turn, yes)
        case Question.CLOSE:
            confirm_close(turn, yes)
        case Question.DID_YOU_SAY:
            _did_you_say(turn, about, yes, obey)
        case _:
            turn.refuse("yes" if yes else "no", "that answers nothing I asked")


def _wanted(turn: Turn, step_id: str, yes: bool) -> None:
    turn.answered("yes" if yes else "no")
    if yes:
        turn.record(ev.StepWanted(step=step_id))
        advance(turn)
    else:
        turn.record(ev.StepNotNeeded(step=step_id))
        advance(turn, "Left as it is.")


def _did_you_say(turn: Turn, about: Mapping[str, str], yes: bool, obey: Obey) -> None:
    turn.answered("yes" if yes else "no")
    if not yes:
        turn.say("Say it again, or say help.")
        return
    command = Command(about["command"])
    said = {k.removeprefix("argument "): v for k, v in about.items() if k.startswith("argument ")}
    obey(turn, command, given_in(command, said), None)
