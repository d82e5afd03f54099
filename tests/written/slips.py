"""The usual slips of `procedures/README.md`, and what `companion check` says of each."""

import tempfile
from pathlib import Path

from companion.errors import ProcedureError
from companion.procedure.read import read_procedure
from tests.written.procedures import yaml_in
from tests.written.sentences import table

SLIPS: tuple[tuple[str, str, str], ...] = (
    ("a key is misspelt", "where: front left", "were: front left"),
    ("a time has no unit", "book: 2 min, opens", "book: 2, opens"),
    ("an id is misspelt", "opens: [lid]", "opens: [lit]"),
    ("a thing is never closed", ", closes: [lid]", ""),
    ("a thing is declared and never used", "items:\n", "items:\n  hose: {name: breather hose, kind: hose}\n"),
    ("a number where words are wanted", 'revision: "1"', "revision: 1"),
    ("words with a colon and no quotes", "say: Wipe the box", "say: Now: wipe the box"),
    ("a tightening step without a torque", "act: clean", "act: tighten"),
    ("a danger without words to confirm it", "act: clean, say",
     "act: clean, hazards: [{signal: DANGER, hazard: The fan may start., avoid: Take the key out.}], say"),
    ("a state of one word", "act: clean, say", "act: clean, state: clean, say"),
    ("an order that says less than it seems", "closes: [lid]", "closes: [lid], after: []"),
)  # fmt: skip
"""Name of a usual mistake, and what it makes of the first example."""


def slips(page: str) -> str:
    """What `companion check` says of each slip in the first example."""
    good, *_ = yaml_in(page)
    rows = []
    for name, before, after in SLIPS:
        assert good.count(before) == 1, f"{before!r} is not once in the first example"
        rows.append((name, said_of(good.replace(before, after))))
    return "\n".join(table(("slip", "what `companion check` says, after file, line and column"), rows))


def said_of(text: str) -> str:
    """The first fault of a procedure, without its place."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "spoilt.yaml"
        path.write_text(text, "utf-8")
        try:
            read_procedure(path)
        except ProcedureError as error:
            return error.faults[0].removeprefix(f"{path}:").split(": ", 1)[1]
    return "no fault"


BLOCKS = {"slips": slips}
