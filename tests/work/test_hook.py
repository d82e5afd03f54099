"""The user's own command, run for real."""

import sys
from datetime import timedelta

import pytest

from companion.errors import CompanionError
from companion.work.edges.hook import Ending, parse_hook, run_hook

ABOUT = {"job": "2031-03-04-sump-1", "vehicle": "Marlow Tern; rm -rf", "mechanic": "Ida", "stage": "4"}


def test_the_command_is_run_with_what_it_must_know(tmp_path):
    told = tmp_path / "told"
    script = tmp_path / "call.py"
    script.write_text(
        "import os, sys, pathlib\n"
        "pathlib.Path(sys.argv[1]).write_text('|'.join([*sys.argv[2:], os.environ['COMPANION_STAGE']]))\n"
    )
    command = parse_hook(f"{sys.executable} '{script}' {told} --job {{job}} '{{vehicle}}'")
    outcome = run_hook(command, ABOUT)
    assert outcome.worked
    assert outcome.line.endswith(": done")
    assert told.read_text() == "--job|2031-03-04-sump-1|Marlow Tern; rm -rf|4"


def test_there_is_no_shell(tmp_path):
    witness = tmp_path / "witness"
    assert run_hook(parse_hook(f"echo hello > {witness} ; touch {witness}"), ABOUT).worked
    assert not witness.exists()


def test_a_failure_is_told_with_its_last_words():
    outcome = run_hook([sys.executable, "-c", "import sys; print('one'); sys.exit('no signal')"], ABOUT)
    assert not outcome.worked
    assert outcome.line.endswith("failed with 1: no signal")
    assert (outcome.ending, outcome.status) == (Ending.FAILED, 1)


def test_a_command_that_is_not_there_is_told():
    outcome = run_hook(["no-such-command-here"], ABOUT)
    assert (
        outcome.line == "check-in command no-such-command-here: cannot be started (No such file or directory)"
    )


def test_a_command_that_hangs_is_ended_with_its_children():
    """They would hold its output open, and with it this test, for an hour."""
    outcome = run_hook(["sh", "-c", "sleep 3600 & sleep 3600"], ABOUT, longest=timedelta(seconds=0.5))
    assert not outcome.worked
    assert outcome.line == "check-in command sh: stopped after 0.5 s"
    assert (outcome.ending, outcome.status) == (Ending.TIMED_OUT, None)


@pytest.mark.parametrize("text", ["", "   ", "say 'help"])
def test_a_command_that_cannot_be_read_is_refused_in_one_line(text):
    with pytest.raises(CompanionError) as refused:
        parse_hook(text)
    assert "\n" not in str(refused.value)


def test_a_null_byte_is_told_not_raised():
    assert not run_hook(["echo", "\0"], ABOUT).worked
