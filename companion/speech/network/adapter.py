"""What was trained on top of the embedded model: changes that let its encoder bear noise, and a speller.

`ear.npz` (1 MB) holds low-rank changes to the encoder's weights and a small network that reads letters off
the encoder's output. How it was trained: `models/RECIPE.md`.
"""

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from companion.speech.network.trained import Arrays, read_trained
from companion.speech.network.weight_file import variables

FILE = Path(__file__).parent / "ear.npz"
CHECKSUM = "7989a9f03469bce6d5d220ad9e8d1a906bb7b99da87cf9b482952709eebded91"
"""SHA-256 of the file."""
LETTERS = " abcdefghijklmnopqrstuvwxyz'"
"""What the speller can read; number 0 of its output is "nothing new", then these in order."""

LogProbabilities = NDArray[np.float32]
"""Shape (frames of 20 ms, 1 + letters)."""


@cache
def trained() -> Arrays:
    """The trained arrays; see `read_trained`."""
    return read_trained(FILE, CHECKSUM)


def adapted(model: bytes) -> bytes:
    """The model file with the changes worked into its encoder."""
    data = bytearray(model)
    places = variables(data)
    arrays = trained()
    for name in {key.split("|")[0] for key in arrays if "|" in key}:
        weight = places[name].read(data)
        change = (arrays[f"{name}|b"] @ arrays[f"{name}|a"]).reshape(weight.shape)
        weight[...] = (weight.astype(np.float32) + change).astype(weight.dtype)
    return bytes(data)


def spell(encoded: NDArray[np.float32]) -> LogProbabilities:
    """Read letters off the encoder's output of shape (frames, 384)."""
    arrays = trained()
    hidden = _gelu(encoded @ arrays["head/0.weight"][:, :, 0].T + arrays["head/0.bias"])
    kernel = arrays["head/2.weight"]
    width = kernel.shape[2]
    padded = np.pad(hidden, ((width // 2, width // 2), (0, 0)))
    total = sum(padded[k : k + len(hidden)] @ kernel[:, :, k].T for k in range(width))
    hidden = _gelu(total + arrays["head/2.bias"])
    logits = hidden @ arrays["head/4.weight"][:, :, 0].T + arrays["head/4.bias"]
    shifted = logits - logits.max(axis=1, keepdims=True)
    result: LogProbabilities = shifted - np.log(np.exp(shifted).sum(axis=1, keepdims=True))
    return result


def spelt(letters: LogProbabilities, texts: Sequence[str]) -> NDArray[np.float64]:
    """Log-probability that the whole clip spells each text and nothing else (Graves 2006, forward pass)."""
    codes = [[LETTERS.index(c) + 1 for c in text if c in LETTERS] for text in texts]
    width = 2 * max(map(len, codes)) + 1
    symbols = np.zeros((len(codes), width), dtype=np.int64)
    for row, code in zip(symbols, codes, strict=True):
        row[1 : 2 * len(code) : 2] = code
    skips = np.zeros(symbols.shape, dtype=bool)
    skips[:, 2:] = (symbols[:, 2:] != 0) & (symbols[:, 2:] != symbols[:, :-2])
    emitted = letters.astype(np.float64)[:, symbols]
    paths = np.full(symbols.shape, -np.inf)
    paths[:, :2] = emitted[0, :, :2]
    nowhere = np.full((len(codes), 2), -np.inf)
    for frame in emitted[1:]:
        one = np.concatenate([nowhere[:, :1], paths[:, :-1]], axis=1)
        two = np.where(skips, np.concatenate([nowhere, paths[:, :-2]], axis=1), -np.inf)
        paths = np.logaddexp(np.logaddexp(paths, one), two) + frame
    ends = np.array([2 * len(code) for code in codes])
    rows = np.arange(len(codes))
    totals: NDArray[np.float64] = np.logaddexp(paths[rows, ends], paths[rows, ends - 1])
    return totals


def freely(letters: LogProbabilities) -> tuple[str, float]:
    """The likeliest spelling letter by letter, and the log-probability of its path."""
    best = letters.argmax(axis=1)
    kept = [b for b, before in zip(best, [0, *best[:-1]], strict=True) if b not in (0, before)]
    return "".join(LETTERS[b - 1] for b in kept), float(letters.max(axis=1).sum())


def _gelu(x: NDArray[np.float32]) -> NDArray[np.float32]:
    """Exact to 1e-3, the tanh form (Hendrycks and Gimpel 2016)."""
    curve: NDArray[np.float32] = 0.5 * x * (1 + np.tanh(0.7978845608 * (x + 0.044715 * x**3)))
    return curve
