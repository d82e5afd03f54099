"""How a thing lets go: "lift the latch", "quarter turn left", "pulls straight off"."""

import re

from companion.outline.lexicon import one_of, words

_VERB = one_of(words("words", "releases_verbs"))
_NOUN = one_of(words("words", "releases_nouns"))
_PHRASE = one_of(words("words", "releases_phrases"))
_TOLD = re.compile(
    rf"^(?:(?:just|by|then|it|you|has|have) )*(?:{_VERB}\b.*{_NOUN}.*|{_VERB}(?: (?:both"
    rf"|straight|it|them|off|up|out|down|and|sides|together|the))*(?: {_NOUN})?"
    rf"|.*\b(?:{_PHRASE})\b.*|(?:\w+ )?{_NOUN} (?:back|up|out|in|down|each|forward"
    rf"|over)(?: .*)?|{_VERB} \w+ {_VERB} \w+)$"
)


def release_in(text: str) -> str | None:
    """How it lets go, where a plain piece of a line tells only that."""
    plain = text.strip(" ,.!()")
    return plain if _TOLD.match(plain) else None
