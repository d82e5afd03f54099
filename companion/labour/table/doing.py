"""What is done in a step, whatever it is called: so its times are not lost when the words change.

A step is logged under its id and a digest of its work. Both change with the names of things: "wheel bolts"
that become "road wheel bolts" are new steps to the log. So steps are compared by what is done: the act, the
kinds of things, threads, sizes and counts; not by words, bags, torques or the order of tightening.

Two wordings are of the same step when they do the same and

- they have the same id; or
- as many steps of either procedure do exactly this, and each is the n-th of them. A step that says of itself
  only its act, such as "inspect", has too little for that.

The shop has the last word (`shop.py`).
"""

import json
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from companion.errors import ProcedureError
from companion.files import write_whole
from companion.job.facts.work_digest import work_digest
from companion.labour.table.columns import CACHE
from companion.labour.table.shop import SaidOf, Shop
from companion.procedure.model import Procedure, Step
from companion.procedure.read import read_kept_procedure

VERSION = 1
"""The version of the rules below."""
PROCEDURES = "procedures"
"""The folder beside the logs with the procedures that jobs were begun with."""

WORDINGS = "SELECT title, step, work, max(job_number) AS latest FROM logged_steps GROUP BY title, step, work"
RENAMED = """
SELECT s.* REPLACE (coalesce(r.step_now, s.step) AS step, coalesce(r.work_now, s.work) AS work)
FROM logged_steps AS s
LEFT JOIN renamed AS r ON r.title = s.title AND r.step = s.step AND r.work = s.work
"""

Wording = tuple[str, str]
"""The id of a step, and the digest of its work: how the log knows it."""


@dataclass(frozen=True)
class Doing:
    """What is done in a step of one procedure."""

    what: str
    """The act, and all that is known of it but words."""
    nth: int
    """Of the steps that do exactly this, which one."""
    of: int
    """How many of those the procedure has."""

    @property
    def telling(self) -> bool:
        """Whether it says more than an act."""
        return "|" in self.what


@dataclass(frozen=True)
class Joined:
    """Two wordings that are taken for the same step."""

    title: str
    before: Wording
    now: Wording

    def __str__(self) -> str:
        return f"{self.before[0]!r} is now {self.now[0]!r}"


def doings(procedure: Procedure) -> dict[Wording, Doing]:
    """What each step of a procedure does."""
    told = {s.id: _told(procedure, s) for s in procedure.steps}
    of, so_far, found = Counter(told.values()), Counter[str](), {}
    for step in procedure.steps:
        what = told[step.id]
        so_far[what] += 1
        found[step.id, work_digest(step)] = Doing(what, so_far[what], of[what])
    return found


def _told(procedure: Procedure, step: Step) -> str:
    parts = [str(step.act)]
    parts += sorted(f"{f.count} {f.thread} {f.hex} {f.socket_hex} {f.six_lobe}" for f in step.fasteners)
    for verb, ids in (("opens", step.opens), ("closes", step.closes)):
        parts += sorted(f"{verb} {procedure.items[i].kind}" for i in ids if i in procedure.items)
    for verb, source in (
        ("isolates", step.isolates), ("proves", step.proves), ("restores", step.restores),
    ):  # fmt: skip
        if source is not None and source in procedure.energy:
            parts.append(f"{verb} {procedure.energy[source].source}")
    for verb, ids in (("disturbs", step.disturbs), ("renews", step.renews)):
        parts += sorted(f"{verb} {procedure.seals[i].use}" for i in ids if i in procedure.seals)
    if step.measure is not None:
        parts.append(f"measures {step.measure.unit}")
    if step.count is not None:
        parts.append(f"{step.count} times")
    return "|".join(parts)


def kept_doings(logs: Path, titles: Iterable[str]) -> dict[str, list[dict[Wording, Doing]]]:
    """What the steps do of all procedures that jobs in this folder were begun with, by title.

    A procedure that cannot be read is left out: its steps keep their own times. Results are kept beside the
    logs, because reading takes longer than all the rest.
    """
    wanted, path = set(titles), logs / CACHE / f"doings-{VERSION}.json"
    known, found = _load(path), defaultdict(list)
    before = len(known)
    for file in sorted((logs / PROCEDURES).glob("*.yaml")):
        if file.stem not in known:
            try:
                procedure = read_kept_procedure(file)
                known[file.stem] = (procedure.title, doings(procedure))
            except ProcedureError:
                known[file.stem] = ("", {})
        title, these = known[file.stem]
        if title in wanted:
            found[title].append(these)
    if len(known) > before:
        _keep(path, known)
    return dict(found)


def _load(path: Path) -> dict[str, tuple[str, dict[Wording, Doing]]]:
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        return {
            name: (title, {(step, work): Doing(what, nth, of) for step, work, what, nth, of in rows})
            for name, (title, rows) in data.items()
        }
    except (OSError, ValueError, TypeError, AttributeError):
        return {}


def _keep(path: Path, known: Mapping[str, tuple[str, dict[Wording, Doing]]]) -> None:
    data = {
        name: (title, [(*wording, d.what, d.nth, d.of) for wording, d in these.items()])
        for name, (title, these) in known.items()
    }
    try:
        path.parent.mkdir(exist_ok=True)
        write_whole(path, json.dumps(data, ensure_ascii=False).encode())
    except OSError:
        pass  # it only saves time


def joins(
    logged: Iterable[Mapping[str, Any]], logs: Path, shop: Shop, asked: Procedure | None = None
) -> list[Joined]:
    """Which wordings are taken for the same step. Procedures are read only where there may be two.

    Args:
        logged: what `WORDINGS` finds.
        asked: the procedure that is asked about, as it is worded now. Other titles are left as they are.
    """
    words: dict[str, dict[Wording, int]] = {}
    for row in logged:
        if asked is None or row["title"] == asked.title:
            words.setdefault(row["title"], {})[row["step"], row["work"]] = row["latest"]
    current = doings(asked) if asked else {}
    words = {t: these for t, these in words.items() if asked is None or not these.keys() <= current.keys()}
    kept = kept_doings(logs, words) if words else {}
    found: list[Joined] = []
    for title, these in sorted(words.items()):
        known = sorted(kept.get(title, []), key=lambda one: max((these.get(w, 0) for w in one), default=0))
        said = shop.said_of(title)
        found += joined(title, these, [*known, current] if asked else known, said)
    return found


def joined(
    title: str,
    logged: Mapping[Wording, int],
    known: Sequence[Mapping[Wording, Doing]],
    said: SaidOf,
) -> Iterator[Joined]:
    """Which logged wordings are of the same step as a newer one.

    Args:
        logged: the wordings in the logs of that title, each with the number of its latest job.
        known: what the steps of procedures of that title do. One that is asked about, and may not have been
            worked yet, comes last.
        said: what the shop says of pairs of ids.
    """
    done: dict[Wording, Doing] = {}
    newness: dict[Wording, tuple[bool, int]] = {w: (False, n) for w, n in logged.items()}
    for these in known:
        done |= these
    for wording in known[-1] if known else ():
        newness.setdefault(wording, (True, 0))
    groups: defaultdict[object, list[Wording]] = defaultdict(list)
    for wording, doing in done.items():
        for key in _keys(wording, doing):
            groups[key].append(wording)
    leads: dict[Wording, Wording] = {}
    for one in sorted(newness, key=lambda w: newness[w], reverse=True):
        alike = {w for key in _keys(one, done.get(one)) for w in groups[key]}
        alike = {w for w in alike if not said.apart(one[0], w[0])}
        alike |= {w for w in newness if said.same(w[0], one[0])}
        for other in alike & logged.keys() - leads.keys() - {one}:
            together = any(other in these and one in these for these in known)
            if newness[other] < newness[one] and not together:
                leads[other] = leads.get(one, one)
    for before, now in sorted(leads.items()):
        yield Joined(title, before, now)


def _keys(wording: Wording, doing: Doing | None) -> Iterator[object]:
    if doing is not None:
        yield doing.what, wording[0]
        if doing.telling:
            yield doing
