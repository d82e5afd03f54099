"""What the ear listens for, and what it makes of an utterance before it is over."""

from dataclasses import dataclass
from datetime import timedelta

from companion.speech.hearing.utterance import Utterance
from companion.speech.language.phrases import Phrase
from companion.speech.recognisers.recogniser import Judgement


@dataclass(frozen=True)
class Expected:
    """What the ear listens for."""

    phrases: tuple[Phrase, ...] = ()
    dictation: bool = False
    bias: tuple[str, ...] = ()
    reading: str | None = None


@dataclass
class Thought:
    """What was made of an utterance so far; thrown away when speech goes on."""

    last: int
    of: Utterance
    """The whole, or what stood out of it."""
    judgement: Judgement
    transcript: str | None
    ready: timedelta
    """When the judgement was there, in stream time, as if the frames came in real time."""
    carries: bool = False
    """It opens like a note, a skip or a timer: more may follow."""
