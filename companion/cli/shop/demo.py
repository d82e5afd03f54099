"""`companion demo`: the logs of an invented shop, to try the program on."""

from pathlib import Path

import click

from companion.cli import options
from companion.errors import CompanionError
from companion.extras import Extra

MOST_JOBS = 2000


@click.command(epilog="Example: companion demo demo-logs, then companion report --logs demo-logs")
@click.argument("folder", type=click.Path(path_type=Path), metavar="FOLDER")
@click.option(
    "--procedures",
    type=click.Path(path_type=Path),
    default=Path("procedures"),
    show_default=True,
    metavar="DIR",
    help="The procedures that are worked, in turn.",
)
@click.option("--jobs", type=int, default=40, show_default=True, metavar="N", help="How many jobs.")
@click.option("--seed", type=int, default=2033, show_default=True, metavar="N", help="Another shop.")
@options.needs(Extra.LABOUR)
def command(folder: Path, procedures: Path, jobs: int, seed: int) -> None:
    """Write the logs of an invented shop into a folder, to try the other commands on.

    Three invented mechanics do whole jobs on real procedures, with interruptions, notes, one rusty car and a
    job that is still open. The same seed makes the same shop. `logs/demo` was made by this command.
    """
    if not 1 <= jobs <= MOST_JOBS:
        raise CompanionError(f"--jobs {jobs} cannot be made; give 1 to {MOST_JOBS}")
    if seed < 0:
        raise CompanionError(f"--seed {seed} makes no sense; give 0 or more")
    from companion.demo.demo_logs import write_demo

    names = write_demo(procedures, folder, jobs, seed)
    click.echo(f"{len(names)} invented jobs written to {folder}")
