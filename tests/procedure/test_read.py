"""A procedure file is read, or each fault is told with its line and column."""

import os
import tempfile
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from companion.errors import ProcedureError
from companion.procedure.model import Procedure
from companion.procedure.read import (
    LARGEST,
    procedure_from_bytes,
    read_kept_procedure,
    read_procedure,
    read_with_advice,
)

Read = Callable[[str], Procedure]
FaultsOf = Callable[..., list[str]]


def refusal(path: Path) -> str:
    with pytest.raises(ProcedureError) as caught:
        read_procedure(path)
    message = str(caught.value)
    assert message.startswith(f"{path}:")
    assert "\n" not in message
    return message.removeprefix(f"{path}:")


def test_a_procedure_without_faults_is_read(read: Read, small: str) -> None:
    procedure = read(small)
    assert procedure.title == "Cover off and on"
    assert procedure.step("tighten").fasteners[0].torque is not None
    assert procedure.predecessors("prove") == ("isolate",)


def test_bytes_kept_elsewhere_are_read_like_a_file(read: Read, small: str) -> None:
    assert procedure_from_bytes(small.encode(), Path("kept.yaml")) == read(small)
    assert procedure_from_bytes(b"\xef\xbb\xbf" + small.replace("\n", "\r\n").encode(), Path("kept.yaml"))


class TestFiles:
    def test_missing(self, tmp_path: Path) -> None:
        assert refusal(tmp_path / "none.yaml").startswith("1:1: there is no such file")

    def test_folder(self, tmp_path: Path) -> None:
        assert refusal(tmp_path).startswith("1:1: is a folder")

    def test_pipe(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe.yaml")
        assert refusal(tmp_path / "pipe.yaml").startswith("1:1: is not a plain file")

    def test_name_too_long(self, tmp_path: Path) -> None:
        assert refusal(tmp_path / ("x" * 300)).startswith("1:1: cannot be read (File name too long)")

    @pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
    def test_forbidden(self, tmp_path: Path) -> None:
        path = tmp_path / "secret.yaml"
        path.touch(mode=0o000)
        assert refusal(path).startswith("1:1: cannot be read (Permission denied)")

    @pytest.mark.parametrize("content", [b"", b"\n\n", b"# only a comment\n", b"---\n"])
    def test_empty(self, tmp_path: Path, content: bytes) -> None:
        path = tmp_path / "empty.yaml"
        path.write_bytes(content)
        assert "is empty" in refusal(path) or "is no procedure" in refusal(path)

    def test_huge(self, tmp_path: Path) -> None:
        path = tmp_path / "huge.yaml"
        path.write_bytes(b"x" * (LARGEST + 1))
        assert refusal(path).startswith("1:1: is larger than 1000 kB")

    def test_binary(self, tmp_path: Path) -> None:
        path = tmp_path / "binary.yaml"
        path.write_bytes(b"title: x\n  \x00\x01\x02")
        assert refusal(path).startswith("2:3: is not text but a binary file")

    def test_not_utf_8(self, tmp_path: Path) -> None:
        path = tmp_path / "latin.yaml"
        path.write_bytes("title: x\nrevision: caf\xe9\n".encode("latin-1"))
        assert refusal(path).startswith("2:14: is not UTF-8 text")


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        ("title: [a, b", "1:13", "is not valid YAML"),
        ("title: 'a\n", "2:1", "is not valid YAML"),
        ("title: a: b\n", "1:9", "put text that contains ': ' in quotes"),
        ("title: a\n\trevision: b\n", "2:1", "indent with spaces, not tabs"),
        ("title: a\nsteps:\n- id: b\n act: c\n", "4:2", "is not valid YAML"),
        ("- a\n- b\n", "1:1", "is no procedure"),
        ("just words\n", "1:1", "is no procedure"),
        ("title: &a x\nrevision: *a\n", "1:8", "anchors and aliases (&a) are not used"),
        ("title: *a\n", "1:8", "is not valid YAML"),
        ("title: !!python/object:os.system x\n", "1:8", "tags (!!python/object:os.system) are not used"),
        ("title: !mine x\n", "1:8", "tags (!mine) are not used"),
        ("? [a, b]\n: c\n", "1:3", "a key must be a plain word"),
        ("title: a\n---\ntitle: b\n", "2:1", "keep one procedure in a file"),
        ("# old\n%YAML 1.1\n---\ntitle: a\n", "2:1", "directives such as %YAML are not used"),
        ("title: " + "[" * 50 + "]" * 50, "1:20", "is nested deeper than 12 levels"),
        ("title: " + "[" * 1_000, "1:1", "is nested deeper than 12 levels"),
    ],
)
def test_malformed_yaml_is_told_with_its_place(read: Read, text: str, where: str, words: str) -> None:
    with pytest.raises(ProcedureError) as caught:
        read(text)
    message = str(caught.value)
    assert f"small.yaml:{where}: " in message
    assert words in message
    assert "\n" not in message


@pytest.mark.parametrize(
    ("old", "new", "where", "words"),
    [
        (
            "title: Cover off and on",
            "title: 10",
            "1:8",
            "10 is a number where text is wanted; put it in quotes: '10'",
        ),
        ("title: Cover off and on", "title: true", "1:8", "true is true or false where text is wanted"),
        ("title: Cover off and on", "title:", "1:1", "title: has no value"),
        ("title: Cover off and on", 'title: " "', "1:8", "is empty"),
        ("title: Cover off and on", "titel: x", "1:1", "titel: unknown key; did you mean 'title'?"),
        ("title: Cover off and on\n", "", "1:1", "`title` is missing; add it"),
        ('revision: "1"', "revision: 1.10", "2:11", "put it in quotes"),
        ("[an invented engine]", "[]", "3:13", "is empty; it needs at least one entry"),
        ("[an invented engine]", "an engine", "3:13", "'an engine' is no list"),
        ("  new-ring: {", "  New Ring: {", "6:3", "'New Ring' is not usable; an id is lower-case words"),
        ("full_cure: 24 h", "full_cure: 1 month", "8:74", "duration '1 month' is not understood"),
        ("full_cure: 24 h", "full_cure: P1M", "8:74", "months and years have no fixed length"),
        ("source: battery", "source: batery", "12:13", "'batery' is not known here; did you mean 'battery'?"),
        ("unit: V", "unit: volts", "13:34", "write one of N·m, L/min"),
        ("at_most: 0.5", "at_most: .nan", "13:46", "is not a number"),
        ("at_most: 0.5", "at_most: low", "13:46", "'low' is not a number"),
        ("act: isolate", "act: 7", "21:10", "7 is not known here; write one of isolate"),
        (
            "    say: Battery off.\n    book: 1 min",
            "    say: Battery off.\n    book: 90",
            "23:11",
            "has no unit",
        ),
        (
            "    say: Battery off.\n    book: 1 min",
            "    say: Battery off.\n    book: 1:30",
            "23:11",
            "duration '1:30'",
        ),
        ("opens: [plug]", "opens: plug", "35:12", "'plug' is no list"),
        ("opens: [plug]", "opens: [plug, ]\n    opend: [plug]", "36:5", "did you mean 'opens'?"),
        ("torque: 22 N·m", "torque: 20 lbf·ft", "73:68", "is not in N·m; write '27.1 N·m'"),
        ("torque: 22 N·m", "torque: 22", "73:68", "torque 22 has no unit; write '22 N·m'"),
        ("torque: 22 N·m", "torque: [22]", "73:68", "a list is not usable here"),
        ("torque: 22 N·m", "stages: [20 N·m, 90]", "73:77", "torque 90 has no unit"),
        ("count: 6\n", "count: six\n", "84:12", "'six' is not a whole number"),
        ("count: 6\n", "count: 6.5\n", "84:12", "6.5 is not a whole number"),
        ("count: 6\n", "count: 1\n", "84:12", "1 is out of range; write at least 2"),
        ("count: 6\n", f"count: {'9' * 5000}\n", "84:12", "is not a"),
        ("{consumable: paste}", "paste", "60:14", "'paste' is no group of keys"),
        ("single_use: true", "single_use: maybe", "6:38", "'maybe' is neither true nor false"),
        (
            "thread: M8, hex: 13, count: 6}",
            "thread: 8 mm, hex: 13, count: 6}",
            "42:37",
            "a thread like 'M8'",
        ),
        ("thread: M8, hex: 13, count: 6}", "thread: M8, hex: -13, count: 6}", "42:46", "write mm like 10"),
    ],
)
def test_a_wrong_value_is_told_in_plain_words_with_its_place(
    faults_of: FaultsOf, old: str, new: str, where: str, words: str
) -> None:
    faults = faults_of((old, new))
    fitting = [fault for fault in faults if fault.startswith(f"{where}: ")]
    assert fitting, faults
    assert any(words in fault for fault in fitting), faults
    assert not any("pydantic" in fault or "Input should" in fault for fault in faults)


def test_all_faults_are_told_and_the_message_is_the_first(tmp_path: Path, small: str) -> None:
    path = tmp_path / "two.yaml"
    path.write_text(
        small.replace("title: Cover", "titel: Cover").replace("22 N·m", "22 Nmm"), encoding="utf-8"
    )
    with pytest.raises(ProcedureError) as caught:
        read_procedure(path)
    assert len(caught.value.faults) == 3
    assert str(caught.value) == f"{caught.value.faults[0]} (and 2 more)"
    lines = [int(fault.removeprefix(f"{path}:").split(":")[0]) for fault in caught.value.faults]
    assert lines == sorted(lines)


def test_yaml_1_2_keeps_what_older_yaml_would_change(read: Read, small: str) -> None:
    text = small.replace("say: Measure.", "say: no").replace("say: Wipe.", "say: 1:30")
    text = (
        text.replace("count: 6\n", "count: 010\n")
        .replace("Pump six times", "Pump ten times")
        .replace('revision: "1"', "revision: 2026-02-30")
    )
    procedure = read(text)
    assert procedure.step("prove").say == "no"
    assert procedure.step("wipe").say == "1:30"
    assert procedure.step("pump").count == 10
    assert procedure.revision == "2026-02-30"


def test_advice_is_given_with_its_place_and_is_no_fault(tmp_path: Path, small: str) -> None:
    path = tmp_path / "odd.yaml"
    path.write_text(small.replace("M8, hex: 13", "M8, hex: 17"), encoding="utf-8")
    _, advice = read_with_advice(path)
    assert str(advice[0]).startswith(f"{path}:42:46: step 'cover-off', fasteners 1, hex: 17 mm is odd on M8")
    path.write_text(small, encoding="utf-8")
    assert read_with_advice(path)[1] == ()


# Round trip: whatever the model can hold is written as YAML and comes back the same.

words = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Z"], exclude_characters="\ufeff"),
    min_size=1,
    max_size=20,
)
durations = st.integers(1, 10**6).map(lambda seconds: f"{seconds} s")
torques = st.integers(4, 16).map(lambda value: f"{value} N·m")
stages = st.lists(torques | st.integers(10, 180).map(lambda value: f"{value}°"), min_size=1, max_size=3)
measures = st.fixed_dictionaries(
    {"what": words, "unit": st.sampled_from(["V", "mm", "°C", "N·m", "%"])},
    optional={"at_least": st.floats(-1e6, 0), "at_most": st.floats(0, 1e6)},
)
fasteners = st.fixed_dictionaries(
    {"what": words, "stages": stages},
    optional={"thread": st.just("M12x1.5"), "hex": st.sampled_from([10, 13.0]), "count": st.integers(1, 200)},
)
hazards = st.fixed_dictionaries(
    {"signal": st.sampled_from(["DANGER", "WARNING", "CAUTION", "NOTICE"]), "hazard": words, "avoid": words}
)


@st.composite
def procedures(draw: st.DrawFn) -> dict[str, Any]:
    step = st.fixed_dictionaries(
        {"say": words, "book": durations, "act": st.sampled_from(["inspect", "clean", "verify", "fit"])},
        optional={
            "more": words,
            "where": words,
            "tools": st.lists(words, max_size=3),
            "fasteners": st.lists(fasteners, max_size=2),
            "hazards": st.lists(hazards, max_size=2),
            "measure": measures,
            "optional": words,
        },
    )
    steps = draw(st.lists(step, min_size=1, max_size=6))
    for number, one in enumerate(steps):
        one |= {"id": f"step-{number}", "state": "all is well"}
        if draw(st.booleans()):
            one["after"] = [f"step-{before}" for before in range(number) if draw(st.booleans())]
    front = {key: draw(words) for key in ("title", "revision", "source_of_torques")}
    return front | {"applies_to": draw(st.lists(words, min_size=1, max_size=2)), "steps": steps}


@settings(max_examples=60)
@given(procedures())
def test_what_is_written_as_yaml_comes_back_the_same(data: dict[str, Any]) -> None:
    stream = StringIO()
    yaml = YAML(typ="safe", pure=True)
    yaml.default_flow_style = (
        False  # in { } ruamel's emitter leaves ":0" and "?0" bare, which its parser refuses
    )
    yaml.dump(data, stream)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "round.yaml"
        path.write_text(stream.getvalue(), encoding="utf-8")
        assert read_kept_procedure(path) == Procedure.from_data(data)


@settings(max_examples=150)
@given(
    st.binary(max_size=200)
    | st.text(max_size=200).map(lambda text: f"title: {text}\nsteps: [{text}".encode())
)
def test_any_bytes_end_in_one_clear_line(content: bytes) -> None:
    with pytest.raises(ProcedureError) as caught:
        procedure_from_bytes(content, Path("any.yaml"))
    for line in (str(caught.value), *caught.value.faults):
        assert line.startswith("any.yaml:")
        assert line.isprintable()
