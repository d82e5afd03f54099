"""A look at the microphone: five phrases and the quiet around them, measured, and what to change."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from companion.job.facts.commands import Command
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.profile import MOST, Profile
from companion.speech.hearing.utterance import Hearing, level
from companion.speech.language.phrases import Phrase
from companion.speech.recognisers import settings
from companion.speech.recognisers.recogniser import Judgement, Verdict
from companion.speech.sound.level import (
    BACKGROUND,
    SILENCE,
    Ambient,
    LevelMeter,
    clipped,
    combined,
    rms,
)
from companion.speech.sound.samples import FRAME_TIME, Samples

PROMPTS = (Command.REPEAT, Command.WHAT_SIZE, Command.GO_BACK, Command.STOP_TALKING, Command.DONE)
"""What is asked for: long and short, with hissing and with voiced sounds."""
QUIET_FIRST = timedelta(seconds=5)
"""CHOSEN: how long the place is listened to before the first phrase."""
PATIENCE = timedelta(seconds=8)
"""CHOSEN: how long a phrase is waited for."""

_AROUND = timedelta(milliseconds=300)
"""Speech fades in and out: sound this near to it is no measure of the noise."""


@dataclass(frozen=True)
class Tried:
    """One phrase that was asked for."""

    asked: str
    judgement: Judgement | None = None
    """None when no speech came."""
    speech_db: float = SILENCE
    """Level of its louder half, dB below full scale."""
    clipped: float = 0.0
    """Share of its samples at full scale."""

    @property
    def right(self) -> bool:
        """The phrase that was asked for was heard, surely or not."""
        return bool(self.judgement and self.judgement.phrase and self.judgement.phrase.text == self.asked)

    @property
    def understood(self) -> bool:
        """It would have been obeyed."""
        return self.right and self.judgement is not None and self.judgement.verdict is Verdict.ACCEPTED


@dataclass(frozen=True)
class Findings:
    """What the check found."""

    tried: Sequence[Tried]
    noise_db: float
    """Energy mean of what is not speech, dB below full scale."""
    floor_db: float
    """What that exceeds nine tenths of the time."""
    ambient: Ambient | None
    """The same A-weighted; None when there was nothing but speech."""
    unasked: int
    """Commands that were heard while nobody was asked to speak."""

    @property
    def spoken(self) -> list[Tried]:
        """The phrases for which speech came."""
        return [t for t in self.tried if t.judgement is not None]

    @property
    def speech_db(self) -> float:
        """Median level of the phrases."""
        return float(np.median([t.speech_db for t in self.spoken])) if self.spoken else SILENCE

    @property
    def over_noise(self) -> float:
        """Speech over noise, dB: what the noise adds to the level of the speech is taken off."""
        voice = 10 ** (self.speech_db / 10) - 10 ** (self.noise_db / 10)
        return 10 * float(np.log10(max(voice, 1e-13))) - self.noise_db

    def understood(self, profile: Profile | None = None) -> int:
        """How many of the phrases would be obeyed, as things are or with a profile."""
        return sum(t.understood if profile is None else _fitted(t, profile).understood for t in self.tried)


def prompts(phrases: Sequence[Phrase]) -> list[Phrase]:
    """The phrases to ask for, of those that can be said."""
    return [next(p for p in phrases if p.command == command) for command in PROMPTS]


def walk(
    frames: Iterable[Samples],
    ear: Ear,
    asked: Sequence[Phrase],
    ask: Callable[[str], None] | None = None,
    quiet_first: timedelta = QUIET_FIRST,
    patience: timedelta = PATIENCE,
) -> Findings:
    """Go through the phrases.

    Args:
        frames: the sound.
        ear: it must expect a step's phrases already.
        asked: what is to be said, in order.
        ask: tells the mechanic to say it; None for a recording, where each utterance counts as the next one.
        quiet_first: how long the place is listened to before the first is asked for.
        patience: how long each is waited for.
    """
    ear.reset()
    heard: list[Samples] = []
    utterances: list[Hearing] = []
    tried: list[Tried] = []
    unasked, asked_at = 0, None

    def take(hearings: Iterable[Hearing]) -> None:
        nonlocal unasked, asked_at
        for hearing in hearings:
            utterances.append(hearing)
            expected = len(tried) < len(asked) and (ask is None or asked_at is not None)
            if expected:
                tried.append(_measured(asked[len(tried)].text, hearing, heard))
                asked_at = None
            elif hearing.judgement.verdict is Verdict.ACCEPTED:
                unasked += 1

    for frame in frames:
        heard.append(frame)
        take(ear.feed(frame))
        if ask is None:
            continue
        now = len(heard) * FRAME_TIME
        if asked_at is not None and now - asked_at > patience:
            tried.append(Tried(asked[len(tried)].text))
            asked_at = None
        if len(tried) == len(asked):
            break
        if asked_at is None and now >= quiet_first:
            ask(asked[len(tried)].text)
            asked_at = now
    take(ear.flush())
    tried += [Tried(phrase.text) for phrase in asked[len(tried) :]]
    meter = LevelMeter()
    noise = _without_speech(heard, utterances)
    for frame in noise:
        meter.feed(frame)
    levels = np.array([rms(frame) for frame in noise])
    floor = float(np.percentile(levels, BACKGROUND)) if noise else SILENCE
    return Findings(tried, combined(levels), floor, meter.ambient(), unasked)


def _measured(asked: str, hearing: Hearing, heard: Sequence[Samples]) -> Tried:
    first, last = round(hearing.start / FRAME_TIME), round(hearing.end / FRAME_TIME)
    samples = np.concatenate(heard[first:last]) if heard[first:last] else np.zeros(0, np.float32)
    return Tried(asked, hearing.judgement, level(samples), clipped(samples))


def _without_speech(heard: Sequence[Samples], utterances: Iterable[Hearing]) -> list[Samples]:
    speech = np.zeros(len(heard), dtype=bool)
    for hearing in utterances:
        first = max(0, int((hearing.start - _AROUND) / FRAME_TIME))
        speech[first : int((hearing.end + _AROUND) / FRAME_TIME) + 1] = True
    return [frame for frame, spoken in zip(heard, speech, strict=True) if not spoken]


def fit(findings: Findings, microphone: str, now: datetime, calibration: float | None = None) -> Profile:
    """What this voice in this place deserves, within narrow bounds.

    A phrase that was heard right but not surely makes commands easier to give, as far as that phrase needs
    it. A place where commands were heard that nobody gave makes them harder.
    """
    ease = 0.0
    if findings.unasked:
        ease = -MOST
    else:
        for tried in findings.tried:
            judgement = tried.judgement
            if judgement is None or not tried.right or tried.understood:
                continue
            needed = settings.ACCEPT - judgement.score + 0.01
            if judgement.verdict is Verdict.UNSURE and needed <= MOST:
                ease = max(ease, needed)
    return Profile(
        ease=round(ease, 3),
        microphone=microphone,
        made=now.isoformat(timespec="seconds"),
        speech_db=round(findings.speech_db, 1),
        noise_db=round(findings.noise_db, 1),
        calibration=calibration,
    )


def _fitted(tried: Tried, profile: Profile) -> Tried:
    if tried.judgement is None:
        return tried
    return Tried(tried.asked, profile.apply(tried.judgement), tried.speech_db, tried.clipped)
