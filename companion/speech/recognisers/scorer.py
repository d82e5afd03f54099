"""The closed-set score: how well each phrase explains a clip, less what it would score on noise alone."""

import json
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from companion.speech.language.phrases import Phrase
from companion.speech.network.whisper import Encoded, Whisper
from companion.speech.recognisers import settings
from companion.speech.sound.samples import RATE, Samples

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


@cache
def stored_priors() -> Mapping[str, Mapping[str, float]]:
    """Priors of the fixed phrases, worked out by `models/priors.py`, for each form of the model."""
    found: dict[str, dict[str, float]] = json.loads((Path(__file__).parent / "priors.json").read_text())
    return found


class Scorer:
    """Scores clips against sets of phrases; keeps what depends on the phrase alone.

    Args:
        whisper: the model.
        known: priors by the words of the phrase, so that they need not be worked out.
    """

    def __init__(self, whisper: Whisper, known: Mapping[str, float] | None = None) -> None:
        self._whisper = whisper
        self._stored = known or {}
        self._known: dict[Phrase, list[int]] = {}
        self._priors: dict[Phrase, float] = {}
        self._quiet: list[Encoded] = []

    def prepare(self, phrases: Sequence[Phrase]) -> None:
        """Find the priors of phrases not met before: their mean score over silence and noise."""
        for phrase in phrases:
            if phrase.text in self._stored:
                self._priors[phrase] = self._stored[phrase.text]
        new = [phrase for phrase in phrases if phrase not in self._priors]
        if not new:
            return
        tokens = [self._tokens(phrase) for phrase in new]
        totals = np.mean([self._whisper.likelihoods(e, tokens) for e in self._nothing_said()], axis=0)
        self._priors.update(zip(new, map(float, totals), strict=True))

    def priors(self, phrases: Sequence[Phrase]) -> dict[str, float]:
        """The priors by the words of the phrases."""
        self.prepare(phrases)
        return {phrase.text: round(self._priors[phrase], 3) for phrase in phrases}

    def score(self, encoded: Encoded, phrases: Sequence[Phrase]) -> tuple[Scores, Scores]:
        """The raw log-likelihoods, and the same with the prior's share taken off."""
        self.prepare(phrases)
        raw = self._whisper.likelihoods(encoded, [self._tokens(phrase) for phrase in phrases])
        priors = np.array([self._priors[phrase] for phrase in phrases])
        return raw, raw - settings.PRIOR_WEIGHT * priors

    def openings(self, encoded: Encoded, phrases: Sequence[Phrase]) -> Scores:
        """How likely the first token of each phrase is to be written first: a quick look at many phrases."""
        return self._whisper.openings(encoded, [self._tokens(phrase)[0] for phrase in phrases])

    def _nothing_said(self) -> list[Encoded]:
        if not self._quiet:
            self._quiet = [self._whisper.encode(s, window(s)) for s in noises()]
        return self._quiet

    def _tokens(self, phrase: Phrase) -> list[int]:
        if phrase not in self._known:
            self._known[phrase] = self._whisper.tokens(written(phrase))
        return self._known[phrase]


def noises() -> list[Samples]:
    """A few clips in which nothing is said: silence, and pink noise at two levels."""
    rng = np.random.default_rng(1)
    count = round(1.2 * RATE)
    clips = [np.zeros(count, dtype=np.float32)]
    for level in (0.02, 0.1):
        spectrum = np.fft.rfft(rng.standard_normal(count))
        pink = np.fft.irfft(spectrum / np.sqrt(np.maximum(np.arange(len(spectrum)), 1.0)), count)
        clips.append((level * pink / np.std(pink)).astype(np.float32))
    return clips
