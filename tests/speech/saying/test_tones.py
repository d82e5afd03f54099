"""Tones stand out from speech and from each other, and nothing is ever clipped."""

import numpy as np
import pytest

from companion.job.facts.sayings import Tone
from companion.speech.saying.tones import LIFT, tone
from companion.speech.sound.shaping import SPEECH_LEVEL, level, soft_limit


def test_tones_differ_and_stand_out() -> None:
    for one in Tone:
        assert level(tone(one)) == pytest.approx(SPEECH_LEVEL + LIFT[one], abs=0.5)
        assert np.abs(tone(one)).max() < 1.0
    assert LIFT[Tone.DANGER] > LIFT[Tone.URGENT] > 0
    assert len({tone(one).tobytes() for one in Tone}) == len(Tone)


def test_the_soft_limit_keeps_order_and_stays_under_full_scale() -> None:
    ramp = np.linspace(-10, 10, 4001, dtype=np.float32)
    limited = soft_limit(ramp)
    assert np.abs(limited).max() < 1.0
    assert (np.diff(limited) >= 0).all()
    quiet = np.abs(ramp) <= 0.8
    assert np.array_equal(limited[quiet], ramp[quiet])
