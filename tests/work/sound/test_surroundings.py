"""When the workshop becomes loud it is shown, once, and in dB(A) only where the microphone is calibrated."""

import numpy as np
import pytest

from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from companion.speech.sound.level import a_weighted, combined
from companion.speech.sound.samples import FRAME, RATE, Samples
from companion.work.sound.surroundings import Surroundings

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
    line, plainly = workshop.sounds(-45, 60)
    assert "15 dB louder" in line
    assert "dB(A)" not in line
    assert "not calibrated" in plainly
    assert workshop.sounds(-45, 60) == []
    assert len(workshop.sounds(-38, 60)) == 2
    assert workshop.sounds(-60, 60) == []
    assert len(workshop.sounds(-45, 60)) == 2


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


@pytest.mark.parametrize(
    ("dba", "tone", "limit", "osha"),
    [(87, 102, "5 h 2 min", ""), (92, 107, "1 h 35 min", "6 h"), (101, 116, "11 min", "1 h 30 min")],
)
def test_through_a_calibrated_microphone_it_is_told_what_that_means(dba, tone, limit, osha):
    # NIOSH: 92 dB(A) 8 h / 2^(7/3) = 95 min; 101: 8 h / 2^(16/3) = 11.9 min. OSHA: table G-16, next level up.
    level = combined(np.array([a_weighted(at(-30, number)) for number in range(len(HISS))]))
    workshop = Workshop(calibration=dba - level)
    lines = " ".join(workshop.sounds(-30, 12))
    assert f"{dba} dB(A)" in lines
    assert f"{tone} dB(A)" in lines
    assert f"may have {limit} of this a day (NIOSH)" in lines
    assert (f"never more than {osha} (OSHA)" in lines) if osha else ("OSHA" not in lines)
    assert ("keep the screen in sight" in lines) == (dba > 100)


def test_a_quiet_place_is_not_worth_a_line_through_a_calibrated_one_either():
    assert Workshop(calibration=100.0).sounds(-40, 60) == []
