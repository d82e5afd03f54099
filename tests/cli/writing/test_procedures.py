"""Procedures are found by name from any folder: here, among one's own, among those that come along."""

import json
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
SHIPPED = ["coolant-pump", "front-brakes", "sump-reseal"]


@pytest.fixture
def own(tmp_path, monkeypatch):
    """The user's own folder."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    folder = tmp_path / "data/bonnet-companion/procedures"
    folder.mkdir(parents=True)
    return folder


def listed(companion):
    result = companion("procedures", "--json")
    assert result.returncode == 0, result.stderr
    return {book["name"]: book for book in map(json.loads, result.stdout.splitlines())}


def test_part_of_a_name_is_enough_from_any_folder(companion, own):
    assert [*listed(companion)] == SHIPPED
    assert "Sump reseal" in companion("check", "sump").stdout
    assert "Front brake overhaul" in companion("check", "brake overhaul").stdout


@pytest.mark.parametrize(
    "command", [("quote", "sump", "--confidence", "80"), ("plan", "sump"), ("phrases", "--procedure", "sump")]
)
def test_every_command_finds_it(companion, own, command):
    result = companion(*command)
    assert result.returncode == 0, result.stderr


def test_ones_own_is_taken_before_what_comes_along_and_what_lies_here_before_both(companion, own, tmp_path):
    text = (ROOT / "procedures/sump-reseal.yaml").read_text("utf-8")
    (own / "sump-reseal.yaml").write_text(text.replace("title: Sump reseal", "title: My sump"))
    assert listed(companion)["sump-reseal"]["title"] == "My sump"
    (tmp_path / "procedures").mkdir()
    (tmp_path / "procedures/sump-reseal.yaml").write_text(text.replace("Sump reseal", "This sump"))
    assert listed(companion)["sump-reseal"] == {
        "name": "sump-reseal",
        "title": "This sump",
        "whose": "here",
        "file": "procedures/sump-reseal.yaml",
    }
    assert "This sump" in companion("check", "sump-reseal").stdout


def test_a_name_that_fits_several_starts_none_of_them(companion, own):
    shutil.copy(ROOT / "procedures/sump-reseal.yaml", own / "sump-plug.yaml")
    result = companion("work", "sump", "--keys")
    assert result.returncode == 2
    assert result.stderr.strip() == (
        "companion: 'sump' fits 2 procedures: sump-plug, sump-reseal; give one of these names"
    )
    assert "Sump reseal" in companion("check", "sump-plug").stdout, "its whole name is clear"


@pytest.mark.parametrize("name", ["gearbox", "frnt-brakes", "   ", "\x1b[2J", "a\nb", "a", "rake"])
def test_an_unknown_name_is_one_line_with_all_there_is(companion, own, name):
    result = companion("work", name, "--keys")
    assert result.returncode == 2
    (line,) = result.stderr.splitlines()
    assert line.endswith("there are: coolant-pump, front-brakes, sump-reseal")
    assert ("did you mean 'front-brakes'?" in line) == (name == "frnt-brakes")
    assert "\x1b" not in line


def test_a_file_is_taken_as_it_is_named(companion, own):
    result = companion("check", "sump.yaml")
    assert result.returncode == 2
    assert "sump.yaml:1:1: there is no such file" in result.stdout


def test_what_cannot_be_read_is_passed_over_in_the_list(companion, own):
    (own / "pictures.yaml").mkdir()
    (own / ".draft.yaml").write_text("title: hidden")
    (own / "odd.yaml").write_bytes(b"\xff\xfe\x00")
    assert [*listed(companion)] == ["odd", *SHIPPED]


def test_the_procedures_come_along_in_what_is_installed(tmp_path):
    """Built as pip builds it, with whatever setuptools is here; a newer one may be fetched by pip itself."""
    pytest.importorskip("setuptools")
    source = tmp_path / "source"
    shutil.copytree(ROOT / "procedures", source / "procedures")
    (source / "companion").mkdir()
    (source / "companion/__init__.py").write_text("")
    (source / "pyproject.toml").write_text(
        '[project]\nname = "x"\nversion = "1"\n[tool.setuptools]\npackages = ["companion"]\n'
        '[tool.setuptools.cmdclass]\nbuild_py = "procedures.wheel.WithExamples"\n'
    )
    setup = [sys.executable, "-c", "import setuptools; setuptools.setup()", "-q"]
    built = [*setup, "build", "--build-lib", str(tmp_path / "lib")]
    subprocess.run(built, cwd=source, check=True, timeout=120)
    examples = tmp_path / "lib/companion/examples"
    assert sorted(path.stem for path in examples.iterdir()) == SHIPPED
    archive = [*setup, "sdist", "--formats=zip", "-d", str(tmp_path / "dist")]
    subprocess.run(archive, cwd=source, check=True, timeout=120)
    (packed,) = (tmp_path / "dist").iterdir()
    names = zipfile.ZipFile(packed).namelist()
    assert sorted(name.split("/", 1)[1] for name in names if name.endswith(".yaml")) == [
        f"procedures/{name}.yaml" for name in SHIPPED
    ]
