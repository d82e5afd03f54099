"""Answers to what the companion asked. Each question knows what counts as an answer to it."""

from collections.abc import Mapping
from datetime import timedelta

from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.state import Question
from companion.job.rules.wanting import proof_measure, proof_words
from companion.job.turns.advancing import advance
from companion.job.turns.closing import confirm_close
from companion.job.turns.moving import skip
from companion.job.turns.noting import take_note
from companion.job.turns.parts import ask_when, confirm_here, confirm_wait, hear_wait
from companion.job.turns.pausing import answer_part
from companion.job.turns.proof import ask_proof, prove_again
from companion.job.turns.readings import back_to_work, confirm_reading, finite, hear_reading
from companion.job.turns.turn import Turn
from companion.job.turns.waiting import start_timer


def answer_question(turn: Turn, command: Command, arguments: Mapping[str, str], clip: str | None) -> bool:
    """Take the command as the answer to the open question; False when it is none."""
    question = turn.state.question
    if question is None:
        return False
    if question in (Question.NOTE_WORDS, Question.SKIP_REASON):
        return _own_words(turn, question, command, arguments, clip) and _back_to_proof(turn)
    if question is Question.TIMER_LENGTH:
        return _timer_length(turn, command, arguments) and _back_to_proof(turn)
    if question is Question.PART_WHEN:
        return _part_when(turn, command, arguments)
    if question is Question.PROOF:
        return _proof(turn, command, arguments)
    if command not in (Command.YES, Command.NO):
        return False
    _yes_or_no(turn, question, command is Command.YES)
    return True


def _back_to_proof(turn: Turn) -> bool:
    """A proof that was asked for before the note or the timer is asked for again."""
    if turn.state.to_prove and turn.state.question is None and not turn.state.held:
        ask_proof(turn)
    return True


def _own_words(
    turn: Turn, question: Question, command: Command, arguments: Mapping[str, str], clip: str | None
) -> bool:
    if command in (Command.NO, Command.SCRATCH_THAT):
        turn.answered("dropped")
        turn.say("Dropped.")
        return True
    if command is not Command.WORDS:
        return False
    text = arguments.get("text", "")
    about = dict(turn.state.about)
    if question is Question.NOTE_WORDS:
        take_note(turn, text, clip)
        turn.answered(text)
    elif not text:
        turn.say("I need a reason to skip. Why?")
    elif about["step"] != turn.state.current:
        turn.answered(text)
        turn.refuse("skip", "that step is not being worked on any more")
    else:
        turn.answered(text)
        skip(turn, text)
    return True


def _timer_length(turn: Turn, command: Command, arguments: Mapping[str, str]) -> bool:
    if command is Command.NO:
        turn.answered("no")
        turn.say("No timer, then.")
        return True
    if command is not Command.DURATION:
        return False
    turn.answered(arguments.get("minutes", ""))
    start_timer(turn, arguments.get("minutes", "0"))
    return True


def _part_when(turn: Turn, command: Command, arguments: Mapping[str, str]) -> bool:
    part = turn.state.about["part"]
    if command is Command.NO:
        turn.answered("no")
        turn.say("No reminder, then. Say carry on to go on.")
        return True
    if command is not Command.DURATION:
        return False
    minutes = finite(arguments.get("minutes", ""))
    turn.answered(arguments.get("minutes", ""))
    if minutes is None or not 0 < minutes < 1e7:
        turn.refuse("waiting for a part", f"{arguments.get('minutes')!r} is not a length of time")
        ask_when(turn, part)
    else:
        hear_wait(turn, part, timedelta(minutes=minutes))
    return True


def _proof(turn: Turn, command: Command, arguments: Mapping[str, str]) -> bool:
    energy = turn.state.about["energy"]
    if command is Command.READING:
        hear_reading(turn, arguments.get("value", ""), arguments.get("unit", ""))
        return True
    words = proof_words(turn.state.procedure, energy)
    said_so = command is Command.STATE and arguments.get("state") == words
    if said_so and proof_measure(turn.state.procedure, energy) is None:
        turn.answered(words)
        prove_again(turn, energy, words, back_to_work)
        return True
    return False


def _yes_or_no(turn: Turn, question: Question, yes: bool) -> None:
    about = dict(turn.state.about)
    match question:
        case Question.PART_ON_BENCH:
            answer_part(turn, yes)
        case Question.STEP_WANTED:
            _wanted(turn, about["step"], yes)
        case Question.READING_RIGHT:
            confirm_reading(turn, yes)
        case Question.PART_RIGHT:
            confirm_wait(turn, yes)
        case Question.PART_HERE:
            confirm_here(turn, yes)
        case Question.CLOSE:
            confirm_close(turn, yes)
        case Question.DID_YOU_SAY:
            _did_you_say(turn, about, yes)
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


def _did_you_say(turn: Turn, about: Mapping[str, str], yes: bool) -> None:
    from companion.job.decide import obey

    turn.answered("yes" if yes else "no")
    if not yes:
        turn.say("Say it again, or say help.")
        return
    arguments = {k.removeprefix("argument "): v for k, v in about.items() if k.startswith("argument ")}
    obey(turn, Command(about["command"]), arguments, None)
