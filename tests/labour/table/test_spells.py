"""Who was there, from when to when: sums that a payroll may rest on."""

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.labour.answers.presence import as_csv, person_days
from companion.labour.table.collect import collect
from companion.labour.table.hours import Hours
from companion.labour.table.spells import Doing, Spell, by_day, in_one_place, spells
from companion.logbook.jobs import timed
from tests.labour.conftest import LogWriter

Write = Callable[..., Any]
WEEK = "Mon-Fri 08:00-12:00 13:00-17:00"


def parts(found: list[Spell]) -> dict[Doing, float]:
    told: dict[Doing, float] = {}
    for spell in found:
        told[spell.doing] = told.get(spell.doing, 0.0) + spell.end - spell.begin
    return told


def test_each_part_of_a_day(write_log: Write) -> None:
    log = write_log().after(30).begin("a").after(600).add("job_held", because="phone").after(120)
    log.add("job_carried_on").after(60).done("a").after(15).begin("cure", act="wait").after(300).done("cure")
    log.after(5).add("session_ended").after(9999).add("session_started", boot="one").after(40)
    log.add("session_ended")
    assert parts(list(spells(log.records))) == {
        Doing.BETWEEN: 30 + 15 + 5 + 40,
        Doing.ACTIVE: 660,
        Doing.INTERRUPTED: 120,
        Doing.WAITING: 300,
    }


def test_whoever_goes_on_has_the_hours_from_then(write_log: Write) -> None:
    log = write_log(mechanic="Ana").begin("a").after(600).add("session_ended")
    log.add("session_started", boot="one", mechanic="Ben").after(900).done("a").add("session_ended")
    log.add("session_started", boot="one").after(60).add("session_ended")
    told: dict[str, float] = {}
    for spell in spells(log.records):
        told[spell.person] = told.get(spell.person, 0) + spell.end - spell.begin
    assert told == {"Ana": 600, "Ben": 960}


def test_a_companion_that_died_was_there_until_its_last_word(write_log: Write) -> None:
    log = write_log().begin("a").after(600).add("heard", command="what size").reboot(5000)
    log.add("session_started", boot="two", away_s=5000).after(60).done("a").add("session_ended")
    assert parts(list(spells(log.records)))[Doing.ACTIVE] == 660
    without_talk = [record for record in log.records if record.event.event != "heard"]
    assert parts(list(spells(without_talk)))[Doing.ACTIVE] == 660


def test_what_is_written_at_the_desk_is_nobody_at_the_car(write_log: Write) -> None:
    log = write_log().begin("a").after(600).add("heard", command="what size").after(3600)
    due = log.wall.isoformat()
    log.add(
        "deadline_set",
        deadline="part:plug",
        kind="part expected",
        what="Plug.",
        due=due,
        priority=0,
        desk=True,
    )
    log.reboot(10).add("session_started", boot="two", away_s=3610).add("session_ended")
    told = parts(list(spells(log.records)))
    assert (told.pop(Doing.ACTIVE), sum(told.values())) == (600, 0)


def test_a_night_is_nobodys_time(write_log: Write) -> None:
    log = write_log().after(8 * 3600).begin("a").after(17 * 3600).done("a").add("session_ended")
    hours = Hours.parse(WEEK)
    assert sum(s.end - s.begin for s in spells(log.records, hours)) == (8 + 2) * 3600, "from four till nine"
    assert sum(s.end - s.begin for s in spells(log.records)) == 25 * 3600


def test_a_clock_that_is_set_makes_no_day_longer(write_log: Write) -> None:
    log = write_log().begin("a").after(600)
    log.wall = log.wall.replace(hour=20)
    log.add("clock_moved", by_s=3600.0).after(600).done("a").add("session_ended")
    (begin, _), *_, (_, end) = [(s.begin, s.end) for s in spells(log.records)]
    assert end - begin == 1200
    assert end == log.wall.timestamp()


def test_two_jobs_at_once_count_once_as_what_counts_most() -> None:
    one = [Spell("Ana", 0, 100, Doing.WAITING), Spell("Ana", 100, 150, Doing.BETWEEN)]
    other = [Spell(" ana", 50, 120, Doing.ACTIVE), Spell("Ben", 50, 120, Doing.ACTIVE)]
    found = list(in_one_place([*one, *other]))
    assert [(s.begin, s.end, s.doing) for s in found if s.person == "Ana"] == [
        (0, 50, Doing.WAITING),
        (50, 100, Doing.ACTIVE),
        (100, 120, Doing.ACTIVE),
        (120, 150, Doing.BETWEEN),
    ]
    assert parts([s for s in found if s.person == "Ben"]) == {Doing.ACTIVE: 70}


MOVES = st.lists(
    st.tuples(
        st.sampled_from(["begin", "wait", "done", "hold", "go on", "leave", "die", "talk", "other"]),
        st.integers(0, 20_000),
    ),
    max_size=25,
)


def played(folder: Path, name: str, moves: list[tuple[str, int]], day: int, mechanic: str) -> float:
    """A log of these moves; returns for how long somebody was there, counted apart."""
    log, present, nth, held = LogWriter(folder, name, day=day, mechanic=mechanic), 0.0, 0, False
    running = ""
    for move, seconds in moves:
        log.after(seconds)
        present += seconds
        match move:
            case "begin" | "wait" if not held:
                nth += 1
                running = f"step-{nth}"
                log.begin(running, act="wait" if move == "wait" else "fit")
            case "done" if running and not held:
                log.done(running)
                running = ""
            case "hold":
                log.add("job_held", because="phone")
                held = True
            case "go on":
                log.add("job_carried_on")
                held = False
            case "leave" | "other":
                log.add("session_ended").after(seconds)
                who = {"mechanic": "Ben"} if move == "other" else {}
                log.add("session_started", boot="one", **who)
            case "die":
                log.add("heard", command="repeat").reboot(seconds)
                log.add("session_started", boot=f"boot-{nth}", away_s=float(seconds))
            case _:
                log.add("heard", command="repeat")
    log.add("session_ended")
    return present


@given(st.lists(MOVES, min_size=1, max_size=3))
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_sums_are_those_of_the_logs(tmp_path_factory: pytest.TempPathFactory, jobs: list[Any]) -> None:
    folder = tmp_path_factory.mktemp("logs")
    # Each job weeks after the other, so that nobody is in two places.
    present = sum(played(folder, f"job-{n}", moves, 30 * n, "Ana") for n, moves in enumerate(jobs))
    found: list[Spell] = []
    for path in sorted(folder.glob("*.jsonl")):
        found += spells(timed(path))
    apart = list(in_one_place(found))
    assert sum(s.end - s.begin for s in apart) == pytest.approx(present, abs=1e-3)
    days = list(by_day(apart))
    assert sum(s.end - s.begin for _, s in days) == pytest.approx(present, abs=1e-3)
    for one, other in pairwise(sorted((s for s in apart if s.person == "Ana"), key=lambda s: s.begin)):
        assert one.end <= other.begin
    rows = person_days(found)
    assert len({(row.person, row.day) for row in rows}) == len(rows)
    for row in rows:
        assert row.present_h == row.active_h + row.waiting_h + row.interrupted_h + row.between_h
        assert row.present_h <= 25
    assert float(sum(row.present_h for row in rows)) == pytest.approx(
        present / 3600, abs=0.02 * len(rows) + 1e-9
    )
    assert len(as_csv(rows).splitlines()) == 1 + len(rows)
    with collect(folder) as table:
        for labour, doing in ((True, Doing.ACTIVE), (False, Doing.WAITING)):
            (told,) = table.query(
                f"SELECT coalesce(sum(active_s), 0) AS s FROM steps WHERE labour = {labour}"
            )
            assert parts(found).get(doing, 0.0) == pytest.approx(told["s"], abs=1e-3), (
                "as the step table has it"
            )
