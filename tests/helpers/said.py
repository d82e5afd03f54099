"""What a mechanic says, written as the log has it."""

from collections.abc import Mapping
from typing import Any

from companion.job import messages as msg
from companion.job.facts.commands import Command
from companion.job.facts.said.given import Given
from companion.job.facts.said.log_map import given_in
from companion.speech.language.part_names import of_a_part

OF_A_PART = (Command.AWAIT_PART, Command.WORDS)


def given(command: Command, said: Mapping[str, str]) -> Given | None:
    """What is said with the command: a map such as {"minutes": "10"}, read as where it is heard."""
    found = given_in(command, said)
    return of_a_part(found) if command in OF_A_PART else found


def heard(command: Command, said: Mapping[str, str], *more: Any, **beside: Any) -> msg.Heard:
    """The command was understood, with that."""
    return msg.Heard(command, given(command, said), *more, **beside)


def unsure(command: Command, said: Mapping[str, str], *more: Any) -> msg.Unsure:
    """It may have been said."""
    return msg.Unsure(command, given(command, said), *more)
