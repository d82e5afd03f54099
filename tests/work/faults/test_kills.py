"""A short form of the kills at random instants; and the comparison itself is watched."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.benchmarks import kills
from tests.helpers.programs import PYTHON, run

LINE = '{"schema": 1, "seq": 1, "at": "2031-01-01T00:00:00Z", "mono": 1.0, "event": "said", "text": "Yes."}\n'


def test_nothing_shown_or_acknowledged_is_missing_from_the_log():
    """In a process of its own: it forks, which one with threads should not."""
    result = run(PYTHON, "-m", "tests.benchmarks.kills", "--kills", "12", folder=Path(__file__).parents[3])
    assert result.returncode == 0, result.stdout + result.stderr
    assert result.stdout.startswith("12 kills")
    assert result.stdout.strip().endswith("0 differ")


@pytest.mark.parametrize(
    ("before", "shown", "fault"),
    [
        (b"", ["> Yes.", "> Yes."], "said and not logged: 'Yes.'"),
        (b"", ["  < done (typed, 1.00)"], "heard and not logged: 'done'"),
        (b"", ["> Noted: the clip."], "noted and not logged: 'the clip'"),
        (b"other\n", [], "what was logged before has changed"),
    ],
)
def test_what_is_missing_is_noticed(tmp_path, monkeypatch, before, shown, fault):
    does_nothing: Callable[..., None] = lambda job, logs: None  # noqa: E731 - the job is none
    monkeypatch.setattr(kills, "read_job", does_nothing)
    (tmp_path / "job.jsonl").write_text(LINE)
    found = kills.Found()
    kills._compare(tmp_path, before, shown, found, "here")
    assert f"here: {fault}" in found.faults
