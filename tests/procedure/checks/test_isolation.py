"""Energy is isolated, proved and restored in turn. Each test spoils the small procedure in one way."""

import pytest

from tests.procedure.checks.faults import PROVE, FaultsOf, among, only


class TestIsolation:
    @pytest.mark.parametrize("source", ["airbag", "high voltage", "fuel pressure"])
    def test_no_wait_where_energy_lingers(self, faults_of: FaultsOf, source: str) -> None:
        among(
            faults_of(("source: battery", f"source: {source}")),
            "write the vehicle maker's value, there is no default",
        )

    @pytest.mark.parametrize("source", ["airbag", "high voltage", "fuel pressure"])
    def test_a_wait_of_nothing_is_none(self, faults_of: FaultsOf, source: str) -> None:
        among(faults_of(("source: battery", f"source: {source}\n    wait: 0 s")), "there is no default")

    @pytest.mark.parametrize(
        "own",
        [
            "{what: voltage, unit: V, at_most: 12}",
            "{what: voltage, unit: mm, at_most: 0.5}",
            "{what: voltage, unit: V, at_least: 0, at_most: 0.5}",
            "{what: current, unit: V, at_most: 0.5}",
        ],
    )
    def test_a_proof_by_another_reading_than_that_of_its_source(self, faults_of: FaultsOf, own: str) -> None:
        proves = "    proves: battery\n"
        among(faults_of((proves, f"{proves}    measure: {own}\n")), "this step's `measure` is another")

    def test_a_proof_may_say_the_reading_of_its_source_again(self, small: str, read) -> None:
        proves = "    proves: battery\n"
        same = f"{proves}    measure: {{what: voltage, unit: V, at_most: 0.5}}\n"
        assert read(small.replace(proves, same)).step("prove").measure

    @pytest.mark.parametrize("source", ["airbag", "high voltage"])
    def test_no_proof(self, faults_of: FaultsOf, source: str) -> None:
        faults = faults_of(("source: battery", f"source: {source}\n    wait: 10 min"), (PROVE, ""))
        assert any("is deadly: proving 'battery' needs a reading" in fault for fault in faults)

    def test_a_proof_reading_without_limits(self, faults_of: FaultsOf) -> None:
        only(faults_of((", at_most: 0.5", "")), "a reading without limits proves nothing")

    def test_a_proof_that_only_a_live_source_passes(self, faults_of: FaultsOf) -> None:
        only(faults_of(("at_most: 0.5", "at_least: 0.5")), "needs `at_most`, not only `at_least`")

    @pytest.mark.parametrize(
        ("line", "words"),
        [
            ("    proves: battery\n", "a step that proves it must come between"),
            ("    restores: battery\n", "but no later step restores it; add one"),
            ("    isolates: battery\n", "but no earlier step isolates it; add one"),
        ],
    )
    def test_a_link_of_the_chain_left_out(self, faults_of: FaultsOf, line: str, words: str) -> None:
        assert any(words in fault for fault in faults_of((line, "")))

    def test_work_before_the_proof(self, faults_of: FaultsOf) -> None:
        faults = faults_of(
            ("opens: [plug]\n", "opens: [plug]\n    after: [isolate]\n"),
            ("disturbs: [ring]\n", "disturbs: [ring]\n    after: [prove, unplug]\n"),
        )
        only(faults, "needs 'battery' isolated, but need not come after 'prove', which proves it")

    def test_restored_before_the_work(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    restores: battery\n", "    restores: battery\n    after: [prove]\n"))
        assert any("'restore', which restores it, need not wait for this step" in fault for fault in faults)

    def test_restored_while_something_opened_under_it_is_open(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    restores: battery\n", "    restores: battery\n    after: [tighten]\n"))
        among(faults, "restores 'battery' but need not wait for 'plug-in', which closes 'plug'")

    def test_isolated_and_proved_in_one_step(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("isolates: battery", "isolates: battery\n    proves: battery"))
        assert any("are separate steps; split this one" in fault for fault in faults)

    def test_a_source_that_no_step_needs_isolated(self, faults_in: FaultsOf, small: str) -> None:
        among(
            faults_in(small.replace("    needs_isolated: [battery]\n", "")),
            "no step needs 'battery' isolated",
        )
