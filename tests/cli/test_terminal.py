"""What leaves for the terminal: nothing that it would obey, nothing that it cannot show."""

import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.harmless import one_line
from companion.terminal import Letters
from tests.helpers.programs import PYTHON, run

BRAKES = Path(__file__).parents[2] / "procedures" / "front-brakes.yaml"
EVIL = "\x1b[2J\x1b[HALL SAFE, battery dead\x07\x9b8m\r\nnothing is open\u202e"


@pytest.fixture
def job(companion, tmp_path) -> str:
    """A job whose log holds what a terminal would obey, in a note, the vehicle and a reason."""
    typed = "yes\nyes\nyes\nyes\nnote the clip is loose\nhold the job\n"
    companion("work", BRAKES, "--keys", "--quiet", "--vehicle", "Hathersen", typed=typed)
    (log,) = (tmp_path / "logs").glob("*.jsonl")
    evil = json.dumps(EVIL)[1:-1]
    text = log.read_text().replace("the clip is loose", evil).replace("Hathersen", evil)
    log.write_text(text)
    return log.stem


@pytest.mark.parametrize(
    "command", [["jobs"], ["jobs", "JOB"], ["due"], ["work", "--job", "JOB", "--keys", "--quiet"]]
)
def test_no_command_lets_through_what_a_terminal_obeys(companion, job, command):
    shown = companion(*(job if word == "JOB" else word for word in command), typed="help\n")
    out = shown.stdout + shown.stderr
    assert shown.returncode == 0, out
    assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(out)
    assert "\nnothing is open" not in out, "no line of its own"
    if command != ["due"]:
        assert "ALL SAFE, battery dead" in out


def test_no_error_does(companion, tmp_path):
    shown = companion("work", f"{EVIL}.yaml", "--keys", "--quiet", typed="help\n")
    assert shown.returncode == 2
    assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(shown.stderr)


def test_a_terminal_without_the_letters_gets_the_nearest_that_it_has(companion_process):
    """Click by itself goes round a stream that says it is ASCII and writes UTF-8."""
    typed = b"yes\nyes\nyes\nyes\nwhat torque\n"
    for encoding in ("ascii", "latin-1", "cp437"):
        env = os.environ | {"PYTHONIOENCODING": encoding}
        work = ("work", BRAKES, "--keys", "--quiet", "--vehicle", "Štarn")
        done = companion_process(*work, typed=typed, env=env)
        assert done.returncode == 0, done.stderr
        assert b"Are 2 new pairs of copper washers on the bench?" in done.stdout
        done.stdout.decode(encoding)
        listed = companion_process("jobs", typed=b"", env=env)
        assert b"Starn" in listed.stdout, listed


def test_the_styles_of_the_program_itself_pass():
    """Bold and colours of tables, and no others: black on black or hidden words lie."""
    code = (
        "import click; from companion.terminal import harmless_output\n"
        "with harmless_output(): "
        "click.echo(click.style('bold', bold=True) + '\\x1b[8mhidden\\x1b[30mblack\\x1b[40m', color=True)"
    )
    out = run(PYTHON, "-c", code).stdout
    assert out.startswith("\x1b[1mbold\x1b[0m")
    assert out.count("\x1b") == 2


@given(st.text())
def test_any_text_becomes_one_line_that_can_be_shown(text):
    shown = one_line(text)
    assert shown.replace("\u200c", "").replace("\u200d", "").isprintable()
    assert one_line(shown) == shown
    for encoding in ("ascii", "latin-1", "utf-8"):
        Letters(encoding).words(text).encode(encoding)


def test_signs_of_the_trade_are_told_in_other_letters():
    assert Letters("ascii").words("2 × 25 N·m, 90°, … ≤ é 한") == "2 x 25 N.m, 90deg, ... <= e ?"
