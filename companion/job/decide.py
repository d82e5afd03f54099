"""`decide(state, message, now)`: the one door into the job. Pure: the same inputs give the same answer.

Any illegal move is an answer spoken to the mechanic, never an exception.
"""

from typing import assert_never

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command, Kind
from companion.job.facts.instant import Instant
from companion.job.facts.sayings import Priority, Tone
from companion.job.facts.state import State
from companion.job.left import BookTimeLeft, TimeLeft
from companion.job.obey import obey
from companion.job.talk.unclear import not_understood, unsure
from companion.job.turns.desk import at_desk
from companion.job.turns.interruptions import open_job
from companion.job.turns.next_step import advance, choose
from companion.job.turns.proof import ask_proof, lose_proofs_by_silence
from companion.job.turns.reminders import announce_due, check_in, heed_the_clocks
from companion.job.turns.turn import Decision, Turn
from companion.job.turns.unlogged import log_failed, log_mended

BOOK = BookTimeLeft()


def decide(state: State, message: msg.Message, now: Instant, time_left: TimeLeft = BOOK) -> Decision:
    """What comes of a message: events to log first, then things to say."""
    turn = Turn(state, now, time_left)
    if isinstance(message, msg.PartAwaited | msg.PartCame | msg.FollowedUp | msg.QuoteGiven):
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
        case msg.Hindered(by):
            turn.say(
                f"I cannot hear you through the {by} here. Bring the microphone to your mouth, "
                "take a headset, or use the keys.",
                Priority.URGENT,
            )
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
            pass  # `now` tells what is due, and whether the clock was set.
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
    if silence and (heard.command.row.kind is Kind.MOVES or heard.command is Command.YES):
        ask_proof(turn, silence)
        return
    obey(turn, heard.command, heard.given, heard.clip)
    if silence and turn.state.to_prove and turn.state.question is None and not turn.state.held:
        ask_proof(turn, silence)
