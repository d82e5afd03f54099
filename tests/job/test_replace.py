"""A changed copy of a state is what the standard library would make of it, and the state itself stays."""

import dataclasses
from pathlib import Path

from companion.job.facts.replace import replace
from companion.job.facts.state import State
from companion.procedure.read import read_procedure

BRAKES = Path(__file__).parents[2] / "procedures" / "front-brakes.yaml"


def test_it_is_as_the_standard_library_has_it():
    procedure = read_procedure(BRAKES)
    state = State(procedure, job="one", vehicle="Marlow Tern")
    changed = replace(state, job="two", held=True)
    assert changed == dataclasses.replace(state, job="two", held=True)
    assert (state.job, state.held) == ("one", False)
    assert type(changed) is State


def test_no_field_of_a_state_is_worked_out_when_it_is_made():
    """Then a copy would not be enough."""
    assert all(field.init for field in dataclasses.fields(State))
    assert not hasattr(State, "__post_init__")
    assert not hasattr(State, "__slots__")
