"""What the mechanic chose for a job at the car."""

from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.speech.language.own_phrases import OwnPhrases


@dataclass(frozen=True)
class Choices:
    """Which edges the mechanic wants; see the options of `companion work`."""

    keys: bool = False
    quiet: bool = False
    plain: bool = False
    mic: str | None = None
    speaker: str | None = None
    pedal: str = " "
    voice: str = "plain"
    attention: str | None = None
    alone: timedelta | None = None
    alone_under: timedelta | None = None
    alarm_command: tuple[str, ...] = ()
    profile: Path | None = None
    own: "OwnPhrases" = field(default_factory=dict)
    """The mechanic's own words for commands."""
    recogniser: str = "auto"
    model: Path | None = None
    lang: str = "en"
    options: tuple[str, ...] = ()
    """As typed, to be given again when the job is taken up again."""
