"""What kind of thing a name tells of: a connector, a hose, a joint."""

from functools import cache

from companion.outline.lexicon import rows, singular


@cache
def kind_of(thing: str) -> str | None:
    """The kind of thing that a name tells of, by the longest known ending; None when no word is known."""
    plain = " ".join(singular(word) for word in thing.lower().split())
    found: tuple[int, str] | None = None
    for kind, names in rows("things")["kinds"].items():
        for known in names:
            ending = " ".join(singular(word) for word in known.split())
            if (plain == ending or plain.endswith(f" {ending}")) and (
                found is None or len(ending) > found[0]
            ):
                found = len(ending), kind
    return found[1] if found else None
