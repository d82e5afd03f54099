"""A light install has the keyboard, the screen and the desk: what is heavy is never asked for, or named."""

import json
import tomllib
from pathlib import Path

import pytest

from companion.cli import COMMANDS
from companion.extras import MODULES, Extra
from companion.labour.model.kept import kept_fit
from tests.helpers.programs import PYTHON, run

ROOT = Path(__file__).parents[2]
BRAKES = ROOT / "procedures" / "front-brakes.yaml"
GOLDEN = ROOT / "logs" / "golden"

HEAVY = sorted(
    {*(module for modules in MODULES.values() for module in modules), "vosk", "ibis", "ortools", "pandas"}
)
WITHOUT_THEM = f"""
import contextlib, io, json, sys

class Absent:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {HEAVY}:
            asked.append(name)
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)

asked, told = [], []
sys.meta_path.insert(0, Absent())
from companion.cli import main
for words in json.loads(sys.argv[1]):
    asked.clear()
    sys.argv = ["companion", *words]
    out, errors, code = io.StringIO(), io.StringIO(), 0
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(errors):
        try:
            main()
        except SystemExit as ended:
            code = ended.code or 0
    told.append([code, out.getvalue(), errors.getvalue(), asked[:]])
print(json.dumps(told))
"""
"""Runs commands, one after another, in a process that cannot import what is heavy."""

WHOLE: dict[str, tuple[object, ...]] = {
    "check": (BRAKES,),
    "procedures": (),
    "draft": ("wiper.txt",),
    "explain": ("torque",),
    "schema": (),
    "show": (BRAKES,),
    "say": (BRAKES,),
    "shop": (),
    "fastener": ("M8",),
    "phrases": (),
    "jobs": ("--logs", GOLDEN),
    "due": ("--logs", GOLDEN),
    "forget": ("--logs", "none", "--everything", "--yes"),
    "licences": (),
    "completion": ("bash",),
}
"""What works in a light install, beside `work --keys --quiet`."""
LOOKED_FOR = {"fastener": {"numpy"}}
"""What a library of theirs would use if it were there, and does without: pint, which tells lbf·ft."""
NEEDS: dict[str, tuple[Extra, tuple[object, ...]]] = {
    "work": (Extra.SPEECH, (BRAKES,)),
    "rehearse": (Extra.SPEECH, (BRAKES,)),
    "hear": (Extra.SPEECH, ("--check",)),
    "models": (Extra.SPEECH, ()),
    "times": (Extra.LABOUR, ("--logs", GOLDEN)),
    "quote": (Extra.LABOUR, (BRAKES, "--logs", GOLDEN)),
    "plan": (Extra.LABOUR, (BRAKES,)),
    "report": (Extra.LABOUR, ("--logs", GOLDEN)),
    "choices": (Extra.LABOUR, ("extra", BRAKES, "--step", "wheels-off")),
    "shops": (Extra.LABOUR, (GOLDEN,)),
    "minutes": (Extra.LABOUR, ("--logs", GOLDEN)),
    "hours": (Extra.LABOUR, ("--logs", GOLDEN)),
    "quoted": (Extra.LABOUR, ("--logs", GOLDEN)),
    "demo": (Extra.LABOUR, ("shop",)),
}
"""What does not, with the extra that it names."""


def lightly(commands: list[list[str]], folder: Path) -> list[tuple[int, str, str, list[str]]]:
    done = run(PYTHON, "-c", WITHOUT_THEM, json.dumps(commands), folder=folder)
    assert done.returncode == 0, done.stderr
    told: list[tuple[int, str, str, list[str]]] = json.loads(done.stdout)
    return told


@pytest.mark.parametrize("extra", MODULES)
def test_what_an_extra_must_bring_is_what_pip_installs_with_it(extra):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    everywhere = [wanted for wanted in project["optional-dependencies"][extra] if ";" not in wanted]
    brought = {wanted.partition("=")[0].rstrip("<>").replace("-", "_") for wanted in everywhere}
    assert brought == set(MODULES[extra])


def test_help_and_the_desk_ask_for_nothing_heavy(tmp_path):
    (tmp_path / "wiper.txt").write_text("Take the wiper off.\nFit the new one.\n")
    helps = [[name, "--help"] for name in COMMANDS]
    whole = [[name, *map(str, rest)] for name, rest in WHOLE.items()]
    for words, (code, out, errors, asked) in zip(
        helps + whole, lightly(helps + whole, tmp_path), strict=True
    ):
        assert (code, errors, set(asked) - LOOKED_FOR.get(words[0], set())) == (0, "", set()), words
        assert out or words[0] == "forget", words


def test_what_needs_an_extra_says_which_in_one_line_and_begins_nothing(tmp_path):
    commands = [[name, *map(str, rest)] for name, (_, rest) in NEEDS.items()]
    for words, (code, out, errors, _) in zip(commands, lightly(commands, tmp_path), strict=True):
        extra = NEEDS[words[0]][0]
        assert (code, out, errors.count("\n")) == (2, "", 1), (words, errors)
        assert errors.startswith(f"companion: {words[0]}"), errors
        assert f"needs the extra '{extra}'" in errors
        assert errors.endswith(f"run: pip install 'bonnet-companion[{extra}]'\n"), errors
    assert list(tmp_path.iterdir()) == []


def test_every_command_is_one_or_the_other():
    """A new command says of itself what it needs."""
    assert sorted(COMMANDS) == sorted([*WHOLE, *NEEDS])


def job(folder: Path) -> tuple[str, tuple[int, str, list[str]]]:
    """A job by keys and screen: what it showed; its exit code, its complaints, and what it asked for."""
    program = WITHOUT_THEM.replace("contextlib.redirect_stdout(out)", "contextlib.nullcontext()")
    words = ["work", str(BRAKES), "--keys", "--quiet", "--plain"]
    done = run(PYTHON, "-c", program, json.dumps([words]), typed="yes\nyes\nhow long left\n", folder=folder)
    assert done.returncode == 0, done.stderr
    [(code, _, errors, asked)] = json.loads(done.stdout.splitlines()[-1])
    return done.stdout, (code, errors, asked)


def test_a_job_by_keys_and_screen_asks_for_nothing_heavy(tmp_path):
    shown, ended = job(tmp_path)
    assert ended == (0, "", [])
    assert "> About 2 h 48 min of work left, by the book." in shown
    assert "Left at step 1 of 44" in shown


def test_step_times_that_were_fitted_elsewhere_are_of_no_use_here_and_it_says_so(tmp_path):
    fit = kept_fit(tmp_path / "logs", "Front brake overhaul")
    fit.parent.mkdir(parents=True)
    fit.touch()
    shown, (code, errors, asked) = job(tmp_path)
    assert (code, errors) == (0, "")
    assert set(asked) == set(MODULES[Extra.LABOUR]), "they are looked for, and no more"
    assert "time left is by the book: what is known from logs needs the extra 'labour'" in shown
