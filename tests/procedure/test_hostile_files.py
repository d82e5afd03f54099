"""Procedure files that would do harm by what stands in them."""

import pytest

from companion.errors import ProcedureError
from companion.procedure.read import read_procedure


@pytest.mark.parametrize(
    "said",
    [
        r'"\e[2J\e[HALL SAFE, battery dead"',
        r'"\u202eDAED"',
        r'"off\b\b\bon"',
        r'"one\x9b2Jtwo"',
        r'"line\u2028two"',
    ],
)
def test_what_a_terminal_would_obey_is_refused_after_yaml_has_unescaped_it(tmp_path, said):
    path = tmp_path / "job.yaml"
    path.write_text(f"title: {said}\n")
    with pytest.raises(ProcedureError, match=r"job\.yaml:1:8: holds characters that cannot be shown"):
        read_procedure(path)


@pytest.mark.parametrize(
    "line", ["title: !!python/object:os.system {a: b}", "steps: !!set {a}", "tools: !x [a]"]
)
def test_tags_on_groups_and_lists_are_refused(tmp_path, line):
    path = tmp_path / "job.yaml"
    path.write_text(f"{line}\n")
    with pytest.raises(ProcedureError, match=r"tags \(.*\) are not used"):
        read_procedure(path)
