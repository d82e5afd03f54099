"""What is wrong in form, in names and in substance is told in one run, each with its own place and code."""

from pathlib import Path

import pytest

from companion.procedure.check import rules
from companion.procedure.read import Reading, examine_bytes


def examined(text: str) -> Reading:
    return examine_bytes(text.encode(), Path("small.yaml"))


def codes(text: str) -> list[str]:
    return [finding.rule.code for finding in examined(text).findings]


def spoilt(text: str, *changes: tuple[str, str]) -> str:
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def test_faults_of_the_model_the_names_and_the_work_stand_side_by_side(small: str) -> None:
    text = spoilt(
        small,
        ("title: Cover off and on", "titel: Cover off and on"),
        ("torque: 22 N·m", "torque: 22"),
        ("    closes: [plug]\n", ""),
        ("waits_for: [cover-on]", "waits_for: [cover-no]"),
        (", at_most: 0.5", ""),
    )
    found = examined(text)
    assert {f.rule.code for f in found.findings} == {
        "unknown-key", "missing-key", "not-a-quantity", "never-settled", "unknown-name", "limits",
    }  # fmt: skip
    assert [f.line for f in found.findings] == sorted(f.line for f in found.findings)


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("    opens: [plug]\n", "    opnes: [plug]\n", "unknown-key"),
        ("closes: [plug]", "closes: [pluk]", "unknown-name"),
        ("act: tighten", "act: tightn", "unknown-word"),
        ("torque: 22 N·m", "torque: 22", "not-a-quantity"),
        ("torque: 22 N·m", "torque: 16.2 lbf·ft", "not-a-quantity"),
        ("wait: 5 min", "wait: 5", "not-a-quantity"),
        ('revision: "1"', "revision: 1", "not-text"),
        ("opens: [plug]", "opens: plug", "wrong-shape"),
        ("thread: M8, hex: 13, count: 6, torque", "thread: 8 mm, hex: 13, count: 6, torque", "wrong-form"),
    ],
)
def test_what_was_meant_is_read_so_that_one_slip_is_one_finding(
    small: str, old: str, new: str, code: str
) -> None:
    assert codes(spoilt(small, (old, new))) == [code]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("steps:\n  - id: isolate", "steps:\n  - 7\n  - id: isolate"),
        ("  - id: wipe\n    act: clean\n", "  - id: wipe\n"),
        ("    say: Wipe.\n    book: 1 min\n", ""),
        ("use: single, ", ""),
        ("kind: connector", "kind: 7"),
        ("items:\n", "items: none\nitem:\n"),
        ("steps:\n", "stages:\n"),
        ("title: Cover off and on", "title: [[[a]]]"),
    ],
)
def test_whatever_is_spoilt_the_rest_is_looked_at_and_nothing_breaks(small: str, old: str, new: str) -> None:
    found = examined(spoilt(small, (old, new)))
    assert found.errors
    assert all(f.line >= 1 and f.column >= 1 for f in found.findings)


def test_a_key_given_twice_is_told_beside_what_else_is_wrong(small: str) -> None:
    twice = ("title: Cover off and on\n", "title: Cover off and on\ntitle: Again\n")
    first, second = examined(spoilt(small, twice, ("22 N·m", "22 Nmm"))).findings
    assert (first.line, first.column, first.rule.code) == (2, 1, "given-twice")
    assert "'title' is given twice here; keep one" in first.message
    assert (second.line, second.rule.code) == (74, "not-a-quantity")


def test_every_rule_has_a_page() -> None:
    assert len(rules()) > 50
    for code, rule in rules().items():
        assert code == rule.code
        assert all(part[0].isupper() or part[0] == "`" for part in (rule.title, rule.why, rule.mend)), code
        assert all(part.endswith(".") for part in (rule.title, rule.why, rule.mend)), code


def test_one_code_means_one_thing() -> None:
    from companion.procedure.check import TOPICS
    from companion.procedure.fault import Rule

    every = {one for topic in TOPICS for one in vars(topic).values() if isinstance(one, Rule)}
    assert len(every) == len(rules())
