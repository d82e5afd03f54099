"""From evidence to a verdict. Doubt fails safe: between accepted and rejected lies asking."""

import math
from dataclasses import dataclass

from companion.speech.language.phrases import Phrase
from companion.speech.recognisers import settings
from companion.speech.recognisers.recogniser import Judgement, Verdict


@dataclass(frozen=True)
class Evidence:
    """What was measured of one clip."""

    seconds: float
    """Length of the voiced part."""
    best: Phrase
    second: Phrase | None
    plain: float
    """Log-likelihood that the weights as they came give the best phrase."""
    hardened: float
    """The same by the weights made to bear noise."""
    alone: float
    """Log-odds, by the second opinion, that this phrase and nothing else was said."""
    margin: float
    """How much better the best phrase fits than the best one of another meaning."""


def confidence(evidence: Evidence) -> float:
    """How sure it is, from 0 to 1, that the best phrase was said and nothing else.

    Each of the two forms of the model fails where the other does not. So a phrase is as likely as their
    mixture finds it. Long phrases are rarely met by chance. The second opinion tells best whether the phrase
    stood alone. A clip that is longer than the phrase can last holds something else too. And what the job
    wants now is likelier than anything else.
    """
    if evidence.seconds > longest(evidence.best.text):
        return 0.0
    least = settings.LEAST_LIKELY
    likely = math.log(math.exp(max(evidence.plain, least)) + math.exp(max(evidence.hardened, least)))
    letters = sum(c.isalpha() for c in evidence.best.text)
    low, high = settings.ALONE_WITHIN
    z = (
        settings.BIAS
        + settings.LIKELY_WEIGHT * likely
        + settings.MARGIN_WEIGHT * min(evidence.margin, settings.WIDEST_MARGIN)
        + settings.LETTERS_WEIGHT * min(letters, settings.MANY_LETTERS)
        + settings.ALONE_WEIGHT * min(max(evidence.alone, low), high)
        + settings.WANTED.get(evidence.best.command, 0.0)
    )
    return 1.0 / (1.0 + math.exp(-z))


def longest(text: str) -> float:
    """Seconds, with the quiet that is kept around it, that a phrase may last."""
    base, each = settings.LONGEST_PHRASE
    return base + each * sum(c.isalpha() for c in text)


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


def among_voices(judgement: Judgement, rise: float, over: float) -> Judgement:
    """The verdict on what was cut out of others' talk: it must also stand out, the more the less sure it is.

    Args:
        judgement: as if it had been said in silence.
        rise: decibels by which it exceeds what was heard just before and after it.
        over: decibels by which it exceeds what the place seldom exceeds.
    """
    wanted = settings.WANTED.get(judgement.phrase.command, 0.0) if judgement.phrase else 0.0
    score = min(max(judgement.score, 1e-4), 1 - 1e-4)
    widest = settings.STANDS_OUT_WITHIN
    evidence = (
        math.log(score / (1 - score))
        - wanted
        + settings.RISE_WEIGHT * min(rise, widest)
        + settings.OVER_WEIGHT * min(over, widest)
    )
    return judgement if evidence >= settings.STANDS_OUT else Judgement(Verdict.REJECTED, None, 0.0)
