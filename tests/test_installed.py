"""What pip builds is whole: installed without the clone, it works from any folder."""

import os
import shutil
import zipfile
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

import pytest

from tests.helpers.programs import PYTHON, run

ROOT = Path(__file__).parents[1]
BUILDS = 77
"""The setuptools that `pyproject.toml` asks for; here it must be there already, since nothing is fetched."""


def setuptools() -> int:
    try:
        return int(metadata.version("setuptools").partition(".")[0])
    except metadata.PackageNotFoundError:
        return 0


pytestmark = pytest.mark.skipif(setuptools() < BUILDS, reason=f"needs setuptools {BUILDS} to build with")


@dataclass(frozen=True)
class Installed:
    """The program by itself, and the wheel that it came in."""

    wheel: Path
    place: Path

    def runs(self, *words: str, typed: str = "", folder: Path) -> str:
        """What it writes, when it ends well."""
        env = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
        script = [PYTHON, self.place / "bin" / "companion", *words]
        done = run(*script, typed=typed, folder=folder, env={**env, "PYTHONPATH": str(self.place)})
        assert done.returncode == 0, done.stderr
        return str(done.stdout)


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Installed:
    folder = tmp_path_factory.mktemp("wheel")
    clone = folder / "clone"
    ignored = shutil.ignore_patterns("__pycache__", "*.egg-info")
    for part in ("companion", "procedures"):
        shutil.copytree(ROOT / part, clone / part, ignore=ignored)
    for part in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / part, clone)
    pip = (PYTHON, "-m", "pip", "--quiet", "--disable-pip-version-check")
    built = run(*pip, "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", folder, clone)
    assert built.returncode == 0, built.stderr
    (wheel,) = folder.glob("*.whl")
    shutil.rmtree(clone)
    done = run(*pip, "install", "--no-deps", "--no-index", "--target", folder / "place", wheel)
    assert done.returncode == 0, done.stderr
    return Installed(wheel, folder / "place")


def test_all_that_lies_beside_the_code_comes_along(installed):
    """Weights, phrases, tables: whatever is in `companion/`, and the procedures."""
    within = [path for path in (ROOT / "companion").rglob("*") if path.is_file()]
    wanted = {path.relative_to(ROOT).as_posix() for path in within if path.parent.name != "__pycache__"}
    wanted |= {f"companion/examples/{path.name}" for path in (ROOT / "procedures").glob("*.yaml")}
    assert wanted - set(zipfile.ZipFile(installed.wheel).namelist()) == set()


def test_it_works_from_any_folder(installed, tmp_path):
    assert "Talk a mechanic through a job" in installed.runs("--help", folder=tmp_path)
    assert "Sump reseal" in installed.runs("check", "sump-reseal", folder=tmp_path)
    typed = "yes\nyes\nwhat is open\n"
    shown = installed.runs("work", "front-brakes", "--keys", "--quiet", typed=typed, folder=tmp_path)
    assert "Left at step 1 of 44" in shown
    assert "front-brake-overhaul" in installed.runs("jobs", folder=tmp_path)
