"""The embedded model: Whisper tiny.en run by CTranslate2, loaded when first needed."""

import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from numpy.typing import NDArray

from companion.errors import ModelError
from companion.speech.network.adapter import adapted
from companion.speech.network.installed import CHECKSUMS, find_weights, verify
from companion.speech.network.mel import HOP, log_mel
from companion.speech.sound.samples import RATE, Samples

WINDOW = 30 * RATE
"""Samples of the window that free decoding was trained on."""

_PARTS_BESIDE = ("config.json", "vocabulary.txt")

Encoded = NDArray[np.float32]
"""Shape (frames of 20 ms, 384)."""


@dataclass(frozen=True)
class Decoded:
    """What free decoding makes of a clip."""

    text: str
    score: float
    """Sum of the log-probabilities of its tokens."""
    alternatives: tuple[str, ...] = ()
    """The next best, best first."""


@cache
def _tokenizer(path: Path) -> Any:
    """One for all models of a folder: it takes 20 MB."""
    from tokenizers import Tokenizer

    return Tokenizer.from_file(str(path))


class Whisper:
    """The model and its tokenizer.

    Args:
        folder: the weights; those installed with pip by default.
        checksums: SHA-256 of each file.
        threads: for one computation.
        adapt: whether to work in what was trained for noise.

    Raises:
        ModelError: on first use, when the weights are missing, damaged, or not the ones expected.
    """

    def __init__(
        self,
        folder: Path | None = None,
        checksums: dict[str, str] | None = None,
        threads: int = 2,
        adapt: bool = True,
    ) -> None:
        self._folder = folder
        self._checksums = CHECKSUMS if checksums is None else checksums
        self._threads = threads
        self._adapt = adapt

    @cached_property
    def _parts(self) -> tuple[Any, Any]:
        """The CTranslate2 model and the tokenizer."""
        folder = self._folder or find_weights()
        verify(folder, self._checksums)
        try:
            return self._model(folder), _tokenizer(folder / "tokenizer.json")
        except ModelError:
            raise
        except Exception as error:
            reason = str(error).splitlines()[0]
            raise ModelError(f"the speech model in {folder} cannot be loaded: {reason}") from error

    def _model(self, folder: Path) -> Any:
        """The adapted model goes through a file for a moment: handed over in memory, it stays there twice."""
        from ctranslate2.models import Whisper as Model

        options = {"device": "cpu", "compute_type": "int8", "intra_threads": self._threads}
        if not self._adapt:
            return Model(str(folder), **options)
        with TemporaryDirectory(prefix="ear-") as name:
            for part in _PARTS_BESIDE:
                shutil.copy(folder / part, name)
            Path(name, "model.bin").write_bytes(adapted((folder / "model.bin").read_bytes()))
            return Model(name, **options)

    def load(self) -> None:
        """Load now, so that the first command does not wait for it."""
        _ = self._parts

    @cached_property
    def _start(self) -> int:
        return int(self._parts[1].token_to_id("<|startoftranscript|>"))

    @cached_property
    def _prompt(self) -> list[int]:
        return [self._start, int(self._parts[1].token_to_id("<|notimestamps|>"))]

    def tokens(self, text: str) -> list[int]:
        """Token numbers of a text, without start and end marks."""
        return list(self._parts[1].encode(text, add_special_tokens=False).ids)

    def encode(self, samples: Samples, length: int) -> Encoded:
        """Encode `length` samples, padded with silence."""
        from ctranslate2 import StorageView

        picture = log_mel(samples, length - length % (2 * HOP))
        encoded = self._parts[0].encode(StorageView.from_array(picture[None]), to_cpu=True)
        frames: Encoded = np.array(encoded, dtype=np.float32)[0]
        return frames

    def likelihoods(self, encoded: Encoded, texts: Sequence[Sequence[int]]) -> NDArray[np.float64]:
        """Log-probability of each text (as tokens), teacher-forced."""
        from ctranslate2 import StorageView

        repeated = np.repeat(encoded[None], len(texts), axis=0)
        results = self._parts[0].align(
            StorageView.from_array(repeated), [self._start], [list(t) for t in texts], 2 * len(encoded)
        )
        return np.array([np.sum(np.log(np.maximum(r.text_token_probs, 1e-30))) for r in results])

    def openings(self, encoded: Encoded, tokens: Sequence[int]) -> NDArray[np.float64]:
        """Log-probability of each token as the first that would be written, in one step of the decoder."""
        from ctranslate2 import StorageView

        result = self._parts[0].generate(
            StorageView.from_array(encoded[None].copy()),
            [self._prompt],
            beam_size=1,
            max_length=len(self._prompt) + 1,
            return_logits_vocab=True,
        )[0]
        logits = np.array(result.logits[0][0], dtype=np.float64).ravel()
        picked: NDArray[np.float64] = logits[list(tokens)]
        return picked

    def decode(
        self, encoded: Encoded, longest: int, bias: str = "", beam: int = 1, alternatives: int = 1
    ) -> Decoded:
        """Decode freely.

        Args:
            encoded: see `encode`.
            longest: tokens at most, start marks and bias included.
            bias: words that the model takes as said before, so that it expects their like.
            beam: width of the search.
            alternatives: how many texts to keep.
        """
        from ctranslate2 import StorageView

        tokenizer = self._parts[1]
        before = [int(tokenizer.token_to_id("<|startofprev|>")), *self.tokens(" " + bias)] if bias else []
        result = self._parts[0].generate(
            StorageView.from_array(encoded[None].copy()),
            [[*before, *self._prompt]],
            beam_size=beam,
            num_hypotheses=alternatives,
            max_length=longest,
            return_scores=True,
            length_penalty=0 if beam == 1 else 1,
        )[0]
        texts = [
            tokenizer.decode(list(ids), skip_special_tokens=True).strip() for ids in result.sequences_ids
        ]
        return Decoded(texts[0], float(result.scores[0]), tuple(texts[1:]))
