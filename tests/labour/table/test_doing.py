"""The times of a step outlive its wording; the shop has the last word."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from companion.job.facts.work_digest import work_digest
from companion.labour.model.fit import fit_title
from companion.labour.table.collect import collect
from companion.labour.table.shop import Pair, Shop, write_shop
from companion.labour.table.task import labour_of
from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure

Write = Callable[..., Any]
BRAKES = Path(__file__).parents[3] / "procedures" / "front-brakes.yaml"

FOUR_SCREWS = (
    ("hex: 10, count: 3", "hex: 10, count: 4"),
    ("Undo three screws", "Undo four screws"),
    ("Three screws, 9 N·m", "Four screws, 9 N·m"),
)
"""The left dust shield has one screw more."""


@pytest.fixture
def logged(write_log: Write, tmp_path: Path) -> Path:
    """Three jobs on the front brakes as they are worded today, each step at twice its book time."""
    kept = tmp_path / "procedures"
    kept.mkdir()
    (kept / "0123456789abcdef.yaml").write_bytes(BRAKES.read_bytes())
    procedure = read_procedure(BRAKES)
    for n in range(3):
        log = write_log(f"job-{n}", day=n, title=procedure.title)
        for step in procedure.steps:
            book_s = step.book.total_seconds()
            log.begin(step.id, work_digest(step), str(step.act), book_s).after(2 * book_s).done(step.id)
    return tmp_path


def reworded(tmp_path: Path, *changes: tuple[str, str]) -> Procedure:
    text = BRAKES.read_text(encoding="utf-8")
    for before, now in changes:
        assert before in text
        text = text.replace(before, now)
    path = tmp_path / "reworded.yaml"
    path.write_text(text, encoding="utf-8")
    return read_procedure(path)


def untimed(logs: Path, procedure: Procedure) -> list[str]:
    tasks = labour_of(procedure)
    with collect(logs, procedure) as table:
        fitted = fit_title(table, procedure.title, tasks)
    return [task.step for task in tasks if not fitted.step(task).basis.jobs]


def test_wheel_bolts_that_become_road_wheel_bolts_keep_their_times(logged: Path, tmp_path: Path) -> None:
    changed = reworded(tmp_path, ("wheel bolts", "road wheel bolts"))
    before = {(s.id, work_digest(s)) for s in read_procedure(BRAKES).steps}
    assert len({(s.id, work_digest(s)) for s in changed.steps} - before) >= 4, "new steps to the log"
    assert untimed(logged, changed) == []


def test_a_step_of_another_name_keeps_its_times(logged: Path, tmp_path: Path) -> None:
    changed = reworded(
        tmp_path, ("remove-wheels", "road-wheels-off"), ("what: carrier bolts", "what: bracket bolts")
    )
    assert untimed(logged, changed) == []
    with collect(logged, changed) as table:
        told = [str(pair) for pair in table.joined]
    assert "'remove-wheels' is now 'road-wheels-off'" in told


def test_torque_and_bag_are_not_what_is_done(logged: Path, tmp_path: Path) -> None:
    changed = reworded(tmp_path, ("105 N·m", "104 N·m"), ("bag: bag one", "bag: tray one"))
    assert untimed(logged, changed) == []


def test_another_count_is_other_work(logged: Path, tmp_path: Path) -> None:
    assert untimed(logged, reworded(tmp_path, *FOUR_SCREWS)) == ["remove-left-shield", "fit-left-shield"]


def test_the_shop_has_the_last_word(logged: Path, tmp_path: Path) -> None:
    changed = reworded(tmp_path, ("remove-wheels", "road-wheels-off"))
    pair = Pair(procedure=changed.title, before="remove-wheels", now="road-wheels-off")
    write_shop(logged, Shop(not_same=(pair,)))
    assert untimed(logged, changed) == ["road-wheels-off"]
    other = reworded(tmp_path, *FOUR_SCREWS)
    pairs = tuple(Pair(procedure=other.title, before=s, now=s) for s in untimed(logged, other))
    write_shop(logged, Shop(same=pairs))
    assert untimed(logged, other) == []
