"""What is not a fixed phrase: the mechanic's own words, a command with words after it, a measured value."""

from collections.abc import Sequence
from typing import Protocol, runtime_checkable

from companion.job.facts.commands import Command
from companion.job.facts.said.given import Words
from companion.job.facts.said.log_map import measured
from companion.speech.language.phrases import Language, Phrase, bare, in_one_breath, noted, plain
from companion.speech.language.values import parse_reading
from companion.speech.language.values_meant import meant
from companion.speech.recognisers.recogniser import Judgement, Recogniser, Verdict
from companion.speech.sound.samples import Clip

SURE_ENOUGH = 0.9
"""The score of free speech. It was asked for, or opened with a command, and is read back."""


@runtime_checkable
class Alternatives(Protocol):
    """A recogniser that can also tell what else free speech may have been."""

    def alternatives(self, clip: Clip, bias: Sequence[str] = ()) -> Sequence[str]:
        """Transcripts, the likeliest first."""

    def likeliest(self, clip: Clip, texts: Sequence[str]) -> str:
        """Which of a few texts was said."""


def own_words(text: str, live: Sequence[Phrase], spoken: Language) -> Judgement:
    """The words of a note or a reason. Accepted even when empty: the sound is kept whatever happens.

    A command that was written down, and nothing else, is no answer; nor is what opens with "stop work".

    Args:
        text: what was written down.
        live: the commands that can be said beside free speech.
        spoken: the language; its other commands are no answer either.
    """
    words = plain(text)
    stops = (p for p in live if p.command == Command.STOP_WORK and f"{words} ".startswith(f"{p.text} "))
    command = bare(words, live) or spoken.bare(words) or next(stops, None)
    free = Phrase(words, Command.WORDS, Words(noted(text)))
    return Judgement(Verdict.ACCEPTED, command or free, SURE_ENOUGH)


def one_breath(text: str, opening: str, commands: Sequence[Command], spoken: Language) -> Judgement:
    """A command with what followed it in the same breath, such as "note the bracket is cracked".

    Args:
        text: the utterance as it was written down.
        opening: its first words as they were heard at once; they decide where the text does not.
        commands: those that may be said now.
        spoken: the language.
    """
    found = spoken.carrier(text)
    if found is None:
        heard = spoken.carrier(opening)
        words = len(opening.split()) - len(heard[1].split()) if heard else 0
        found = (heard[0], " ".join(text.split()[words:])) if heard else None
    if found is None or found[0] not in commands:
        return Judgement(Verdict.REJECTED, None, 0.0)
    command, rest = found
    phrase = in_one_breath(plain(text), command, rest, spoken) or Phrase(plain(text), command)
    return Judgement(Verdict.ACCEPTED, phrase, SURE_ENOUGH)


def reading_in(
    recogniser: Recogniser, clip: Clip, unit: str, otherwise: Judgement
) -> tuple[Judgement, str | None]:
    """A measured value in the wanted unit, if the clip is one and nothing else."""
    bias = ("twelve point six volts", "ninety newton metres", "zero point four millimetres")
    if isinstance(recogniser, Alternatives):
        written = recogniser.alternatives(clip, bias)
        texts = meant(written, unit)
        text = recogniser.likeliest(clip, texts) if len(texts) > 1 else "".join(texts)
    else:
        written = (recogniser.transcribe(clip, bias),)
        text = written[0]
    if value := parse_reading(text, unit):
        phrase = Phrase(plain(text), Command.READING, measured(*value))
        return Judgement(Verdict.ACCEPTED, phrase, SURE_ENOUGH), text
    return otherwise, written[0] if written else None
