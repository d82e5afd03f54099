"""What must never happen, tried at random: a small share of what `tests.benchmarks.safety` runs."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.job.facts.commands import Command
from companion.job.rules import gates, held_back, wants
from companion.job.turns import proof, reminders
from companion.job.turns.skipped import leave_out
from tests.benchmarks.safety.jobs import procedures
from tests.benchmarks.safety.moves import MOVES, play
from tests.benchmarks.safety.unsafe import UnsafeError
from tests.benchmarks.safety.world import starts
from tests.helpers.said import heard, unsure

STAGES = [starts(procedure) for procedure in procedures(random_ones=6)]
DENSE = STAGES[3]


@settings(max_examples=25)
@given(st.data())
def test_no_sequence_of_anything_leads_past_a_gate(data):
    world = data.draw(st.sampled_from(data.draw(st.sampled_from(STAGES)))).copy()
    moves = data.draw(st.lists(st.sampled_from([move for _, move in MOVES]), max_size=25))
    rng = data.draw(st.randoms(use_true_random=False))
    for move in moves:
        move(world, rng)
    world.replayed()
    if rng.random() < 0.5:
        world.all_announced()
    else:
        world.can_be_finished()


def test_no_message_raises_in_any_state():
    """Every command, with arguments that make no sense, at every stage of a job."""
    odd = [
        {},
        {
            "state": "\x00",
            "value": "1_0",
            "unit": "",
            "number": "²",
            "minutes": "1e999",
            "text": "",
            "reason": "",
        },
    ]
    for world in DENSE[::5]:
        for command in Command:
            for arguments in odd:
                world.copy().post(heard(command, arguments))
                world.copy().post(unsure(command, arguments, "", 0.0))


@pytest.mark.parametrize(
    ("module", "name", "broken"),
    [
        (gates, "_GATES", ()),
        (gates, "_GATES", tuple(gate for gate in gates._GATES if gate is not gates._buried)),
        (gates, "_GATES", tuple(gate for gate in gates._GATES if gate is not gates._pressed)),
        (held_back, "leaves_loose", lambda _: False),
        (leave_out, "why_not_ever", lambda *_: None),
        (reminders, "overdue", lambda *_: []),
        (proof, "isolation_waiting", lambda *_: iter(())),
        (wants, "new_fasteners", lambda _: ()),
    ],
)
def test_the_second_opinion_notices_a_broken_core(monkeypatch, module, name, broken):
    """The watch itself is watched: with a part of the core taken out, something is found."""
    monkeypatch.setattr(module, name, broken)
    for seed in range(400):
        rng = random.Random(seed)
        world = rng.choice(rng.choice(STAGES)).copy()
        try:
            play(world, rng, 25)
        except UnsafeError:
            return
    pytest.fail("nothing was noticed")
