"""`companion plan`: when the job can be finished, and in which order."""

import json
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.cli import options
from companion.cli.labour import asked, planning
from companion.cli.labour.tables import show_line, show_list, width
from companion.errors import LabourError
from companion.extras import Extra

if TYPE_CHECKING:
    from companion.labour.plan.finish import FinishSpread
    from companion.labour.plan.planner import Plan

MOST_MECHANICS = 20
_SPLITS = {"never": "NEVER", "breaks": "BREAKS", "nights": "NIGHTS"}


@click.command(
    epilog="Examples: companion plan procedures/sump-reseal.yaml --start '2031-03-04 09:00' "
    "--hours 'Mon-Fri 08:00-12:00,13:00-17:00; Sat 08:00-12:00' --html plan.html; "
    "companion plan --job 2031-03-04-sump-reseal-1"
)
@options.maybe_procedure
@click.option("--job", metavar="JOB", help="Plan what is left of this job.")
@planning.start_option
@planning.hours_option
@planning.closed_option
@click.option("--mechanics", type=int, default=1, show_default=True, metavar="N", help="Who work on it.")
@asked.wanted_option
@asked.mechanic_option
@options.ambient
@options.humidity
@click.option(
    "--split",
    type=click.Choice(list(_SPLITS)),
    default="breaks",
    show_default=True,
    help="Over what a step may be left half done. A step on fresh sealant is never left.",
)
@click.option(
    "--half-done",
    is_flag=True,
    help="Also leave a joint half tightened, or a vehicle half raised or lowered, over such a break.",
)
@click.option(
    "--solver",
    type=click.Choice(["auto", "own", "cp-sat"]),
    default="auto",
    show_default=True,
    help="What looks for the best order; cp-sat needs the extra 'plan'.",
)
@click.option(
    "--limit", type=float, default=10.0, show_default=True, metavar="SECONDS", help="Stop looking after this."
)
@click.option("--html", type=options.NewPage(), metavar="FILE", help="Write the plan as a page.")
@options.logs
@options.as_json
@options.needs(Extra.LABOUR)
def command(
    procedure: Path | None,
    job: str | None,
    start: str | None,
    hours: str | None,
    closed: tuple[date, ...],
    mechanics: int,
    wanted: tuple[str, ...],
    mechanic: str,
    ambient: float | None,
    humidity: float | None,
    split: str,
    half_done: bool,
    solver: str,
    limit: float,
    html: Path | None,
    logs: Path,
    as_json: bool,
) -> None:
    """Plan a job for the earliest finish over the shop's working hours.

    Cures and other waits run on without anybody; other steps are pulled into them. Times are the means of
    the logged ones, or of the book while none are logged. The finish is told with the bound that no plan can
    beat. Of a job that was begun, what is left is planned, with the cures that already run.
    """
    if not 1 <= mechanics <= MOST_MECHANICS:
        raise LabourError(f"--mechanics {mechanics} cannot be planned; give 1 to {MOST_MECHANICS}")
    if not 0.1 <= limit <= 3600:
        raise LabourError(
            f"--limit {limit:g} makes no sense; give the seconds to look for a plan, 0.1 to 3600"
        )
    begin, opening = planning.start_of(start), planning.hours_of(hours, logs, closed)
    from companion.labour.plan.calendar import Split
    from companion.labour.plan.finish import drawn_times, expected_times, finish_spread
    from companion.labour.plan.planner import Solver, make_plan
    from companion.labour.plan.project_of import project_of
    from companion.procedure.read import read_procedure

    done: dict[str, timedelta] = {}
    if procedure is not None and job is None:
        read = read_procedure(procedure)
        optional = asked.wanted_steps(read, wanted)
    elif job is not None and procedure is None:
        read, optional, done = planning.left_of(job, logs, begin)
        optional |= asked.wanted_steps(read, wanted)
    else:
        raise click.UsageError("name a procedure, or a job with --job")
    fitted = asked.fitted_to(read, logs, mechanic)
    project = project_of(
        read, expected_times(read, fitted, mechanic), wanted=optional, done=done,
        split=Split[_SPLITS[split]], half_done=half_done,
        ambient_c=ambient, humidity=humidity,
    )  # fmt: skip
    plan = make_plan(project, begin, opening, mechanics=mechanics, solver=Solver(solver), limit_s=limit)
    spread = finish_spread(plan, drawn_times(read, fitted, mechanic))
    if html is not None:
        from companion.labour.plan.gantt_page import gantt_page

        asked.write(html, gantt_page(plan))
    if as_json:
        click.echo(json.dumps({"job": job, **_data(plan, spread)}, ensure_ascii=False))
        return
    _show(plan, spread, f", what is left of {job}" if job else "")
    if told := asked.rests_on(fitted, logs):
        show_line(told)
    if html is not None:
        click.echo(f"Written: {html}")


def _show(plan: "Plan", spread: "FinishSpread | None", of_what: str) -> None:
    from rich.console import Console

    from companion.labour.plan.critical_path import critical_path
    from companion.labour.plan.gantt import gantt_text
    from companion.labour.plan.plan_advice import advice

    click.echo(click.style(f"Plan: {plan.project.title}{of_what}", bold=True))
    columns = width()
    Console(highlight=False, width=columns).print(gantt_text(plan, columns))
    if plan.waited_out is not None and plan.waited_out > plan.finish:
        from companion.procedure.units import short

        show_line(f"{short(plan.waited_out - plan.finish)} earlier than with every wait waited out.")
    show_line(str(critical_path(plan.project)))
    if spread is not None:
        show_line(f"With the spread of the times: {spread}.")
        if spread.broken > 0.05:
            show_line(
                f"In {100 * spread.broken:.0f} of 100 such jobs a step would be too late after another in "
                "this order: look at the advice."
            )
    click.echo()
    show_list("What to know", advice(plan))


def _data(plan: "Plan", spread: "FinishSpread | None") -> dict[str, Any]:
    from companion.labour.plan.critical_path import critical_path
    from companion.labour.plan.plan_advice import advice

    def seconds(length: timedelta) -> float:
        return round(length.total_seconds(), 1)

    critical = critical_path(plan.project)
    return {
        "title": plan.project.title,
        "start": plan.start.isoformat(),
        "finish": plan.finish.isoformat(),
        "bound": plan.bound.isoformat(),
        "proven": plan.proven,
        "finish_p50": None if spread is None else spread.half.isoformat(),
        "finish_p80": None if spread is None else spread.careful.isoformat(),
        "finish_p95": None if spread is None else spread.unlucky.isoformat(),
        "mechanics": plan.mechanics,
        "work_s": seconds(plan.project.work),
        "critical_s": seconds(critical.length),
        "advice": list(advice(plan)),
        "steps": [
            {
                "step": p.activity.id,
                "begin": p.begin.isoformat(),
                "end": p.end.isoformat(),
                "mechanic": p.mechanic,
                "length_s": seconds(p.activity.duration),
                "slack_s": seconds(critical.slack[p.activity.id]),
            }
            for p in plan.placed
        ],
    }
