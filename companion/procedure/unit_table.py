"""The one table of units: how each is written, said, and heard.

Procedures and the screen write its symbol, and the voice says its words. It is heard in whatever way people
say it or a recogniser writes it down.
"""

from dataclasses import dataclass


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

    @property
    def symbols(self) -> tuple[str, ...]:
        """Every way it is written short."""
        return (self.symbol, *self.also)

    @property
    def words(self) -> tuple[str, ...]:
        """Every way it is said or written down, in small letters; how we say it ourselves comes first."""
        ways = (self.many, self.one, *self.heard, *self.symbols)
        return tuple(dict.fromkeys(way.lower().replace("·", "") for way in ways))


TABLE = (
    Unit(
        "N·m",
        "newton metre",
        "newton metres",
        ("Nm", "N.m", "N m"),
        heard=("newton meters", "newton meter"),
        measured=True,
    ),
    Unit("km/h", "kilometre an hour", "kilometres an hour"),
    Unit("L/min", "litre a minute", "litres a minute"),
    Unit(
        "°C",
        "degree Celsius",
        "degrees Celsius",
        heard=("degrees c", "degrees centigrade", "degrees", "degree", "celsius", "c", "°"),
        measured=True,
    ),
    Unit("°", "degree", "degrees", ("deg",)),
    Unit("%", "percent", "percent", heard=("per cent",), measured=True),
    Unit("mm", "millimetre", "millimetres", heard=("millimeters", "millimeter"), measured=True),
    Unit("cm", "centimetre", "centimetres"),
    Unit("µm", "micrometre", "micrometres"),
    Unit("km", "kilometre", "kilometres"),
    Unit("kg", "kilogram", "kilograms"),
    Unit("kPa", "kilopascal", "kilopascals", heard=("kilo pascals", "kilo pascal"), measured=True),
    Unit("MPa", "megapascal", "megapascals"),
    Unit("bar", "bar", "bar", heard=("bars",), measured=True),
    Unit("mV", "millivolt", "millivolts"),
    Unit("kV", "kilovolt", "kilovolts"),
    Unit("Ah", "amp hour", "amp hours"),
    Unit("mA", "milliamp", "milliamps"),
    Unit("kΩ", "kilohm", "kilohms"),
    Unit("Ω", "ohm", "ohms", heard=("homes", "ohm's"), measured=True),
    Unit("kW", "kilowatt", "kilowatts"),
    Unit("mL", "millilitre", "millilitres", ("ml",)),
    Unit("rpm", "revolution a minute", "revolutions a minute"),
    Unit("min", "minute", "minutes"),
    Unit("V", "volt", "volts", measured=True),
    Unit("A", "amp", "amps"),
    Unit("W", "watt", "watts"),
    Unit("N", "newton", "newtons"),
    Unit("L", "litre", "litres", ("l",), heard=("liters", "liter"), measured=True),
    Unit("m", "metre", "metres"),
    Unit("g", "gram", "grams"),
    Unit("s", "second", "seconds"),
    Unit("h", "hour", "hours"),
)

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
