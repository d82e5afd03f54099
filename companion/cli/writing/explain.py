"""`companion explain`: what a field of a procedure means."""

import click


@click.command(epilog="Examples: companion explain reached_through; companion explain fasteners.torque")
@click.argument("field", nargs=-1, required=True)
def command(field: tuple[str, ...]) -> None:
    """Explain a field of a procedure: how it is written, what it is for, and how others have it.

    `companion explain all` lists every field. Codes of findings are explained by check --explain.
    """
    from companion.harmless import harmless
    from companion.library import books
    from companion.manual.examples import examples
    from companion.manual.fields import every_field, fields, page

    if field == ("all",):
        for one in every_field():
            click.echo(f"{one.of}: {one.name}: {one.means}")
        return
    found = fields(" ".join(field))
    files = [book.path for book in books()]
    pages = [
        page(one, examples(one.name, files) if len(found) == 1 or n == 0 else ())
        for n, one in enumerate(found)
    ]
    click.echo("\n\n".join("\n".join(map(harmless, text.splitlines())) for text in pages))
