"""A mechanic's own words for commands: a file that adds to what can be said, looked through when it is read.

    done: [finished, fertig]
    repeat: [come again]

Nothing is taken away: the words that come along are still heard.
"""

import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from companion.errors import CompanionError
from companion.files import failures_named
from companion.job.facts.commands import Command
from companion.speech.language.phrases import Language, Phrase, plain

OwnPhrases = Mapping[Command, tuple[str, ...]]

SHORTEST, LONGEST = 3, 30
"""CHOSEN: letters. What is shorter is met everywhere; what is longer than any phrase was never measured."""
MOST = 20
"""CHOSEN: words of one's own; each is one more to be mistaken for."""


def read_own_phrases(path: Path, spoken: Language) -> OwnPhrases:
    """The words in a file.

    Raises:
        CompanionError: the file cannot be used; one line that says why and what to do.
        LogbookError: it cannot be read.
    """
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    with failures_named(path):
        data = path.read_bytes()
    try:
        found = YAML(typ="safe", pure=True).load(data.decode())
    except (YAMLError, UnicodeDecodeError) as error:
        reason = str(error).splitlines()[0]
        raise CompanionError(f"{path}: not YAML ({reason}); write lines such as done: [finished]") from error
    if not isinstance(found, dict) or not found:
        raise CompanionError(f"{path}: no words for commands in it; write lines such as done: [finished]")
    return _looked_through(str(path), found, spoken)


def taught(word: str, command: str, spoken: Language) -> Phrase:
    """One word for a command, as if it stood in a file."""
    own = _looked_through("--teach", {plain(command): word}, spoken)
    return _phrases(own)[0]


def _looked_through(path: str, found: Mapping[object, object], spoken: Language) -> OwnPhrases:
    own = {_command(path, name, spoken): _words(path, name, words) for name, words in found.items()}
    if sum(map(len, own.values())) > MOST:
        raise CompanionError(f"{path}: more than {MOST} words; keep those that you say")
    for phrase in _phrases(own):
        other = spoken.bare(phrase.text)
        again = [p for p in _phrases(own) if p.text == phrase.text and p.command != phrase.command]
        taken = other.command if other else again[0].command if again else phrase.command
        if taken != phrase.command:
            raise CompanionError(
                f"{path}: {phrase.text!r} cannot mean {str(phrase.command)!r}: it means {str(taken)!r}; "
                "choose another word"
            )
    return own


def with_own(phrases: Sequence[Phrase], own: OwnPhrases) -> tuple[Phrase, ...]:
    """What can be said now, and one's own words for it."""
    now = {phrase.command for phrase in phrases if phrase.given is None}
    return tuple(dict.fromkeys((*phrases, *(p for p in _phrases(own) if p.command in now))))


def opened_by(attention: str | None, phrases: Sequence[Phrase]) -> tuple[Phrase, ...]:
    """The same, each after a word of attention; "stop work" needs none."""
    if attention is None:
        return tuple(phrases)
    return tuple(
        p if p.command == Command.STOP_WORK else replace(p, text=f"{attention} {p.text}") for p in phrases
    )


def easily_mistaken(own: OwnPhrases, spoken: Language) -> Iterator[str]:
    """A line for each of one's own words that sounds like a phrase of another command (English)."""
    from companion.speech.language.confusion import sounds_like

    for phrase in _phrases(own):
        others = [p for p in every_phrase(spoken, own) if p.command != phrase.command]
        if worst := sounds_like(phrase.text, others):
            yield (
                f'"{phrase.text}" ({phrase.command}) sounds like "{worst.other.text}" '
                f"({worst.other.command}, {worst.likeness:.2f}): another word would be told better"
            )


def every_phrase(spoken: Language, own: OwnPhrases) -> list[Phrase]:
    """All fixed phrases of a language, and one's own."""
    return [*(Phrase(t, c) for c, texts in spoken.commands.items() for t in texts), *_phrases(own)]


def _phrases(own: OwnPhrases) -> list[Phrase]:
    return [Phrase(text, command) for command, texts in own.items() for text in texts]


def _command(path: str, name: object, spoken: Language) -> Command:
    known = [c.value for c in spoken.commands]
    if name not in known:
        near = difflib.get_close_matches(str(name), known, 1)
        hint = f"did you mean {near[0]!r}?" if near else "companion phrases lists them"
        raise CompanionError(f"{path}: {str(name)!r} is no command; {hint}")
    return Command(name)


def _words(path: str, name: object, words: object) -> tuple[str, ...]:
    given: Iterable[object] = words if isinstance(words, list) else [words]
    found = []
    for word in given:
        text = plain(word) if isinstance(word, str) else ""
        letters = sum(c.isalpha() for c in text)
        if not SHORTEST <= letters <= LONGEST or any(c.isdigit() for c in text):
            raise CompanionError(
                f"{path}: {str(word)!r} for {str(name)!r} cannot be listened for; "
                f"give {SHORTEST} to {LONGEST} letters and no figures"
            )
        found.append(text)
    return tuple(found)
