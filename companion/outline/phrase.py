"""What is done to what: the act, its thing and its place, from the words left when sizes are taken out."""

import re
from dataclasses import dataclass, replace

from companion.outline.deed import Doing
from companion.outline.details import GAP
from companion.outline.kinds import kind_of
from companion.outline.lexicon import one_of, rows, words


@dataclass(frozen=True)
class Phrase:
    """One piece of a line, understood."""

    doing: Doing | None
    """None when no word tells."""
    thing: str
    """Empty when none is named."""
    where: str | None
    sure: float = 1.0


_VERBS: dict[str, Doing] = {
    verb: Doing(doing) for doing, lists in rows("acts").items() for verb in lists.get("plain", ())
}
_VERB = re.compile(one_of(_VERBS))
_COMPOUND = re.compile(one_of(words("words", "compounds")))
_AS_A_NOUN = frozenset(words("words", "as_a_noun"))
"""Base forms that are nouns where nothing stands behind them: "brake lever off"."""
_PARTICLE = one_of(words("words", "particles"))
_PARTED = {verb: Doing(doing) for doing, lists in rows("acts").items() for verb in lists.get("parted", ())}
_PARTED_VERB = re.compile(
    rf"(?P<before>.*?)(?P<verb>{one_of(_PARTED)}) (?P<object>.*?) ?(?P<particle>{_PARTICLE})(?! (?:side"
    r"|hand))(?P<after>.*)"
)
_ALONE = re.compile(
    rf"^(?:{GAP} )?(?!drop links?\b)(?:{one_of(words('acts', 'remove', 'alone'))}"
    rf"|{one_of(words('acts', 'remove', 'with_the'))}(?= (?:the|it|them|whole|both)\b)) (?P<object>.+)"
)
_TRAILING = re.compile(
    r"^(?P<thing>.+?) \b(?P<particle>off|out|away|down|up|apart|loose|free)\b(?! (?:side|hand))"
    r"(?: (?P<after>.*))?$"
)
_LEADING = re.compile(r"^(?:off|out|down|away)\b ?(?:comes? |goes |with )?(?P<thing>.+)$")
_PLACE = re.compile(
    rf"(?P<place>(?:{one_of(words('words', 'places'))}) .+)$|(?P<alone>(?:on top"
    r"|underneath|inside|on the left|on the right))$"
)
_SOURCE = re.compile(rf"^(?P<particle>{one_of(words('words', 'sources'))}) (?P<from>.+)$")
_SOURCED = re.compile(
    rf"^(?P<thing>.+?) (?:{one_of(['from', 'out of', 'off of', 'off', 'on', 'in', 'to'])}) (?P<from>.+)$"
)
_NOISE = re.compile(rf"{one_of([*words('words', 'fillers'), *words('words', 'tools')])}")
_SMALL = one_of(
    [
        *words("words", "articles"),
        "with",
        "by",
        "and",
        "for",
        "in",
        "at",
        "on",
        "to",
        "from",
        "of",
        "as",
        "but",
        "or",
        "x",
    ]
)
_ARTICLE = re.compile(rf"^(?:{_SMALL} ?)+|(?: ?{_SMALL})+$")
_HELD = re.compile(
    rf"^(?:the )?{GAP}(?: {GAP})* (?:(?P<by>that hold|holding|securing|retaining|hold|that holds"
    rf"|holds|secure|fixing)|of|for|from) (?P<thing>[^{GAP}]+?)(?: (?:on)?to [^{GAP}]+)?$"
)
_HELD_BY = re.compile(
    r"^(?P<thing>[^~]+?) (?:(?:is |are )?(?:held|fixed|secured|retained|bolted|screwed|mounted)"
    r"(?: (?:on|in|down))? (?:by|with|on)|sits on|hangs on|is on with)\b"
)
_NO_DRAINING = re.compile(r" (?:plug|bolt|tap|cock|valve|hole|pump|hose|pipe)s?\b")
_ON = re.compile(rf"^{GAP}(?: {GAP})* (?P<place>(?:on|in|at) [^{GAP}]+)$")
_NOUN = re.compile(
    rf"(?P<head>.*?)(?P<noun>(?:{one_of(words('fasteners', 'adjectives'))} )*"
    rf"{one_of(words('fasteners', 'nouns'), plural=True)})$"
)


def phrase(rest: str) -> Phrase:
    """The act, thing and place of a piece of a line whose sizes are taken out."""
    text = re.sub(r"\s+", " ", rest).strip(" ,.:;!-")
    joined = _COMPOUND.sub(lambda name: name[0].replace(" ", "_"), text)
    found = _read(joined)
    where = found.where.replace("_", " ") if found.where else None
    return replace(found, thing=found.thing.replace("_", " "), where=where)


def _read(text: str) -> Phrase:
    if held := _HELD.match(text):
        return Phrase(Doing.REMOVE if held["by"] else None, name(held["thing"]), None)
    if by := _HELD_BY.match(text):
        return Phrase(Doing.REMOVE, name(by["thing"]), None)
    if on := _ON.match(text):
        return Phrase(None, "", name(on["place"]) or None)
    for read in (_plain_verb, _parted_verb, _alone_verb, _leading, _trailing):
        found = read(text)
        if found is not None:
            return found
    thing, where = _placed(text)
    return Phrase(None, name(thing), where)


def _plain_verb(text: str) -> Phrase | None:
    found = [(m.start(), -len(m[0]), m) for m in _VERB.finditer(text)]
    if not found:
        return None
    match = min(found, key=lambda one: one[:2])[2]
    doing = _VERBS[match[0]]
    if doing is Doing.DRAIN and _NO_DRAINING.match(text[match.end() :]):
        return None
    before, after = text[: match.start()], text[match.end() :].strip()
    subject = name(before)
    if doing is Doing.NOTE:
        return Phrase(doing, "", None) if not subject else None
    source = _SOURCE.match(after)
    if subject:
        thing, where = _placed(before)
        if (
            source
            or after.startswith("of ")
            or (after and match[0].endswith((" off", " out")) and not _PLACE.search(after))
        ):
            where = name(source["from"] if source else after) or where
        elif place := _PLACE.search(after):
            where = place[0]
        return Phrase(doing, name(thing), where)
    # "Undo the two bolts and lift off": what comes after a particle is where from.
    after = re.sub(rf"^(?:{_PARTICLE} )+", "", after)
    if held := _HELD.match(after):
        return Phrase(doing, name(held["thing"]), None)
    thing, where = _placed(after)
    thing, source_of = _from(thing)
    trailing = _TRAILING.match(thing)
    if trailing:
        thing = trailing["thing"]
        source_of = source_of or name(trailing["after"] or "") or None
    return Phrase(doing, name(thing), where or source_of)


def _parted_verb(text: str) -> Phrase | None:
    match = _PARTED_VERB.match(text)
    if not match:
        return None
    doing = _PARTED[match["verb"]]
    after = match["after"].strip()
    subject = name(match["before"])
    if subject and not match["object"] and match["verb"] in _AS_A_NOUN:
        return None
    thing, where = _placed(match["object"])
    thing, source = _from(thing)
    chosen = name(thing)
    if subject and not chosen:
        chosen = subject
    if not chosen:
        chosen, where = name(_placed(after)[0]), where or _placed(after)[1]
        return Phrase(doing, chosen, where or source)
    after_source = re.sub(r"^(?:from|of|off) ", "", after)
    return Phrase(
        doing,
        chosen,
        where
        or (_placed(after)[1])
        or (name(after_source) or None if after_source != after or match["particle"] == "off" else None)
        or source,
    )


def _alone_verb(text: str) -> Phrase | None:
    match = _ALONE.match(text)
    if not match:
        return None
    thing, where = _placed(re.sub(r"^(?:back|off|out|up|down) ", "", match["object"]))
    thing, source = _from(thing)
    return Phrase(Doing.REMOVE, name(thing), where or source, 0.9)


def _leading(text: str) -> Phrase | None:
    match = _LEADING.match(text)
    if not match:
        return None
    thing, where = _placed(match["thing"])
    return Phrase(Doing.REMOVE, name(thing), where)


def _trailing(text: str) -> Phrase | None:
    """ "Top hose off the thermostat housing"."""
    match = _TRAILING.match(text)
    if not match:
        return None
    after = (match["after"] or "").strip()
    thing, where = _placed(match["thing"])
    thing, source = _from(thing)
    doing = Doing.SLACKEN if match["particle"] == "loose" else Doing.REMOVE
    place = _PLACE.search(after)
    origin = None if place or not after else name(re.sub(r"^(?:of|from|the) ", "", after)) or None
    if match["particle"] not in ("off", "out", "away", "down") and origin:
        origin = None
    return Phrase(doing, name(thing), where or (place[0].strip() if place else None) or origin or source)


def _placed(text: str) -> tuple[str, str | None]:
    """The words before a place, and the place."""
    match = _PLACE.search(text)
    if not match or (match.start() == 0 and kind_of(text.replace("_", " ")) == "panel"):
        return text, None
    place = match[0].replace(GAP, " ").strip(" ,.")
    return text[: match.start()], re.sub(r"\s+", " ", place) or None


def _from(text: str) -> tuple[str, str | None]:
    match = _SOURCED.match(text)
    if not match:
        return text, None
    return match["thing"], name(match["from"]) or None


def name(text: str) -> str:
    """The thing that some words name: no articles, fillers or tools; empty when nothing is left."""
    pieces = [_trimmed(piece) for piece in text.split(GAP) if not piece.lstrip().startswith("with ")]
    left = [piece for piece in pieces if piece]
    return left[0] if left else ""


def _trimmed(text: str) -> str:
    text = _NOISE.sub(" ", re.sub(r"(?<=\w) (?:with|which|that) .*$", "", text))
    text = re.sub(r"[^\w/.'\- ]+|(?<!\w)[-.']|[-.'](?!\w)", " ", text)
    before = None
    text = re.sub(r"\s+", " ", text).strip()
    while text != before:
        before = text
        text = _ARTICLE.sub("", text).strip()
        text = re.sub(
            rf"^(?:{_PARTICLE} )+|(?: {_PARTICLE})+$|^(?:{_PARTICLE})$|(?<=\w) back$|(?<=\w) (?:left"
            r"|right)(?: and (?:left|right))?$",
            "",
            text,
        ).strip()
    if text in ("mm", "nm", "in"):
        return ""
    return (
        text if re.search(r"[a-z]{2}", text) or (re.fullmatch(r"\d+", text) is None and len(text) > 1) else ""
    )


def without_fasteners(thing: str) -> tuple[str, str]:
    """ "Rocker cover bolts" as the cover and its bolts; a name that is no known thing keeps its noun."""
    match = _NOUN.match(thing)
    if not match or not match["head"].strip():
        return thing, ""
    sides = one_of(words("words", "sides"))
    head, noun = re.sub(rf" {sides}$", "", match["head"].strip()), match["noun"]
    if kind_of(head) in ("joint", "panel", "part"):
        return head, noun
    return thing, ""
