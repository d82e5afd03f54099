"""What makes a well-formed procedure wrong as work; each test spoils the small procedure in one way."""

from collections.abc import Callable

import pytest

from companion.procedure.check import find_advice
from companion.procedure.model import Procedure

FaultsOf = Callable[..., list[str]]
Read = Callable[[str], Procedure]
PROVE = "    prove: {what: voltage, unit: V, at_most: 0.5}\n"
COVER_BOLTS = "      - {what: cover bolts, thread: M8, hex: 13, count: 6, torque: 22 N·m}"


def only(faults: list[str], words: str) -> None:
    assert len(faults) == 1, faults
    assert words in faults[0]


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


class TestLedger:
    def test_opened_and_never_closed(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    closes: [plug]\n", ""))
        only(faults, "'plug': 'unplug' opens it, but no later step closes it; add one")
        assert faults[0].startswith("35:13: step 'unplug', opens 1")

    def test_closed_and_never_opened(self, faults_of: FaultsOf) -> None:
        only(faults_of(("    opens: [plug]\n", "")), "'plug-in' closes 'plug', but no earlier step opens it")

    def test_opened_twice(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("opens: [cover]", "opens: [cover, plug]"))
        only(faults, "a step that closes it must come between")

    def test_closing_need_not_wait_for_opening(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("    closes: [plug]\n", "    closes: [plug]\n    after: [prove]\n"))
        assert any("'plug-in' closes 'plug' but need not come after 'unplug'" in fault for fault in faults)

    def test_opened_and_closed_in_one_step(self, faults_of: FaultsOf) -> None:
        faults = faults_of(
            ("    closes: [plug]\n  - id: pump", "  - id: pump"),
            ("opens: [plug]", "opens: [plug]\n    closes: [plug]"),
        )
        only(faults, "both opens and closes 'plug'; make two steps of it")

    def test_opened_under_a_condition_and_closed_without(self, faults_of: FaultsOf) -> None:
        faults = faults_of(
            ("    opens: [plug]\n", ""), ("    only_if: look\n", "    only_if: look\n    opens: [plug]\n")
        )
        only(faults, "under another condition than 'wipe', which opens it; give both the same `only_if`")


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
        only(faults, "no later step renews it")

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


class TestIsolation:
    @pytest.mark.parametrize("source", ["airbag", "high voltage", "fuel pressure"])
    def test_no_wait_where_energy_lingers(self, faults_of: FaultsOf, source: str) -> None:
        only(
            faults_of(("source: battery", f"source: {source}")),
            "write the vehicle maker's value, there is no default",
        )

    @pytest.mark.parametrize("source", ["airbag", "high voltage", "fuel pressure"])
    def test_a_wait_of_nothing_is_none(self, faults_of: FaultsOf, source: str) -> None:
        only(faults_of(("source: battery", f"source: {source}\n    wait: 0 s")), "there is no default")

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
        only(faults_of((proves, f"{proves}    measure: {own}\n")), "this step's `measure` is another")

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
        only(faults, "restores 'battery' but need not wait for 'plug-in', which closes 'plug'")

    def test_isolated_and_proved_in_one_step(self, faults_of: FaultsOf) -> None:
        faults = faults_of(("isolates: battery", "isolates: battery\n    proves: battery"))
        assert any("are separate steps; split this one" in fault for fault in faults)

    def test_a_source_that_no_step_needs_isolated_is_only_advice(self, read: Read, small: str) -> None:
        procedure = read(small.replace("    needs_isolated: [battery]\n", ""))
        (advice,) = find_advice(procedure)
        assert "no step needs 'battery' isolated" in advice.message


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
        only(faults_of(("waits_for: [cover-on]", f"waits_for: [{awaited}]")), words)

    def test_waiting_from_the_application_on(self, read: Read, faults_of: FaultsOf, small: str) -> None:
        clock = ("product_class: RTV", "product_class: RTV, clock_starts: application")
        only(faults_of(clock), "the cure starts at 'spread', not at 'cover-on'")
        assert read(small.replace(*clock).replace("waits_for: [cover-on]", "waits_for: [spread]"))

    def test_waiting_for_a_step_that_may_come_later(self, faults_of: FaultsOf) -> None:
        faults = faults_of(
            ("    waits_for: [cover-on]\n", "    waits_for: [cover-on]\n    after: [spread]\n")
        )
        assert any("need not come after 'cover-on'; add it to `after`" in fault for fault in faults)

    def test_times_that_contradict_one_another(self, faults_of: FaultsOf) -> None:
        only(faults_of(("skin_over: 10 min", "skin_over: 3 days")), "`skin_over` is longer than `full_cure`")

    def test_a_cure_that_no_step_waits_for_is_only_advice(self, read: Read, small: str) -> None:
        (advice,) = find_advice(read(small.replace("    waits_for: [cover-on]\n", "")))
        assert "no step waits for this cure; name 'cover-on'" in advice.message


class TestSteps:
    def test_tightening_without_a_torque(self, faults_of: FaultsOf) -> None:
        only(faults_of((", torque: 22 N·m", "")), "is tightened without a `torque` or `stages`")

    def test_tightening_without_fasteners(self, faults_of: FaultsOf) -> None:
        only(faults_of((f"    fasteners:\n{COVER_BOLTS}\n", "")), "a tightening step needs `fasteners`")

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
        only(faults_of(("state: battery connected", f"state: {state}")), "a state is two or more plain words")

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


class TestFasteners:
    @pytest.mark.parametrize(
        ("drive", "words"),
        [
            ("hex: 13.5", "no hex 13.5 mm is known; nearest is 1"),
            ("hex: 100", "no hex 100 mm is known; nearest is 36 mm"),
            ("socket_hex: 11", "no socket_hex 11 mm is known; nearest is 1"),
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
                "thread: M8, hex: 17, count: 6, torque: 22 N·m",
                "17 mm is odd on M8, which has 10, 11, 12, 13 mm",
            ),
            ("thread: M8, hex: 13, count: 6, torque: 220 N·m", "more than a class 10.9 M8 bears (40.1 N·m)"),
            ("thread: M8, hex: 13, count: 6, torque: 2.2 N·m", "2.2 N·m is hardly tight for M8"),
            ("thread: M8, hex: 13, count: 6, stages: [20 N·m, 45 N·m]", "45 N·m is more than"),
        ],
    )
    def test_odd_for_the_thread_is_advice(self, read: Read, small: str, spoilt: str, words: str) -> None:
        text = small.replace(COVER_BOLTS, f"      - {{what: cover bolts, {spoilt}}}")
        (advice,) = find_advice(read(text))
        assert words in advice.message

    def test_a_low_torque_before_an_angle_is_not_odd(self, read: Read, small: str) -> None:
        text = small.replace(COVER_BOLTS, COVER_BOLTS.replace("torque: 22 N·m", "stages: [3 N·m, 90°]"))
        assert find_advice(read(text)) == ()
