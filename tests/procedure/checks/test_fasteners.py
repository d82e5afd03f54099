"""Drives exist, and torques fit their threads. Each test spoils the small procedure in one way."""

import pytest

from companion.procedure.check import find_advice
from tests.procedure.checks.faults import COVER_BOLTS, FaultsOf, Read, only


class TestFasteners:
    @pytest.mark.parametrize(
        ("drive", "words"),
        [
            ("hex: 13.5", "no hex 13.5 mm is known; nearest is 1"),
            ("hex: 100", "no hex 100 mm is known; nearest is 55 mm"),
            ("socket_hex: 11", "no socket_hex 11 mm is known; nearest is 7/16 in"),
            ("six_lobe: T33", "no six_lobe T33 is known; nearest is T30"),
            ("six_lobe: E13", "no six_lobe E13 is known; nearest is E1"),
        ],
    )
    def test_a_size_that_no_tool_has(self, faults_of: FaultsOf, drive: str, words: str) -> None:
        only(faults_of((COVER_BOLTS, COVER_BOLTS.replace("hex: 13", drive))), words)

    def test_two_drives(self, faults_of: FaultsOf) -> None:
        only(
            faults_of((COVER_BOLTS, COVER_BOLTS.replace("hex: 13", "hex: 13, six_lobe: T30"))),
            "keep one drive",
        )

    def test_no_drive_is_no_fault(self, read: Read, small: str) -> None:
        assert read(small.replace(COVER_BOLTS, COVER_BOLTS.replace("hex: 13, ", "")))

    @pytest.mark.parametrize(
        ("spoilt", "words"),
        [
            (
                "thread: M8, hex: 17, count: 6",
                "17 mm is odd on M8, which has 10, 11, 12, 13 mm",
            ),
        ],
    )
    def test_odd_for_the_thread_is_advice(self, read: Read, small: str, spoilt: str, words: str) -> None:
        text = small.replace("thread: M8, hex: 13, count: 6", spoilt)
        advice = find_advice(read(text))
        assert [words in one.message for one in advice] == [True, True]

    @pytest.mark.parametrize(
        ("spoilt", "words"),
        [
            ("torque: 220 N·m", "more than a class 10.9 M8 bears (40.1 N·m)"),
            ("torque: 2.2 N·m", "2.2 N·m is hardly tight for M8"),
            ("stages: [20 N·m, 45 N·m]", "45 N·m is more than"),
        ],
    )
    def test_a_torque_that_the_thread_cannot_bear_or_hardly_feels(
        self, faults_of: FaultsOf, spoilt: str, words: str
    ) -> None:
        only(faults_of((COVER_BOLTS, COVER_BOLTS.replace("torque: 22 N·m", spoilt))), words)

    def test_a_low_torque_before_an_angle_is_not_odd(self, read: Read, small: str) -> None:
        text = small.replace(COVER_BOLTS, COVER_BOLTS.replace("torque: 22 N·m", "stages: [3 N·m, 90°]"))
        assert find_advice(read(text)) == ()
