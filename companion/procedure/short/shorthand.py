"""Things written on one line, such as "2 × M6 hex 10, 8 N·m" or "rocker cover, joint".

Each function turns a line into the keys that it stands for. What it does not know it refuses.
"""

import re
from typing import Any

from pydantic_core import PydanticCustomError

from companion.procedure.fasteners.fields import CLASSES, MATERIALS
from companion.procedure.fasteners.heads import KNOWN_DRIVERS
from companion.procedure.fasteners.threads import thread_as_written
from companion.procedure.unit_table import MEASURED, UNITS
from companion.procedure.vocabulary.energies import EnergySource
from companion.procedure.vocabulary.kinds import ItemKind

_NUMBER = r"-?\d{1,6}(?:\.\d{1,6})?"
_COUNT = re.compile(r"(\d{1,3}) ?[×x] ?(?=\D)")
_SIZE = r"((?:\d+ )?\d+/\d+ in|\d+(?:\.\d+)?)(?: mm)?"
_DRIVES = (
    ("socket_hex", re.compile(rf"\b(?:socket|socket hex|allen) {_SIZE}")),
    ("hex", re.compile(rf"\bhex {_SIZE}")),
    ("six_lobe", re.compile(r"\b([TE]\d{1,3})\b")),
)
_THREAD = re.compile(
    r"\bM\d+(?:\.\d+)?(?: ?[x×] ?\d+(?:\.\d+)?)?(?! spline)\b|\b[GR] ?\d+/\d+\b"
    r"|#?\d[\d/ ]*-\d+(?: UN[CF]?| NPT)?|\d[\d/ ]* (?:UNC|UNF|NPT|BSP)\b"
)
_TIGHT = re.compile(r"[\d.]+ ?(?:N·m|Nm|°|deg)(?: ?\+ ?[\d.]+ ?(?:N·m|Nm|°|deg))*")
_LIMITS = (
    re.compile(rf"(?P<what>.+), (?P<low>{_NUMBER}) ?(?:to|-|–) ?(?P<high>{_NUMBER}) ?(?P<unit>\S+)"),
    re.compile(rf"(?P<what>.+), at least (?P<low>{_NUMBER}) ?(?P<unit>\S+)"),
    re.compile(rf"(?P<what>.+), at most (?P<high>{_NUMBER}) ?(?P<unit>\S+)"),
)
_HAZARD = re.compile(r"(DANGER|WARNING|CAUTION|NOTICE): (.+?)[.;] +(.+)")


def _refuse(line: str, like: str) -> PydanticCustomError:
    told = f"'{line[:60]}' is not understood; write it like '{like}', or as a group of keys"
    return PydanticCustomError("wrong_form", "{error}", {"error": told})


def fastener(line: str) -> dict[str, Any]:
    """ "6 × cover bolts M6 hex 10, 5 N·m + 90°, class 8.8, bag one, new"."""
    first, *rest = (part.strip() for part in line.split(","))
    keys: dict[str, Any] = {}
    if match := _COUNT.match(first):
        keys["count"], first = int(match[1]), first[match.end() :]
    for drive in sorted(KNOWN_DRIVERS, key=len, reverse=True):
        if re.search(rf"\b{re.escape(drive)}(?!\w)", first):
            keys["driver"], first = drive, first.replace(drive, " ", 1)
            break
    for field, pattern in _DRIVES:
        if match := pattern.search(first):
            keys[field] = match[1] if not match[1].replace(".", "").isdigit() else float(match[1])
            first = first[: match.start()] + " " + first[match.end() :]
    if match := _THREAD.search(first):
        try:
            keys["thread"] = thread_as_written(match[0]).text
        except ValueError:
            raise _refuse(line, FASTENER) from None
        first = first[: match.start()] + " " + first[match.end() :]
    what = " ".join(first.split())
    if any(character.isdigit() for character in what):
        raise _refuse(line, FASTENER)
    for part in rest:
        keys |= _of_fastener(part, line)
    return {"what": what or ("bolts" if keys.get("count", 1) > 1 else "bolt"), **keys}


FASTENER = "2 × cover bolts M6 hex 10, 8 N·m, bag one"


def _of_fastener(part: str, line: str) -> dict[str, Any]:
    """What stands behind a comma."""
    word, _, rest = part.partition(" ")
    if _TIGHT.fullmatch(part):
        stages = [stage.strip() for stage in part.split("+")]
        angled = any("°" in stage or "deg" in stage for stage in stages)
        return {"stages": stages} if len(stages) > 1 or angled else {"torque": part}
    if part == "new":
        return {"renew": True}
    if word == "class" and rest in CLASSES:
        return {"class": rest}
    if word == "in" and rest in MATERIALS:
        return {"material": rest}
    if word == "bag":
        return {"bag": part}
    if word in ("circle", "grid"):
        return {"pattern": part}
    raise _refuse(line, FASTENER)


def measure(line: str) -> dict[str, Any]:
    """ "smallest clearance, 0.15 to 0.25 mm", "between the two leads, at most 0.5 V"."""
    for pattern in _LIMITS:
        if (match := pattern.fullmatch(line.strip())) and match["unit"] in UNITS:
            found = match.groupdict()
            limits = {"at_least": found.get("low"), "at_most": found.get("high")}
            numbers = {key: float(value) for key, value in limits.items() if value is not None}
            if UNITS[match["unit"]].symbol in MEASURED:
                return {"what": found["what"], "unit": UNITS[match["unit"]].symbol, **numbers}
    raise _refuse(line, "smallest clearance, 0.15 to 0.25 mm")


def hazard(line: str) -> dict[str, Any]:
    """ "CAUTION: Hot oil scalds. Wear gloves."."""
    if match := _HAZARD.fullmatch(line.strip()):
        return {"signal": match[1], "hazard": match[2], "avoid": match[3]}
    raise _refuse(line, "CAUTION: Hot oil scalds. Wear gloves.")


def item(line: str) -> dict[str, Any]:
    """ "air filter lid, panel, front left": its name, its kind, where it is."""
    name, *rest = (part.strip() for part in line.split(",", 2))
    if rest and rest[0] in ItemKind.known and name:
        return {"name": name, "kind": rest[0], **({"where": rest[1]} if rest[1:] else {})}
    raise _refuse(line, "air filter lid, panel, front left")


def energy(line: str) -> dict[str, Any]:
    """ "the battery, battery, wait 3 min, between the two leads, at most 0.5 V"."""
    name, *rest = (part.strip() for part in line.split(",", 2))
    if not (rest and rest[0] in EnergySource.known and name):
        raise _refuse(line, "the battery, battery, wait 3 min, between the leads, at most 0.5 V")
    keys: dict[str, Any] = {"name": name, "source": rest[0]}
    more = rest[1].strip() if rest[1:] else ""
    if more.startswith("wait "):
        waited, _, more = more.removeprefix("wait ").partition(",")
        keys["wait"] = waited.strip()
    return {**keys, "prove": measure(more.strip())} if more.strip() else keys


def bench_part(line: str) -> dict[str, Any]:
    """ "2 × copper washer, single use"."""
    name, *rest = (part.strip() for part in line.split(","))
    match = _COUNT.match(name)
    count = {"count": int(match[1])} if match else {}
    name = name[match.end() :].strip() if match else name
    if not name or rest not in ([], ["single use"]):
        raise _refuse(line, "2 × copper washer, single use")
    return {"name": name, **count, "single_use": bool(rest)}


def seal(line: str) -> dict[str, Any]:
    """ "cover gasket, single, part gasket-new, joint cover"."""
    name, *rest = (part.strip() for part in line.split(","))
    keys: dict[str, Any] = {"name": name}
    for part in rest:
        word, _, named = part.partition(" ")
        if part in ("single", "inspect"):
            keys["use"] = part
        elif word in ("part", "joint") and named:
            keys[word] = named
        else:
            raise _refuse(line, "cover gasket, single, part gasket-new, joint cover")
    return keys


def one_or_more(value: Any) -> Any:
    """A line where a list of them is wanted is the only one."""
    return [value] if isinstance(value, str) else value
