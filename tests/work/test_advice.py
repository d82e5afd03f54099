"""A job that is begun has in its log what the check found odd in its procedure."""

from pathlib import Path

import pytest

from companion.errors import ProcedureError
from companion.work.edges.clock import SystemClock
from companion.work.opening import Particulars, new_job

SUMP = Path(__file__).parents[2] / "procedures" / "sump-reseal.yaml"


def begun(folder: Path, *changes: tuple[str, str]):
    text = SUMP.read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (folder / "sump.yaml").write_text(text, "utf-8")
    job = new_job(folder / "sump.yaml", folder / "logs", Particulars(), SystemClock())
    job.logbook.close()
    return job.particulars


def test_what_is_odd_is_in_the_log_and_asked_about(tmp_path):
    (odd,) = begun(tmp_path, ("  - sealant cutter\n", "")).advice
    assert odd == "step 'part-sump', tools 1: 'sealant cutter' is not among the `tools` of the job; add it"


def test_a_correct_procedure_has_nothing_to_be_understood(tmp_path):
    assert begun(tmp_path).advice == ()


def test_what_may_hurt_someone_begins_no_job(tmp_path):
    with pytest.raises(ProcedureError, match="'10 N·m' is said, and the torque"):
        begun(tmp_path, ("hex: 10, torque: 10 N·m", "hex: 10, torque: 14 N·m"))
