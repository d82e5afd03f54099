"""Findings about procedures, written: as lines, as JSON, as SARIF 2.1.0, and the page of one code."""

import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from companion import __version__
from companion.cli.job import heard
from companion.errors import ProcedureError
from companion.harmless import one_line
from companion.procedure import check
from companion.procedure.fault import Rule, Severity, suggestion
from companion.procedure.nouns import several
from companion.procedure.read import Finding, Reading

Readings = Sequence[tuple[Path, Reading]]
_SCHEMA = "https://json.schemastore.org/sarif-2.1.0.json"
_LEVELS: Mapping[Severity, str] = {Severity.ERROR: "error", Severity.ADVICE: "warning"}


def rules() -> dict[str, Rule]:
    """Every rule by its code, those about spoken words too."""
    return check.rules() | {rule.code: rule for rule in heard.RULES}


def page(code: str) -> str:
    """What a code means, why it matters and what to do; with "all", every code and its title.

    Raises:
        ProcedureError: there is no such code.
    """
    known = rules()
    if code == "all":
        width = max(map(len, known))
        lines = [f"{rule.code:{width}}  {rule.severity:6}  {rule.title}" for rule in known.values()]
        return "\n".join(sorted(lines))
    if code not in known:
        hint = suggestion(code, known) or "; '--explain all' lists them"
        raise ProcedureError(f"there is no code '{one_line(code)}'{hint}")
    rule = known[code]
    return f"{rule.code} ({rule.severity})\n\n{rule.title}\n\nWhy: {rule.why}\n\nWhat to do: {rule.mend}"


def as_text(readings: Readings) -> Iterator[str]:
    """A line for each finding, and one for each file that can be worked by."""
    for path, reading in readings:
        for found in reading.findings:
            sort = "" if found.grave else " (advice)"
            yield f"{found}{sort} [{found.rule.code}]"
        if reading.procedure and not reading.errors:
            steps = several(len(reading.procedure.steps), "step")
            advice = several(len(reading.advice), "piece of advice")
            title = one_line(reading.procedure.title)
            guessed = sum(step.book_estimated for step in reading.procedure.steps)
            books = f", {several(guessed, 'book time')} guessed" if guessed else ""
            yield f"{path}: {title}, {steps}: no fault, {advice}{books}"


def as_json(readings: Readings) -> str:
    """A list of files, each with its findings."""
    return json.dumps([_file(path, reading) for path, reading in readings], ensure_ascii=False, indent=2)


def _file(path: Path, reading: Reading) -> dict[str, Any]:
    return {
        "file": str(path),
        "title": reading.procedure.title if reading.procedure else None,
        "errors": len(reading.errors),
        "advice": len(reading.advice),
        "findings": [_finding(found) for found in reading.findings],
    }


def _finding(found: Finding) -> dict[str, Any]:
    return {
        "file": str(found.file),
        "line": found.line,
        "column": found.column,
        "code": found.rule.code,
        "severity": found.rule.severity.value,
        "where": found.label,
        "message": found.message,
    }


def as_sarif(readings: Readings) -> str:
    """A log of one run, as SARIF 2.1.0 (OASIS) has it."""
    found = [one for _, reading in readings for one in reading.findings]
    used = sorted({one.rule for one in found}, key=lambda rule: rule.code)
    places = {rule.code: place for place, rule in enumerate(used)}
    driver = {
        "name": "companion check",
        "version": __version__,
        "rules": [_rule(rule) for rule in used],
    }
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "results": [_result(one, places[one.rule.code]) for one in found],
    }
    log = {"$schema": _SCHEMA, "version": "2.1.0", "runs": [run]}
    return json.dumps(log, ensure_ascii=False, indent=2)


def _rule(rule: Rule) -> dict[str, Any]:
    return {
        "id": rule.code,
        "shortDescription": {"text": rule.title},
        "fullDescription": {"text": rule.why},
        "help": {"text": rule.mend},
        "defaultConfiguration": {"level": _LEVELS[rule.severity]},
    }


def _result(found: Finding, place: int) -> dict[str, Any]:
    where = f"{found.label}: " if found.label else ""
    return {
        "ruleId": found.rule.code,
        "ruleIndex": place,
        "level": _LEVELS[found.rule.severity],
        "message": {"text": f"{where}{found.message}"},
        "locations": [
            {
                "physicalLocation": {
                    "artifactLocation": {"uri": _uri(found.file)},
                    "region": {"startLine": found.line, "startColumn": found.column},
                }
            }
        ],
    }


def _uri(path: Path) -> str:
    from urllib.parse import quote

    return quote(path.as_posix(), errors="replace")
