"""What is not known yet: listed by the check, asked on the bench, and no job on what could hurt someone."""

import pytest
from ruamel.yaml import YAML

from companion.job.facts.commands import Command
from companion.procedure.model import Procedure
from tests.job.conftest import Mechanic

FAN = """\
title: Fan
revision: "1"
applies_to: [an invented engine]
source_of_torques: invented
energy:
  fuel: {name: fuel pressure, source: fuel pressure, WAIT}
items:
  fan: {name: fan, kind: part}
steps:
  - id: let-off
    act: isolate
    say: Let it off.
    book: 1 min
    isolates: fuel
    state: pressure let off
    hazards: [{signal: WARNING, hazard: fuel sprays, avoid: rag round the joint}]
  - {id: gone, act: verify, say: Look at the gauge., book: 1 min, proves: fuel, state: pressure is gone}
  - {id: fan-off, act: remove, say: Fan off., book: 4 min, opens: [fan], needs_isolated: [fuel], LOOK}
  - {id: fan-on, act: tighten, say: Fit the fan., book: 4 min, closes: [fan], needs_isolated: [fuel],
     fasteners: [{what: fan bolts, count: 4}], REVIEW}
  - {id: back, act: restore, say: Switch the pump on., book: 1 min, restores: fuel, state: pump is on}
"""
TORQUE = "review: [{ask: How tight are the fan bolts?, about: torque}], measure: {what: torque, unit: N·m}"
WAIT = "review: [{ask: How long must it wait?, about: wait, dangerous: true}]"
LOOK = "review: [{ask: How many bolts hold the fan?, about: count}]"


def fan(wait="wait: 5 min", review=TORQUE, look="where: front"):
    return FAN.replace("WAIT", wait).replace("REVIEW", review).replace("LOOK", look)


@pytest.fixture
def check(companion, tmp_path):
    def check(text):
        (tmp_path / "fan.yaml").write_text(text)
        return companion("check", "fan.yaml")

    return check


def test_a_torque_that_is_asked_for_is_no_fault_and_a_question(check):
    result = check(fan())
    assert result.returncode == 0, result.stdout
    assert "How tight are the fan bolts? (advice) [open-question]" in result.stdout


def test_another_question_does_not_excuse_a_torque_that_is_missing(check):
    result = check(fan(review=TORQUE.replace("about: torque", "about: size")))
    assert result.returncode == 2
    assert "no-torque" in result.stdout


def test_a_wait_that_is_asked_for_is_a_dangerous_question(check):
    result = check(fan(wait=WAIT))
    assert result.returncode == 0, result.stdout
    assert "How long must it wait? (advice) [dangerous-question]" in result.stdout
    assert "no-isolation-wait" in check(fan(wait="circuit: fuel")).stdout


def test_no_job_is_begun_while_a_dangerous_question_is_open(check, companion):
    check(fan(wait=WAIT))
    result = companion("work", "fan.yaml", "--keys", "--quiet")
    assert result.returncode == 2
    assert result.stderr == (
        "companion: fan.yaml: 1 question could hurt someone while open: How long must it wait? "
        "Answer first: companion draft --answer fan.yaml\n"
    )


def test_what_is_not_known_is_asked_at_its_step_and_a_torque_is_read_back():
    mechanic = Mechanic(Procedure.from_data(YAML(typ="safe").load(fan(wait="circuit: fuel", look=LOOK))))
    mechanic.opens()
    mechanic.state_is("pressure let off")
    said = mechanic.state_is("pressure is gone")
    assert "Not known yet: How many bolts hold the fan?" in said
    assert 'Say "note" and the answer.' in said
    said = mechanic.says(Command.DONE)
    assert said[-1] == "Say the reading, torque, in N·m."
    assert not any("Not known yet" in text for text in said), "it is asked for as a reading"
    said = mechanic.says(Command.READING, value="9", unit="N·m")
    assert said == ["9 N·m. Right? Yes or no?"]
