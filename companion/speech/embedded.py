"""The recogniser that comes with pip: Whisper tiny.en as a scorer of a closed set of phrases."""

from collections.abc import Sequence

import numpy as np

from companion.speech import settings
from companion.speech.decision import Evidence, judge
from companion.speech.phrases import Phrase
from companion.speech.recogniser import Judgement, Verdict
from companion.speech.scorer import Scorer, window
from companion.speech.sound import RATE, Clip
from companion.speech.whisper import WINDOW, Decoded, Encoded, Whisper

NOTHING = Judgement(Verdict.REJECTED, None, 0.0)
_FREE_TOKENS = 14
"""Longest free decoding of a command clip, start marks included: no phrase is longer."""


class EmbeddedRecogniser:
    """See `recogniser.Recogniser`.

    Args:
        whisper: the model; the installed weights by default. Nothing is loaded before the first use.

    Raises:
        ModelError: on first use, when the weights are missing or not what they claim to be.
    """

    name = "embedded"

    def __init__(self, whisper: Whisper | None = None) -> None:
        self._whisper = whisper or Whisper()
        self._scorer = Scorer(self._whisper)
        self._phrases: tuple[Phrase, ...] = ()

    def expect(self, phrases: Sequence[Phrase]) -> None:
        """Set what may be said from now on."""
        self._phrases = tuple(phrases)
        self._scorer.prepare(self._phrases)

    def judge(self, clip: Clip) -> Judgement:
        """Judge one isolated utterance, with about 0.2 s of quiet kept on either side."""
        if not self._phrases or clip.duration > settings.LONGEST_COMMAND or not np.any(clip.samples):
            return NOTHING
        return judge(self.weigh(clip))

    def weigh(self, clip: Clip) -> Evidence:
        """What speaks for and against the phrase that fits best."""
        encoded = self._encode(clip)
        raw, scores = self._scorer.score(encoded, self._phrases)
        order = np.argsort(-scores)
        best = self._phrases[order[0]]
        rivals = [i for i in order if not _same(self._phrases[i], best)]
        second = self._phrases[rivals[0]] if rivals else None
        margin = float(scores[order[0]] - scores[rivals[0]]) if rivals else 99.0
        free = self._whisper.decode(encoded, _FREE_TOKENS)
        return Evidence(
            clip.duration.total_seconds(),
            best,
            second,
            float(raw[order[0]]),
            margin,
            float(raw[order[0]] - free.score),
        )

    def transcribe(self, clip: Clip, bias: Sequence[str] = ()) -> str:
        """Write down free speech of up to 30 s."""
        return self._dictate(clip, bias, 1).text

    def alternatives(self, clip: Clip, bias: Sequence[str] = ()) -> Sequence[str]:
        """What free speech may have been, the likeliest first."""
        decoded = self._dictate(clip, bias, 5)
        return (decoded.text, *decoded.alternatives)

    def _dictate(self, clip: Clip, bias: Sequence[str], alternatives: int) -> Decoded:
        if not np.any(clip.samples):
            return Decoded("", 0.0)
        encoded = self._whisper.encode(clip.samples, WINDOW)
        longest = 24 + round(8 * len(clip.samples) / RATE)
        words = ", ".join(bias)
        return self._whisper.decode(
            encoded, longest + 4 * len(words), words, beam=5, alternatives=alternatives
        )

    def opening(self, clip: Clip) -> str:
        """The first few words of a clip, quickly and roughly: enough to tell a note from chatter."""
        if not np.any(clip.samples):
            return ""
        head = clip.samples[: 2 * RATE]
        return self._whisper.decode(self._whisper.encode(head, window(head)), _FREE_TOKENS).text

    def _encode(self, clip: Clip) -> Encoded:
        return self._whisper.encode(clip.samples, window(clip.samples))


def _same(one: Phrase, other: Phrase) -> bool:
    return (one.command, one.arguments) == (other.command, other.arguments)
