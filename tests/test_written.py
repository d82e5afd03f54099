"""The pages that are made from the program are up to date, and what they show works as shown."""

from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import group
from companion.procedure.read import procedure_from_bytes
from companion.rehearsal.obliging import next_answer
from tests.job.conftest import Mechanic
from tests.written import procedures
from tests.written.pages import PAGES, ROOT, filled
from tests.written.sentences import unexplained

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
    fields = [(model, field) for model in procedures.models() for field in model.model_fields]
    without = [field for model, field in fields if (model, field) not in found]
    assert set(without) <= {"steps", "cautions", "consumables", "energy", "items"}


@pytest.mark.parametrize("text", EXAMPLES, ids=["the smallest", "all of it"])
def test_an_example_passes_the_check(text: str, tmp_path: Path) -> None:
    path = tmp_path / "example.yaml"
    path.write_text(text, "utf-8")
    result = CliRunner().invoke(group, ["check", "--strict", str(path)])
    assert (result.exit_code, "no fault, 0 pieces of advice" in result.output) == (0, True), result.output


@pytest.mark.parametrize("text", EXAMPLES, ids=["the smallest", "all of it"])
def test_an_example_can_be_worked_to_its_end(text: str) -> None:
    mechanic = Mechanic(procedure_from_bytes(text.encode(), Path("example.yaml")))
    mechanic.opens()
    for _ in range(200):
        if mechanic.state.closed:
            break
        answer = next_answer(mechanic.state, mechanic.now.wall)
        if isinstance(answer, timedelta):
            mechanic.waits(seconds=answer.total_seconds())
        else:
            mechanic.post(answer)
    assert mechanic.state.closed


@pytest.mark.parametrize("slip", procedures.SLIPS, ids=[name for name, *_ in procedures.SLIPS])
def test_a_usual_mistake_is_found(slip: tuple[str, str, str]) -> None:
    _, before, after = slip
    assert procedures.said_of(EXAMPLES[0].replace(before, after)) != "no fault"
