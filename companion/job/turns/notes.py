"""Notes in the mechanic's own words: kept whatever happens, read back, dropped or taken again on request."""

from companion.job.facts import events as ev
from companion.job.facts.said.questions import NoteWords
from companion.job.turns.turn import Turn


def start_note(turn: Turn, text: str, clip: str | None) -> None:
    """ "Note", alone or with the words in the same breath."""
    if text:
        take_note(turn, text, clip)
    else:
        turn.ask(NoteWords(), "Go ahead.")


def take_note(turn: Turn, text: str, clip: str | None) -> None:
    """Keep the note and read it back. The audio is the record, the text a convenience.

    A note that it replaces is dropped only afterwards: the log may end in between.
    """
    step = turn.state.shown_step
    number = turn.state.notes_taken + 1
    question = turn.state.question
    before = question.again if isinstance(question, NoteWords) else None
    turn.record(ev.NoteTaken(note=number, step=step.id if step else None, text=text, clip=clip))
    if before:
        turn.record(ev.NoteDropped(note=before))
    if text:
        turn.say(f"Noted: {text.rstrip(' .')}.")
    else:
        turn.say("The words were not clear. The sound is kept. Say note again, or scratch that.")


def drop_note(turn: Turn, again: bool) -> None:
    """ "Scratch that" drops the fresh note; "again" listens once more, and keeps it until then."""
    fresh = turn.before.fresh_note
    if fresh is None:
        turn.refuse("again" if again else "scratch that", "there is no fresh note")
        return
    if again:
        turn.ask(NoteWords(fresh), "Go ahead.")
    else:
        turn.record(ev.NoteDropped(note=fresh))
        turn.say("Note dropped.")
