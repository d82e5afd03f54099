"""`companion draft`: a mechanic's own lines made a procedure, and what it leaves open answered."""

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.errors import ProcedureError
from companion.files import failures_named, write_whole

if TYPE_CHECKING:
    from companion.draft.answer import Draft, Question

_LARGEST = 200_000
"""Bytes of an outline; a page has about 3,000."""


@click.command(
    epilog="Examples: companion draft wiper.txt --for 'Marlow Tern'; companion draft --answer wiper.yaml; "
    "companion draft --answer wiper.yaml 2='9 Nm'"
)
@click.argument("file", type=click.Path(path_type=Path), metavar="OUTLINE|DRAFT.yaml")
@click.argument("answers", nargs=-1, metavar="[N=ANSWER]...")
@click.option(
    "--answer",
    "answering",
    is_flag=True,
    help="Answer what a draft leaves open: at the prompt, or as N=ANSWER.",
)
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE.yaml",
    help="Where the draft goes; by default OUTLINE's name with .yaml, here.",
)
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@click.option("--title", help="What the job is called; by default the outline's heading, or its name.")
@click.option("--for", "vehicle", metavar="VEHICLE", help="Which vehicle or machine it is for.")
@click.option("--source", metavar="TEXT", help="Where torques and limits come from: the manual and its date.")
def command(
    file: Path,
    answers: tuple[str, ...],
    answering: bool,
    out: Path | None,
    force: bool,
    title: str | None,
    vehicle: str | None,
    source: str | None,
) -> None:
    """Draft a procedure from an outline in a mechanic's own words: lines of text, a Markdown list, or CSV.

    Such as "out: scuttle panel, six T25, bag 1", "unplug the wiper motor, lift the latch", "battery off".
    The way home is the taking-apart turned round, isolations first and restored last. What is not known is
    left as a question. It works offline, and the same outline always gives the same draft.
    """
    if answering:
        _answer(file, answers)
        return
    if answers:
        raise click.UsageError("answers go with --answer")
    from companion.draft.draft import draft

    made = draft(
        _read(file), title or file.stem.replace("-", " ").replace("_", " ").capitalize(), vehicle, source
    )
    target = out or Path(f"{file.stem}.yaml")
    if target.suffix not in (".yaml", ".yml"):
        raise ProcedureError(f"{target}: a procedure ends in .yaml; give it such a name")
    if target.exists() and not force:
        raise ProcedureError(
            f"{target}: there is one already; choose another with -o, or --force writes over it"
        )
    with failures_named(target):
        write_whole(target, made.encode())
    _tell(target)


def _read(file: Path) -> str:
    if str(file) == "-":
        content = sys.stdin.buffer.read(_LARGEST + 1)
    else:
        if file.is_dir():
            raise ProcedureError(f"{file}: is a folder; name the outline in it")
        if file.exists() and not file.is_file():
            raise ProcedureError(f"{file}: is a pipe or a device; '-' reads what is piped in")
        with failures_named(file), file.open("rb") as opened:
            content = opened.read(_LARGEST + 1)
    if len(content) > _LARGEST:
        raise ProcedureError(f"{file}: is larger than {_LARGEST // 1000} kB; an outline is a page or two")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ProcedureError(f"{file}: is no text in UTF-8; save it as text") from None


def _tell(target: Path) -> None:
    draft = _open(target)
    questions = draft.questions()
    click.echo(f"{target}: drafted. Read each step beside the manual before you rely on it.")
    for question in questions:
        click.echo(_line(question))
    if questions:
        click.echo(f"Answer them: companion draft --answer {target}. The rest is asked on the bench.")
    click.echo(f"Then: companion check {target}")


def _line(question: "Question") -> str:
    before = " (before any work)" if question.dangerous else ""
    return f"{question.number}. {question.ask}{before}"


def _open(file: Path) -> "Draft":
    from companion.draft.answer import Draft

    with failures_named(file):
        return Draft(file.read_bytes(), file)


def _answer(file: Path, answers: tuple[str, ...]) -> None:
    from companion.draft.answer import NotUnderstoodError
    from companion.library import find

    file = find(str(file))
    draft = _open(file)
    if answers:
        given = dict(_pair(answer) for answer in answers)
        asked = {question.number: question.ask for question in draft.questions()}
        if unknown := [number for number in given if number not in asked]:
            raise ProcedureError(f"{file}: there is no question {unknown[0]}; there are {len(asked)}")
        for number, text in given.items():
            question = next(one for one in draft.questions() if one.ask == asked[number])
            try:
                draft.answer(question, text)
            except NotUnderstoodError as error:
                raise ProcedureError(f"question {number}: {error}; nothing is written") from None
    else:
        _ask_each(draft)
    with failures_named(file):
        write_whole(file, draft.content)
    left = draft.questions()
    click.echo(f"{file}: {len(left)} left open" if left else f"{file}: every question is answered")
    for question in left:
        click.echo(_line(question))


def _pair(answer: str) -> tuple[int, str]:
    number, equals, text = answer.partition("=")
    if not equals or not number.strip().isdecimal():
        raise click.UsageError(f"{answer!r} is no answer; write the number of the question first: 2='9 Nm'")
    return int(number), text


def _ask_each(draft: "Draft") -> None:
    """One after the other; an empty line leaves one open, and the end of the input the rest."""
    from companion.draft.answer import NotUnderstoodError

    passed: set[str] = set()
    asked, place = "", 0
    while waiting := [one for one in draft.questions() if one.ask not in passed]:
        question = waiting[0]
        if question.ask != asked:
            asked, place = question.ask, place + 1
            click.echo(_line(replace(question, number=place)))
        try:
            text = click.prompt("", prompt_suffix="> ", default="", show_default=False)
        except click.Abort:
            click.echo()
            return
        if not text.strip():
            passed.add(question.ask)
            continue
        try:
            draft.answer(question, text)
        except NotUnderstoodError as error:
            click.echo(f"  {error}")
