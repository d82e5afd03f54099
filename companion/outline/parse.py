"""The grammar as a whole: lines in, deeds out."""

import re
from collections.abc import Iterable, Iterator

from companion.outline.deed import OPENING, Deed, Doing, Fastened
from companion.outline.deed_so_far import Told
from companion.outline.details import Details
from companion.outline.kinds import kind_of
from companion.outline.layout import Line, lines_of
from companion.outline.lexicon import rows, singular
from companion.outline.phrase import without_fasteners
from companion.outline.pieces import pieces
from companion.outline.plain import plain
from companion.outline.sentence import SHORT, Sentence

_LONGEST_NAME = 80
"""Characters; more is no name of a thing."""


def deeds_of(text: str) -> tuple[Deed, ...]:
    """The deeds that an outline tells of, in its order."""
    return deeds_in(lines_of(text).lines)


def deeds_in(lines: Iterable[Line]) -> tuple[Deed, ...]:
    """The deeds of some lines; "it" is the thing spoken of last."""
    found: list[Deed] = []
    for line in lines:
        before = next(
            (deed.thing for deed in reversed(found) if deed.thing and deed.doing is not Doing.ISOLATE), ""
        )
        found += _line(line, before)
    return tuple(found)


def _line(line: Line, before: str) -> Iterator[Deed]:
    meant = plain(line.text)
    drafts: list[Told] = []
    for sentence in pieces(meant.text):
        drafts += Sentence(before, drafts[-1] if drafts else None).read(sentence)
        before = next((draft.thing for draft in reversed(drafts) if draft.thing), before)
    for draft in drafts:
        if line.home and draft.doing is Doing.REMOVE and not draft.told:
            draft.doing = Doing.TIGHTEN
            draft.thing = without_fasteners(draft.thing)[0]
        yield from _finished(draft, line, meant.sure)


def _finished(draft: Told, line: Line, sure: float) -> Iterator[Deed]:
    """The deed, or one for each of the things that it was done to."""
    thing, noun = draft.thing, ""
    numbered = re.match(r"(\d+) (?=[a-z])", thing)
    after = re.search(r"(?<=[a-z]) (\d+)$", thing)
    many = int(numbered[1]) if numbered else int(after[1]) if after else None
    thing = thing[numbered.end() :] if numbered else thing[: after.start()] if after else thing
    if draft.doing is Doing.MARK:
        thing = re.sub(r" (?:direction|position|orientation|place|depth)s?$", "", thing)
    if draft.doing in OPENING and draft.doing is not Doing.SLACKEN:
        thing, noun = without_fasteners(thing)
    draft.groups = [
        g for g in draft.groups if g.any or g.bag or g.angle or (g.renew and draft.doing is not Doing.RENEW)
    ]
    if set(thing.split()) <= set(rows("words")["sides"]) and thing and draft.groups and draft.groups[0].what:
        thing = f"{thing} {draft.groups[0].what}"
    if (noun or many) and not draft.groups:
        draft.groups.append(Details(""))
    if noun and not draft.groups[0].what:
        draft.groups[0].what = noun
    if many and (draft.groups[0].count in (None, 1)):
        draft.groups[0].count = many
    if not thing and draft.groups and draft.groups[0].what:
        thing = draft.groups[0].what
    if len(thing) > _LONGEST_NAME:
        draft.doing, draft.notes, thing = Doing.NOTE, [draft.text, *draft.notes], ""
    groups = tuple(map(_fastened, draft.groups))
    for place, one in enumerate(_apart(thing) if draft.doing in OPENING else [thing]):
        doing = _by_kind(draft, one)
        yield Deed(
            doing=doing,
            thing=one,
            line=line.number,
            text=line.text,
            fastened=groups if place == 0 or doing is Doing.DISCONNECT else (),
            where=draft.where,
            releases=draft.releases,
            seal=draft.seal if place == 0 else None,
            amount=draft.amount,
            minutes=draft.minutes,
            note="; ".join(draft.notes) or None,
            sure={
                "thing": sure,
                **draft.sure,
                **{name: value for group in draft.groups for name, value in group.sure.items()},
            },
        )


def _by_kind(draft: Told, thing: str) -> Doing:
    """What is unplugged or pulled off a fitting is disconnected, whatever the word."""
    kind = kind_of(thing)
    if draft.doing is Doing.REMOVE and kind in SHORT:
        return Doing.DISCONNECT
    if draft.doing is Doing.REMOVE and kind == "fluid" and draft.told:
        return Doing.DRAIN
    return draft.doing


def _fastened(d: Details) -> Fastened:
    return Fastened(
        what=d.what, count=d.count, thread=d.thread, hex=d.hex, socket_hex=d.socket_hex, six_lobe=d.six_lobe,
        driver=d.driver, torque=d.torque, angle=d.angle, bag=d.bag, renew=d.renew,
    )  # fmt: skip


def _apart(thing: str) -> list[str]:
    """ "Inlet and outlet hoses" as two hoses; "plates and steels" as two things."""
    match = re.fullmatch(r"(.+?) (?:and|&|plus) (?:the )?(.+)", thing)
    if not match:
        return [thing]
    first, second = match[1], match[2]
    colours = rows("words")["colours"]
    if first in colours:
        return [thing]
    if first in rows("words")["sides"] and (noun := re.search(r"(\w+)$", second)):
        one = singular(noun[1])
        return [f"{first} {one}", f"{re.sub(r' ?[^ ]+$', '', second)} {one}".strip()]
    return [first, second]
