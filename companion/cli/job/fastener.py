"""`companion fastener`: what a thread bears, by the standards; the maker's value rules."""

import click


@click.command(epilog="Example: companion fastener M10x1.25 --class 10.9")
@click.argument("thread")
@click.option(
    "--class", "name", default="8.8", show_default=True, help="Property class: 8.8, A2-70, grade 5."
)
@click.option("--friction", type=float, help="Friction of thread and head.  [default: 0.12 and 0.14]")
@click.option("--torque", "tightened", metavar="TORQUE", help="A torque to judge, such as '49 N·m'.")
@click.option("--pattern", metavar="PATTERN", help="How they sit, such as 'circle of 5': tells the order.")
def command(
    thread: str, name: str, friction: float | None, tightened: str | None, pattern: str | None
) -> None:
    """Tell the sizes of a THREAD, what a bolt of it bears, and what torque loads it how far.

    THREAD is metric, UNC, UNF, BSP or NPT: M8, M12x1.5, 1/4-20 UNC, G1/4, 1/8 NPT.
    """
    from companion.errors import CompanionError
    from companion.procedure.fasteners.thread_facts import lines

    if friction is not None and not 0.04 <= friction <= 0.4:
        raise CompanionError(f"--friction {friction:g} is none of a bolt; give one from 0.04 to 0.4")
    try:
        told = [*lines(thread, name, friction, tightened, pattern)]
    except ValueError as fault:
        raise CompanionError(str(fault)) from None
    click.echo("\n".join(told))
