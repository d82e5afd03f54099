"""The smallest useful procedure of ten steps is forty lines; what it leaves out is guessed safely."""

from datetime import timedelta
from pathlib import Path

from click.testing import CliRunner

from companion.cli import group
from companion.procedure.read import procedure_from_bytes
from tests.written.pages import ROOT
from tests.written.procedures import yaml_in

SHORT = next(
    text
    for text in yaml_in((ROOT / "procedures/README.md").read_text("utf-8"))
    if "title: Drive belt" in text
)

TWO = "title: T\napplies_to: [v]\nsource_of_torques: s\nsteps:\n"


def test_ten_steps_are_forty_lines() -> None:
    procedure = procedure_from_bytes(SHORT.encode(), Path("short.yaml"))
    assert len(procedure.steps) >= 10
    assert len(SHORT.splitlines()) <= 40
    assert [*procedure.energy] == ["battery"]
    assert [*procedure.seals] == ["gasket"]
    assert any(f.torque for s in procedure.steps for f in s.fasteners)


def test_ids_are_made_of_the_words_and_are_the_same_each_time() -> None:
    one, other = (procedure_from_bytes(SHORT.encode(), Path("short.yaml")) for _ in range(2))
    ids = [step.id for step in one.steps]
    assert ids == [step.id for step in other.steps]
    assert len(set(ids)) == len(ids)
    assert ids[0] == "ignition-off"


def test_a_second_step_of_the_same_words_has_a_number() -> None:
    text = TWO + 2 * "  - {act: clean, say: Wipe it dry.}\n"
    steps = procedure_from_bytes(text.encode(), Path("short.yaml")).steps
    assert [step.id for step in steps] == ["wipe-it-dry", "wipe-it-dry-2"]


def test_book_times_are_guessed_and_marked_so(tmp_path: Path) -> None:
    path = tmp_path / "short.yaml"
    path.write_text(SHORT, "utf-8")
    steps = procedure_from_bytes(SHORT.encode(), path).steps
    assert all(step.book_estimated and step.book >= timedelta(minutes=1) for step in steps)
    assert f"{len(steps)} book times guessed" in CliRunner().invoke(group, ["check", str(path)]).output
    quoted = CliRunner().invoke(group, ["quote", str(path), "--logs", str(tmp_path), "--steps"]).output
    assert f"The book times of {len(steps)} steps are guessed" in " ".join(quoted.split())
    assert "≈" in quoted


def test_a_book_time_that_is_written_is_not_marked() -> None:
    text = SHORT.replace("act: clean,", "act: clean, book: 7 min,")
    (step,) = [s for s in procedure_from_bytes(text.encode(), Path("x.yaml")).steps if s.act == "clean"]
    assert (step.book, step.book_estimated) == (timedelta(minutes=7), False)


def test_more_fasteners_take_longer() -> None:
    text = TWO + "".join(
        f"  - {{act: tighten, say: Tighten {n}., fasteners: '{n} × M6 hex 10, 8 N·m'}}\n" for n in (2, 20)
    )
    few, many = procedure_from_bytes(text.encode(), Path("x.yaml")).steps
    assert many.book > few.book
