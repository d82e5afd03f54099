"""A deed while its sentence is read, and how one more piece is put beside what is known of it."""

from dataclasses import dataclass, field

from companion.outline.deed import Doing
from companion.outline.details import KEYED, Details
from companion.outline.lexicon import singular


@dataclass
class Told:
    """A deed while its line is read."""

    doing: Doing
    thing: str
    told: bool
    """Did a word tell the act?"""
    groups: list[Details] = field(default_factory=list)
    where: str | None = None
    releases: str | None = None
    seal: str | None = None
    amount: float | None = None
    minutes: float | None = None
    notes: list[str] = field(default_factory=list)
    sure: dict[str, float] = field(default_factory=dict)
    fasteners_only: bool = False
    """Does its name tell of nothing but what holds something?"""
    heading: bool = False
    """Did it stand before a colon, alone?"""
    text: str = ""

    @property
    def bare(self) -> bool:
        """Nothing but a name."""
        return not (self.told or self.groups or self.seal or self.releases)


_NAMES = ("what", "count", "thread", "hex", "socket_hex", "six_lobe", "driver", "torque", "angle", "bag")
_DRIVES = ("hex", "socket_hex", "six_lobe", "driver")


def merge(draft: Told, d: Details) -> None:
    """Put what a piece tells beside what is known; what contradicts is another kind of fastener."""
    draft.seal = draft.seal or d.seal
    if d.remark and d.remark not in draft.notes:
        draft.notes.append(d.remark)
    draft.amount = draft.amount if draft.amount is not None else d.amount
    draft.minutes = draft.minutes if draft.minutes is not None else d.minutes
    if not (d.any or d.bag or d.renew or d.angle):
        return
    last = draft.groups[-1] if draft.groups else None
    if last is None or _another_kind(last, d):
        draft.groups.append(
            Details("", **{name: getattr(d, name) for name in _NAMES}, renew=d.renew, sure=dict(d.sure))
        )
        return
    for name in _NAMES:
        told = getattr(d, name)
        if name == "hex" and told and KEYED.search(last.what) and not last.sized:
            last.socket_hex = told
            continue
        if told and getattr(last, name) in (None, "") and not (name in _DRIVES and last.sized):
            setattr(last, name, told)
            last.sure |= {name: d.sure[name]} if name in d.sure else {}
    last.renew = last.renew or d.renew
    if d.bag:
        for group in draft.groups:
            group.bag = group.bag or d.bag


def _another_kind(last: Details, d: Details) -> bool:
    """ "A flare nut, two bolts": each with a number or size of its own."""
    named = d.what and last.what and singular(d.what) != singular(last.what)
    return bool(named and (d.count or d.sized or d.thread) and (last.count or last.sized or last.thread))
