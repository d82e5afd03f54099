"""From evidence to a verdict. Doubt fails safe: between accepted and rejected lies asking."""

import math
from dataclasses import dataclass

from companion.speech import settings
from companion.speech.phrases import Phrase
from companion.speech.recogniser import Judgement, Verdict


@dataclass(frozen=True)
class Evidence:
    """What was measured of one clip."""

    seconds: float
    """Length of the voiced part."""
    best: Phrase
    second: Phrase | None
    raw: float
    """Log-likelihood of the best phrase."""
    margin: float
    """How much better the best phrase is than the best one of another meaning."""
    gap: float
    """Log-likelihood of the best phrase, less that of what free decoding would write; at most about 0."""


def expected_seconds(text: str) -> float:
    """How long a phrase takes to say, with the silence that is kept around it."""
    base, each = settings.EXPECTED_SECONDS
    return base + each * sum(c.isalpha() for c in text)


def confidence(evidence: Evidence) -> float:
    """0 to 1: how sure it is that the best phrase was said, and said alone."""
    late = abs(evidence.seconds - expected_seconds(evidence.best.text)) / settings.DURATION_LEEWAY
    if late > 1:
        return 0.0
    z = 2.5 + 0.22 * evidence.raw + 0.35 * min(evidence.margin, 8.0) + 0.25 * evidence.gap - late
    return 1.0 / (1.0 + math.exp(-z))


def judge(evidence: Evidence) -> Judgement:
    """The verdict on one clip."""
    score = confidence(evidence)
    final = evidence.best.command in settings.FINAL_COMMANDS
    if score >= (settings.ACCEPT_FINAL if final else settings.ACCEPT):
        verdict = Verdict.ACCEPTED
    elif score >= settings.ASK:
        verdict = Verdict.UNSURE
    else:
        verdict = Verdict.REJECTED
    return Judgement(verdict, evidence.best, round(score, 4), evidence.second)
