"""Which phrases are worth a closer look, when there are many."""

import numpy as np

from companion.speech.recognisers import settings
from companion.speech.recognisers.embedded import best_few


def test_the_likeliest_few_are_looked_at() -> None:
    scores = np.array([-9.0, -1.0, -8.0, -2.0, -7.0, -3.0, -6.0, -4.0])
    assert best_few(scores) == {1, 3, 5, 7, 6}
    assert len(best_few(scores)) == settings.SECOND_LOOK


def test_among_phrases_that_open_with_the_same_word_the_other_score_tells() -> None:
    """Ten begin with "what": the one that is spelt best must not be left out for its place in the list."""
    openings = np.array([-1.0] * 10 + [-5.0])
    spellings = np.array([-30.0] * 9 + [-2.0, -1.0])
    assert 9 in best_few(openings, spellings)
    assert 10 not in best_few(openings, spellings), "the first score still comes first"
