"""Those who talk in the tests, and models loaded once."""

from collections.abc import Iterator

import numpy as np
import pytest

from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.sound.samples import FRAME, Samples
from tests.helpers.sounds import Talker


@pytest.fixture(scope="module")
def talker() -> Iterator[Talker]:
    """One for each file: espeak-ng's next words hang on what it said before."""
    talker = Talker()
    yield talker
    talker.close()


@pytest.fixture(scope="session")
def korean() -> Iterator[Talker]:
    talker = Talker("ko")
    yield talker
    talker.close()


@pytest.fixture(scope="session")
def embedded() -> EmbeddedRecogniser:
    return EmbeddedRecogniser()


@pytest.fixture(scope="module")
def reading(talker: Talker) -> Samples:
    """The companion reading, thrice the same sentence, in whole frames."""
    sound = np.concatenate([talker.say("Remove the six bolts of the sump, and keep them in order.")] * 3)
    return sound[: len(sound) // FRAME * FRAME]
