"""One channel made of two: their mean, or the one that is alive when the other gives nothing."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from companion.speech.sound.samples import RATE, Samples

ALIVE = 10 ** (-65 / 20)
"""CHOSEN: level, root mean square, from which a channel is surely connected."""
APART = 10 ** (-35 / 20)
"""CHOSEN: a dead channel is so much softer than the other; two sides of a head are not."""
_FORGETS = 2 * RATE
"""Samples after which what went before counts for a third."""


def dead(levels: NDArray[Any]) -> str | None:
    """Which of two channels of these levels gives nothing."""
    left, right = float(levels[0]), float(levels[1])
    if left > ALIVE and right < APART * left:
        return "right"
    return "left" if right > ALIVE and left < APART * right else None


def mixed(channels: NDArray[Any], silent: str | None) -> Samples:
    """One channel of one or more: (samples, channels)."""
    if silent is not None:
        channels = channels[:, 1:2] if silent == "left" else channels[:, :1]
    return np.asarray(channels.mean(axis=1), dtype=np.float32)


class Channels:
    """The same for sound that comes block by block."""

    def __init__(self) -> None:
        self._powers = np.zeros(2)
        self.dead: str | None = None
        """The channel that gives nothing; None while both do, or nothing is known."""

    def mixed(self, block: NDArray[Any]) -> Samples:
        """One channel of a block of one or two."""
        if block.shape[1] == 2 and len(block):
            old = np.exp(-len(block) / _FORGETS)
            self._powers = old * self._powers + (1 - old) * np.mean(
                np.square(block, dtype=np.float64), axis=0
            )
            self.dead = dead(np.sqrt(self._powers))
        return mixed(block, self.dead)
