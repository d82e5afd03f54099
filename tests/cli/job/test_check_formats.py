"""What `companion check` finds, as lines, as JSON, as SARIF, and the page of each code."""

import json
from pathlib import Path

import pytest

SUMP = Path(__file__).parents[3] / "procedures" / "sump-reseal.yaml"


@pytest.fixture
def spoilt(tmp_path: Path) -> Path:
    text = SUMP.read_text("utf-8")
    for old, new in (("closes: [drain-hole]\n", "closes: []\n"), ("hex: 19, torque", "hex: 18, torque")):
        assert text.count(old) == 1
        text = text.replace(old, new)
    (tmp_path / "spoilt job.yaml").write_text(text, "utf-8")
    return tmp_path / "spoilt job.yaml"


def test_each_line_has_its_place_and_its_code(companion, spoilt):
    result = companion("check", "spoilt job.yaml")
    assert result.returncode == 2
    lines = result.stdout.splitlines()
    assert all(line.startswith("spoilt job.yaml:") and line.endswith("]") for line in lines)
    assert any(
        "opens it, but no later step closes it" in line and "[never-settled]" in line for line in lines
    )
    assert "--explain CODE" in result.stderr


def test_json_has_the_same(companion, spoilt):
    result = companion("check", "--format", "json", "spoilt job.yaml", str(SUMP))
    assert result.returncode == 2
    first, second = json.loads(result.stdout)
    assert (second["errors"], second["advice"], second["findings"]) == (0, 0, [])
    assert first["errors"] == len([one for one in first["findings"] if one["severity"] == "error"]) > 0
    for one in first["findings"]:
        assert {"file", "line", "column", "code", "severity", "where", "message"} == set(one)


def test_sarif_places_each_result_and_explains_each_rule(companion, spoilt):
    """By structure: the properties that SARIF 2.1.0 requires, its levels and its indices (from memory)."""
    result = companion("check", "--format", "sarif", "spoilt job.yaml")
    log = json.loads(result.stdout)
    assert log["version"] == "2.1.0"
    (run,) = log["runs"]
    rules = run["tool"]["driver"]["rules"]
    assert run["tool"]["driver"]["name"]
    assert run["results"]
    for one in run["results"]:
        assert rules[one["ruleIndex"]]["id"] == one["ruleId"]
        assert one["level"] in ("error", "warning", "note", "none")
        assert one["message"]["text"]
        place = one["locations"][0]["physicalLocation"]
        assert place["artifactLocation"]["uri"] == "spoilt%20job.yaml"
        assert place["region"]["startLine"] >= 1
        assert place["region"]["startColumn"] >= 1
    for rule in rules:
        assert rule["shortDescription"]["text"]
        assert rule["defaultConfiguration"]["level"] in ("error", "warning")


def test_a_code_is_explained_and_all_are_listed(companion):
    page = companion("check", "--explain", "never-settled").stdout
    assert page.startswith("never-settled (error)\n")
    assert "Why: " in page
    assert "What to do: " in page
    listed = companion("check", "--explain", "all").stdout.splitlines()
    assert len(listed) > 50
    for line in listed[::10]:
        assert companion("check", "--explain", line.split()[0]).returncode == 0


def test_an_unknown_code_is_told_in_one_line(companion):
    result = companion("check", "--explain", "never-setled")
    assert result.returncode == 2
    assert result.stderr == "companion: there is no code 'never-setled'; did you mean 'never-settled'?\n"


def test_no_file_at_all(companion):
    result = companion("check")
    assert result.returncode == 2
    assert "Missing argument" in result.stderr
