"""One sentence folded: its pieces, one after another, into deeds that each gather what is told of them."""

import re
from dataclasses import replace

from companion.outline.counts import details
from companion.outline.deed import OPENING, Doing
from companion.outline.deed_so_far import Told, merge
from companion.outline.details import Details
from companion.outline.kinds import kind_of
from companion.outline.lexicon import key, one_of, words
from companion.outline.made_safe import energy_in
from companion.outline.phrase import Phrase, name, phrase
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
    r"\b(?:hand ?brake|parking brake) (?:off|on)\b"
    r"|\b(?:already|no need|not needed|stays? (?:on|in|put|where|as)|leave|leaves|remains?)\b"
    r"|^(?:plug|cap|blank|cover) (?:it|them|both|the|all)\b|^never\b"
)
_ASIDE = (Doing.MARK, Doing.CLEAN, Doing.INSPECT)
_HOLDS = re.compile(r"^(?:securing|holding|retaining|fixing|that holds?|which holds?) (?P<thing>.+)$")
_WHICH_IS = re.compile(
    r"^(?:which|that|it|they|there)(?: is|'s| are| has| have)(?: (?:held|fixed) (?:on |in )?(?:by|with))? "
)
_ALL_OF_THEM = re.compile(r"^(?:both|all(?: of them)?|each|all \d)\b")


class Sentence:
    """Reads the pieces of one sentence into drafts."""

    def __init__(self, before: str, previous: Told | None) -> None:
        """`before` is the thing spoken of last, `previous` the deed before this sentence in its line."""
        self._before = before
        self._previous = previous
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
        piece = replace(piece, text=_WHICH_IS.sub("", piece.text))
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
        merge(self._drafts[-1], details(text))

    def _understood(self, piece: Piece, d: Details) -> None:
        said = phrase(d.rest)
        current = self._current or (self._previous if _more_of_it(said, d) else None)
        if current and (held := _HOLDS.match(piece.text)) and current.fasteners_only:
            current.thing, current.fasteners_only = name(held["thing"]), False
        elif said.doing is Doing.NOTE:
            self._note(piece.text)
        elif (
            current
            and current.doing is Doing.ISOLATE
            and not (d.any and said.thing)
            and kind_of(said.thing) is None
        ):
            current.notes.append(piece.text)
            merge(current, d)
        elif current and self._goes_with(current, piece, said, d):
            self._add(current, piece, said, d)
        else:
            self._begin(piece, said, d)

    def _note(self, text: str) -> None:
        if self._current:
            self._current.notes.append(text)
            d = details(text)
            if d.bag:
                merge(self._current, Details("", bag=d.bag))
        else:
            self._drafts.append(Told(Doing.NOTE, "", True, notes=[text], text=text))

    def _goes_with(self, current: Told, piece: Piece, said: Phrase, d: Details) -> bool:
        """Does a piece tell more of the deed before it, and of no other?"""
        if current.doing is Doing.NOTE:
            return False
        if not current.thing and (not current.groups or (said.thing and said.doing is None)) and current.told:
            return True
        if current.doing in _ASIDE and d.any and self._heading:
            return False
        if _two_of_one(current, d):
            return False
        anew = said.doing in OPENING and d.what and current.told and piece.before.startswith("and")
        if anew and not said.thing:
            return False
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
        if current.told and not current.thing and (said.thing or not current.groups):
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
        many = d.count or _number_before(said.thing)
        if many and current.groups and _named_again(said, current) and current.groups[0].count in (None, 1):
            current.groups[0].count = many
        self._for_all = self._for_all or bool(_ALL_OF_THEM.match(piece.text))
        for draft in self._drafts if self._for_all else [current]:
            merge(draft, d)
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
        if said.doing is Doing.ISOLATE:
            draft.thing, draft.sure["thing"] = "mains", _UNSURE
        if (
            piece.before.endswith("then")
            and said.doing is None
            and self._current
            and self._current.doing in OPENING
            and not self._heading
        ):
            draft.doing = self._current.doing
        a_seal = _SEAL.match(thing) if kind_of(thing) is None and piece.after != ":" else None
        if said.doing in (None, Doing.RENEW) and (seal := a_seal):
            draft.doing, draft.thing = Doing.RENEW, seal["seal"]
        if piece.after == ":" and said.doing is None and not d.any:
            draft.heading = True
            self._heading = thing
        self._for_all = False
        merge(draft, d)
        if not (thing or d.any or d.seal or said.doing in (*OPENING, Doing.ISOLATE)):
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


def _number_before(thing: str) -> int | None:
    number = re.match(r"(\d{1,2}) ", thing)
    return int(number[1]) if number else None


def _two_of_one(current: Told, d: Details) -> bool:
    """ "Coil pack: unplug, one bolt": first its plug, then the pack itself."""
    plugged = current.heading and current.doing is Doing.DISCONNECT and kind_of(current.thing) not in SHORT
    return plugged and bool(d.what or d.sized)


def _more_of_it(said: Phrase, d: Details) -> bool:
    """Does a sentence tell only sizes and numbers, of what the one before it was about?"""
    return said.doing is None and not said.thing and bool(d.any or d.bag or d.seal)


def _named_again(said: Phrase, current: Told) -> bool:
    """Does it name the same thing, or only a word of it?"""
    again, known = key(re.sub(r"^\d+ ", "", said.thing)).split(), key(current.thing).split()
    return (
        bool(known and again)
        and again[-1] == known[-1]
        and len(again) <= len(known)
        and set(again) <= set(known)
    )
