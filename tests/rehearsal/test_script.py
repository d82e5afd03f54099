"""A script of the user's own: what it asks for, or one line on why not."""

from datetime import timedelta

import pytest

from companion.errors import ProcedureError
from companion.procedure.model import Procedure
from companion.procedure.read import procedure_from_bytes
from companion.rehearsal.script import Cue, read_script
from tests.rehearsal.test_rehearsal import SHORT


@pytest.fixture(scope="module")
def short() -> Procedure:
    return procedure_from_bytes(SHORT.read_bytes(), SHORT)


def test_each_entry_is_a_cue(tmp_path, short):
    path = tmp_path / "script.yaml"
    path.write_text("- {at: battery-off, say: 8:30}\n- at: plug-off\n  away: 15 h\n")
    assert read_script(path, short) == [
        Cue("battery-off", say="8:30"),
        Cue("plug-off", away=timedelta(hours=15)),
    ]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("at: battery-off", "is no list"),
        ("- at: [battery-off]\n  say: x", "there is no step"),
        ("- at: 2031-13-45\n  say: x", "there is no step '2031-13-45'"),
        ("- &a [x]\n- {at: battery-off, say: [*a, *a]}", "anchors and aliases"),
        ("- {at: battery-off, say: !!set {a}}", "tags"),
        ("- {at: battery-off, away: 9999999 days}", "longer than 3660 days"),
        ('- {at: battery-off, say: "\\e[2J"}', "cannot be shown"),
        ("- {at: battery-off, say: " + "x" * 1_000_000 + "}", "is larger than 1000 kB"),
        ("- " * 5000, "nested deeper"),
    ],
)
def test_what_cannot_be_one_is_told_in_a_line(tmp_path, short, text, told):
    path = tmp_path / "script.yaml"
    path.write_text(text)
    with pytest.raises(ProcedureError) as refused:
        read_script(path, short)
    assert told in str(refused.value)
    assert "\n" not in str(refused.value)
