"""The two gates that something open keeps shut, each by itself, and what is said of it."""

from dataclasses import replace
from pathlib import Path

import pytest

from companion.job.facts.commands import Command
from companion.job.facts.state import How, LeftOut, Settled, State
from companion.job.rules.gates import Shut, refusal
from companion.job.rules.ledger import open_things
from companion.job.turns.next_step import choose
from companion.logbook.recover import read_log
from companion.procedure.model import Procedure
from companion.procedure.read import read_kept_procedure
from tests.job.buried.working import COOLANT, at, at_step, work_until
from tests.job.conftest import START
from tests.procedure.jobs import COVER_AND_CORE, PANELS, job, open_line, step

GOLDEN = Path(__file__).parents[3] / "logs" / "golden"
BOLTS = step("bolts", "tighten", torque="9 N·m")


def with_steps_before(procedure: Procedure, step_id: str, **open_items: str) -> State:
    """Everything before the step is done; of the items, only these are open."""
    done = procedure.steps[: procedure.number(step_id) - 1]
    settled = {s.id: Settled(s.id, How.DONE, START) for s in done}
    return replace(State(procedure), job="job", settled=settled, open_items=open_items)


def skipped(state: State, step_id: str) -> State:
    return replace(state, settled={**state.settled, step_id: Settled(step_id, How.SKIPPED, START, "why")})


def shut(state: State, step_id: str):
    return refusal(state, state.procedure.step(step_id), START)


def test_a_cover_waits_for_what_is_under_it():
    procedure = job(PANELS, *COVER_AND_CORE)
    assert shut(with_steps_before(procedure, "cover-on", cover="cover-off"), "cover-on") is None
    under = with_steps_before(procedure, "cover-on", cover="cover-off", core="core-out")
    found = shut(under, "cover-on")
    assert (found.gate, found.about) == (Shut.BURIED, "core")
    assert found.reason == "the core is off, and step 4 would close over it"


def test_what_the_file_says_may_stay_open_holds_nothing():
    steps = [*COVER_AND_CORE[:3], {**COVER_AND_CORE[3], "leaves_open": ["core"]}]
    procedure = job(PANELS, *steps)
    state = with_steps_before(procedure, "cover-on", cover="cover-off", core="core-out")
    assert shut(state, "cover-on") is None


@pytest.mark.parametrize(
    ("more", "deed"),
    [
        (step("more", "fill"), "fills or bleeds the circuit"),
        (step("more", "verify", runs_engine=True), "runs the engine"),
        (step("more", "verify", say="Start the engine."), "runs the engine"),
        (step("more", "verify", say="Bleed it."), "fills or bleeds the circuit"),
        (step("more", "connect", circuits=["fuel"]), "fills or bleeds the circuit"),
    ],
)
def test_nothing_is_filled_bled_or_run_with_a_hose_off(more, deed):
    procedure = open_line(more)
    assert shut(with_steps_before(procedure, "more"), "more") is None
    found = shut(with_steps_before(procedure, "more", line="line-off"), "more")
    assert (found.gate, found.about) == (Shut.PRESSED, "line")
    assert found.reason == f"the line is off, and step 7 {deed}"


def test_bolts_left_loose_are_closed_over_by_nothing():
    steps = [*COVER_AND_CORE[:3], BOLTS, COVER_AND_CORE[3]]
    procedure = job(PANELS, *steps)
    state = with_steps_before(procedure, "cover-on", cover="cover-off")
    assert shut(state, "cover-on") is None
    found = shut(skipped(state, "bolts"), "cover-on")
    assert (found.gate, found.about) == (Shut.BURIED, "bolts")
    assert [t.text for t in open_things(skipped(state, "bolts")) if t.id == "bolts"] == [
        "the bolt is not tightened"
    ]


def test_the_engine_does_not_run_on_what_was_not_topped_up():
    procedure = open_line(step("top-up", "fill", circuits=["oil"]), step("run", "verify", runs_engine=True))
    state = with_steps_before(procedure, "run")
    assert shut(state, "run") is None
    assert shut(skipped(state, "top-up"), "run").about == "top-up"


def test_the_engine_does_not_run_with_a_hose_left_out_for_good_either():
    procedure = open_line(step("run", "verify", runs_engine=True))
    left = LeftOut("line", "line-off", "why", "Ana", START)
    state = replace(with_steps_before(procedure, "run"), left_out={"line": left})
    assert shut(state, "run").reason == "the line is left out, and step 7 runs the engine"


def test_what_is_left_out_for_good_may_be_closed_over():
    procedure = job(PANELS, *COVER_AND_CORE)
    left = LeftOut("core", "core-out", "why", "Ana", START)
    state = with_steps_before(procedure, "cover-on", cover="cover-off")
    assert shut(replace(state, left_out={"core": left}), "cover-on") is None


def test_what_waits_for_a_step_that_is_shut_itself_leads_nowhere():
    """The cover waits for the core, and the core for its coat: it is the coat that leads on."""
    items = {**PANELS, "core": {"kind": "part"}}
    procedure = job(
        items,
        step("cover-off", "remove", opens="cover"),
        step("core-out", "remove", opens="core"),
        step("cover-on", "fit", closes="cover", after=["core-out"]),
        step("coat", "apply", applies={"consumable": "paint"}, after=["core-out"]),
        step("core-in", "fit", closes="core", waits_for=["coat"], after=["coat"]),
        consumables={
            "paint": {
                "name": "paint",
                "product_class": "p",
                "clock_starts": "application",
                "full_cure": "1 h",
            }
        },
    )
    state = with_steps_before(procedure, "cover-on", cover="cover-off", core="core-out")
    found, leads = choose(skipped(state, "coat"), START)
    assert found is None
    assert (leads.gate, leads.about) == (Shut.CURE, "coat")


class TestSkipping:
    def test_says_at_once_what_stays_open_and_what_waits_for_it(self, mechanic):
        mechanic.takes_the_sump_off()
        work_until(mechanic, at_step(mechanic.procedure.step("sump-on")))
        said = mechanic.says(Command.SKIP, reason="the sump is cracked")
        assert said[:2] == [
            "Step 9 skipped: the sump is cracked.",
            "The sump joint stays apart. Step 10, plug the oil level sensor in, waits for it.",
        ]

    def test_energy_that_is_not_brought_back_stays_as_it_is(self):
        mechanic = at(COOLANT, "restore-pressure")
        said = mechanic.says(Command.SKIP, reason="the cap is cracked")
        assert said[1].startswith(
            "The cooling pressure stays let off and gone. The expansion tank stays open."
        )

    def test_the_companion_goes_back_by_itself(self, mechanic):
        mechanic.takes_the_sump_off()
        work_until(mechanic, at_step(mechanic.procedure.step("sump-on")))
        said = mechanic.says(Command.SKIP, reason="the sump is cracked")
        assert "The sump joint is apart, and step 10 would close over it." in said
        assert "Back to step 9: do it now, or say waiting for a part." in said
        assert mechanic.state.current == "sump-on"

    def test_of_nothing_that_closes_is_told_as_before(self, mechanic):
        mechanic.takes_the_sump_off()
        assert mechanic.state.current == "clean"
        said = mechanic.says(Command.SKIP, reason="they are clean")
        assert said[0].startswith("Step 6 skipped: they are clean. Step 7: Lay the new gasket.")


@pytest.mark.parametrize("name", ["sump-reseal", "coolant-pump", "front-brakes"])
def test_a_job_begun_before_the_fields_were_there_can_be_finished(name, mechanic_for):
    """Its file says nothing of circuits; its order is taken at its word where it leaves a cap open."""
    log = read_log(GOLDEN / f"{name}.jsonl").records
    opened = log[0].event
    kept = read_kept_procedure(GOLDEN / "procedures" / f"{opened.procedure_sha256[:16]}.yaml")
    mechanic = mechanic_for(kept)
    mechanic.opens()
    work_until(mechanic, lambda state: state.closed)
