"""An outline in, a procedure's file out."""

from companion.draft.build import build
from companion.draft.mend import questioned
from companion.draft.plan import plan_of
from companion.draft.write import as_yaml
from companion.errors import ProcedureError
from companion.outline.deed import OPENING, Deed
from companion.outline.lines import lines_of
from companion.outline.parse import deeds_of


def draft(text: str, title: str, applies_to: str | None = None, source: str | None = None) -> str:
    """The YAML of a procedure drafted from an outline. The outline's own heading goes before `title`.

    Raises:
        ProcedureError: nothing that is taken apart was understood.
    """
    outline = lines_of(text)
    return drafted(deeds_of(text), outline.title or title, applies_to, source)


def drafted(
    deeds: tuple[Deed, ...], title: str, applies_to: str | None = None, source: str | None = None
) -> str:
    """The same from deeds. Raises as `draft` does."""
    if not any(deed.doing in OPENING for deed in deeds):
        raise ProcedureError(
            "nothing that is taken apart is in this outline; write lines like 'cover off, six T25'"
        )
    return as_yaml(questioned(build(plan_of(deeds), title, applies_to, source)))
