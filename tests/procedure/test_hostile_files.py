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


@pytest.mark.parametrize("wait", ["99999999999 days", f"{'9' * 320} s", f"PT{'9' * 320}H", "3661 days"])
def test_a_wait_beyond_all_sense_is_one_line(tmp_path, wait):
    path = tmp_path / "job.yaml"
    path.write_text(f"steps:\n  - {{id: a, act: wait, say: Wait., book: 1 min, wait: {wait}}}\n")
    with pytest.raises(ProcedureError) as caught:
        read_procedure(path)
    (line,) = [fault for fault in caught.value.faults if "is longer than 3660 days" in fault]
    assert len(line) < 300


@pytest.mark.parametrize("torque", [f"{'9' * 400} N·m", "1e400 N·m", f"{'9' * 400}°", "12000 N·m", "2000°"])
def test_a_torque_beyond_all_sense_is_one_line(tmp_path, torque):
    path = tmp_path / "job.yaml"
    fastener = f"{{what: bolt, stages: [{torque}]}}"
    path.write_text(f"steps:\n  - {{id: a, act: tighten, say: T., book: 1 min, fasteners: [{fastener}]}}\n")
    with pytest.raises(ProcedureError) as caught:
        read_procedure(path)
    assert any("stages 1" in fault and "9999" not in fault for fault in caught.value.faults)
    assert all("\n" not in fault for fault in caught.value.faults)


def test_more_entries_than_any_procedure_has_are_one_line_and_not_a_fault_each(tmp_path):
    path = tmp_path / "job.yaml"
    path.write_bytes(b"steps:\n" + b"".join(b" - {x%d: 1}\n" % n for n in range(30_000)))
    with pytest.raises(ProcedureError) as caught:
        read_procedure(path)
    (line,) = caught.value.faults
    assert "has more than 20,000 entries" in line
