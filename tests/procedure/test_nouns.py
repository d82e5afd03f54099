"""Names in a sentence: their article, their number, their verb."""

import pytest

from companion.procedure.nouns import as_many, bare, is_plural, plural, several, the, verb


@pytest.mark.parametrize(
    ("name", "with_article"),
    [
        ("drain plug", "the drain plug"),
        ("the battery", "the battery"),
        ("The airbag", "the airbag"),
        ("a part", "a part"),
        ("your helper", "your helper"),
        ("theatre lamp", "the theatre lamp"),
    ],
)
def test_a_name_has_one_article(name, with_article):
    assert the(name) == with_article
    assert the(the(name)) == with_article


@pytest.mark.parametrize(
    ("name", "many"),
    [
        ("sump bolts", True),
        ("left guide pin boots", True),
        ("sump to gearbox bolts", True),
        ("pairs of washers", True),
        ("feet", True),
        ("pair of copper washers", False),
        ("ring of the caps", False),
        ("wiring harness", False),
        ("bus", False),
        ("chassis", False),
        ("left carrier", False),
    ],
)
def test_one_or_more_is_told_by_the_noun(name, many):
    assert is_plural(name) is many
    assert verb(name) == ("are" if many else "is")


@pytest.mark.parametrize(
    ("number", "name", "said"),
    [
        (1, "drain plug", "1 drain plug"),
        (8, "undertray screws", "8 undertray screws"),
        (4, "carrier bolt", "4 carrier bolts"),
        (2, "pair of copper washers", "2 pairs of copper washers"),
        (5, "one litre bottle of engine oil", "5 one litre bottles of engine oil"),
        (1, "fault", "1 fault"),
        (0, "fault", "0 faults"),
        (3, "piece of advice", "3 pieces of advice"),
    ],
)
def test_a_number_and_its_noun_agree(number, name, said):
    assert several(number, name) == said


def test_the_plural_of_what_hangs_on_a_noun_is_left_alone():
    assert plural("box with a lid") == "boxes with a lid"
    assert as_many(2, "sump bolts") == "sump bolts"
    assert bare("the sump joint") == "sump joint"
