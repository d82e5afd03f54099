"""The one list of units: how each is written, said, and heard. Its rows are in `vocabulary/units.toml`.

Procedures and the screen write its symbol, and the voice says its words. It is heard in whatever way people
say it or a recogniser writes it down.
"""

from dataclasses import dataclass

from pydantic import TypeAdapter

from companion.procedure.vocabulary.data_files import table


@dataclass(frozen=True)
class Unit:
    """One unit."""

    symbol: str
    one: str
    """Said of one."""
    many: str
    """Said of any other number."""
    also: tuple[str, ...] = ()
    """Other symbols that people write."""
    heard: tuple[str, ...] = ()
    """Other words for it: said, typed, or written down by a recogniser. Small letters."""
    measured: bool = False
    """A mechanic reads it off an instrument, so it is listened for."""
    quantity: str = ""
    """What it measures: voltage, pressure, mass."""
    dead_when_little: bool = False
    """A proof by it needs `at_most`: little of it is safe."""
    signless: bool = False
    """Read with the leads the other way round it is the same, so its sign does not count."""

    @property
    def symbols(self) -> tuple[str, ...]:
        """Every way it is written short."""
        return (self.symbol, *self.also)

    @property
    def words(self) -> tuple[str, ...]:
        """Every way it is said or written down, in small letters; how we say it ourselves comes first."""
        ways = (self.many, self.one, *self.heard, *self.symbols)
        return tuple(dict.fromkeys(way.lower().replace("·", "") for way in ways))


TABLE = TypeAdapter(tuple[Unit, ...]).validate_python(table("vocabulary", "units")["units"])
"""Every unit, in the order of the file."""

UNITS = {symbol: unit for unit in TABLE for symbol in unit.symbols}
"""Each unit by each of its symbols."""

MEASURED = {unit.symbol: unit.words for unit in TABLE if unit.measured}
"""What a reading can be in: the symbol, and every way it is said or written down by a recogniser."""

SECONDS = {
    name: seconds
    for names, seconds in (
        ("s sec second seconds", 1),
        ("min mins minute minutes", 60),
        ("h hr hrs hour hours", 3_600),
        ("d day days", 86_400),
        ("week weeks", 604_800),
    )
    for name in names.split()
}
"""Lengths of time by every name they go by."""


def unit_name(symbol: str) -> str:
    """A unit by itself, without a number before it: "volts", "degrees Celsius"; as it is when not known."""
    return UNITS[symbol].many if symbol in UNITS else symbol
