"""What is applied is assembled in time, and waited for. Each test spoils the small procedure in one way."""

import pytest

from tests.procedure.checks.faults import FaultsOf, Read, only


class TestCure:
    def test_assembling_a_step_that_applies_nothing(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("assembles: spread", "assembles: wipe"))
        assert any("'wipe' applies no product; steps that do: spread" in fault for fault in faults)

    def test_a_product_that_skins_over_and_is_never_assembled(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    assembles: spread\n", ""), ("    waits_for: [cover-on]\n", ""))
        only(faults, "'paste' skins over, so a step with `assembles: spread` is needed")

    def test_a_clock_that_never_starts(self, faults_of: FaultsOf) -> None:
        faults = faults_of(
            ("    assembles: spread\n", ""), ("    waits_for: [cover-on]\n", ""), ("skin_over: 10 min, ", "")
        )
        only(faults, "the cure starts at assembly")

    def test_two_assembling_steps(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    closes: [plug]\n", "    closes: [plug]\n    assembles: spread\n"))
        only(faults, "two steps assemble this: cover-on, plug-in")

    def test_assembled_before_it_is_applied(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    closes: [cover]\n", "    closes: [cover]\n    after: [wipe]\n"))
        assert any("need not come after 'spread', which applies the product" in fault for fault in faults)

    @pytest.mark.parametrize(
        ("awaited", "words"),
        [
            ("wipe", "'wipe' starts no cure"),
            ("spread", "the cure starts at 'cover-on', not at 'spread'"),
        ],
    )
    def test_waiting_for_the_wrong_step(self, faults_of: FaultsOf, awaited: str, words: str) -> None:
        faults = faults_of(("waits_for: [cover-on]", f"waits_for: [{awaited}]"))
        assert any(words in fault for fault in faults)

    def test_waiting_from_the_application_on(self, read: Read, faults_of: FaultsOf, small: str) -> None:
        clock = ("product_class: RTV", "product_class: RTV, clock_starts: application")
        only(faults_of(clock), "the cure starts at 'spread', not at 'cover-on'")
        assert read(small.replace(*clock).replace("waits_for: [cover-on]", "waits_for: [spread]"))

    def test_waiting_for_a_step_that_may_come_later(self, faults_of: FaultsOf) -> None:
        faults = faults_of(
            ("    waits_for: [cover-on]\n", "    waits_for: [cover-on]\n    after: [spread]\n")
        )
        assert any(
            "need not come after 'cover-on'; name 'cover-on' in the `after` of 'pump'" in fault
            for fault in faults
        )

    def test_times_that_contradict_one_another(self, faults_of: FaultsOf) -> None:
        only(faults_of(("skin_over: 10 min", "skin_over: 3 days")), "`skin_over` is longer than `full_cure`")

    def test_a_cure_that_no_step_waits_for(self, faults_of: FaultsOf) -> None:
        only(faults_of(("    waits_for: [cover-on]\n", "")), "no step waits for this cure; name 'cover-on'")
