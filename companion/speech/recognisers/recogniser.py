"""What a recogniser is: a clip and the phrases that may be said now, in; a judgement, out.

Adapters: `embedded.EmbeddedRecogniser` (weights come with pip), `vosk.VoskRecogniser`
(a model directory), and `scripted.ScriptedRecogniser` (the fake, for tests).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol, runtime_checkable

from companion.speech.language.phrases import Phrase
from companion.speech.sound.samples import Clip, Samples


class Verdict(StrEnum):
    """How sure the recogniser is. Doubt fails safe: only ACCEPTED may act."""

    ACCEPTED = "accepted"
    UNSURE = "unsure"
    """Ask: "Did you say ...?" """
    REJECTED = "rejected"
    """Not a command: chatter, noise, or a sentence."""


@dataclass(frozen=True)
class Judgement:
    """What a recogniser makes of one clip."""

    verdict: Verdict
    phrase: Phrase | None
    """The best phrase; None when nothing was close."""
    score: float
    """0 (no) to 1 (certain), comparable between clips of one recogniser."""
    runner_up: Phrase | None = None


class Recogniser(Protocol):
    """Decides which of a closed set of phrases a clip is, if any."""

    name: str

    def expect(self, phrases: Sequence[Phrase]) -> None:
        """Set the phrases that may be said from now on (cheap when unchanged)."""

    def judge(self, clip: Clip) -> Judgement:
        """Judge one isolated utterance against the expected phrases."""

    def transcribe(self, clip: Clip, bias: Sequence[str] = ()) -> str:
        """Write down free speech; `bias` lists trade words likely in it. Empty if nothing was said."""

    def opening(self, clip: Clip) -> str:
        """The first few words of a clip, quickly and roughly: enough to tell a note from chatter."""


@runtime_checkable
class Streaming(Protocol):
    """A recogniser that works while speech goes on, so that `judge` need not begin at the beginning."""

    def begin(self) -> None:
        """A new utterance has begun: forget the one before."""

    def hear(self, samples: Samples) -> None:
        """The next of its sound. `judge` gets all of it later, give or take a frame of quiet."""
