"""The plan as a page: a Gantt chart, what to know about it, and its times as a table."""

from companion.labour.plan.critical_path import critical_path
from companion.labour.plan.gantt import Axis
from companion.labour.plan.plan_advice import advice
from companion.labour.plan.planner import Placed, Plan, when
from companion.pages.html import Picture, figure, items, page, table, tiles
from companion.pages.svg import Svg
from companion.procedure.units import short

_NAMES = 190.0
_CHART = 700.0
_TIMES = 104.0
_ROW = 22.0
_TOP = 48.0
_NIGHT = 14.0


def gantt_svg(plan: Plan) -> Picture:
    """The chart alone. Work is solid, a wait is pale, and a cure is dotted after the step that starts it."""
    height = _TOP + _ROW * len(plan.placed) + 8
    told = (
        f"{len(plan.placed)} steps and waits from {when(plan.start)} to {when(plan.finish)}. "
        "The times of each are in the table below the chart."
    )
    title = f"{plan.project.title or 'The plan'}: steps and waits over time"
    svg = Svg("gantt", _NAMES + _CHART + _TIMES, height, title, told)
    axis = Axis(plan, _CHART, _NIGHT)
    for begin, end, night in axis.breaks():
        top = 24 if night else _TOP - 8
        svg.bar(_NAMES + begin, top, end - begin, height - top, "night", corner=0)
    for begin, end, day in axis.days():
        words = f"{day:%A} {day.day} {day:%B}" if end - begin > 140 else f"{day:%a} {day.day} {day:%b}"
        svg.label(_NAMES + begin, 16, words)
    for x, moment in axis.ticks(52):
        svg.line(_NAMES + x, _TOP - 8, _NAMES + x, height, "grid")
        svg.label(_NAMES + x, _TOP - 12, f"{moment:%H:%M}", "soft small mid")
    for n, placed in enumerate(plan.placed):
        _row(svg, axis, plan, placed, _TOP + _ROW * n)
    return svg.done()


def _row(svg: Svg, axis: Axis, plan: Plan, placed: Placed, top: float) -> None:
    begin, end = _NAMES + axis.x(placed.begin), _NAMES + axis.x(placed.end)
    told = f"{placed}: {when(placed.begin)} to {when(placed.end)}"
    svg.label(0, top + 15, str(placed), room=_NAMES - 12)
    if held := plan.held_until(placed):
        svg.line(end, top + _ROW / 2, _NAMES + axis.x(min(held, plan.finish)), top + _ROW / 2, "wait")
    svg.bar(begin, top + 4, max(2.0, end - begin), _ROW - 8, "bar" if placed.mechanic else "pale", told)
    who = f" · {placed.mechanic}" if plan.mechanics > 1 and placed.mechanic else ""
    span = f"{placed.begin:%H:%M}–{placed.end:%H:%M}{who}"
    svg.label(_NAMES + _CHART + _TIMES, top + 15, span, "soft small end")


def gantt_page(plan: Plan) -> str:
    """The whole page. It needs no network and no script."""
    critical = critical_path(plan.project)
    rows = [
        (
            str(p),
            "wait" if p.mechanic is None else f"mechanic {p.mechanic}",
            when(p.begin),
            when(p.end),
            short(p.activity.duration),
            short(critical.slack[p.activity.id]) if critical.slack[p.activity.id] else "none",
        )
        for p in plan.placed
    ]
    times = table("Times of the plan", ("Step", "Who", "Begins", "Ends", "Length", "Slack"), rows, words=4)
    certain = (
        "proven: none is earlier" if plan.proven else f"not proven; no plan ends before {when(plan.bound)}"
    )
    facts = [
        ("Finish", when(plan.finish), certain),
        ("Work", short(plan.project.work), "hands on, without waits"),
    ]
    if plan.waited_out and plan.waited_out > plan.finish:
        facts.append(("Won", short(plan.waited_out - plan.finish), "against waiting out every wait"))
    caption = (
        "Solid: work. Pale: a wait that is a step. Dotted: something cures or comes to rest, and nobody is "
        "needed. Grey columns are breaks and nights, not to scale."
    )
    sections = [("chart", "Chart", figure(gantt_svg(plan), caption, times))]
    if told := advice(plan):
        sections.insert(0, ("advice", "What to know", items(told)))
    lead = f"Planned from {when(plan.start)} for {_people(plan.mechanics)}."
    foot = [
        f"Slack is how much later a step may begin without making the job longer. {critical}",
        "Times are estimates. Cure and other waits are those of the procedure; the data sheet of the product "
        "and the vehicle maker's data rule.",
    ]
    return page(f"Plan: {plan.project.title or 'job'}", lead, sections, foot, tiles(facts))


def _people(count: int) -> str:
    return "one mechanic" if count == 1 else f"{count} mechanics"
