"""Tables and lists for people: fitted to the terminal, plain columns when piped."""

import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence

import click

PIPED_WIDTH = 100


def width() -> int:
    """How many columns to write for."""
    return shutil.get_terminal_size((PIPED_WIDTH, 24)).columns if sys.stdout.isatty() else PIPED_WIDTH


def show_table(heads: Sequence[str], rows: Sequence[Sequence[str]], title: str = "", words: int = 1) -> None:
    """Show a table. The first column and the last `words` ones are words; those between are set to the right.

    Cells must be harmless text. They are not looked at for markup.
    """
    right = [0 < n < len(heads) - words for n in range(len(heads))]
    if sys.stdout.isatty():
        _fitted(heads, rows, title, right, words)
        return
    if title:
        click.echo(title)
    widths = [max(map(len, column)) for column in zip(heads, *rows, strict=True)]
    for row in (heads, *rows):
        cells = (
            cell.rjust(wide) if to_right else cell.ljust(wide)
            for cell, wide, to_right in zip(row, widths, right, strict=True)
        )
        click.echo("  ".join(cells).rstrip())


def _fitted(
    heads: Sequence[str], rows: Sequence[Sequence[str]], title: str, right: Sequence[bool], words: int
) -> None:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="underline")
    first = min(len(heads) - words, len(heads) - 1)
    for n, (head, to_right) in enumerate(zip(heads, right, strict=True)):
        table.add_column(
            Text(head), justify="right" if to_right else "left", no_wrap=n < first, overflow="fold"
        )
    for row in rows:
        table.add_row(*map(Text, row))
    console = Console(highlight=False)
    if title:
        console.print(Text(title, "bold"))
    console.print(table)


def show_list(heading: str, lines: Iterable[str]) -> None:
    """Show a heading and its points, wrapped to the terminal. Show nothing when there are none."""
    points = list(lines)
    if not points:
        return
    click.echo(click.style(heading, bold=True))
    for point in points:
        show_line(point, "- ")
    click.echo()


def show_line(text: str, mark: str = "") -> None:
    """Show a sentence, wrapped to the terminal. What follows a mark is indented under it."""
    wrapped = textwrap.fill(
        text,
        width(),
        initial_indent=mark,
        subsequent_indent=" " * len(mark),
        break_on_hyphens=False,
        break_long_words=False,
    )
    click.echo(wrapped)
