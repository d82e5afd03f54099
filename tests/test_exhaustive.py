"""A case that is forgotten is found by mypy: shown by taking one out of a copy."""

import re
import shutil
import sys
from pathlib import Path

import pytest
from mypy import api

ROOT = Path(__file__).parents[1]
CASES = {
    "companion/job/facts/folding.py": ("case ev.NoteTaken():", "NoteTaken"),
    "companion/job/facts/folding_work.py": ("case ev.StageTakenBack():", "StageTakenBack"),
    "companion/job/decide.py": ("case msg.MicrophoneBack():", "MicrophoneBack"),
    "companion/job/obey.py": ("case Command.WHAT_IS_NEXT:", "Command.WHAT_IS_NEXT"),
    "companion/job/talk/answers.py": ("case q.Close():", "Close"),
    "companion/job/facts/said/log_map.py": ("case q.Proof():", "Proof"),
}
"""File -> a case of a match over events, messages, commands, questions; what mypy then finds unhandled."""


def without(text: str, case: str) -> str:
    """The text without that case and what it does."""
    found = re.search(rf"^( +){re.escape(case)}\n(?:\1 +.*\n)+", text, re.MULTILINE)
    assert found, f"there is no {case}"
    return text.replace(found[0], "", 1)


@pytest.fixture(scope="module")
def complaints(tmp_path_factory) -> str:
    """What mypy says of a copy of the house in which every one of these cases is missing."""
    house = tmp_path_factory.mktemp("house")
    shutil.copytree(ROOT / "companion", house / "companion", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", house)
    for path, (case, _) in CASES.items():
        text = (house / path).read_text(encoding="utf-8")
        (house / path).write_text(without(text, case), encoding="utf-8")
    modules = [f"-m{path.removesuffix('.py').replace('/', '.')}" for path in CASES]
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(house)
        patch.setenv("MYPYPATH", str(house))
        told, faults, _ = api.run(
            [*modules, f"--python-executable={sys.executable}", "--cache-dir=cache", "--no-error-summary"]
        )
    assert not faults
    return told


@pytest.mark.parametrize("path", CASES)
def test_a_forgotten_case_is_found(complaints, path):
    kind = CASES[path][1]
    found = [line for line in complaints.splitlines() if line.startswith(path)]
    assert [line for line in found if "assert_never" in line and kind in line], complaints


def test_nothing_else_is_found(complaints):
    assert len(complaints.splitlines()) == len(CASES), complaints
