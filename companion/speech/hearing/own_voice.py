"""The companion hears itself speak. So few commands are live then, and never one that it is itself saying.

Over its own voice "stop talking" and "stop work" are obeyed even when unsure, and nothing else is.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from companion.job.facts.commands import Command
from companion.speech.language.phrases import Phrase, plain
from companion.speech.recognisers import settings
from companion.speech.recognisers.recogniser import Judgement, Verdict

LIVE = (Command.STOP_TALKING, Command.STOP, Command.REPEAT, Command.DONE, Command.STOP_WORK)
"""What can be said over the companion's voice."""
SAFE = (Command.STOP_TALKING, Command.STOP_WORK)
"""Those that are obeyed when unsure: nothing unsafe follows, and nobody says them by chance. A bare "stop" is
none of them: "step", with which every reading opens, is too near."""


class OwnVoice:
    """What the companion is saying, or was until just now."""

    def __init__(self) -> None:
        self.reset()

    def reset(self) -> None:
        """Start a new stream, in silence."""
        self._speaking = False
        self._said = ""
        self._began = self._stopped = self._quiet_from = timedelta.min

    def speaking(self, text: str | None, now: timedelta) -> None:
        """The companion began to say `text`, or fell silent."""
        if text is not None:
            going_on = self._speaking or now < self._quiet_from
            self._said = f"{self._said} {plain(text)}" if going_on else plain(text)
            if not going_on:
                self._began = now
            self._speaking = True
        elif self._speaking:
            self._speaking = False
            self._stopped = now
            self._quiet_from = now + settings.GUARD

    @property
    def speaks(self) -> bool:
        """It is saying something now."""
        return self._speaking

    def heard_in(self, start: timedelta, end: timedelta, dictation: bool = False) -> bool:
        """Whether speech from `start` to `end` may be the companion's own, or mixed with it.

        People answer within a fifth of a second. So speech that begins in the echo and outlasts it is theirs.
        Words that were asked for are theirs too, even if they began early or something urgent speaks over
        them: none of them may be lost.
        """
        if self._speaking:
            return not (dictation and start < self._began)
        began_in_it = start < self._quiet_from if end <= self._quiet_from else start < self._stopped
        return began_in_it and not (dictation and end > self._quiet_from)

    def live(self, phrases: Sequence[Phrase]) -> tuple[Phrase, ...]:
        """Those of the phrases that can be said over it, and that it is not itself saying."""
        return tuple(p for p in phrases if p.command in LIVE and not self._says(p))

    def _says(self, phrase: Phrase) -> bool:
        return f" {phrase.text} " in f" {self._said} "


def at_once(judgement: Judgement) -> bool:
    """Whether it is obeyed even where more could follow: "no" may open a note, "stop work" opens none."""
    phrase = judgement.phrase
    return judgement.verdict is Verdict.ACCEPTED and phrase is not None and phrase.command in SAFE


def obeyed_unsure(judgement: Judgement) -> bool:
    """Whether it is perhaps the emergency."""
    phrase = judgement.phrase
    return judgement.verdict is Verdict.UNSURE and phrase is not None and phrase.command == Command.STOP_WORK


def safely_obeyed(judgement: Judgement) -> Judgement:
    """Accept what is safe even when unsure: to ask back would only be more of the companion's voice."""
    safe = judgement.phrase is not None and judgement.phrase.command in SAFE
    if safe and judgement.verdict is Verdict.UNSURE:
        return replace(judgement, verdict=Verdict.ACCEPTED)
    return judgement
