"""What the language knows by name can be said of machines of any kind; a file may name what it does not."""

import pytest

from companion.job.facts.commands import Command
from companion.job.rules.ledger import open_things
from companion.job.rules.wants import within
from companion.procedure.check import find_faults
from companion.procedure.energy_words import energy_words
from companion.procedure.model import Energy, Measure, Procedure
from companion.procedure.things import Item
from companion.procedure.vocabulary.energies import WORDS, EnergySource
from companion.procedure.vocabulary.kinds import ItemKind
from tests.job.conftest import Mechanic
from tests.procedure.checks.faults import PROVE, FaultsOf, only


@pytest.mark.parametrize(
    ("source", "name", "standing", "again"),
    [
        ("petrol tap", "petrol tap", "the petrol tap is shut and tight", "the petrol tap is open again"),
        ("ignition switch", "ignition", "the ignition is off and proved off", "the ignition is on again"),
        ("mains", "mains lead", "the mains lead is switched off and dead", "the mains lead is on again"),
        ("compressed air", "the compressed air", "the compressed air is let off and gone",
         "the compressed air is back"),
        ("refrigerant", "refrigerant", "the refrigerant is recovered and gone",
         "the refrigerant is charged again"),
        ("capacitor", "start capacitor", "the start capacitor is discharged and dead",
         "the start capacitor may hold a charge again"),
    ],
)  # fmt: skip
def test_sources_of_other_trades_have_their_words(source: str, name: str, standing: str, again: str) -> None:
    told = energy_words(Energy.model_validate({"name": name, "source": source}))
    assert (told.standing, told.restored) == (standing, again)


@pytest.mark.parametrize("source", EnergySource.known.values(), ids=str)
def test_what_is_deadly_can_be_proved_by_a_reading(source: EnergySource) -> None:
    assert source.readings or not source.deadly
    assert source.words in WORDS
    assert source.about.endswith(".")


def test_a_fault_of_an_unknown_name_tells_the_nearest(faults_of: FaultsOf) -> None:
    only(
        faults_of(("source: battery", "source: batery")),
        "'batery' is not known here; did you mean 'battery'?",
    )
    only(faults_of(("kind: connector", "kind: conector")), "did you mean 'connector'?")


def flywheel(**declared: object) -> Procedure:
    return Procedure.from_data({
        "title": "Chaff cutter blade", "revision": "1", "applies_to": ["Tolland cutter (invented)"],
        "source_of_torques": "No torque is used.",
        "energy": {"wheel": {"name": "the flywheel", "source": {"called": "flywheel", **declared}}},
        "items": {"hood": {"name": "blade hood", "kind": {"called": "hood", "opened": "up", "leaks": False}}},
        "steps": [
            {"id": "stop", "act": "isolate", "say": "Take the belt off.", "book": "1 h",
             "isolates": "wheel", "state": "belt is off"},
            {"id": "still", "act": "verify", "say": "Read the speed.", "book": "1 h", "proves": "wheel",
             "measure": {"what": "speed of the flywheel", "unit": "rpm", "at_most": 0}},
            {"id": "hood-up", "act": "remove", "say": "Lift the hood.", "book": "1 h", "opens": ["hood"],
             "needs_isolated": ["wheel"]},
            {"id": "hood-down", "act": "fit", "say": "Shut the hood.", "book": "1 h", "closes": ["hood"]},
            {"id": "belt-on", "act": "restore", "say": "Lay the belt on.", "book": "1 h",
             "restores": "wheel", "state": "belt is on"},
        ],
    })  # fmt: skip


def test_what_a_file_declares_itself_needs_a_wait_unless_it_says_that_it_does_not() -> None:
    assert ["flywheel needs a `wait`" in fault.message for fault in find_faults(flywheel())] == [True]
    assert find_faults(flywheel(lingers=False, words="stopped")) == ()


@pytest.mark.parametrize("source", ["source: mains", "source: {called: dynamo, lingers: false}"])
def test_what_is_deadly_is_not_proved_by_words(faults_of: FaultsOf, source: str) -> None:
    by_words = "proves: battery\n    state: nothing is left"
    faults = faults_of(("source: battery", source), (PROVE, ""), ("proves: battery", by_words))
    assert any("is proved by words alone; write `prove`" in fault for fault in faults), faults


def test_what_a_file_declares_itself_is_worked_like_any_other() -> None:
    mechanic = Mechanic(flywheel(lingers=False, words="stopped"))
    mechanic.opens()
    mechanic.state_is("belt is off")
    assert "the flywheel is still turning" in " ".join(mechanic.reads("12", "rpm")).lower()
    mechanic.state_is("belt is off")
    mechanic.reads("0", "rpm")
    mechanic.says(Command.DONE)
    assert [thing.text for thing in open_things(mechanic.state)] == [
        "the flywheel is stopped and at rest",
        "the blade hood is up",
    ]


def test_what_a_file_declares_itself_counts_for_what_leaks() -> None:
    own = Item.model_validate({"name": "sight glass", "kind": {"called": "sight glass"}})
    assert (own.kind.leaks, own.kind.opened) == (True, "open")
    assert Item.model_validate(own.model_dump()) == own


def test_only_known_words_and_units_can_be_declared(faults_of: FaultsOf) -> None:
    only(
        faults_of(("source: battery", "source: {called: dynamo, lingers: false, words: disconected}")),
        "'disconected' is not known here; did you mean 'disconnected'?",
    )
    only(faults_of(("source: battery", "source: {called: dynamo, lingrs: false}")), "did you mean 'lingers'?")


@pytest.mark.parametrize(
    "unit", ["psi", "Hz", "g", "A", "mA", "rpm", "s", "kg", "mbar", "MΩ", "µF", "°F", "L/min"]
)
def test_a_measure_can_be_in_any_unit_that_instruments_have(unit: str) -> None:
    assert Measure.model_validate({"what": "it", "unit": unit}).unit == unit


def test_a_unit_may_be_written_as_people_write_it() -> None:
    assert Measure.model_validate({"what": "it", "unit": "Nm"}).unit == "N·m"


def test_a_current_read_the_other_way_round_is_as_live() -> None:
    draw = Measure.model_validate({"what": "draw", "unit": "mA", "at_most": 50})
    assert [within(draw, value) for value in (20, -20, -400)] == [True, True, False]


def test_the_kinds_that_must_come_away_are_never_harmless() -> None:
    assert not [kind for kind in ItemKind.known.values() if kind.comes_away and kind.harmless]
