"""Which words mean which command: one data file per language, `phrases/<language>.yaml`."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import cache
from pathlib import Path

from companion.errors import CompanionError
from companion.job.facts.commands import Command
from companion.job.facts.said.given import (
    Count,
    Given,
    Length,
    Reason,
    SpokenState,
    StepNumber,
    Thing,
    Unreadable,
    Words,
)
from companion.job.facts.said.log_map import as_map, given_in, length, measured
from companion.job.rules.expected import Expecting
from companion.speech.language.part_names import part_and_wait

_FOLDER = Path(__file__).parent / "phrases"
_NOT_WORDS = re.compile(r"[^\w' ]+")
_LEFT_OVER = re.compile(r"[\s,.:;-]*(?:(?:of|a note(?: of| that)?)\b[\s,.:;-]+)*", re.IGNORECASE)
LARGEST_COUNT = 60


@dataclass(frozen=True)
class Phrase:
    """One thing that can be said now."""

    text: str
    """Words as spoken, lower case, numbers spelled out."""
    command: str
    """The value of a `companion.job.facts.commands.Command`."""
    given: Given | None = None
    """What is said with the command; hashable, so that phrase sets can be cached."""

    @property
    def arguments(self) -> dict[str, str]:
        """The same as it is listed, and logged."""
        return as_map(self.given)


@dataclass(frozen=True)
class Language:
    """The words of one language."""

    name: str
    commands: Mapping[Command, tuple[str, ...]]
    """What is listened for, and can be typed."""
    typed: Mapping[Command, tuple[str, ...]]
    """What can be typed besides: the ear would mistake it, or hear it where it is not meant."""
    carriers: Mapping[Command, tuple[str, ...]]
    """Words that open a command said in one breath with what follows, longest first."""
    numbers: tuple[str, ...]
    """Counting words from one."""
    durations: Mapping[str, Length | Unreadable]
    """A spoken length of time, and that length."""
    step: str = "step"
    """The word before the number of a step."""
    leaves_out: tuple[str, ...] = ()
    """How a thing is left out by its name, which stands for `{}`."""

    def phrases_for(
        self,
        commands: Iterable[Command],
        states: Iterable[str] = (),
        number: int | None = None,
        durations: bool = False,
    ) -> tuple[Phrase, ...]:
        """The closed set to listen for.

        Args:
            commands: those that can be said now; one that is no fixed phrase adds nothing.
            states: spoken states such as "battery disconnected".
            number: the next number of a count; the one before it and the one after are listened for too,
                so that a miscount is heard as what it was.
            durations: whether a length of time answers the open question.
        """
        found = [Phrase(text, command) for command in commands for text in self.commands.get(command, ())]
        found += [Phrase(plain(words), Command.STATE, SpokenState(words)) for words in states]
        if number is not None:
            around = [n for n in (number - 1, number, number + 1) if n >= 1]
            found += [Phrase(self.counted(n), Command.COUNT, Count(n)) for n in around]
        if durations:
            found += [Phrase(t, Command.DURATION, length) for t, length in self.durations.items()]
        return tuple(dict.fromkeys(found))

    def that_answer(self, can: Expecting) -> tuple[Phrase, ...]:
        """The closed set to listen for, given what can be said now."""
        steps = [Phrase(f"{self.step} {self.counted(n)}", Command.STEP, StepNumber(n)) for n in can.steps]
        left = [self.leaving(name) for name in can.leaves_out if self.leaves_out]
        return (*self.phrases_for(can.commands, can.states, can.number, can.durations), *steps, *left)

    def leaving(self, name: str) -> Phrase:
        """Leaving out the thing of that name."""
        return Phrase(plain(self.leaves_out[0].replace("{}", name)), Command.LEAVE_OUT, Thing(name))

    def left_out(self, words: str) -> Phrase | None:
        """What plain words leave out, whatever can be left out now; None when they leave out nothing."""
        for how in self.leaves_out:
            before, _, after = how.partition("{}")
            if words.startswith(before) and words.endswith(after) and len(words) > len(before + after):
                name = words.removeprefix(before).removesuffix(after)
                return Phrase(words, Command.LEAVE_OUT, Thing(name))
        return None

    def counted(self, number: int) -> str:
        """A counting word.

        Raises:
            ValueError: below one, or above `LARGEST_COUNT`.
        """
        if not 1 <= number <= LARGEST_COUNT:
            raise ValueError(f"counts go from 1 to {LARGEST_COUNT}, not {number}")
        if number <= len(self.numbers):
            return self.numbers[number - 1]
        from num2words import num2words

        return plain(num2words(number, lang=self.name))

    def bare(self, words: str) -> Phrase | None:
        """The command that plain words are and nothing else, whatever can be said now."""
        every = [Phrase(t, c) for c, texts in self.commands.items() for t in (c.value, *texts)]
        every += [Phrase(t, c) for c, texts in self.typed.items() for t in texts]
        return bare(words, every)

    def carrier(self, text: str) -> tuple[Command, str] | None:
        """The command that free speech opens with, and the words after its opening; None if it opens none."""
        words = plain(text).split()
        for command, openings in self.carriers.items():
            for opening in openings:
                length = len(opening.split())
                if _close(" ".join(words[:length]), opening):
                    return command, _after(text, length)
        return None


@cache
def language(name: str = "en") -> Language:
    """Read a language's phrases.

    Raises:
        CompanionError: no such language.
    """
    from ruamel.yaml import YAML

    path = _FOLDER / f"{name}.yaml"
    if not path.is_file():
        known = ", ".join(sorted(p.stem for p in _FOLDER.glob("*.yaml")))
        raise CompanionError(f"there are no phrases for the language {name!r}; there are: {known}")
    data = YAML(typ="safe", pure=True).load(path)
    return Language(
        data["language"],
        {Command(key): tuple(texts) for key, texts in data["commands"].items()},
        {Command(key): tuple(texts) for key, texts in data.get("typed", {}).items()},
        {Command(key): tuple(texts) for key, texts in data["carriers"].items()},
        tuple(data["numbers"]),
        {text: length(str(minutes)) for text, minutes in data["durations"].items()},
        leaves_out=tuple(data.get("leaves out", ())),
    )


def phrases_for(
    commands: Iterable[Command],
    states: Iterable[str] = (),
    number: int | None = None,
    durations: bool = False,
    lang: str = "en",
) -> tuple[Phrase, ...]:
    """The closed set to listen for, in a language. See `Language.phrases_for`."""
    return language(lang).phrases_for(commands, states, number, durations)


def plain(text: str) -> str:
    """Lower case, no punctuation, single spaces: how phrases are compared."""
    return " ".join(_NOT_WORDS.sub(" ", text.lower().replace("’", "'").replace("-", " ")).split())


def bare(words: str, phrases: Iterable[Phrase]) -> Phrase | None:
    """The phrase that plain words are and nothing else, said once or again and again: "no, no"."""
    count = len(words.split())
    for phrase in phrases:
        times = count // len(phrase.text.split())
        if times and words == " ".join([phrase.text] * times):
            return phrase
    return None


def _close(heard: str, meant: str) -> bool:
    """Whether a recogniser that writes freely may have meant these words: "start at timer for"."""
    return heard == meant or (len(meant) >= 12 and SequenceMatcher(None, heard, meant).ratio() >= 0.85)


def _after(text: str, words: int) -> str:
    """What follows the first words of a text, with its own punctuation and capitals."""
    return " ".join(text.replace("-", " ").split()[words:]).lstrip(" ,.;:-")


def parse_typed(
    text: str,
    phrases: Sequence[Phrase],
    *,
    reading: str | None = None,
    free_speech: bool = False,
    lang: str = "en",
) -> Phrase | None:
    """What a typed line means; None when it means nothing.

    Args:
        phrases: what can be said now. A command of the language that cannot be said now is still understood,
            so that the job can answer why not.
        reading: the unit of the measured value that is wanted, if one is.
        free_speech: whether the next line is the mechanic's own words.
    """
    words = plain(text)
    if not words:
        return None
    for phrase in phrases:
        if words == phrase.text or _same_number(words, phrase):
            return phrase
    spoken = language(lang)
    if bare := spoken.bare(words) or _step(words, spoken):
        return bare
    if free_speech:
        return Phrase(words, Command.WORDS, Words(text.strip()))
    from companion.speech.language.values import parse_duration_words, parse_reading

    if reading and (value := parse_reading(text, reading)):
        return Phrase(words, Command.READING, measured(*value))
    if any(phrase.command == Command.DURATION for phrase in phrases) and (
        minutes := parse_duration_words(text)
    ):
        return Phrase(words, Command.DURATION, length(minutes))
    opened = spoken.carrier(text)
    return in_one_breath(words, *opened, spoken) if opened else spoken.left_out(words)


def _step(words: str, spoken: Language) -> Phrase | None:
    """ "Step nine" or "step 9", whether or not it is offered: the job can answer why not."""
    if not words.startswith(f"{spoken.step} "):
        return None
    said = words.removeprefix(f"{spoken.step} ")
    numbers = {spoken.counted(n): str(n) for n in range(1, LARGEST_COUNT + 1)}
    number = said if said.isdecimal() else numbers.get(said)
    return Phrase(words, Command.STEP, given_in(Command.STEP, {"number": number})) if number else None


def _same_number(words: str, phrase: Phrase) -> bool:
    return isinstance(phrase.given, Count) and words == str(phrase.given.number)


def in_one_breath(words: str, command: Command, rest: str, spoken: Language) -> Phrase | None:
    """A carrier command with what followed it; None when what followed makes no sense for it.

    A command that follows it is not what is noted, or the reason: that is asked for then. But whoever says
    "stop work" means it.
    """
    from companion.speech.language.values import parse_duration_words

    bare = spoken.bare(plain(rest)) if rest else None
    if bare and bare.command == Command.STOP_WORK:
        return bare
    if bare or not rest:
        return Phrase(words, command)
    if command is Command.START_TIMER:
        minutes = parse_duration_words(rest)
        return Phrase(words, command, length(minutes)) if minutes else None
    return Phrase(words, command, _own_words(command, rest))


def _own_words(command: Command, rest: str) -> Given:
    """What followed a command in the mechanic's own words."""
    if command is Command.SKIP:
        return Reason(rest)
    if command is Command.AWAIT_PART:
        return part_and_wait(rest)
    return Words(noted(rest))


def noted(text: str) -> str:
    """Words of one's own without what is left of their opening: "take a note of"."""
    found = _LEFT_OVER.match(text)
    return text[found.end() :] if found and found.end() < len(text) else text
