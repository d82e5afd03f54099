"""One sentence folded: its pieces, one after another, into deeds that each gather what is told of them."""

import re
from dataclasses import dataclass, field

from companion.outline.counts import details
from companion.outline.deed import OPENING, Doing
from companion.outline.details import Details
from companion.outline.energies import energy_in
from companion.outline.lexicon import key, one_of, singular, words
from companion.outline.phrase import Phrase, kind_of, phrase
from companion.outline.pieces import Piece
from companion.outline.release import release_in

_UNSURE = 0.7
SHORT = ("connector", "hose")
"""Kinds that are parted and not taken off."""
_SEAL = re.compile(
    r"^(?:(?:a|the|its|one|with|has|\d+) )*"
    rf"(?P<seal>(?:\w+ )?{one_of(words('fasteners', 'seals'), plural=True)})(?! cover)(?: .*)?$"
)
_PARTICLES = re.compile(one_of(words("words", "particles")))
_PLUG = re.compile(r"(?:drain |sump |level )?(?:plug|bolt|screw|tap|cock|valve|bung)")
_ITSELF = re.compile(r"\b(?:pulls|pops|slides|twists|unclips|lifts|pushes)(?: (?:straight|up|off|out))*")
_AS_IT_IS = re.compile(
    r"\b(?:already|no need|not needed|stays?|stay on|leave|leaves|remains?)\b|^(?:plug"
    r"|cap|blank|cover) (?:it|them|both|the|all)\b|^never\b"
)
_ALL_OF_THEM = re.compile(r"^(?:both|all(?: of them)?|each|all \d)\b")


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


class Sentence:
    """Reads the pieces of one sentence into drafts."""

    def __init__(self, before: str, goes_on: bool) -> None:
        self._before = before
        self._goes_on = goes_on
        self._drafts: list[Told] = []
        self._heading = ""
        self._for_all = False

    def read(self, sentence: list[Piece]) -> list[Told]:
        for piece in sentence:
            self._piece(piece)
        return self._settled()

    @property
    def _current(self) -> Told | None:
        return self._drafts[-1] if self._drafts else None

    def _piece(self, piece: Piece) -> None:
        text, current = piece.text, self._current
        source = energy_in(f"{self._heading} {text}".strip()) or energy_in(text)
        if source:
            self._isolate(source, text)
        elif current and current.doing is not Doing.ISOLATE and piece.before and (how := release_in(text)):
            current.releases = f"{current.releases} then {how}" if current.releases else how
        elif _PARTICLES.fullmatch(text) and piece.after == ":":
            self._drafts.append(Told(Doing.REMOVE, "", True, text=text))
        elif _AS_IT_IS.search(text):
            self._note(text)
        else:
            self._understood(piece, details(text))

    def _isolate(self, source: str, text: str) -> None:
        current = self._current
        if not (current and current.doing is Doing.ISOLATE and current.thing == source):
            if current and current.bare and current.heading:
                self._drafts.pop()
            self._drafts.append(Told(Doing.ISOLATE, source, True, text=text))
        _merge(self._drafts[-1], details(text))

    def _understood(self, piece: Piece, d: Details) -> None:
        said, current = phrase(d.rest), self._current
        if said.doing is Doing.NOTE:
            self._note(piece.text)
        elif (
            current
            and current.doing is Doing.ISOLATE
            and not (d.any and said.thing)
            and kind_of(said.thing) is None
        ):
            current.notes.append(piece.text)
            _merge(current, d)
        elif current and self._goes_with(current, piece, said, d):
            self._add(current, piece, said, d)
        else:
            self._begin(piece, said, d)

    def _note(self, text: str) -> None:
        if self._current:
            self._current.notes.append(text)
            d = details(text)
            if d.bag:
                _merge(self._current, Details("", bag=d.bag))
        else:
            self._drafts.append(Told(Doing.NOTE, "", True, notes=[text], text=text))

    def _goes_with(self, current: Told, piece: Piece, said: Phrase, d: Details) -> bool:
        """Does a piece tell more of the deed before it, and of no other?"""
        if current.told and not current.thing and not current.groups:
            return True
        if (
            piece.before.endswith("then")
            and said.doing is None
            and (d.what or kind_of(said.thing))
            and current.thing
        ):
            return False
        if current.doing is Doing.DRAIN and said.doing is None and _PLUG.fullmatch(said.thing):
            return True
        if said.thing:
            if said.doing is None and _named_again(said, current):
                return True
            if said.doing is None and _SEAL.match(piece.text):
                return True
            known = kind_of(said.thing)
            if said.doing is None and not d.any:
                return known not in SHORT or not current.told
            return said.doing is None and known is None and not (d.sized or d.thread or d.what)
        return not (piece.before.endswith("then") and self._heading and d.what and current.told)

    def _add(self, current: Told, piece: Piece, said: Phrase, d: Details) -> None:
        if current.told and not current.thing and not current.groups:
            current.thing = said.thing
            current.fasteners_only = not said.thing
        elif said.doing and not current.told and said.doing is not Doing.RENEW:
            current.doing, current.told = said.doing, True
        elif current.doing is Doing.DRAIN and _PLUG.fullmatch(said.thing):
            d.what = d.what or said.thing
        elif said.thing and not _named_again(said, current) and not d.seal:
            if seal := _SEAL.match(piece.text):
                current.seal = current.seal or seal["seal"]
            else:
                current.notes.append(piece.text)
        elif not said.thing and not (
            d.any or d.bag or d.seal or d.amount or d.minutes or d.angle or said.where or d.renew
        ):
            current.notes.append(piece.text)
        if (
            said.thing
            and d.count
            and current.groups
            and _named_again(said, current)
            and current.groups[0].count in (None, 1)
        ):
            current.groups[0].count = d.count
        self._for_all = self._for_all or bool(_ALL_OF_THEM.match(piece.text))
        for draft in self._drafts if self._for_all else [current]:
            _merge(draft, d)
        current.where = current.where or said.where

    def _begin(self, piece: Piece, said: Phrase, d: Details) -> None:
        thing = said.thing
        fasteners_only = not thing and bool(d.any)
        if not thing and self._heading and d.any:
            thing, fasteners_only = self._heading, False
        if not thing and said.doing in (Doing.DISCONNECT, Doing.REMOVE) and not d.any and piece.after != ":":
            thing = self._before
        draft = Told(said.doing or Doing.REMOVE, thing, said.doing is not None, text=piece.text)
        draft.where, draft.fasteners_only = said.where, fasteners_only
        if said.doing in (Doing.REMOVE, Doing.DISCONNECT) and (itself := _ITSELF.search(piece.text)):
            draft.releases = itself[0]
        if said.doing is None:
            draft.sure["doing"] = _UNSURE
        if (
            piece.before.endswith("then")
            and said.doing is None
            and self._current
            and self._current.doing in OPENING
            and not self._heading
        ):
            draft.doing = self._current.doing
        if said.doing in (None, Doing.RENEW) and (seal := _SEAL.match(thing)) and kind_of(thing) is None:
            draft.doing, draft.thing = Doing.RENEW, seal["seal"]
        if piece.after == ":" and said.doing is None and not d.any:
            draft.heading = True
            self._heading = thing
        self._for_all = False
        _merge(draft, d)
        if not (thing or d.any or d.seal or said.doing in OPENING):
            draft.doing, draft.notes = Doing.NOTE, [piece.text]
        self._drafts.append(draft)

    def _settled(self) -> list[Told]:
        """Fasteners joined to the thing that they hold; headings and mere remarks left out."""
        joined: list[Told] = []
        for place, draft in enumerate(self._drafts):
            last = joined[-1] if joined else None
            if (
                last
                and last.fasteners_only
                and draft.thing
                and draft.doing in OPENING
                and last.doing is not Doing.SLACKEN
            ):
                if not draft.groups:
                    draft.groups = last.groups
                draft.where = draft.where or last.where
                joined.pop()
            rest = self._drafts[place + 1 :]
            if draft.heading and draft.bare and any(one.thing and not one.bare for one in rest):
                continue
            joined.append(draft)
        for draft in joined:
            unknown = kind_of(draft.thing) is None or len(draft.text.split()) > len(draft.thing.split()) + 1
            if draft.bare and draft.doing is not Doing.NOTE and (unknown or len(draft.thing.split()) > 4):
                draft.doing, draft.notes, draft.thing = Doing.NOTE, [draft.text, *draft.notes], ""
        return joined


def _named_again(said: Phrase, current: Told) -> bool:
    """Does it name the same thing, or only a word of it?"""
    again, known = key(said.thing).split(), key(current.thing).split()
    return (
        bool(known and again)
        and again[-1] == known[-1]
        and len(again) <= len(known)
        and set(again) <= set(known)
    )


_NAMES = ("what", "count", "thread", "hex", "socket_hex", "six_lobe", "driver", "torque", "angle", "bag")
_DRIVES = ("hex", "socket_hex", "six_lobe", "driver")


def _merge(draft: Told, d: Details) -> None:
    """Put what a piece tells beside what is known; what contradicts is another kind of fastener."""
    draft.seal = draft.seal or d.seal
    draft.amount = draft.amount if draft.amount is not None else d.amount
    draft.minutes = draft.minutes if draft.minutes is not None else d.minutes
    if not (d.any or d.bag or d.renew or d.angle):
        return
    last = draft.groups[-1] if draft.groups else None
    if last is None or (
        d.count and last.count and d.what and last.what and singular(d.what) != singular(last.what)
    ):
        draft.groups.append(
            Details("", **{name: getattr(d, name) for name in _NAMES}, renew=d.renew, sure=dict(d.sure))
        )
        return
    for name in _NAMES:
        told = getattr(d, name)
        if told and getattr(last, name) in (None, "") and not (name in _DRIVES and last.sized):
            setattr(last, name, told)
            last.sure |= {name: d.sure[name]} if name in d.sure else {}
    last.renew = last.renew or d.renew
    if d.bag:
        for group in draft.groups:
            group.bag = group.bag or d.bag
