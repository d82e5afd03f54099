"""Threads and tools: "M8x1.25", "10 mm heads", "T30", "6 mm allen", "7/16 inch AF", "four 13s"."""

import re

from companion.outline.details import HEXES, Details, Rule, number, rule

_SOCKET_UNDER = 7
"""mm: a "5 mm hex" is a key, an "8 mm hex" a head; outside hexagons under seven are rare."""
_KEYS = frozenset({"2", "2.5", "3", "4", "5"})
"""mm that only a key has, where a bolt or screw is spoken of."""
_HELD = re.compile(r"\b(?:bolts?|screws?|capscrews?)\b")
_N = r"\d+(?:\.\d+)?"
_FRACTION = r"(?:1[ -])?\d+/\d+"


def _thread(d: Details, m: re.Match[str]) -> None:
    """A second figure is the pitch, when it is small and stands close; else how many, or the length."""
    if d.thread:
        return
    d.thread = f"M{number(m['d'])}"
    second = m["second"] or m["spaced"]
    if second is None:
        return
    if float(second) <= 3 and (m["second"] or "." in second):
        d.thread += f"x{float(second):g}"
    elif float(second) < 10 and m["spaced"] and d.count is None:
        d.count = int(float(second))


def _inch_thread(d: Details, m: re.Match[str]) -> None:
    family = m["family"].upper()
    size = m["size"].replace("-", " ") if "/" in m["size"] else m["size"]
    if family.startswith("BSP"):
        d.thread = f"{'R' if family == 'BSPT' else 'G'}{size}"
    else:
        d.thread = f"{size}{'-' + m['tpi'] if m['tpi'] else ''} {family}"


def _pitched_thread(d: Details, m: re.Match[str]) -> None:
    """ "1/4-20": so many threads to the inch tell the family."""
    d.thread = d.thread or f"{m['size']}-{m['tpi']}"


def _gas_thread(d: Details, m: re.Match[str]) -> None:
    d.thread = f"G{m['size']}"


def _cross(d: Details, m: re.Match[str]) -> None:
    """Without a number it is not known which cross fits."""
    size = m["size"] or m["before"]
    if size:
        d.driver = f"{'PZ' if m['kind'].startswith(('pz', 'pozi')) else 'PH'}{size}"


def _slot(d: Details, m: re.Match[str]) -> None:
    d.driver = d.driver or "slot"


def _spline(d: Details, m: re.Match[str]) -> None:
    size = f"M{m['after'] or m['before']}"
    d.driver = f"{size} spline"
    d.thread = None if d.thread == size else d.thread


def _square(d: Details, m: re.Match[str]) -> None:
    size = m["after"] or m["before"]
    d.driver = f"square {size.replace('-', ' ')}{' in' if '/' in size else ''}"


def _six_lobe(d: Details, m: re.Match[str]) -> None:
    d.six_lobe = m["letter"].upper() + m["size"]
    if m["count"] and d.count is None:
        d.count = int(m["count"])


def _socket(d: Details, m: re.Match[str]) -> None:
    if not d.sized:
        size = m["size"]
        d.socket_hex = f"{size.replace('-', ' ')} in" if "/" in size else number(size)


def _hex(d: Details, m: re.Match[str]) -> None:
    """ "8 mm hex" is a head, "5 mm hex" a key."""
    size = float(m["size"])
    if size < _SOCKET_UNDER and size != 5.5:
        d.socket_hex = d.socket_hex or number(m["size"])
    else:
        d.hex = d.hex or number(m["size"])


def _millimetres(d: Details, m: re.Match[str]) -> bool | None:
    size = number(m["size"])
    if d.sized:
        return False
    if size in _KEYS and _HELD.search(d.rest):
        d.socket_hex, d.sure["socket_hex"] = size, 0.8
        return None
    if size not in HEXES:
        return False
    d.hex = size
    return None


def _inches(d: Details, m: re.Match[str]) -> None:
    """Of the two ends of a hose the first is kept."""
    if not d.sized:
        d.hex = f"{m['size'].replace('-', ' ')} in"


def _plural(d: Details, m: re.Match[str]) -> bool | None:
    """ "Four 13s"."""
    if m["size"] not in HEXES:
        return False
    d.hex = d.hex or m["size"]
    if m["count"]:
        d.count = int(m["count"])
    return None


def _nothing(d: Details, m: re.Match[str]) -> None:
    """Taken out, and no size."""


_DRIVER = r"(?: ?(?:socket )?(?:drivers?|screwdrivers?|heads?|bits?|headed))?"
_HEX = (
    r"(?:[ -]*(?:a/?f|across(?: the)? flats|heads?|headed|spanners?|wrench(?:es)?|sockets?(?! ?head)"
    r"|hex(?:agon)?(?! key)))*"
)
_SOCKET = (
    r"(?:allen(?: keys?| heads?| bits?)?|hex keys?|hex socket|socket hex|socket heads?|cap heads?"
    r"|inside hex|inner hex|internal hex|hexagon keys?|hex bits?|hexagon socket)"
)
_NO_TOOL = r"(?! ?(?:push|pipe|hose|tube|thick|long|gap|deep|bead|in dia|dia|hole|drill|off|of ))"
_SPLINES = r"(?:spline|xzn|triple square|12[- ]point)"
RULES: tuple[Rule, ...] = (
    rule(
        rf"\b(?P<size>{_FRACTION}|#?\d+)(?:-(?P<tpi>\d+))? ?(?P<family>unc|unf|un"
        r"|bspp|bspt|bsp|npt)\b(?: thread)?",
        _inch_thread,
    ),
    rule(r"\b(?P<size>\d+/\d+|#\d+)-(?P<tpi>\d{1,2})\b", _pitched_thread),
    rule(r"\bg ?(?P<size>\d+/\d+)\b", _gas_thread),
    rule(rf"\b{_SPLINES} m?(?P<after>\d+)\b|\bm?(?P<before>\d+) {_SPLINES}\b", _spline),
    rule(
        rf"\bm(?P<d>{_N})s?(?:x(?P<second>{_N})| ?x ?(?P<spaced>{_N}))?(?: ?x ?{_N})?(?: long)?\b",
        _thread,
    ),
    rule(
        r"\b(?:no ?(?P<before>\d) )?(?P<kind>ph|phillips|pz|pozi)(?: ?(?:no\.?)? ?(?P<size>[0-4]))?\b"
        rf"(?:/\w+)?{_DRIVER}",
        _cross,
    ),
    rule(r"\bjis/|\b\d+ mm push-fit\b", _nothing),
    rule(r"\b(?:flat[- ]blade(?: screwdriver)?|slotted|slot head|flat head|flathead)\b", _slot),
    rule(
        rf"\b(?:square(?: drive)? (?P<after>{_FRACTION}|\d+)"
        rf"|(?P<before>{_FRACTION}|\d+)(?: in| mm)? square(?: drive)?)\b",
        _square,
    ),
    rule(
        r"(?:\b(?P<count>\d+) ?(?:x|off|of)? ?)?(?<![\w/])(?P<letter>t|e)(?P<size>\d{1,3})(?:s|'s)?\b(?! ?nm)"
        + _DRIVER,
        _six_lobe,
    ),
    rule(rf"\b{_SOCKET} (?P<size>{_FRACTION}|{_N}) ?(?:mm|in)\b", _socket),
    rule(rf"\b(?P<size>{_N}) ?(?:mm )?(?:hex )?keys?\b", _socket),
    rule(rf"\b(?P<size>{_FRACTION}|{_N})(?: ?mm| ?in)? {_SOCKET}", _socket),
    rule(rf"\b{_SOCKET} (?P<size>{_FRACTION}|{_N})\b(?! ?nm)", _socket),
    rule(rf"\bhex (?P<size>{_N})(?: mm)?\b", _hex),
    rule(rf"\b(?P<size>{_N})(?: ?mm)? hex(?:agon)?(?: head(?:s|ed)?)?\b", _hex),
    rule(rf"\b(?P<size>{_FRACTION})(?: in)?(?: drive)?{_HEX}(?! ?(?:drive|turn|way|quarter))", _inches),
    rule(rf"\b(?P<size>{_N}) ?mm{_NO_TOOL}{_HEX}", _millimetres),
    rule(rf"(?:\b(?P<count>\d+) (?:x |off )?)?\b(?P<size>\d{{1,2}})s\b{_HEX}", _plural),
    rule(r"\b(?P<count>\d{1,2}) ?x ?(?P<size>\d{1,2})\b(?! ?(?:mm|x|off|nm|bolt|nut|screw))", _plural),
)
