"""What an outline asks for, in order: what is made safe, taken apart, and told of the way home."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from companion.outline.deed import CLOSING, OPENING, Deed, Doing, Fastened
from companion.outline.kinds import kind_of
from companion.outline.lexicon import key, rows

_WHEEL = re.compile(r"\b(?:wheel|hub|axle)\b")
_UNDER = re.compile(
    r"\b(?:undertray|under ?shield|splash guard|from below|from underneath|under the (?:car|vehicle|van))\b"
)
_FUEL = re.compile(
    r"\b(?:fuel|petrol|diesel)\b.*\b(?:line|lines|hose|hoses|pipe|pipes|rail"
    r"|pump|filter)\b|\b(?:injectors?|fuel rail)\b"
)
_CARB = re.compile(r"\b(?:carb\w*|float bowl)\b")
_AIRBAG = re.compile(r"\b(?:airbag|steering wheel|seat)\b")
_COOLANT = re.compile(r"\b(?:coolant|antifreeze|radiator cap|expansion cap|thermostat|water pump)\b")
_ELECTRIC = re.compile(r"\b(?:starter|alternator|main cable|battery tray)\b")


@dataclass(frozen=True)
class Safe:
    """A source that is made safe before the work."""

    source: str
    """A row of `energy.toml`."""
    deed: Deed | None
    """None when the outline does not say so and the work asks for it."""
    why: str = ""
    """What asks for it, where it was not told."""


@dataclass
class Plan:
    """Everything, in order."""

    before: list[Deed] = field(default_factory=list)
    """What is done on the ground before the vehicle is raised."""
    safe: list[Safe] = field(default_factory=list)
    apart: list[Deed] = field(default_factory=list)
    """What is taken apart, cleaned, looked at, as told."""
    home: list[Deed] = field(default_factory=list)
    """What was told of the way home, such as a torque or how much oil."""


def plan_of(deeds: Sequence[Deed]) -> Plan:
    """The deeds of an outline, sorted by what they are for."""
    plan = Plan()
    raised = next((n for n, deed in enumerate(deeds) if deed.thing == "vehicle support"), None)
    for place, deed in enumerate(deeds):
        if deed.doing is Doing.ISOLATE:
            if deed.thing not in [safe.source for safe in plan.safe]:
                plan.safe.append(Safe(deed.thing, deed))
        elif deed.doing in CLOSING:
            plan.home.append(deed)
        elif deed.doing is Doing.RENEW:
            _renew(plan, deed)
        elif (
            raised is not None
            and place < raised
            and deed.doing is Doing.SLACKEN
            and _WHEEL.search(deed.thing)
        ):
            plan.before.append(deed)
        else:
            plan.apart.append(deed)
    plan.apart = [*_named(plan.apart)]
    _told_of_home(plan)
    plan.safe = [*_implied(plan), *plan.safe]
    return plan


def _named(deeds: Sequence[Deed]) -> Iterable[Deed]:
    """Mere "bolts" are those of what comes off next."""
    for place, deed in enumerate(deeds):
        alone = deed.doing in OPENING and key(deed.thing) in [
            key(noun) for noun in rows("fasteners")["nouns"]
        ]
        after = next((other for other in deeds[place + 1 :] if other.doing in OPENING), None)
        if alone and after and not after.fastened and kind_of(after.thing) not in (None, "fluid"):
            yield replace(deed, thing=f"{after.thing} {deed.thing}")
        elif deed.thing or deed.doing is Doing.NOTE:
            yield deed


def _renew(plan: Plan, deed: Deed) -> None:
    """A seal to be renewed belongs to what was opened before, or to what its name tells of."""
    words = set(key(deed.thing).split())
    opened = [n for n, other in enumerate(plan.apart) if other.doing in OPENING]
    named = [n for n in opened if words & set(key(plan.apart[n].thing).split())]
    if not opened:
        return
    place = named[-1] if named else opened[-1]
    plan.apart[place] = replace(plan.apart[place], seal=plan.apart[place].seal or deed.thing)


def _told_of_home(plan: Plan) -> None:
    """A torque, seal or amount told of the way home goes to what it closes; the rest is a step of its own."""
    left: list[Deed] = []
    for deed in plan.home:
        slackened = _meant(plan.before, deed)
        if slackened is not None:
            first = plan.before[slackened]
            plan.before[slackened] = replace(first, fastened=_completed(first.fastened, deed.fastened))
            continue
        place = _meant(plan.apart, deed)
        if place is None:
            left.append(deed)
            continue
        opened = plan.apart[place]
        fastened = _completed(opened.fastened, deed.fastened)
        plan.apart[place] = replace(
            opened,
            fastened=fastened,
            seal=opened.seal or deed.seal,
            amount=deed.amount if deed.amount is not None else opened.amount,
        )
    plan.home = left


def _meant(apart: Sequence[Deed], deed: Deed) -> int | None:
    words = set(key(deed.thing).split())
    best: tuple[int, int] | None = None
    for place, other in enumerate(apart):
        if other.doing not in OPENING or (deed.doing is Doing.FILL) != (other.doing is Doing.DRAIN):
            continue
        common = len(words & set(key(other.thing).split()))
        if common and (best is None or common > best[0]):
            best = common, place
    if best is None and deed.doing is Doing.FILL:
        drained = [place for place, other in enumerate(apart) if other.doing is Doing.DRAIN]
        return drained[0] if len(drained) == 1 else None
    return best[1] if best else None


def _completed(known: tuple[Fastened, ...], told: tuple[Fastened, ...]) -> tuple[Fastened, ...]:
    if not told:
        return known
    if not known:
        return told
    first, more = known[0], told[0]
    return (
        replace(
            first,
            torque=first.torque or more.torque,
            angle=first.angle or more.angle,
            renew=first.renew or more.renew,
        ),
        *known[1:],
    )


def _implied(plan: Plan) -> list[Safe]:
    """What the work wants safe and nobody told: it is made safe, and asked about."""
    told = {safe.source for safe in plan.safe}
    found: list[Safe] = []

    def add(source: str, unless: set[str], things: Iterable[Deed]) -> None:
        first = next(iter(things), None)
        if first is not None and not told & unless and source not in told:
            found.append(Safe(source, None, first.thing))

    opened = [deed for deed in plan.apart if deed.doing in OPENING]
    electric = [
        d
        for d in opened
        if (d.doing is Doing.DISCONNECT and item_kind(d) == "connector") or _ELECTRIC.search(d.thing)
    ]
    add("battery", {"battery", "mains", "engine", "high voltage"}, electric)
    carb = any(_CARB.search(deed.text.lower()) for deed in plan.apart)
    fuel = [deed for deed in opened if _FUEL.search(deed.thing) or _CARB.search(deed.thing)]
    add("petrol tap" if carb else "fuel pressure", {"fuel pressure", "petrol tap"}, fuel)
    add(
        "airbag",
        {"airbag"},
        [
            d
            for d in opened
            if (_AIRBAG.search(d.thing) and d.doing is Doing.DISCONNECT) or "airbag" in d.text.lower()
        ],
    )
    add(
        "vehicle support",
        {"vehicle support"},
        [
            d
            for d in opened
            if _UNDER.search(d.text.lower())
            or (kind_of(d.thing) == "part" and _WHEEL.search(d.thing) and d.fastened and not d.releases)
        ],
    )
    add(
        "hot fluid",
        {"hot fluid", "cooling pressure"},
        [deed for deed in opened if _COOLANT.search(deed.thing)],
    )
    return found


def item_kind(deed: Deed) -> str:
    """The kind of item that a deed opens."""
    kind = kind_of(deed.thing)
    if deed.doing is Doing.DISCONNECT:
        return "hose" if kind == "hose" else "connector"
    if deed.doing is Doing.SLACKEN:
        return "fasteners"
    if deed.doing is Doing.DRAIN:
        return "fluid"
    return kind if kind in ("joint", "panel", "port", "fasteners", "hose") else "part"
