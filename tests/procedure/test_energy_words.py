"""What is said of an energy source is said in the words of its kind."""

import pytest

from companion.procedure.energy_words import energy_words
from companion.procedure.model import Energy, EnergySource


def words(name: str, source: str) -> list[str]:
    told = energy_words(Energy(name=name, source=EnergySource.known[source]))
    return [told.proved, told.unproved, told.restored]


@pytest.mark.parametrize(
    ("name", "source", "proved", "unproved", "restored"),
    [
        ("battery", "battery", "the battery is dead", "the battery is not proved dead",
         "the battery is connected again"),
        ("the hot oil", "hot fluid", "the oil is cool", "the oil is not proved cool",
         "the oil may be hot again"),
        ("the vehicle on its stands", "vehicle support", "the vehicle stands firm",
         "the vehicle is not proved firm on its stands", "the vehicle is on its wheels again"),
        ("the brake pressure", "hydraulic", "the brake pressure is gone",
         "the brake pressure is not proved gone", "the brake pressure is back"),
        ("the fuel rail", "fuel pressure", "the pressure in the fuel rail is gone",
         "the pressure in the fuel rail is not proved gone", "the pressure in the fuel rail is back"),
        ("strut springs", "stored spring", "the strut springs are at rest",
         "the strut springs are not proved at rest", "the strut springs are under load again"),
        ("the driver's airbag", "airbag", "the driver's airbag is safe",
         "the driver's airbag is not proved safe", "the driver's airbag is armed again"),
        ("high voltage", "high voltage", "the high voltage is dead", "the high voltage is not proved dead",
         "the high voltage is on again"),
    ],
)  # fmt: skip
def test_each_kind_has_its_words(name, source, proved, unproved, restored):
    assert words(name, source) == [proved, unproved, restored]


@pytest.mark.parametrize("source", EnergySource.known)
@pytest.mark.parametrize("name", ["it {is} odd", "the thing"])
def test_no_kind_lacks_a_word_and_none_shows_its_brackets(source, name):
    told = dict(energy_words(Energy(name=name, source=EnergySource.known[source])))
    assert all(told.values())
    assert not any("{it}" in clause for clause in told.values())
