"""From evidence to a verdict. Doubt fails safe: between accepted and rejected lies asking."""

import math
from dataclasses import dataclass

from companion.speech import settings
from companion.speech.phrases import Phrase, plain
from companion.speech.recogniser import Judgement, Verdict


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
    in_a_sentence: bool
    """Whether free decoding surely writes more words than the phrase has."""
    margin: float
    """How much better the best phrase fits than the best one of another meaning."""


def confidence(evidence: Evidence) -> float:
    """0 to 1: how sure it is that the best phrase was said, and said alone.

    A phrase counts as likely as the likelier of two forms of the model finds it (their mixture), since each
    fails where the other does not; for each letter, since a long phrase is rarely met by chance. A clip that
    lasts longer than the phrase can is no isolated phrase.
    """
    if evidence.in_a_sentence or evidence.seconds > longest(evidence.best.text):
        return 0.0
    least = settings.LEAST_LIKELY
    likely = math.log(math.exp(max(evidence.plain, least)) + math.exp(max(evidence.hardened, least)))
    letters = sum(c.isalpha() for c in evidence.best.text)
    z = (
        settings.BIAS
        + settings.LIKELY_WEIGHT * likely / letters
        + settings.MARGIN_WEIGHT * min(evidence.margin, settings.WIDEST_MARGIN)
        + settings.LETTERS_WEIGHT * min(letters, settings.MANY_LETTERS)
    )
    return 1.0 / (1.0 + math.exp(-z))


def is_sentence(written: str, score: float, phrase: str) -> bool:
    """Whether what was written freely is surely a sentence around or beside the phrase.

    Words that go round in a loop, as free decoding of a short clip does, count once.
    """
    words = plain(written).split()
    again = next((i for i in range(1, len(words)) if words[i] == words[0]), len(words))
    more = again - len(phrase.split())
    return score > settings.SURELY_WRITTEN and more >= settings.SENTENCE_LONGER


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
