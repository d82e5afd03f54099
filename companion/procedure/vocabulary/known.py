"""Fields whose words are an open list: the word itself, or the finding that it is none of them."""

from collections.abc import Callable, Iterable
from typing import Any

from pydantic_core import PydanticCustomError, PydanticKnownError


def one_of(words: Iterable[str]) -> Callable[[str], str]:
    """A validator that lets through these words alone; what it finds is what pydantic finds of an enum."""
    known = tuple(words)

    def check(word: str) -> str:
        if word not in known:
            raise PydanticKnownError("enum", {"expected": ", ".join(f"'{one}'" for one in known)})
        return word

    return check


def formed(parse: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """The same parser, whose refusals are told as a wrong form."""

    def check(value: Any) -> Any:
        try:
            return parse(value)
        except ValueError as error:
            raise PydanticCustomError("wrong_form", "{error}", {"error": str(error)}) from error

    return check
