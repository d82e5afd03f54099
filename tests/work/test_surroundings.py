"""When the workshop becomes loud it is shown, once, and in dB(A) only where the microphone is calibrated."""

import numpy as np
import pytest

from companion.speech.level import a_weighted, combined
from companion.speech.mouth import Mouth
from companion.speech.silent import SilentVoice
from companion.speech.sound import FRAME, RATE, Samples
from companion.work.surroundings import Surroundings

HISS = np.random.default_rng(4).standard_normal(FRAME * 39).astype(np.float32).reshape(-1, FRAME)


class Workshop:
    def __init__(self, calibration: float | None = None) -> None:
        self.told: list[str] = []
        self.mouth = Mouth(SilentVoice())
        self._surroundings = Surroundings(self.mouth, self.told.append, calibration)

    def sounds(self, level: float, seconds: float) -> list[str]:
        """Hiss at so many dB below full scale; gives what was told meanwhile."""
        before = len(self.told)
        for number in range(round(seconds * RATE / FRAME)):
            self._surroundings.feed(at(level, number))
        return self.told[before:]


def at(level: float, number: int) -> Samples:
    return HISS[number % len(HISS)] * np.float32(10 ** (level / 20))


def test_a_steady_place_is_not_worth_a_line():
    assert Workshop().sounds(-50, 60) == []


def test_a_rise_of_ten_decibels_is_told_once_and_again_only_when_it_rises_more():
    workshop = Workshop()
    workshop.sounds(-60, 30)
    (line,) = workshop.sounds(-45, 60)
    assert "15 dB louder" in line
    assert "dB(A)" not in line
    assert workshop.sounds(-45, 60) == []
    assert len(workshop.sounds(-38, 60)) == 1
    assert workshop.sounds(-60, 60) == []
    assert len(workshop.sounds(-45, 60)) == 1


def test_the_companions_own_voice_is_no_noise():
    workshop = Workshop()
    workshop.sounds(-60, 30)
    workshop.mouth.say("1", "A long sentence that nobody pulls out of the mouth.")
    assert workshop.sounds(-20, 60) == []


def test_a_few_words_of_the_mechanic_are_no_noise():
    workshop = Workshop()
    workshop.sounds(-60, 30)
    for _ in range(6):
        assert workshop.sounds(-20, 1) == []
        assert workshop.sounds(-60, 9) == []


@pytest.mark.parametrize(("dba", "tone", "limit"), [(92, 107, "1 h 35 min"), (101, 116, "11 min")])
def test_through_a_calibrated_microphone_it_is_told_what_that_means(dba, tone, limit):
    # 92 dB(A): NIOSH 8 h / 2^(7/3) = 95 min, below the 6 h of OSHA's table. 101: 8 h / 2^(16/3) = 11.9 min.
    level = combined(np.array([a_weighted(at(-30, number)) for number in range(len(HISS))]))
    workshop = Workshop(calibration=dba - level)
    lines = " ".join(workshop.sounds(-30, 12))
    assert f"{dba} dB(A)" in lines
    assert f"{tone} dB(A)" in lines
    assert f"may have {limit}" in lines
    assert ("keep the screen in sight" in lines) == (dba > 100)


def test_a_quiet_place_is_not_worth_a_line_through_a_calibrated_one_either():
    assert Workshop(calibration=100.0).sounds(-40, 60) == []
