"""Acts against what steps open and close, kinds of things against their names, and lengths of time."""

import re
from collections.abc import Iterator, Mapping
from datetime import timedelta

from companion.procedure.fault import Fault, Path, Rule, advice
from companion.procedure.holds.circuits import acts_on
from companion.procedure.model import Act, Item, Procedure, Step
from companion.procedure.order import Order
from companion.procedure.units import short

EMPTY = Rule(
    "opens-nothing",
    "A step that takes off, parts or drains something opens nothing.",
    "The ledger is empty: the job can be closed with it off.",
    "Declare the thing under `items` and name it in `opens`, and in `closes` of the step that puts it back.",
)
NO_FLUID = Rule(
    "drains-no-fluid",
    "A draining step lets out no fluid of the ledger.",
    "Nobody is reminded that the machine is empty.",
    "Declare the fluid under `items`, open it here and close it where it is filled.",
)
TURNED = Rule(
    "act-against-fields",
    "The act says one thing and `opens` or `closes` another.",
    "One of them is wrong, and the companion follows both.",
    "Look what the step does, and correct the other.",
)
KIND = Rule(
    "kind-against-name",
    "A thing is called by a kind that its name contradicts.",
    "What lets fluid out is taken for what only hides, and nothing waits for it.",
    "Write the kind that it is.",
)
DENIED = Rule(
    "running-denied",
    "The words have the engine run, and the field says that it does not.",
    "It is started with something open.",
    "Write `runs_engine: true`.",
)
LENGTH = advice(
    "odd-book-time",
    "A book time is shorter than the wait in its step, or out of all proportion to the others.",
    "Quotes and plans are off.",
    "Compare it with the source.",
)
REMINDED = advice(
    "nobody-reminded",
    "A follow-up is due at a time at which nobody can be reminded of it.",
    "It is forgotten.",
    "Write in `after` when to ask; distance is told with it.",
)
_OFF = frozenset({Act.REMOVE, Act.DISCONNECT, Act.DRAIN})
_ON = frozenset({Act.FIT, Act.CONNECT, Act.TIGHTEN})
_NEITHER = frozenset({Act.INSPECT, Act.CLEAN, Act.WAIT, Act.VERIFY})
_NAMES: Mapping[str, tuple[re.Pattern[str], frozenset[str]]] = {
    "fluid": (
        re.compile(r"^(?:\w+ )?(?:oil|coolant|fluid|refrigerant|fuel|petrol|diesel)$", re.IGNORECASE),
        frozenset({"fluid"}),
    ),
    "connector": (re.compile(r"\bconnector$", re.IGNORECASE), frozenset({"connector"})),
    "hose": (re.compile(r"\bhose$", re.IGNORECASE), frozenset({"hose", "port"})),
    "joint": (re.compile(r"(?<!ball )(?<!universal )(?<!cv )\bjoint$", re.IGNORECASE), frozenset({"joint"})),
    "port": (
        re.compile(
            r"\b(?:drain hole|port|bleed screw|drain tap|pipe end|filter seat|reservoir|expansion tank)$",
            re.IGNORECASE,
        ),
        frozenset({"port", "hose"}),
    ),
}
_RUNS = re.compile(r"(?:^|[.!] |\band )(?:start|run|idle) the engine\b", re.IGNORECASE)
_DRAINS = re.compile(r"\bdrain (?:pan|the|off|out)\b", re.IGNORECASE)
LONGEST = timedelta(hours=12)


def find(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Each step, item and follow-up."""
    usual = sorted(step.book for step in procedure.steps)[len(procedure.steps) // 2]
    for position, step in enumerate(procedure.steps):
        path: Path = ("steps", position)
        yield from _act(path, procedure, step)
        if step.runs_engine is False and _RUNS.search(step.say):
            yield DENIED.at((*path, "runs_engine"), "is false, and the words run the engine; write `true`")
        yield from _length(path, step, usual)
    for name, item in procedure.items.items():
        yield from _kind(name, item)
    told: set[str] = set()
    for place, follow_up in enumerate(procedure.follow_ups):
        here: Path = ("follow_ups", place)
        if follow_up.after is not None and not follow_up.after:
            yield REMINDED.at((*here, "after"), "is due at once; write how long after the job")
        elif follow_up.after is not None and follow_up.after < timedelta(hours=1):
            yield REMINDED.at(
                (*here, "after"), f"is due {short(follow_up.after)} after the job; check the unit"
            )
        elif follow_up.after is None and follow_up.distance_km is not None:
            message = "is due by distance alone, and no clock can tell that; write in `after` when to ask"
            yield REMINDED.at((*here, "distance_km"), message)
        if follow_up.what.lower() in told:
            yield REMINDED.at((*here, "what"), "is there twice; take one out")
        told.add(follow_up.what.lower())


def _act(path: Path, procedure: Procedure, step: Step) -> Iterator[Fault]:
    if step.act in _OFF and not step.opens:
        if step.closes:
            message = f"the act is {step.act}, and the step closes '{step.closes[0]}'; correct one"
            yield TURNED.at((*path, "act"), message)
        elif not step.disturbs:
            message = f"the act is {step.act}, and the step opens nothing; name what comes off in `opens`"
            yield EMPTY.at((*path, "act"), message)
    elif step.act is Act.DRAIN and not any(str(procedure.items[name].kind) == "fluid" for name in step.opens):
        message = "lets out no fluid of the ledger; declare it under `items` and name it in `opens`"
        yield NO_FLUID.at((*path, "opens"), message)
    if (step.act in _NEITHER and (step.opens or step.closes)) or (
        step.act in _ON and step.opens and not step.closes and acts_on(procedure, step) is None
    ):
        done = "opens" if step.opens else "closes"
        name = (step.opens or step.closes)[0]
        message = f"the act is {step.act}, and the step {done} '{name}'; write the act that it is"
        yield TURNED.at((*path, "act"), message)
    fluids = [name for name in (*step.opens, *step.closes) if str(procedure.items[name].kind) == "fluid"]
    if fluids and (
        step.act in _ON or (step.act is not Act.DRAIN and step.opens and _DRAINS.search(step.say))
    ):
        message = f"the act is {step.act}, and '{fluids[0]}' is a fluid; write `drain` or `fill`"
        yield TURNED.at((*path, "act"), message)


def _kind(name: str, item: Item) -> Iterator[Fault]:
    for kind, (pattern, may_be) in _NAMES.items():
        if pattern.search(item.name) and str(item.kind) not in may_be:
            message = f"'{item.name}' is called a {item.kind}; write `kind: {kind}` if it is one"
            yield KIND.at(("items", name, "kind"), message)
    if item.protect is not None and str(item.kind) in ("panel", "connector", "fasteners"):
        message = (
            f"'{item.protect}' protects it, and a {item.kind} lets nothing in; write the kind that it is"
        )
        yield KIND.at(("items", name, "kind"), message)


def _length(path: Path, step: Step, usual: timedelta) -> Iterator[Fault]:
    if step.wait is not None and step.book < step.wait:
        message = f"is shorter than the wait of {short(step.wait)}; write at least that"
        yield LENGTH.at((*path, "book"), message)
    elif step.book > LONGEST or (step.book > max(30 * usual, timedelta(hours=2)) and not step.wait):
        yield LENGTH.at((*path, "book"), f"{short(step.book)} is much for one step; check the unit")
    elif timedelta() < step.book < timedelta(seconds=10):
        yield LENGTH.at((*path, "book"), f"{short(step.book)} is little for a step; check the unit")
