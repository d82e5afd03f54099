"""Proofs: a unit that can prove it, a limit that means dead, a reading where words kill."""

import re
from collections.abc import Iterator, Mapping
from datetime import timedelta

from companion.procedure.fault import Fault, Path, Rule
from companion.procedure.model import Energy, Measure, Procedure
from companion.procedure.order import Order
from companion.procedure.rules.energy import LIMITS, NO_WAIT
from companion.procedure.units import short

UNIT = Rule(
    "proof-by-another-unit",
    "A source is proved by a reading that says nothing of it.",
    "It is called dead by a figure that it does not have.",
    "Write the unit of the instrument that measures this source.",
)
LIVE = Rule(
    "live-passes",
    "The limit of a proof lets a live source through.",
    "Fifteen volts are not dead, and ninety degrees are not cool.",
    "Write the value below which it is really gone.",
)
BY_WORDS = Rule(
    "deadly-proved-by-words",
    "High voltage, an airbag or another deadly source is proved by spoken words alone.",
    "A wrong belief kills.",
    "Write `prove` under the source: what is measured, in which unit, and at most how much.",
)
QUANTITY = Rule(
    "reading-in-another-unit",
    "What is measured is not measured in this unit.",
    "The number is judged in the wrong one.",
    "Write the unit of the instrument.",
)
NOT_OVER = Rule(
    "proof-has-no-end",
    "A proof by heat has no `at_most`.",
    "Anything hot passes it.",
    "Write `at_most`.",
)
SOURCE = Rule(
    "source-against-name",
    "A source is of another kind than its name tells.",
    "It is waited for and proved in the wrong way.",
    "Write the kind that it is.",
)
SHORT_WAIT = Rule(
    "wait-too-short",
    "The wait of a source is too short to be the maker's.",
    "It is touched while it is still live or hot.",
    "Compare the number and its unit with the maker's data.",
)
SHORTEST: Mapping[str, timedelta] = {
    "high voltage": timedelta(minutes=1),
    "hot fluid": timedelta(minutes=5),
}
"""Below this a wait is a slip of the unit. High voltage: makers say 5 to 10 min; airbags: 10 s to 10 min. Hot
fluid: common practice, no source."""
_NAMES: Mapping[str, re.Pattern[str]] = {
    "battery": re.compile(r"^(?!.*traction).*\bbattery\b"),
    "vehicle support": re.compile(r"\bstands\b|\blift\b"),
    "stored spring": re.compile(r"\bspring\b|\btensioner\b"),
    "hot fluid": re.compile(r"\b(?:hot|heat)\b"),
    "cooling pressure": re.compile(r"\bcool\w* pressure\b"),
    "hydraulic": re.compile(r"\bbrake pressure\b|\bhydraulic\b"),
    "fuel pressure": re.compile(r"\bfuel pressure\b"),
    "airbag": re.compile(r"\bairbags?\b"),
    "high voltage": re.compile(r"\bhigh voltage\b|\btraction battery\b"),
}
"""What the name of a source of each kind tells."""
_WHAT: Mapping[str, frozenset[str]] = {
    "temperature": frozenset({"°C", "°F"}),
    "voltage": frozenset({"V", "mV", "kV"}),
    "pressure": frozenset({"bar", "kPa", "MPa", "psi", "mbar"}),
    "gap": frozenset({"mm", "µm", "in"}),
    "thickness": frozenset({"mm", "µm", "in"}),
    "runout": frozenset({"mm", "µm", "in"}),
    "clearance": frozenset({"mm", "µm", "in"}),
    "resistance": frozenset({"Ω", "kΩ", "MΩ"}),
    "filled": frozenset({"L", "mL", "g", "kg"}),
}


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each source and each reading."""
    for name, energy in procedure.energy.items():
        if energy.prove:
            yield from _proof(("energy", name, "prove"), energy, energy.prove)
        if str(energy.source) == "cooling pressure" and not energy.wait:
            message = f"{energy.source} needs a `wait`: write the vehicle maker's value, there is no default"
            yield NO_WAIT.at(("energy", name), message)
        yield from _named(name, energy)
        yield from _wait(name, energy)
    for position, step in enumerate(procedure.steps):
        path: Path = ("steps", position)
        if step.measure and step.measure.at_least is None and step.measure.at_most is None:
            message = "has neither `at_least` nor `at_most`, so any reading passes; write the limit"
            yield LIMITS.at((*path, "measure"), message)
        if step.measure:
            yield from _what((*path, "measure", "unit"), step.measure)
        if step.proves is None:
            continue
        energy = procedure.energy[step.proves]
        if step.measure and not energy.prove:
            yield from _proof((*path, "measure"), energy, step.measure)
        if energy.source.deadly and step.state and not (energy.prove or step.measure):
            message = f"{energy.source} is proved by words alone; write `prove` under '{step.proves}'"
            yield BY_WORDS.at((*path, "proves"), message)


def _named(name: str, energy: Energy) -> Iterator[Fault]:
    words = f"{name} {energy.name}".replace("-", " ").lower()
    told = [kind for kind, pattern in _NAMES.items() if pattern.search(words)]
    if told and str(energy.source) in _NAMES and str(energy.source) not in told:
        message = f"'{energy.name}' is called {energy.source}; write `source: {told[0]}` if it is that"
        yield SOURCE.at(("energy", name, "source"), message)


def _wait(name: str, energy: Energy) -> Iterator[Fault]:
    least = SHORTEST.get(str(energy.source), timedelta(seconds=10))
    if energy.wait and energy.wait < least:
        message = f"{short(energy.wait)} is too short for {energy.source}; compare it with the maker's data"
        yield SHORT_WAIT.at(("energy", name, "wait"), message)


def _proof(path: Path, energy: Energy, measure: Measure) -> Iterator[Fault]:
    yield from _what((*path, "unit"), measure)
    readings = energy.source.readings
    if not readings:
        return
    if measure.unit not in readings:
        message = f"{measure.unit} tells nothing of {energy.source}; it is proved in {', '.join(readings)}"
        yield UNIT.at((*path, "unit"), message)
    elif measure.at_most is None:
        if measure.at_least is not None and measure.unit == "°C":
            yield NOT_OVER.at(path, "`at_least` alone lets anything hot pass; write `at_most`")
    elif measure.at_most > readings[measure.unit]:
        most = f"{readings[measure.unit]:g} {measure.unit}"
        message = f"{measure.at_most:g} {measure.unit} is not dead; {energy.source} is gone at {most} or less"
        yield LIVE.at((*path, "at_most"), message)


def _what(path: Path, measure: Measure) -> Iterator[Fault]:
    for word, units in _WHAT.items():
        if word in measure.what.lower() and measure.unit not in units:
            yield QUANTITY.at(path, f"{word} is not measured in {measure.unit}; write the right unit")
            return
