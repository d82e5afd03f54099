"""`companion schema`: what an editor needs to complete and explain a procedure's file."""

import json

import click


@click.command(
    epilog="Example: companion schema > procedure.schema.json; then, at the top of a procedure: "
    "# yaml-language-server: $schema=procedure.schema.json"
)
def command() -> None:
    """Print the JSON Schema of a procedure, with a sentence for each field.

    An editor that knows JSON Schema completes keys by it, explains them, and marks what cannot be. What a
    schema cannot know, such as the order of work, `companion check` does.
    """
    from companion.manual.schema import schema

    click.echo(json.dumps(schema(), ensure_ascii=False, indent=2))
