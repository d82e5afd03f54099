"""Every name that is used is declared, and the reverse. Each test spoils the small procedure in one way."""

import pytest

from tests.procedure.checks.faults import FaultsOf, only


class TestNames:
    def test_a_step_id_given_twice(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("- id: rest\n", "- id: pump\n"))
        assert any("step id 'pump' is already that of step 11" in fault for fault in faults)

    @pytest.mark.parametrize(
        ("old", "new", "words"),
        [
            ("opens: [plug]", "opens: [plgu]", "'plgu' is not declared under `items`; did you mean 'plug'?"),
            ("closes: [cover]", "closes: [lid]", "'lid' is not declared under `items`; declare it"),
            (
                "disturbs: [ring]",
                "disturbs: [rink]",
                "'rink' is not declared under `seals`; did you mean 'ring'?",
            ),
            (
                "renews: [ring]",
                "renews: [rang]",
                "'rang' is not declared under `seals`; did you mean 'ring'?",
            ),
            ("isolates: battery", "isolates: batery", "'batery' is not declared under `energy`"),
            ("proves: battery", "proves: batery", "'batery' is not declared under `energy`"),
            ("restores: battery", "restores: batery", "'batery' is not declared under `energy`"),
            ("applies: {consumable: paste}", "applies: {consumable: past}", "did you mean 'paste'?"),
            ("assembles: spread", "assembles: spead", "no step has the id 'spead'; did you mean 'spread'?"),
            ("waits_for: [cover-on]", "waits_for: [cover-in]", "no step has the id 'cover-in'"),
            ("only_if: look", "only_if: lok", "no step has the id 'lok'; did you mean 'look'?"),
            ("part: new-ring", "part: new-rang", "'new-rang' is not declared under `parts`"),
            (
                "joint: cover",
                "joint: covers",
                "'covers' is not declared under `items`; did you mean 'cover'?",
            ),
        ],
    )
    def test_an_unknown_name(self, faults_of: FaultsOf, old: str, new: str, words: str) -> None:
        assert any(words in fault for fault in faults_of((old, new)))

    def test_an_unknown_predecessor(self, faults_of: FaultsOf) -> None:
        only(faults_of(("only_if: look", "only_if: look\n    after: [lock]")), "did you mean 'look'?")

    @pytest.mark.parametrize(
        ("old", "new", "name"),
        [
            ("  plug: {", "  lid: {name: lid, kind: panel}\n  plug: {", "items, lid"),
            (
                "consumables:\n",
                "consumables:\n  glue: {name: a, product_class: b, full_cure: 1 h}\n",
                "consumables, glue",
            ),
            (
                "energy:\n",
                "energy:\n  fuel: {name: fuel, source: fuel pressure, wait: 1 min}\n",
                "energy, fuel",
            ),
            ("seals:\n", "seals:\n  lip: {name: lip, use: inspect}\n", "seals, lip"),
        ],
    )
    def test_a_thing_that_no_step_uses(self, faults_of: FaultsOf, old: str, new: str, name: str) -> None:
        only(faults_of((old, new)), f"{name}: no step uses '{name.rpartition(' ')[2]}'")

    def test_a_ring_of_steps_is_named(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    only_if: look\n", "    only_if: look\n    after: [look, pump]\n"))
        only(faults, "steps wait for one another in a ring")
        assert all(name in faults[0] for name in ("wipe", "spread", "tighten", "pump"))

    def test_a_step_that_waits_for_itself(self, faults_of: FaultsOf) -> None:
        only(faults_of(("only_if: look", "only_if: look\n    after: [wipe]")), "in a ring: wipe → wipe")
