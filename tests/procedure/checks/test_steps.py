"""A step says what a step of its kind must say. Each test spoils the small procedure in one way."""

import pytest

from tests.procedure.checks.faults import COVER_BOLTS, PROVE, FaultsOf, Read, among, only


class TestSteps:
    def test_tightening_without_a_torque(self, faults_of: FaultsOf) -> None:
        only(faults_of((", torque: 22 N·m", "")), "is tightened without a `torque` or `stages`")

    def test_tightening_without_fasteners(self, faults_of: FaultsOf) -> None:
        among(faults_of((f"    fasteners:\n{COVER_BOLTS}\n", "")), "a tightening step needs `fasteners`")

    def test_torque_and_stages(self, faults_of: FaultsOf) -> None:
        only(faults_of(("torque: 22 N·m", "torque: 22 N·m, stages: [22 N·m]")), "are both given; keep one")

    @pytest.mark.parametrize("state", ["battery disconnected", "battery connected"])
    def test_isolating_and_restoring_need_a_spoken_state(self, faults_of: FaultsOf, state: str) -> None:
        only(faults_of((f"    state: {state}\n", "")), "isolates or restores energy needs a spoken `state`")

    def test_proving_without_a_reading_needs_a_spoken_state(
        self, faults_of: FaultsOf, read: Read, small: str
    ) -> None:
        assert len(faults_of((PROVE, ""))) == 2
        assert read(
            small.replace(PROVE, "").replace("proves: battery", "proves: battery\n    state: lamp is dark")
        )

    @pytest.mark.parametrize("signal", ["DANGER", "WARNING"])
    def test_a_grave_hazard_needs_a_spoken_state(self, faults_of: FaultsOf, signal: str) -> None:
        hazard = f"say: Wipe.\n    hazards:\n      - {{signal: {signal}, hazard: a, avoid: b}}"
        only(faults_of(("say: Wipe.", hazard)), "a step that is hazardous needs a spoken `state`")

    @pytest.mark.parametrize("signal", ["CAUTION", "NOTICE"])
    def test_a_lesser_hazard_does_not(self, read: Read, small: str, signal: str) -> None:
        hazard = f"say: Wipe.\n    hazards:\n      - {{signal: {signal}, hazard: a, avoid: b}}"
        assert read(small.replace("say: Wipe.", hazard))

    @pytest.mark.parametrize("state", ["done", "ok", "12 volts", "dead!", "dead, quite"])
    def test_a_state_is_plain_words_and_no_bare_done(self, faults_of: FaultsOf, state: str) -> None:
        among(
            faults_of(("state: battery connected", f"state: {state}")), "a state is two or more plain words"
        )

    def test_a_count_of_nothing_named(self, faults_of: FaultsOf) -> None:
        only(faults_of(("    each: stroke\n", "")), "`count` needs `each`")

    def test_each_without_a_count(self, faults_of: FaultsOf) -> None:
        only(faults_of(("    count: 6\n", "")), "`each` needs `count`")

    def test_a_waiting_step_without_a_wait(self, faults_of: FaultsOf) -> None:
        only(faults_of(("    wait: 5 min\n", "")), "a waiting step needs a `wait`")

    def test_a_wait_on_another_act(self, faults_of: FaultsOf) -> None:
        only(
            faults_of(("    closes: [plug]\n", "    closes: [plug]\n    wait: 5 min\n")),
            "only the act `wait` has a `wait`",
        )

    def test_a_condition_that_is_never_asked(self, faults_of: FaultsOf) -> None:
        only(
            faults_of(("only_if: look", "only_if: unplug")), "'unplug' is not optional; optional steps: look"
        )

    def test_a_condition_asked_later(self, faults_of: FaultsOf) -> None:
        only(
            faults_of(("    only_if: look\n", "    only_if: look\n    after: [cover-off]\n")),
            "need not come after 'look'",
        )

    def test_limits_that_no_reading_passes(self, faults_of: FaultsOf) -> None:
        measure = "say: Wipe.\n    measure: {what: gap, unit: mm, at_least: 2, at_most: 1}"
        only(faults_of(("say: Wipe.", measure)), "at_least 2 is more than at_most 1")

    def test_no_book_time(self, faults_of: FaultsOf) -> None:
        only(
            faults_of(("say: Wipe.\n    book: 1 min", "say: Wipe.\n    book: 0 min")), "book time is nothing"
        )

    def test_a_heat_cycle_without_a_day_to_ask(self, faults_of: FaultsOf) -> None:
        text = "follow_ups:\n  - {what: look again, heat_cycles: 1}\nsteps:\n"
        only(faults_of(("steps:\n", text)), "a heat cycle has no date; write in `after` when to ask")

    def test_a_follow_up_that_is_never_due(self, faults_of: FaultsOf) -> None:
        only(faults_of(("steps:\n", "follow_ups:\n  - what: look again\nsteps:\n")), "is never due")
