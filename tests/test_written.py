"""The pages that are made from the program are up to date, and what they show works as shown."""

import csv
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
from click.testing import CliRunner

from companion.cli import COMMANDS, group
from companion.job.facts.events import AnyEvent
from companion.procedure.read import procedure_from_bytes
from tests.job.conftest import Mechanic
from tests.written import logs, procedures, slips
from tests.written.exports import EXPORTS, QUOTE_CSV, Export
from tests.written.pages import PAGES, ROOT, filled
from tests.written.sentences import about, unexplained

PROCEDURES = (ROOT / "procedures/README.md").read_text("utf-8")
EXAMPLES = procedures.yaml_in(PROCEDURES)


@pytest.mark.parametrize("page", PAGES)
def test_a_page_is_up_to_date(page: str) -> None:
    text = (ROOT / page).read_text("utf-8")
    assert filled(page, text) == text, f"{page} is out of date: run python -m tests.written"


def test_an_outdated_page_is_noticed() -> None:
    older = PROCEDURES.replace("| `bag` | words |", "| `box` | words |")
    assert older != PROCEDURES
    assert filled("procedures/README.md", older) == PROCEDURES


def test_every_key_and_word_of_a_procedure_has_its_sentence() -> None:
    assert unexplained(procedures.models(), procedures.enums()) == []


def test_every_key_of_a_procedure_has_an_example_or_leads_to_one() -> None:
    found = procedures.examples(PROCEDURES)
    fields = [(model, key) for model in procedures.models() for key in procedures.keys(model)]
    without = [field for model, field in fields if (model, field) not in found]
    assert set(without) <= {"steps", "book_estimated", "cautions", "consumables", "energy", "items", "review"}


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "tests/benchmarks/README.md", *PAGES])
def test_a_page_names_only_files_that_are_there(page: str) -> None:
    named = re.findall(r"`((?:[a-z_]+/)+[a-z_-]+\.[a-z]+)`", (ROOT / page).read_text("utf-8"))
    places = (ROOT, ROOT / "companion", (ROOT / page).parent)
    assert [name for name in named if not any((place / name).exists() for place in places)] == []


@pytest.mark.parametrize("text", EXAMPLES[:3], ids=["the smallest", "forty lines", "all of it"])
def test_an_example_passes_the_check(text: str, tmp_path: Path) -> None:
    path = tmp_path / "example.yaml"
    path.write_text(text, "utf-8")
    result = CliRunner().invoke(group, ["check", "--strict", str(path)])
    assert (result.exit_code, "no fault, 0 pieces of advice" in result.output) == (0, True), result.output


def test_the_example_with_questions_leaves_nothing_else_open(tmp_path: Path) -> None:
    path = tmp_path / "example.yaml"
    path.write_text(EXAMPLES[3], "utf-8")
    result = CliRunner().invoke(group, ["check", str(path)])
    assert result.exit_code == 0, result.output
    *found, summary = result.output.splitlines()
    assert [line.rsplit("[", 1)[1] for line in found] == ["open-question]", "dangerous-question]"]
    assert "no fault, 2 pieces of advice" in summary


@pytest.mark.parametrize("text", EXAMPLES, ids=["the smallest", "forty lines", "all of it", "with questions"])
def test_an_example_can_be_worked_to_its_end(text: str) -> None:
    mechanic = Mechanic(procedure_from_bytes(text.encode(), Path("example.yaml")))
    mechanic.works_to_its_end(200)


@pytest.mark.parametrize("slip", slips.SLIPS, ids=[name for name, *_ in slips.SLIPS])
def test_a_usual_mistake_is_found(slip: tuple[str, str, str]) -> None:
    _, before, after = slip
    assert slips.said_of(EXAMPLES[0].replace(before, after)) != "no fault"


def test_every_field_of_an_event_has_its_sentence() -> None:
    kinds = [kind for kinds in logs.topics().values() for kind in kinds]
    assert {kind.__name__ for kind in kinds} == {kind.__name__ for kind in get_args(get_args(AnyEvent)[0])}
    assert [kind.__name__ for kind in kinds if not about(kind)] == []
    assert [
        (kind.__name__, f) for kind in kinds for f, words in logs.fields_of(kind).items() if not words
    ] == []


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo logs where something may be written beside them, with a quote that was kept."""
    folder = tmp_path_factory.mktemp("logs") / "demo"
    shutil.copytree(ROOT / "logs/demo", folder)
    log = folder / "2031-03-10-sump-reseal-1.jsonl"
    last = json.loads(log.read_text("utf-8").splitlines()[-1])
    quote = {"event": "quote_kept", "confidence": 0.8, "quoted_s": 9000.0, "mean_s": 8000.0}
    kept = {key: last[key] for key in ("schema", "seq", "at", "mono")} | quote | {"seq": last["seq"] + 1}
    with log.open("a", encoding="utf-8") as file:
        file.write(f"{json.dumps(kept)}\n")
    return folder


@pytest.mark.parametrize("export", EXPORTS, ids=lambda export: export.command.split()[0])
def test_an_export_holds_what_the_page_says(export: Export, demo: Path) -> None:
    printed = run(export, demo).splitlines()
    keys = {key for line in printed for key in keys_in(json.loads(line))}
    assert keys == set(export.keys)


def test_the_csv_holds_what_the_page_says(demo: Path, tmp_path: Path) -> None:
    file = tmp_path / "quote.csv"
    run(QUOTE_CSV, demo, FILE=str(file))
    heads, *rows = csv.reader(file.read_text("utf-8").splitlines())
    assert heads == list(QUOTE_CSV.keys)
    assert {row[0] for row in rows} == {"step", "labour", "total"}


def run(export: Export, logs: Path, **names: str) -> str:
    words = [names.get(word, word) for word in export.command.split()]
    words = [str(ROOT / word) if word.endswith(".yaml") else word for word in words]
    result = CliRunner().invoke(group, [*words, "--logs", str(logs)])
    assert result.exit_code == 0, result.output
    return result.output


def keys_in(data: dict[str, Any], within: str = "") -> Iterator[str]:
    """ "a.b" for b in each a of a list, "a.*.b" where the keys of a are names."""
    for key, value in data.items():
        name = f"{within}{key}"
        yield name
        if isinstance(value, list):
            yield from (inner for one in value if isinstance(one, dict) for inner in keys_in(one, f"{name}."))
        elif isinstance(value, dict) and all(isinstance(one, dict) for one in value.values()):
            yield from (inner for one in value.values() for inner in keys_in(one, f"{name}.*."))


def test_the_readme_can_be_read_in_one_go() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    assert len(text.split()) <= 900
    shown = re.findall(r"^### .*|^- \*\*", text, re.MULTILINE)
    assert len([line for line in shown if line.startswith("- **")]) == 5, "five figures"


def test_the_readme_names_every_command() -> None:
    named = set(re.findall(r"`(\w+)`", (ROOT / "README.md").read_text("utf-8")))
    assert set(COMMANDS) - named == {"completion"}


def test_the_two_commands_of_the_readme_fail_apart() -> None:
    first, second = re.findall(
        r"^python3 -m venv (\S+) && .*$", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE
    )
    assert first != second
