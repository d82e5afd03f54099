"""The recogniser that comes with pip: a closed set of phrases, scored by two forms of Whisper tiny.en.

The weights as they came hear people best. The same weights, changed to bear noise (`adapter.py`), hear best
in a workshop. So both score, and their scores are added. Each names the few phrases worth scoring: one by the
first token that it would write, the other by the letters that it reads. A second opinion (`verifier.py`)
tells of each whether it, and nothing else, was said.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from companion.job.facts.commands import Command
from companion.speech.language.phrases import Phrase
from companion.speech.network.adapter import freely, spell, spelt
from companion.speech.network.mel import HOP
from companion.speech.network.verifier import verify
from companion.speech.network.whisper import WINDOW, Decoded, Whisper
from companion.speech.recognisers import settings
from companion.speech.recognisers.decision import Evidence, judge
from companion.speech.recognisers.recogniser import Judgement, Verdict
from companion.speech.recognisers.scorer import Scorer, Scores, stored_priors, window
from companion.speech.sound.samples import RATE, Clip

NOTHING = Judgement(Verdict.REJECTED, None, 0.0)


class EmbeddedRecogniser:
    """See `recogniser.Recogniser`.

    Args:
        plain: the installed weights as they came; they also write down free speech.
        hardened: the same with what was trained for noise.
        fitted: makes of a judgement what one voice in one place deserves (`hearing/profile.py`).

    Nothing is loaded before it is first used.

    Raises:
        ModelError: on first use, when the weights are missing or not what they claim to be.
    """

    name = "embedded"

    def __init__(
        self,
        plain: Whisper | None = None,
        hardened: Whisper | None = None,
        fitted: Callable[[Judgement], Judgement] | None = None,
    ) -> None:
        self._fitted = fitted
        self._plain = plain or Whisper(adapt=False)
        self._hardened = hardened or Whisper()
        stored = stored_priors() if plain is None and hardened is None else {}
        self._plain_scorer = Scorer(self._plain, stored.get("plain"))
        self._hardened_scorer = Scorer(self._hardened, stored.get("hardened"))
        self._phrases: tuple[Phrase, ...] = ()
        self._second_core = ThreadPoolExecutor(1, "second form")

    def load(self) -> None:
        """Load now, so that the first command and the first note do not wait for it."""
        self._plain.load()
        self._hardened.load()

    def expect(self, phrases: Sequence[Phrase]) -> None:
        """Set what may be said from now on."""
        self._phrases = tuple(phrases)
        self._plain_scorer.prepare(self._phrases)
        self._hardened_scorer.prepare(self._phrases)

    def judge(self, clip: Clip) -> Judgement:
        """Judge one isolated utterance, with about 0.2 s of quiet kept on either side."""
        if not self._phrases or clip.duration > settings.LONGEST_COMMAND or not np.any(clip.samples):
            return NOTHING
        judgement = judge(self.weigh(clip))
        return self._fitted(judgement) if self._fitted else judgement

    def weigh(self, clip: Clip) -> Evidence:
        """What speaks for and against the phrase that fits best."""
        length = window(clip.samples)
        beside = self._second_core.submit(self._hardened.encode, clip.samples, length)
        plain = self._plain.encode(clip.samples, length)
        hardened = beside.result()
        spellings = spelt(spell(hardened), [phrase.text for phrase in self._phrases])
        openings = self._plain_scorer.openings(plain, self._phrases)
        few = best_few(spellings) | best_few(openings, spellings)
        phrases = [self._phrases[i] for i in sorted(few)]
        scored = self._second_core.submit(self._hardened_scorer.score, hardened, phrases)
        plain_raw, plain_scores = self._plain_scorer.score(plain, phrases)
        hardened_raw, hardened_scores = scored.result()
        alone = verify(plain, hardened, [phrase.text for phrase in phrases], frames_of(clip))
        fused = plain_scores + hardened_scores + settings.CHOICE_WEIGHT * alone
        order = [int(i) for i in np.argsort(-fused)]
        first = order[0]
        best = phrases[first]
        rivals = [i for i in order if not _same(phrases[i], best) and not _may_be_either(best, phrases[i])]
        return Evidence(
            seconds=clip.duration.total_seconds(),
            best=best,
            second=phrases[rivals[0]] if rivals else None,
            plain=float(plain_raw[first]),
            hardened=float(hardened_raw[first]),
            alone=float(alone[first]),
            margin=float(fused[first] - fused[rivals[0]]) if rivals else settings.WIDEST_MARGIN,
        )

    def transcribe(self, clip: Clip, bias: Sequence[str] = ()) -> str:
        """Write down free speech of up to 30 s."""
        return self._dictate(clip, bias, 1).text

    def alternatives(self, clip: Clip, bias: Sequence[str] = ()) -> Sequence[str]:
        """What free speech may have been, the likeliest first."""
        decoded = self._dictate(clip, bias, 5)
        return (decoded.text, *decoded.alternatives)

    def likeliest(self, clip: Clip, texts: Sequence[str]) -> str:
        """Which of a few texts was said: by its letters, and by how well the hardened form explains it.

        On "-teen" and "-ty" in fitting voices (360 clips) this was right 97 times in 100; the scores that
        phrases are weighed by, which favour the rarer of two words, 76 times.
        """
        encoded = self._hardened.encode(clip.samples, window(clip.samples))
        written = self._hardened_scorer.score(encoded, [Phrase(text, "") for text in texts])[0]
        return texts[int(np.argmax(spelt(spell(encoded), texts) + written))]

    def _dictate(self, clip: Clip, bias: Sequence[str], alternatives: int) -> Decoded:
        if not np.any(clip.samples):
            return Decoded("", 0.0)
        encoded = self._plain.encode(clip.samples, WINDOW)
        words = ", ".join(bias)
        longest = 24 + round(8 * len(clip.samples) / RATE) + 4 * len(words)
        return self._plain.decode(encoded, longest, words, beam=5, alternatives=alternatives)

    def opening(self, clip: Clip) -> str:
        """The first few words of a clip, quickly and roughly: as the speller reads them."""
        if not np.any(clip.samples):
            return ""
        head = clip.samples[: round(settings.OPENING.total_seconds() * RATE)]
        return freely(spell(self._hardened.encode(head, window(head))))[0]


def frames_of(clip: Clip) -> int:
    """How many frames of 20 ms hold the clip."""
    return -(-len(clip.samples) // (2 * HOP))


def best_few(scores: Scores, where_equal: Scores | None = None) -> set[int]:
    """The likeliest few; many phrases open with the same word, and then something else must tell."""
    order = np.argsort(-scores) if where_equal is None else np.lexsort((-where_equal, -scores))
    return {int(i) for i in order[: settings.SECOND_LOOK]}


def _may_be_either(best: Phrase, other: Phrase) -> bool:
    """Whoever may have said "stop" in place of "stop work" is taken to have meant the work."""
    return best.command == Command.STOP_WORK and other.command == Command.STOP


def _same(one: Phrase, other: Phrase) -> bool:
    return (one.command, one.given) == (other.command, other.given)
