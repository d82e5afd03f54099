"""A procedure made of a plan, as plain data: every opening has its closing, every unknown its question."""

from companion.draft.apart import apart
from companion.draft.course_of_work import Plan
from companion.draft.home import close, extra, fill
from companion.draft.isolations import isolate, restore
from companion.draft.safe import source_of
from companion.draft.sheet import Data, Sheet, ask


def build(plan: Plan, title: str, applies_to: str | None, source: str | None) -> Data:
    """The whole procedure."""
    sheet = Sheet(_head(title, applies_to, source))
    sources = [source_of(safe.source) for safe in plan.safe]
    for safe, made_safe in zip(plan.safe, sources, strict=True):
        isolate(sheet, safe, made_safe, plan.before)
    opened = [one for deed in plan.apart if (one := apart(sheet, deed))]
    for one in reversed(opened):
        close(sheet, one)
    for deed in plan.home:
        extra(sheet, deed)
    fluids = [one for one in opened if one.kind == "fluid"]
    for place, one in enumerate(fluids, start=1):
        fill(sheet, one, fluids[place:])
    restore(sheet, sources, plan.before)
    return {name: section for name, section in sheet.data.items() if section}


def _head(title: str, applies_to: str | None, source: str | None) -> Data:
    head: Data = {
        "title": title,
        "revision": "1",
        "applies_to": [applies_to or "Not known yet"],
        "source_of_torques": source or "As told by the mechanic. Not compared with a manual yet.",
        "review": [],
        **{section: {} for section in ("parts", "energy", "items", "seals")},
        "steps": [],
    }
    if applies_to is None:
        ask(head, "Which vehicle or machine is this for?", "other")
    return head
