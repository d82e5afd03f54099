"""Options that several commands share, so that they are called the same everywhere."""

import math
import os
from collections.abc import Callable
from datetime import date, datetime
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.errors import CompanionError
from companion.extras import Extra, need
from companion.files import check_name
from companion.library import find

if TYPE_CHECKING:
    from companion.speech.language.own_phrases import OwnPhrases


class NewPage(click.Path):
    """A file to write, which is never a log, a sound or a procedure: told before any work is done."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        path = Path(os.fsdecode(super().convert(value, param, ctx)))
        check_name(path)
        return path


class ProcedureFile(click.Path):
    """A procedure: its file, or words that one of the library fits."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        return find(os.fsdecode(super().convert(value, param, ctx)))


class Words(click.types.StringParamType):
    """Words of somebody's own that are kept and shown, such as a name: no longer than anyone writes them."""

    longest = 200
    """Letters. CHOSEN: a name, a part or a follow-up has a fifth of it."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        words = str(super().convert(value, param, ctx))
        if len(words) > self.longest:
            named = param.opts[0] if param else "these words"
            raise CompanionError(f"{named}: {len(words):,} letters are too many; write up to {self.longest}")
        return words


class Day(click.ParamType):  # type: ignore[type-arg] # an older click takes none
    """A day, such as 2031-04-14."""

    name = "day"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        try:
            return datetime.strptime(value.strip(), "%Y-%m-%d").date()
        except ValueError:
            raise not_a_day(param.opts[0] if param else "it", value) from None


def not_a_day(option: str, text: object) -> CompanionError:
    """What is wrong with an option that names no day the program can reckon with."""
    return CompanionError(f"{option} {str(text)!r} is not a day; write it like 2031-04-14")


class Finite(click.FloatRange):
    """A range of numbers that refuses "nan", too."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        number = super().convert(value, param, ctx)
        if not math.isfinite(number):
            self.fail(f"{value!r} is not a number", param, ctx)
        return number


def _of_the_workshop(low: float, high: float, what: str) -> Callable[..., float | None]:
    def check(_: click.Context, option: click.Parameter, value: float | None) -> float | None:
        if value is not None and not low <= value <= high:
            raise CompanionError(f"{option.opts[0]} {value:g} is no {what}, {low:g} to {high:g}")
        return value

    return check


ambient = click.option(
    "--ambient",
    type=float,
    metavar="°C",
    callback=_of_the_workshop(-40, 60, "workshop temperature; give it in °C"),
    help="Workshop temperature; a cold one lengthens cures.",
)
humidity = click.option(
    "--humidity",
    type=float,
    metavar="%",
    callback=_of_the_workshop(0, 100, "relative humidity; give it in %"),
    help="Relative humidity in the workshop; dry air lengthens some cures.",
)
logs = click.option(
    "--logs",
    type=click.Path(path_type=Path),
    default=Path("logs"),
    show_default=True,
    metavar="DIR",
    help="Folder of the job logs.",
)
procedure = click.argument("procedure", type=ProcedureFile(), metavar="PROCEDURE")
maybe_procedure = click.argument("procedure", type=ProcedureFile(), metavar="[PROCEDURE]", required=False)
as_json = click.option("--json", "as_json", is_flag=True, help="One JSON object per line.")
recogniser = click.option(
    "--recogniser",
    type=click.Choice(["auto", "embedded", "vosk"]),
    default="auto",
    show_default=True,
    help="What listens; auto takes a Vosk model in models/ when there is one.",
)
model = click.option(
    "--model",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="A Vosk model folder.",
)
PROFILE_NAME = "hearing.json"
"""A profile that lies beside the logs is taken by itself."""
profile = click.option(
    "--profile",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help=f"A voice and place, as kept by hear --check --adapt; {PROFILE_NAME} beside the logs, if any.",
)
PHRASES_NAME = "phrases.yaml"
phrases = click.option(
    "--phrases",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help=f"Your own words for commands, such as done: [finished]; {PHRASES_NAME} beside the logs, if any.",
)
lang = click.option(
    "--lang", default="en", show_default=True, metavar="LANGUAGE", help="Language of the phrases."
)


def needs(extra: Extra) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """For a command that needs an extra. Its help works without."""

    def of(command: Callable[..., None]) -> Callable[..., None]:
        @wraps(command)
        def checked(*args: Any, **options: Any) -> None:
            name = click.get_current_context().command_path.removeprefix("companion ")
            need(extra, name)
            command(*args, **options)

        return checked

    return of


def kept_profile(named: Path | None, logs: Path) -> Path | None:
    """The hearing profile that is named, or the one that lies beside the logs; None when there is none."""
    kept = logs / PROFILE_NAME
    return named or (kept if kept.is_file() else None)


def own_phrases(named: Path | None, logs: Path, lang: str) -> "OwnPhrases":
    """The mechanic's own words, named or beside the logs. What is easily mistaken is told."""
    kept = logs / PHRASES_NAME
    path = named or (kept if kept.is_file() else None)
    if path is None:
        return {}
    from companion.speech.language.own_phrases import easily_mistaken, read_own_phrases
    from companion.speech.language.phrases import language

    spoken = language(lang)
    own = read_own_phrases(path, spoken)
    for line in easily_mistaken(own, spoken) if lang == "en" else ():
        click.echo(f"companion: {path}: {line}", err=True)
    return own
