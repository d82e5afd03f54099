"""An outline in, a procedure's file out."""

from pydantic import ValidationError

from companion.draft.build import build
from companion.draft.course_of_work import plan_of
from companion.draft.mend import questioned
from companion.draft.write import as_yaml
from companion.errors import ProcedureError
from companion.harmless import harmless, one_line
from companion.outline.deed import OPENING, Deed
from companion.outline.layout import lines_of
from companion.outline.parse import deeds_of
from companion.procedure.reading.explain import explain

LONGEST = 2_000
"""Characters of one line; a paragraph has about 600."""
MOST = 200
"""Things taken apart in one outline."""


def draft(text: str, title: str, applies_to: str | None = None, source: str | None = None) -> str:
    """The YAML of a procedure drafted from an outline. The outline's own heading goes before `title`.

    Raises:
        ProcedureError: nothing that is taken apart was understood.
    """
    shown = "\n".join("\t".join(map(harmless, line.split("\t"))) for line in text.splitlines())
    for line in lines_of(shown).lines:
        if len(line.text) > LONGEST:
            raise ProcedureError(
                f"line {line.number} has {len(line.text)} characters; break it up, {LONGEST} at most"
            )
    told = (one_line(words) if words else None for words in (applies_to, source))
    return drafted(deeds_of(shown), lines_of(shown).title or one_line(title), *told)


def drafted(
    deeds: tuple[Deed, ...], title: str, applies_to: str | None = None, source: str | None = None
) -> str:
    """The same from deeds. Raises as `draft` does."""
    data = build(plan_of(deeds), title, applies_to, source)
    if not any(deed.doing in OPENING for deed in deeds) or not data.get("steps"):
        raise ProcedureError(
            "nothing that is taken apart is in this outline; write lines like 'cover off, six T25'"
        )
    if sum(deed.doing in OPENING for deed in deeds) > MOST:
        raise ProcedureError(f"more than {MOST} things are taken apart; make two outlines of it")
    try:
        return as_yaml(questioned(data))
    except ValidationError as error:
        first = next(explain(error, data))
        raise ProcedureError(f"no procedure can be made of this outline: something {first.message}") from None
