"""The closed-set score: how well each phrase explains a clip, less what it would score on noise alone."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from companion.speech import settings
from companion.speech.phrases import Phrase
from companion.speech.sound import RATE, Samples
from companion.speech.whisper import Encoded, Whisper

Scores = NDArray[np.float64]
"""One log-likelihood for each phrase, in the order asked."""
_QUESTIONS = ("what", "how", "where")


def written(phrase: Phrase) -> str:
    """A phrase as the model writes it down; the end mark acts as an end of phrase."""
    mark = "?" if phrase.text.split()[0] in _QUESTIONS else "."
    return f" {phrase.text.capitalize()}{mark}"


def window(samples: Samples) -> int:
    """Samples of the window that a clip is encoded in."""
    padded = len(samples) + round(settings.SCORED_PADDING.total_seconds() * RATE)
    return max(padded, round(settings.SCORED_LEAST.total_seconds() * RATE))


class Scorer:
    """Scores clips against sets of phrases; keeps what depends on the phrase alone."""

    def __init__(self, whisper: Whisper) -> None:
        self._whisper = whisper
        self._known: dict[Phrase, list[int]] = {}
        self._priors: dict[Phrase, float] = {}
        self._quiet: list[Encoded] = []

    def prepare(self, phrases: Sequence[Phrase]) -> None:
        """Work out the priors of phrases not met before: their mean score over silence and noise."""
        new = [phrase for phrase in phrases if phrase not in self._priors]
        if not new:
            return
        tokens = [self._tokens(phrase) for phrase in new]
        totals = np.mean([self._whisper.likelihoods(e, tokens) for e in self._nothing_said()], axis=0)
        self._priors.update(zip(new, map(float, totals), strict=True))

    def score(self, encoded: Encoded, phrases: Sequence[Phrase]) -> tuple[Scores, Scores]:
        """The raw log-likelihoods, and the same with the prior's share taken off."""
        self.prepare(phrases)
        raw = self._whisper.likelihoods(encoded, [self._tokens(phrase) for phrase in phrases])
        priors = np.array([self._priors[phrase] for phrase in phrases])
        return raw, raw - settings.PRIOR_WEIGHT * priors

    def _nothing_said(self) -> list[Encoded]:
        if not self._quiet:
            self._quiet = [self._whisper.encode(s, window(s)) for s in noises()]
        return self._quiet

    def _tokens(self, phrase: Phrase) -> list[int]:
        if phrase not in self._known:
            self._known[phrase] = self._whisper.tokens(written(phrase))
        return self._known[phrase]


def noises() -> list[Samples]:
    """A handful of clips in which nothing is said: silence, hiss, and pink noise at three levels."""
    rng = np.random.default_rng(1)
    count = round(1.2 * RATE)
    clips = [np.zeros(count, dtype=np.float32)]
    for level in (0.003, 0.02, 0.1):
        spectrum = np.fft.rfft(rng.standard_normal(count))
        pink = np.fft.irfft(spectrum / np.sqrt(np.maximum(np.arange(len(spectrum)), 1.0)), count)
        clips.append((level * pink / np.std(pink)).astype(np.float32))
    clips.append((0.02 * rng.standard_normal(count)).astype(np.float32))
    return clips
