"""`companion demo`, then the commands that it is for."""

import json
from pathlib import Path

HERE = Path(__file__).parents[3]


def test_the_demo_gives_the_other_commands_something_to_tell(companion):
    made = companion("demo", "shop", "--procedures", HERE / "procedures", "--jobs", 3)
    assert made.stdout == "3 invented jobs written to shop\n", made.stderr
    times = companion("times", "--logs", "shop")
    assert times.stdout.count("minutes of active time, one job") == 3, times.stderr
    jobs = map(json.loads, companion("jobs", "--logs", "shop", "--json").stdout.splitlines())
    assert [job["state"] for job in jobs] == ["open", "closed", "closed"], "the last one is not done"


def test_what_makes_no_sense_is_refused_in_one_line(companion):
    for wrong, says in (
        (("--jobs", 0), "--jobs 0 cannot be made; give 1 to 2000"),
        (("--seed", -1), "--seed -1 makes no sense; give 0 or more"),
        ((), "procedures: holds no procedure (*.yaml); name a folder of them with --procedures"),
    ):
        told = companion("demo", "shop", *wrong)
        assert told.returncode == 2
        assert told.stderr.startswith(f"companion: {says}")
        assert told.stderr.count("\n") == 1
