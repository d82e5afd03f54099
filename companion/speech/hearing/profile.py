"""What was learnt about one voice in one place: how much confidence a command needs there.

Only commands that can be undone by voice are ever taken more easily; what passes a gate or cannot be undone
needs the same confidence everywhere. The bounds are narrow, since five phrases tell little.
"""

import json
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from companion.errors import ModelError
from companion.files import failures_named, write_whole
from companion.speech.recognisers import settings
from companion.speech.recognisers.recogniser import Judgement, Verdict

MOST = 0.15
"""CHOSEN: the most that the confidence asked of a command may be moved either way."""


@dataclass(frozen=True)
class Profile:
    """One voice in one place, through one microphone."""

    ease: float
    """Taken off the confidence that a command needs: positive for a voice heard badly, negative for a place
    that sounds like commands by itself. Within `MOST`."""
    microphone: str
    made: str
    """When, in ISO 8601."""
    speech_db: float
    """Level of the phrases, dB below full scale."""
    noise_db: float
    calibration: float | None = None
    """Added to an A-weighted level below full scale it makes dB(A) in the room; None when nobody measured."""

    def apply(self, judgement: Judgement) -> Judgement:
        """The verdict as this voice in this place deserves it."""
        if judgement.phrase is None or judgement.phrase.command in settings.FINAL_COMMANDS:
            return judgement
        enough = settings.ACCEPT - self.ease
        if judgement.verdict is Verdict.UNSURE and judgement.score >= enough:
            return replace(judgement, verdict=Verdict.ACCEPTED)
        if judgement.verdict is Verdict.ACCEPTED and judgement.score < enough:
            return replace(judgement, verdict=Verdict.UNSURE)
        return judgement

    def write(self, path: Path) -> None:
        """Keep it. Raises LogbookError when it cannot be written."""
        with failures_named(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, (json.dumps(asdict(self), indent=2) + "\n").encode())


def read_profile(path: Path) -> Profile:
    """A profile that was kept.

    Raises:
        ModelError: it is no profile.
        LogbookError: it cannot be read.
    """
    with failures_named(path):
        data = path.read_bytes()
    try:
        fields = json.loads(data)
        profile = Profile(
            ease=float(fields["ease"]),
            microphone=str(fields["microphone"]),
            made=str(fields["made"]),
            speech_db=float(fields["speech_db"]),
            noise_db=float(fields["noise_db"]),
            calibration=None if fields["calibration"] is None else float(fields["calibration"]),
        )
    except (ValueError, KeyError, TypeError) as error:
        raise ModelError(
            f"{path}: not a hearing profile; make it anew: companion hear --check --adapt"
        ) from error
    if not abs(profile.ease) <= MOST:
        raise ModelError(
            f"{path}: ease {profile.ease} is not within {MOST}; make it anew with --check --adapt"
        )
    return profile
