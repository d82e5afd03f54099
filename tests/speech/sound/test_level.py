"""Levels: in decibels below full scale always, in dB(A) only when somebody has measured the microphone."""

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.speech.sound.level import (
    SILENCE,
    LevelMeter,
    a_weighted,
    a_weighting,
    clipped,
    combined,
    rms,
)
from companion.speech.sound.samples import FRAME, RATE

# IEC 61672-1:2013, table 3, column A: dB at nominal frequencies, to one decimal.
TABLE = {
    31.5: -39.4, 63: -26.2, 125: -16.1, 250: -8.6, 500: -3.2, 1000: 0.0, 2000: 1.2, 4000: 1.0, 8000: -1.1,
}  # fmt: skip


def sine(hertz: float, peak: float = 1.0, seconds: float = 1.0) -> np.ndarray:
    time = np.arange(round(seconds * RATE)) / RATE
    return (peak * np.sin(2 * np.pi * hertz * time)).astype(np.float32)


def noise(rms_: float, seconds: float = 1.0) -> np.ndarray:
    return (rms_ * np.random.default_rng(3).standard_normal(round(seconds * RATE))).astype(np.float32)


def frames(samples: np.ndarray) -> np.ndarray:
    return samples[: len(samples) // FRAME * FRAME].reshape(-1, FRAME)


def test_a_square_wave_from_rail_to_rail_is_zero_and_a_sine_three_below():
    assert rms(np.sign(sine(100) + 1e-9)) == pytest.approx(0.0, abs=0.01)
    assert rms(sine(1000)) == pytest.approx(-3.01, abs=0.01)


@given(st.floats(-60, 0), st.floats(-20, 0))
def test_half_the_amplitude_is_six_decibels_less_wherever_it_starts(level, change):
    sound = sine(440, 10 ** (level / 20))
    assert rms(sound * np.float32(10 ** (change / 20))) - rms(sound) == pytest.approx(change, abs=0.02)


@pytest.mark.parametrize(("hertz", "decibels"), TABLE.items())
def test_the_weighting_is_the_standards(hertz, decibels):
    # The table rounds to 0.1 and its frequencies are nominal: exact ones are powers of ten.
    exact = 1000 * 10 ** (round(10 * np.log10(hertz / 1000)) / 10)
    assert a_weighting(np.array([exact]))[0] == pytest.approx(decibels, abs=0.06)


@pytest.mark.parametrize("hertz", [125, 500, 1000, 4000])
def test_a_weighted_sound_is_its_level_and_the_weight(hertz):
    assert a_weighted(sine(hertz, 0.1)) == pytest.approx(rms(sine(hertz, 0.1)) + TABLE[hertz], abs=0.1)


def test_frames_of_a_steady_noise_add_up_to_the_whole():
    sound = noise(0.05, 20)
    parts = np.array([a_weighted(frame) for frame in frames(sound)])
    assert combined(parts) == pytest.approx(a_weighted(sound), abs=0.3)


def test_nothing_has_a_level_and_no_infinity():
    assert rms(np.zeros(0, np.float32)) == a_weighted(np.zeros(512, np.float32)) == SILENCE
    assert combined(np.zeros(0)) == SILENCE


def test_clipping_is_counted():
    assert clipped(sine(200, 0.9)) == 0.0
    assert clipped(np.clip(sine(200, 2.0), -1, 1)) == pytest.approx(2 / 3, abs=0.01)


class TestMeter:
    def test_before_any_sound_it_says_nothing(self):
        assert LevelMeter().ambient() is None

    def test_the_background_is_what_lies_below_the_blows_of_a_hammer(self):
        meter = LevelMeter()
        for number, frame in enumerate(frames(noise(0.001, 20))):
            meter.feed(frame * 300 if number % 15 == 0 else frame)
        ambient = meter.ambient()
        assert ambient is not None
        quiet = a_weighted(noise(0.001, 20))
        assert ambient.background == pytest.approx(quiet, abs=2)
        # A blow in each fifteen frames, 300 times as large: a fifteenth of its power.
        assert ambient.level == pytest.approx(quiet + 20 * np.log10(300) - 10 * np.log10(15), abs=1)

    def test_only_the_latest_sound_counts(self):
        meter = LevelMeter(window=timedelta(seconds=2))
        for frame in frames(np.concatenate([noise(0.3, 10), noise(0.003, 3)])):
            meter.feed(frame)
        assert meter.ambient().level == pytest.approx(a_weighted(noise(0.003, 3)), abs=0.5)
        assert meter.ambient().lasted == pytest.approx(timedelta(seconds=2), abs=timedelta(seconds=0.05))

    def test_without_a_calibration_there_is_no_level_in_the_room_and_it_says_so(self):
        meter = LevelMeter()
        meter.feed(noise(0.1)[:FRAME])
        assert meter.ambient().dba is None
        assert "not calibrated" in str(meter.ambient())

    def test_with_the_offset_of_a_meter_it_is_the_meters_reading(self):
        # A calibrator: 1 kHz at 94 dB, where the weighting is 0.
        tone = sine(1000, 0.05)
        meter = LevelMeter(calibration=94 - rms(tone))
        for frame in frames(tone):
            meter.feed(frame)
        assert meter.ambient().dba == pytest.approx(94, abs=0.2)
        assert str(meter.ambient()) == "94 dB(A)"
