"""The newcomer's path as `procedures/README.md` has it: from twelve lines to a job that is closed."""

import re
import shlex
from pathlib import Path

from companion.procedure.read import read_procedure
from tests.job.conftest import Mechanic

PAGE = (Path(__file__).parents[3] / "procedures/README.md").read_text("utf-8")
SECTION = PAGE.split("## From your own lines")[1].split("\n## ")[0]


def test_twelve_lines_become_a_job_that_is_worked_to_its_end(companion, tmp_path):
    (outline,) = re.findall(r"```text\n(.*?)```", SECTION, re.DOTALL)
    assert len(outline.splitlines()) == 12
    (tmp_path / "wiper.txt").write_text(outline, "utf-8")
    (commands,) = re.findall(r"```sh\n(.*?)```", SECTION, re.DOTALL)
    drafting, answering, checking, *_ = (shlex.split(line)[1:] for line in commands.splitlines())
    drafted = companion(*drafting)
    assert drafted.returncode == 0, drafted.stderr
    assert len(re.findall(r"^\d+\. ", drafted.stdout, re.MULTILINE)) == 3, "three questions"
    answered = companion(*answering)
    assert "every question is answered" in answered.stdout, answered.stderr
    checked = companion(*checking)
    assert checked.returncode == 0, checked.stdout
    mechanic = Mechanic(read_procedure(tmp_path / "wiper.yaml"))
    (steps,) = re.findall(r"The draft has (\d+) steps", SECTION)
    assert len(mechanic.procedure.steps) == int(steps)
    mechanic.works_to_its_end(200)


def test_a_draft_whose_torque_is_not_known_is_worked_too(companion, tmp_path):
    """The torque is asked for on the bench, read back and logged."""
    (tmp_path / "bracket.txt").write_text("bracket off, two M8 bolts 13 mm\n")
    assert companion("draft", "bracket.txt", "--for", "Marlow Tern").returncode == 0
    mechanic = Mechanic(read_procedure(tmp_path / "bracket.yaml"))
    mechanic.works_to_its_end(200)
    assert "ReadingTaken" in [type(event).__name__ for event, _ in mechanic.events]
