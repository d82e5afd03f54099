"""What is said to get past a step, held against all that the companion listens for."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from companion.cli.speech.at_step import expecting_in
from companion.job.facts.commands import Command
from companion.job.rules.wants import new_fasteners, new_words
from companion.procedure.fault import Fault, Rule, advice
from companion.procedure.model import Procedure
from companion.procedure.read import Reading
from companion.speech.language.confusion import sounds_like
from companion.speech.language.phrases import language, plain

IS_A_COMMAND = Rule(
    "state-is-a-command",
    "A spoken state is a command.",
    "Whoever says it to confirm the step does something else, or passes the step by a command.",
    "Write what can be seen when it is done, such as 'battery disconnected'.",
)
SOUNDS_LIKE = advice(
    "sounds-like-a-command",
    "Words of a step sound like a command that can be said at the same time.",
    "In noise one is taken for the other.",
    "Choose other words; `companion phrases` lists the commands.",
)
RULES = (IS_A_COMMAND, SOUNDS_LIKE)


def also(path: Path, reading: Reading) -> Reading:
    """The reading, with what its words are mistaken for."""
    if reading.procedure is None:
        return reading
    own = tuple(reading.finding(path, fault) for fault in find(reading.procedure))
    found = sorted((*reading.findings, *own), key=lambda one: (one.line, one.column))
    return replace(reading, findings=tuple(found))


def find(procedure: Procedure) -> Iterator[Fault]:
    """States that are commands, anywhere in a job, or sound like one that can be said at their step."""
    spoken = language()
    every = {plain(p.text) for p in spoken.phrases_for(frozenset(Command), (), False)}
    for position, step in enumerate(procedure.steps):
        said = [*map(new_words, new_fasteners(step)), *([step.state] if step.state else [])]
        if not said:
            continue
        path = ("steps", position, "state" if step.state else "fasteners")
        if step.state and plain(step.state) in every:
            message = f"'{step.state}' is a command; choose words that are none"
            yield IS_A_COMMAND.at(path, message)
            continue
        can = expecting_in(procedure, step.id)
        phrases = spoken.phrases_for(can.commands, (), can.number)
        for words in said:
            if alike := sounds_like(words, phrases):
                message = (
                    f'"{words}" sounds like "{alike.other.text}", which can be said at the same time '
                    f"(likeness {alike.likeness:.2f}); choose other words"
                )
                yield SOUNDS_LIKE.at(path, message)
