"""`companion completion`: the shell completion script."""

import click


@click.command(epilog="Example: companion completion bash >> ~/.bashrc")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def command(shell: str) -> None:
    """Print the completion script of a shell."""
    from click.shell_completion import get_completion_class

    from companion.cli import group

    found = get_completion_class(shell)
    assert found is not None, "click completes all the shells offered"
    click.echo(found(group, {}, "companion", "_COMPANION_COMPLETE").source())
