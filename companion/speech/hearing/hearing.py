"""What the ear hands on: one utterance, where it lay in the stream, and what was made of it."""

from dataclasses import dataclass, field
from datetime import timedelta

from companion.speech.recognisers.recogniser import Judgement
from companion.speech.sound.samples import Clip


@dataclass(frozen=True)
class Hearing:
    """One utterance."""

    start: timedelta
    """From the start of the stream to the first voiced frame."""
    end: timedelta
    """From the start of the stream to the end of the last voiced frame."""
    judgement: Judgement
    clip: Clip = field(compare=False, repr=False)
    """The sound, with a little quiet on either side."""
    transcript: str | None = None
    """What was written down, where free speech was."""
    latency: timedelta = field(default=timedelta(0), compare=False)
    """From `end` to this hearing, had the frames come in real time."""
