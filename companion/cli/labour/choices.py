"""`companion choices`: which way, what else while it is off, and whether to send work out."""

import click

from companion.cli.labour import away, extra, ways


@click.group(
    epilog="Examples: companion choices ways out.yaml in-place.yaml; companion choices extra "
    "procedures/sump-reseal.yaml --step remove-strainer; companion choices away "
    "procedures/coolant-pump.yaml --step scrape-faces --days 5 --price 80 --rate 75"
)
def command() -> None:
    """Choices about a job, from logged times: two ways, extra work while it is off, work sent out."""


command.add_command(ways.command, "ways")
command.add_command(extra.command, "extra")
command.add_command(away.command, "away")
