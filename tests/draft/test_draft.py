"""Every draft passes the check with questions only; its second half closes what the first opened, once."""

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.draft.draft import draft, drafted
from companion.errors import ProcedureError
from companion.outline.deed import Deed, Doing, Fastened
from companion.outline.lexicon import rows
from companion.procedure.check import find_faults
from companion.procedure.read import examine_bytes
from tests.outline.marked import corpus

QUESTIONS = {"open-question", "dangerous-question"}


def checked(text):
    reading = examine_bytes(text.encode(), Path("draft.yaml"))
    assert [str(f) for f in reading.findings if f.rule.code not in QUESTIONS] == []
    return reading.procedure


@pytest.mark.parametrize("outline", [*corpus()], ids=lambda outline: outline.name)
def test_a_draft_passes_the_check_with_questions_only_and_closes_what_it_opens(outline):
    made = draft(outline.text, outline.name)
    assert made == draft(outline.text, outline.name), "the same outline gives the same draft"
    closes_each_once(checked(made))


def closes_each_once(procedure):
    opened = [(item, n) for n, step in enumerate(procedure.steps) for item in step.opens]
    closed = [(item, n) for n, step in enumerate(procedure.steps) for item in step.closes]
    assert opened
    assert Counter(item for item, _ in opened) == Counter(item for item, _ in closed)
    assert all(count == 1 for count in Counter(item for item, _ in closed).values())
    kinds = procedure.items
    back = [item for item, _ in closed if str(kinds[item].kind) != "fluid"]
    way_in = [item for item, _ in opened if str(kinds[item].kind) != "fluid"]
    assert back == way_in[::-1], "the way home is the taking-apart turned round"
    isolated = [step.isolates for step in procedure.steps if step.isolates]
    restored = [step.restores for step in procedure.steps if step.restores]
    assert restored == isolated[::-1]
    if isolated:
        first, last = opened[0][1], closed[-1][1]
        assert max(n for n, step in enumerate(procedure.steps) if step.isolates) < first
        assert min(n for n, step in enumerate(procedure.steps) if step.restores) > last


THINGS = sorted({name for names in rows("things")["kinds"].values() for name in names})
DEEDS = st.builds(
    Deed,
    doing=st.sampled_from(
        [Doing.REMOVE, Doing.SLACKEN, Doing.DISCONNECT, Doing.DRAIN, Doing.CLEAN, Doing.NOTE]
    ),
    thing=st.sampled_from(THINGS),
    line=st.just(1),
    text=st.sampled_from(["as told", "X out", "never do that"]),
    fastened=st.lists(
        st.builds(
            Fastened,
            what=st.sampled_from(["", "bolts", "nut", "clips", "screws", "plug"]),
            count=st.none() | st.integers(1, 20),
            thread=st.sampled_from([None, "M6", "M8", "M10x1.25", "3/8 UNC"]),
            hex=st.sampled_from([None, "10", "13", "23", "7/16 in"]),
            torque=st.none() | st.sampled_from([1.0, 9.0, 25.0, 400.0]),
            bag=st.sampled_from([None, "1", "tin"]),
        ),
        max_size=2,
    ).map(tuple),
    where=st.sampled_from([None, "behind the dash"]),
    seal=st.sampled_from([None, "gasket", "o-rings"]),
    amount=st.none() | st.just(4.5),
)


@given(st.lists(DEEDS, min_size=1, max_size=12))
@settings(max_examples=60, deadline=None)
def test_whatever_is_told_the_reversed_half_closes_each_opened_thing_once(deeds):
    opening = [Deed(Doing.REMOVE, "cover", 1, "cover off")]
    made = drafted((*opening, *deeds), "Random")
    reading = examine_bytes(made.encode(), Path("draft.yaml"))
    assert reading.procedure
    assert not find_faults(reading.procedure, kept=True)
    closes_each_once(reading.procedure)


def test_what_is_slackened_on_the_ground_is_tightened_there():
    steps = checked(draft("loosen wheel nuts, five 19s\njack up\nwheel off", "Wheel")).steps
    raised, lowered = (
        next(n for n, s in enumerate(steps) if getattr(s, f)) for f in ("isolates", "restores")
    )
    assert "five wheel nuts" in steps[raised].say
    tight = steps[lowered + 1]
    assert (tight.act, tight.fasteners[0].count, tight.fasteners[0].hex) == ("tighten", 5, 19)
    assert tight.review[0].dangerous, "a wheel nut is not tightened by guess"


def test_what_feeds_an_electric_plug_is_made_safe_though_nobody_said_so():
    procedure = checked(draft("unplug the sensor", "Sensor"))
    isolate = procedure.steps[0]
    assert isolate.isolates == "battery"
    assert "does not say so" in isolate.review[0].ask


def test_a_torque_that_no_such_bolt_bears_is_asked_about_and_not_read_out():
    procedure = checked(draft("sump off, ten M6 bolts 10 mm, 90 Nm", "Sump"))
    (step,) = [step for step in procedure.steps if "sump" in step.closes]
    assert step.fasteners[0].torque is None
    assert [(mark.about, mark.dangerous) for mark in step.review if "90 N·m" in mark.ask] == [
        ("torque", True)
    ]


def test_told_of_the_way_home_goes_to_what_it_closes():
    home = "## Refit\nsump bolts 10 Nm\nfill with 4 litres of oil"
    procedure = checked(draft(f"drain oil, 24 plug\nsump off, ten M6 bolts\n{home}", "Sump"))
    closing = {item: step for step in procedure.steps for item in step.closes}
    assert str(closing["sump"].fasteners[0].torque) == "10 N·m"
    assert (closing["oil"].measure.at_least, closing["oil"].measure.at_most) == (3.6, 4.4)


def test_an_outline_of_nothing_is_one_line():
    with pytest.raises(ProcedureError, match="nothing that is taken apart"):
        draft("good morning\n", "Nothing")


def test_what_a_terminal_would_obey_goes_into_no_draft():
    made = draft("wheel out, five 19s\x1b[2J\n\u202ecover off, six T25", "Wheel\x07", "Tern\x9b")
    assert "wheel" in made
    assert not [c for c in made if not (c.isprintable() or c == "\n")]
    checked(made)


@pytest.mark.parametrize(
    ("outline", "told"),
    [
        ("1. Disconnec", "nothing that is taken apart"),
        ("Unclip engine cover" + " (4 clips engine cover" * 60, "is longer than 600 characters"),
    ],
)
def test_an_outline_that_makes_no_procedure_is_told_in_a_line(outline, told):
    with pytest.raises(ProcedureError, match=told) as refused:
        draft(outline, "Wheel")
    assert "\n" not in str(refused.value)


def test_an_isolation_of_what_nobody_knows_is_drafted_as_grave_as_the_mains():
    """Such as when a procedure is taken for an outline."""
    steps = checked(draft("- id: isolate\ncover off, six T25", "Cover")).steps
    assert steps[0].isolates
    assert steps[1].proves == steps[0].isolates
