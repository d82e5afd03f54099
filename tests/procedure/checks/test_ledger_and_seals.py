"""What is opened is closed, and a seal that is disturbed is renewed first; each test spoils one thing."""

from tests.procedure.checks.faults import FaultsOf, Read, among, only


class TestLedger:
    def test_opened_and_never_closed(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    closes: [plug]\n", ""))
        only(faults, "'plug': 'unplug' opens it, but no later step closes it; add one")
        assert faults[0].startswith("35:13: step 'unplug', opens 1")

    def test_closed_and_never_opened(self, faults_of: FaultsOf) -> None:
        among(faults_of(("    opens: [plug]\n", "")), "'plug-in' closes 'plug', but no earlier step opens it")

    def test_opened_twice(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("opens: [cover]", "opens: [cover, plug]"))
        among(faults, "a step that closes it must come between")

    def test_closing_need_not_wait_for_opening(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    closes: [plug]\n", "    closes: [plug]\n    after: [prove]\n"))
        assert any("'plug-in' closes 'plug' but need not come after 'unplug'" in fault for fault in faults)

    def test_opened_and_closed_in_one_step(self, faults_of: FaultsOf) -> None:
        faults = faults_of(
            ("    closes: [plug]\n", ""),
            ("opens: [plug]", "opens: [plug]\n    closes: [plug]"),
        )
        only(faults, "both opens and closes 'plug'; make two steps of it")

    def test_opened_under_a_condition_and_closed_without(self, faults_of: FaultsOf) -> None:
        faults = faults_of(
            ("    opens: [plug]\n", ""), ("    only_if: look\n", "    only_if: look\n    opens: [plug]\n")
        )
        among(faults, "under another condition than 'wipe', which opens it; give both the same `only_if`")


class TestSeals:
    def test_a_single_use_seal_without_a_replacement(self, faults_of: FaultsOf) -> None:
        only(faults_of((", part: new-ring", "")), "a single-use seal needs a `part`")

    def test_a_single_use_seal_without_a_joint(self, faults_of: FaultsOf) -> None:
        only(faults_of((", joint: cover", "")), "a single-use seal needs a `joint`")

    def test_a_replacement_that_is_not_single_use(self, faults_of: FaultsOf) -> None:
        only(faults_of((", single_use: true", "")), "replaces a single-use seal; write `single_use: true`")

    def test_too_few_replacements(self, faults_of: FaultsOf) -> None:
        second = "  ring-two: {name: ring two, use: single, part: new-ring, joint: cover}\n"
        faults = faults_of(
            ("seals:\n", f"seals:\n{second}"),
            ("disturbs: [ring]", "disturbs: [ring, ring-two]"),
            ("renews: [ring]", "renews: [ring, ring-two]"),
        )
        only(faults, "1 on the bench, but 2 seals are renewed with it; raise `count`")

    def test_disturbed_and_never_renewed(self, faults_of: FaultsOf) -> None:
        only(
            faults_of(("    renews: [ring]\n", "")),
            "'ring': 'cover-off' disturbs it, but no later step renews it",
        )

    def test_an_inspected_seal_is_passed_too(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("use: single, part: new-ring", "use: inspect"), ("    renews: [ring]\n", ""))
        among(faults, "no later step renews it")

    def test_renewed_after_its_joint_is_closed(self, faults_of: FaultsOf) -> None:
        faults = faults_of(
            ("    renews: [ring]\n", ""), ("    closes: [plug]\n", "    closes: [plug]\n    renews: [ring]\n")
        )
        only(faults, "closes 'cover' before 'plug-in' surely renews its seal 'ring'")

    def test_renewed_by_the_closing_step_itself(self, read: Read, small: str) -> None:
        text = small.replace("    renews: [ring]\n", "").replace(
            "closes: [cover]", "closes: [cover]\n    renews: [ring]"
        )
        assert read(text)
