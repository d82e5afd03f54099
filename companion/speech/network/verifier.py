"""A second opinion: whether a phrase, and nothing else, was said.

A small transformer reads what both forms of the model make of a clip beside the letters of the phrase. It
was trained to tell a phrase from what sounds like it and from a sentence that holds it (`models/RECIPE.md`),
so it knows what likelihoods alone do not: that nothing was said before or after.
"""

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from companion.speech.network.adapter import LETTERS
from companion.speech.network.trained import Arrays, Floats, read_trained

FILE = Path(__file__).parent / "verifier.npz"
CHECKSUM = "95a3317e757c2440043a0bf1fc2ddd28d3a495c01f65aa544dd2d070634c317a"
_LAYERS, _PARTS, _LONGEST = 3, 4, 34
_TINY = 1e-5


@cache
def trained() -> Arrays:
    """The trained arrays; see `read_trained`."""
    return read_trained(FILE, CHECKSUM)


def verify(plain: Floats, hardened: Floats, texts: Sequence[str], frames: int) -> Floats:
    """For each text the log-odds that it, and it alone, was said.

    Args:
        plain: what the model as it came makes of the clip, of shape (frames of 20 ms, 384).
        hardened: the same of the form made to bear noise.
        texts: phrases in small letters.
        frames: how many frames hold the clip; those after it are padding.
    """
    codes, known = _codes(texts)
    row = np.concatenate(
        [_letters(codes), np.repeat(_frames(plain, hardened, frames)[None], len(texts), 0)], 1
    )
    mask = np.concatenate([known, np.ones((len(texts), row.shape[1] - codes.shape[1]), dtype=bool)], 1)
    for layer in range(_LAYERS):
        row = _layer(row, mask, f"layers.{layer}", first_only=layer == _LAYERS - 1)
    logits: Floats = _linear(_normal(row[:, 0], "last"), "logit")[:, 0]
    return logits


def _codes(texts: Sequence[str]) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """The first place stands for the whole phrase; the letters follow; 0 is no letter."""
    rows = [[1 + LETTERS.index(c) for c in text if c in LETTERS][: _LONGEST - 1] for text in texts]
    codes = np.zeros((len(rows), 1 + max(map(len, rows))), dtype=np.int64)
    codes[:, 0] = 1 + len(LETTERS)
    for place, row in zip(codes, rows, strict=True):
        place[1 : 1 + len(row)] = row
    return codes, codes > 0


def _letters(codes: NDArray[np.int64]) -> Floats:
    x = trained()["letters.weight"][codes]
    wide = np.pad(x, ((0, 0), (1, 1), (0, 0)))
    pad = codes.shape[1] < _LONGEST
    if pad:
        wide[:, -1] = trained()["letters.weight"][0]
    around = np.concatenate([wide[:, :-2], x, wide[:, 2:]], -1)
    return x + np.maximum(_linear(around, "beside"), 0) + trained()["place"][: codes.shape[1]]


def _frames(plain: Floats, hardened: Floats, frames: int) -> Floats:
    pairs = -(-frames // 2)
    both = np.concatenate([plain, hardened], 1)
    both = both[: len(both) // 2 * 2].reshape(len(both) // 2, -1)[:pairs]
    return _linear(_normal(both, "norm"), "frames") + trained()["moment"][: len(both)]


def _layer(x: Floats, mask: NDArray[np.bool_], name: str, first_only: bool) -> Floats:
    mixed = _linear(_normal(x, f"{name}.before"), f"{name}.mixed")
    q, k, v = (_parts(y) for y in np.split(mixed, 3, axis=-1))
    if first_only:
        q, x = q[:, :, :1], x[:, :1]
    scores = q @ k.swapaxes(-1, -2) / np.float32(np.sqrt(q.shape[-1]))
    scores = np.where(mask[:, None, None], scores, np.float32(-1e9))
    shares = np.exp(scores - scores.max(-1, keepdims=True))
    shares /= shares.sum(-1, keepdims=True)
    seen = (shares @ v).swapaxes(1, 2)
    x = x + _linear(seen.reshape(x.shape), f"{name}.out")
    inner = np.maximum(_linear(_normal(x, f"{name}.between"), f"{name}.up"), 0)
    return x + _linear(inner, f"{name}.down")


def _parts(x: Floats) -> Floats:
    parts: Floats = x.reshape(*x.shape[:-1], _PARTS, -1).swapaxes(1, 2)
    return parts


def _linear(x: Floats, name: str) -> Floats:
    result: Floats = x @ trained()[f"{name}.weight"].T + trained()[f"{name}.bias"]
    return result


def _normal(x: Floats, name: str) -> Floats:
    centred = x - x.mean(-1, keepdims=True)
    scaled = centred / np.sqrt((centred**2).mean(-1, keepdims=True) + np.float32(_TINY))
    result: Floats = scaled * trained()[f"{name}.weight"] + trained()[f"{name}.bias"]
    return result
