"""`companion procedures`: what can be asked for by name."""

import json

import click

from companion.cli import options


@click.command(epilog="Example: companion procedures --json; then companion work sump")
@options.as_json
def command(as_json: bool) -> None:
    """List the procedures that `work`, `check`, `quote` and the others find by name.

    They are looked for in the folder procedures/ here, then in your own, then among those that come along. Of
    equal names the first is taken. Part of a name or title will do where only one fits.
    """
    from companion.cli.labour.tables import show_table
    from companion.harmless import one_line
    from companion.library import books, own_folder

    found = books()
    if as_json:
        for book in found:
            data = {"name": book.name, "title": book.title, "whose": book.shelf.whose, "file": str(book.path)}
            click.echo(json.dumps(data, ensure_ascii=False))
        return
    rows = [(one_line(book.name), book.shelf.whose, one_line(book.title)) for book in found]
    if rows:
        show_table(("Name", "From", "Title"), rows, words=2)
    click.echo(f"Your own go into {one_line(str(own_folder()))}")
