"""A look at the microphone: five phrases and the quiet around them, measured, and what to change."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from companion.job.facts.commands import Command
from companion.procedure.units import short
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.hearing import Hearing
from companion.speech.hearing.profile import MOST, Profile
from companion.speech.hearing.utterance import level
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
from companion.speech.sound.loudness import niosh, osha_by_table, signal_level
from companion.speech.sound.samples import FRAME_TIME, Samples

PROMPTS = (Command.REPEAT, Command.WHAT_SIZE, Command.GO_BACK, Command.STOP_TALKING, Command.DONE)
"""What is asked for: long and short, with hissing and with voiced sounds."""
QUIET_FIRST = timedelta(seconds=5)
"""CHOSEN: how long the place is listened to before the first phrase."""
PATIENCE = timedelta(seconds=8)
"""CHOSEN: how long a phrase is waited for."""

# CHOSEN, in dB. Recognition is measured, and good, at 10 dB over the noise; at 5 dB it begins to suffer.
TOO_QUIET, TOO_LOUD, AIM = -42.0, -8.0, -24.0
POOR, GOOD = 5.0, 12.0
CLIPPED_SHARE = 0.0005
"""CHOSEN: from this share of cut-off samples on, consonants suffer."""
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


def advice(findings: Findings) -> list[str]:
    """What to change, the most telling first; nothing when all is well."""
    if not findings.spoken:
        return [_why_nothing(findings)]
    said: list[str] = []
    if any(t.clipped > CLIPPED_SHARE for t in findings.spoken) or findings.speech_db > TOO_LOUD:
        said.append(
            "Too loud, the sound is cut off: lower the recording level of the microphone by about "
            f"{max(6, round(findings.speech_db - AIM))} dB, or move it to the side of the mouth."
        )
    elif findings.speech_db < TOO_QUIET:
        said.append(
            f"Too quiet: raise the recording level by about {round(AIM - findings.speech_db)} dB, "
            "or bring the microphone nearer to the mouth."
        )
    if findings.over_noise < POOR:
        said.append(
            f"The noise is only {findings.over_noise:.0f} dB below the voice: some commands will be missed. "
            "Wear the microphone at the mouth (headset or clip-on), turn its back to the noise, or speak up."
        )
    elif findings.over_noise < GOOD:
        said.append(
            f"The noise is {findings.over_noise:.0f} dB below the voice: it works, but "
            "nearer to the mouth is better."
        )
    missing = len(findings.tried) - len(findings.spoken)
    if missing:
        said.append(
            f"{missing} of {len(findings.tried)} phrases were not noticed as speech: say them louder."
        )
    if findings.unasked:
        said.append(
            f"{findings.unasked} commands were heard that nobody was asked to say: turn the radio down, "
            "or choose a word of your own with companion work --attention WORD."
        )
    wrong = [t.asked for t in findings.spoken if not t.understood]
    if wrong and not said:
        said.append(
            f"Not understood: {', '.join(wrong)}. Say each in one breath, then be silent for half a second."
        )
    return said


def _why_nothing(findings: Findings) -> str:
    if findings.noise_db <= SILENCE + 1:
        return "Not a sound came: the microphone is muted, or it is the wrong one (hear --devices)."
    return (
        f"No speech was noticed; the sound lies at {findings.noise_db:.0f} dB of full scale. Is it the right "
        "microphone (hear --devices), is it near the mouth, and is its recording level up?"
    )


def loudness_advice(ambient: Ambient) -> list[str]:
    """How loud the place is, what that asks of a tone, and how long ears may bear it; see `loudness.py`."""
    if ambient.dba is None:
        return [
            "How loud it is here in dB(A), and how long ears may bear it, cannot be told: the microphone is "
            "not calibrated. Give the reading of a sound level meter held beside it: --meter READING."
        ]
    signal = signal_level(ambient.dba)
    said = [
        f"Here it is {ambient.dba:.0f} dB(A); a tone stands out from {signal.level:.0f} dB(A) on (ISO 7731)."
    ]
    if not signal.enough:
        said.append(
            "No tone that is allowed stands out over this: do not rely on hearing the companion here."
        )
    elif signal.seen_too:
        said.append("So loud a place needs a sign to see as well: keep the screen in sight.")
    by_table = osha_by_table(ambient.dba)
    osha = _at_most(by_table) if by_table is not None else "no limit"
    said.append(f"A day's exposure at this level: OSHA {osha}, NIOSH {_at_most(niosh(ambient.dba))}.")
    return said


def _at_most(limit: timedelta) -> str:
    """In whole minutes, rounded down."""
    return short(limit - limit % timedelta(minutes=1))


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
