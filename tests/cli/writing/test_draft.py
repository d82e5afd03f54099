"""From a mechanic's own lines to a job: drafted, its questions answered, checked, rehearsed, begun."""

import json
import os

import pytest

OUTLINE = """\
# Wiper motor
battery off first
out: scuttle panel, six T25, bag 1
unplug the wiper motor, lift the latch
linkage out, three M6 bolts 10 mm, bag 2
motor off the linkage, 3x M6 with 10mm heads, 9 Nm
"""


@pytest.fixture
def drafted(companion, tmp_path):
    (tmp_path / "wiper.txt").write_text(OUTLINE)
    result = companion("draft", "wiper.txt")
    assert result.returncode == 0, result.stderr
    return result.stdout


def test_a_draft_tells_what_it_leaves_open(drafted, tmp_path):
    assert "1. Which vehicle or machine is this for?" in drafted
    assert "2. How tight are the linkage bolts, in N·m?" in drafted
    assert (tmp_path / "wiper.yaml").read_text().startswith("# Drafted by companion draft")


def test_questions_are_answered_at_the_prompt(drafted, companion, tmp_path):
    result = companion("draft", "--answer", "wiper.yaml", typed="Marlow Tern\nrather\n9 newton metres\n")
    assert result.returncode == 0, result.stderr
    assert "'rather' is no torque; answer like 23 Nm" in result.stdout
    assert "every question is answered" in result.stdout
    text = (tmp_path / "wiper.yaml").read_text()
    assert "applies_to: [Marlow Tern]" in text
    assert text.count("torque: 9 N·m") == 2
    assert "review" not in text.split("title:")[1]
    assert text.startswith("# Drafted"), "its comments are kept"
    checked = companion("check", "--strict", "wiper.yaml")
    assert checked.returncode == 0, checked.stdout


def test_or_by_number_and_what_is_passed_over_stays(drafted, companion):
    result = companion("draft", "--answer", "wiper.yaml", "2=9 Nm")
    assert result.returncode == 0, result.stderr
    assert result.stdout.splitlines() == [
        "wiper.yaml: 1 left open",
        "1. Which vehicle or machine is this for?",
    ]
    passed = companion("draft", "--answer", "wiper.yaml", typed="\n")
    assert "1 left open" in passed.stdout


def test_an_answer_that_the_check_finds_wrong_is_not_taken(drafted, companion, tmp_path):
    before = (tmp_path / "wiper.yaml").read_bytes()
    result = companion("draft", "--answer", "wiper.yaml", "2=90 Nm")
    assert result.returncode == 2
    assert "90 N·m is more than" in result.stderr
    assert (tmp_path / "wiper.yaml").read_bytes() == before


@pytest.mark.parametrize(
    ("outline", "number", "answer", "field", "gone"),
    [
        ("sump off, ten M6 bolts, 9 Nm", 2, "yes, a gasket", "use: single", None),
        ("sump off, ten M6 bolts, 9 Nm", 2, "gasket, reused", "use: inspect", None),
        ("sump off, ten M6 bolts, 9 Nm", 2, "no", None, "seals:"),
        ("bracket off, bolts, 9 Nm", 2, "six", "count: 6", None),
        ("drain the gearbox oil, 24 plug, 30 Nm", 2, "2.5 litres", "at_most: 2.75", None),
        ("bracket off, two bolts", 2, "20 Nm then 90 degrees", "stages: [20 N·m, 90°]", "measure"),
        ("bracket off, two bolts", 2, "by hand", "act: fit", "measure"),
        ("bracket off, two bolts", 2, "18 lb ft", "torque: 24.4 N·m", "measure"),
        ("unplug the sensor", 2, "no", None, "energy:"),
        ("unplug the sensor", 2, "yes", "energy:", None),
        ("let off the fuel pressure\nfuel line off", 2, "5 minutes", "wait: 5 min", "ask: How long"),
    ],
)  # fmt: skip
def test_each_kind_of_question_has_its_answer(companion, tmp_path, outline, number, answer, field, gone):
    (tmp_path / "job.txt").write_text(outline)
    assert companion("draft", "job.txt").returncode == 0
    result = companion("draft", "--answer", "job.yaml", f"{number}={answer}")
    assert result.returncode == 0, result.stderr
    text = (tmp_path / "job.yaml").read_text()
    assert field is None or field in text, text
    assert gone is None or gone not in text, text
    checked = json.loads(companion("check", "--format", "json", "job.yaml").stdout)
    codes = {found["code"] for found in checked[0]["findings"]}
    assert codes <= {"open-question", "dangerous-question"}


def test_a_guess_at_what_could_kill_is_answered_before_the_job(companion, tmp_path):
    (tmp_path / "pads.txt").write_text("carrier off, two M12 bolts\n")
    assert "(before any work)" in companion("draft", "pads.txt").stdout
    refused = companion("work", "pads.yaml", "--keys", "--quiet")
    assert refused.returncode == 2
    assert "Answer first: companion draft --answer pads.yaml" in refused.stderr


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["nothing.txt"], "nothing.txt: there is no such file"),
        (["empty.txt"], "nothing that is taken apart is in this outline"),
        (["bytes.txt"], "is no text in UTF-8"),
        (["."], "is a folder"),
        (["pipe"], "is a pipe or a device; '-' reads what is piped in"),
        (["many.txt"], "more than 200 things are taken apart; make two outlines of it"),
        (["long.txt"], "line 2 has 23999 characters; break it up"),
        (["name.txt"], "nothing that is taken apart"),
        (["good.txt", "-o", "good.doc"], "a procedure ends in .yaml"),
        (["taken.txt"], "there is one already"),
        (["--answer", "taken.yaml"], "taken.yaml:1:1"),
        (["good.txt", "1=yes"], "answers go with --answer"),
    ],
)
def test_what_goes_wrong_is_one_line(companion, tmp_path, arguments, told):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "empty.txt").write_text("")
    (tmp_path / "bytes.txt").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "good.txt").write_text("lid off\n")
    (tmp_path / "many.txt").write_text("".join(f"cover {n} off, four T25\n" for n in range(300)))
    (tmp_path / "long.txt").write_text(f"lid off\n{'undo the bolts and take ' * 1000}")
    (tmp_path / "name.txt").write_text(f"take the {'very long cover name ' * 60} off")
    (tmp_path / "taken.txt").write_text("lid off\n")
    (tmp_path / "taken.yaml").write_text("x")
    result = companion("draft", *arguments)
    assert result.returncode == 2
    assert told in result.stderr
    assert "Traceback" not in result.stderr
    assert (tmp_path / "taken.yaml").read_text() == "x"
