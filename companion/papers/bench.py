"""The bench sheet of a procedure: what to lay out, what to look out for, what goes where and how tight."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from companion.pages.html import items, page, table
from companion.procedure.checks.review_marks import questions
from companion.procedure.model import Fastener, Hazard, Procedure, Signal, Step
from companion.procedure.nouns import several
from companion.procedure.units import short


@dataclass(frozen=True)
class Bench:
    """Everything that is wanted before the first step, as lines and rows."""

    title: str
    lead: str
    cautions: tuple[str, ...]
    questions: tuple[str, ...]
    tools: tuple[str, ...]
    parts: tuple[str, ...]
    products: tuple[str, ...]
    safe: tuple[str, ...]
    bags: tuple[tuple[str, str, str], ...]
    """Bag, what is in it, and the step that fills it."""
    torques: tuple[tuple[str, str, str, str], ...]
    """Step, fasteners, size, and how tight."""
    fluids: tuple[str, ...]


def bench(procedure: Procedure) -> Bench:
    """The sheet of a procedure."""
    return Bench(
        title=procedure.title,
        lead=f"For {', '.join(procedure.applies_to)}. {several(len(procedure.steps), 'step')}, "
        f"{short(sum((step.book for step in procedure.steps[1:]), procedure.steps[0].book))} by the book. "
        f"Torques: {procedure.source_of_torques}",
        cautions=tuple(_cautions(procedure)),
        questions=tuple(
            f"{review.ask}{' Before any work.' if review.dangerous else ''}"
            for _, review in questions(procedure)
        ),
        tools=tuple(_once([*procedure.tools, *_tools(procedure)])),
        parts=tuple(
            f"{part.count} x {part.name}{' (used once)' if part.single_use else ''}"
            for part in procedure.parts.values()
        ),
        products=tuple(_products(procedure)),
        safe=tuple(_safe(procedure)),
        bags=tuple(_bags(procedure)),
        torques=tuple(_torques(procedure)),
        fluids=tuple(_fluids(procedure)),
    )


def lines(sheet: Bench) -> Iterator[tuple[str, Sequence[str]]]:
    """The sheet as headings with their points; what there is none of is left out."""
    rows = {
        "Cautions": sheet.cautions,
        "Not known yet": sheet.questions,
        "Tools": sheet.tools,
        "Parts": sheet.parts,
        "Products": sheet.products,
        "Made safe": sheet.safe,
        "Bags": tuple(f"{bag}: {what}, step {step}" for bag, what, step in sheet.bags),
        "Torques": tuple(f"step {n}: {what}{_in(size)}, {tight}" for n, what, size, tight in sheet.torques),
        "Fluids": sheet.fluids,
    }
    yield from ((heading, points) for heading, points in rows.items() if points)


def bench_page(sheet: Bench) -> str:
    """The sheet as a page to print. It needs no network and no script, and all text is escaped."""
    sections = []
    for heading, points in lines(sheet):
        anchor = heading.lower().replace(" ", "-")
        match heading:
            case "Bags":
                content = table("What is in which bag", ("Bag", "What", "Step"), sheet.bags, words=2)
            case "Torques":
                heads = ("Step", "Fasteners", "Size", "How tight")
                content = table("What is tightened, and how tight", heads, sheet.torques, words=3)
            case _:
                content = items(points)
        sections.append((anchor, heading, content))
    foot = ["The maker's data rules. Compare every value with it before you rely on this sheet."]
    return page(
        f"Bench sheet: {sheet.title}",
        sheet.lead,
        sections,
        foot,
    )


def _in(size: str) -> str:
    return f" ({size})" if size else ""


def _cautions(procedure: Procedure) -> Iterator[str]:
    for hazard in procedure.cautions:
        yield f"{hazard.signal}: {_told(hazard)}"
    for number, step in enumerate(procedure.steps, start=1):
        for hazard in step.hazards:
            if hazard.signal in (Signal.DANGER, Signal.WARNING):
                yield f"{hazard.signal} at step {number}: {_told(hazard)}"


def _told(hazard: Hazard) -> str:
    return " ".join(f"{text[:1].upper()}{text[1:].rstrip('.')}." for text in (hazard.hazard, hazard.avoid))


def _once(tools: Sequence[str]) -> Iterator[str]:
    """None that another before it already tells of."""
    for place, tool in enumerate(tools):
        if not any(tool.rstrip("s").lower() in other.lower() for other in tools[:place]):
            yield tool


def _tools(procedure: Procedure) -> Iterator[str]:
    """Those that steps name, and those that fit the fasteners."""
    for step in procedure.steps:
        yield from step.tools
    fasteners = [fastener for step in procedure.steps for fastener in step.fasteners]
    for hexagon in sorted({fastener.hex for fastener in fasteners if fastener.hex}):
        yield f"{hexagon} socket or spanner"
    for key in sorted({fastener.socket_hex for fastener in fasteners if fastener.socket_hex}):
        yield f"{key} hex key"
    for lobe in sorted({fastener.six_lobe for fastener in fasteners if fastener.six_lobe}):
        yield f"{lobe} six-lobe {'bit' if lobe.startswith('T') else 'socket'}"
    for driver in sorted({fastener.driver for fastener in fasteners if fastener.driver}):
        yield f"{driver} driver"
    if any(fastener.tightening for fastener in fasteners):
        yield "torque wrench"


def _products(procedure: Procedure) -> Iterator[str]:
    for product in procedure.consumables.values():
        skin = f", closed within {short(product.skin_over)}" if product.skin_over else ""
        yield f"{product.name} ({product.product_class}){skin}, cured after {short(product.full_cure)}"


def _safe(procedure: Procedure) -> Iterator[str]:
    for energy in procedure.energy.values():
        wait = f"; wait {short(energy.wait)}" if energy.wait else ""
        measure = energy.prove
        limit = (
            f", at most {measure.at_most:g} {measure.unit}" if measure and measure.at_most is not None else ""
        )
        yield f"{energy.name}{wait}{f'; prove: {measure.what}{limit}' if measure else ''}"


def _bags(procedure: Procedure) -> Iterator[tuple[str, str, str]]:
    for number, step in enumerate(procedure.steps, start=1):
        for fastener in step.fasteners:
            if fastener.bag:
                yield fastener.bag, _counted(fastener), str(number)


def _torques(procedure: Procedure) -> Iterator[tuple[str, str, str, str]]:
    for number, step in enumerate(procedure.steps, start=1):
        for fastener in step.fasteners:
            if fastener.tightening:
                tight = ", then ".join(map(str, fastener.tightening))
                renewed = ", new ones" if fastener.renew else ""
                yield str(number), _counted(fastener), _size(fastener), f"{tight}{renewed}"
            elif _asked(step):
                yield str(number), _counted(fastener), _size(fastener), "not known yet"


def _asked(step: Step) -> bool:
    return any(review.about == "torque" for review in step.review)


def _counted(fastener: Fastener) -> str:
    return several(fastener.count, fastener.what) if fastener.count > 1 else fastener.what


def _size(fastener: Fastener) -> str:
    """Thread and tool."""
    drives = (
        f"{fastener.hex} hex" if fastener.hex else None,
        f"{fastener.socket_hex} hex key" if fastener.socket_hex else None,
        fastener.six_lobe,
        fastener.driver,
    )
    return ", ".join(str(one) for one in (fastener.thread, *drives) if one)


def _fluids(procedure: Procedure) -> Iterator[str]:
    for number, step in enumerate(procedure.steps, start=1):
        measure = step.measure
        if step.act == "fill" and measure:
            low, high = measure.at_least, measure.at_most
            told = (
                f"{low:g} to {high:g} {measure.unit}"
                if low is not None and high is not None
                else "not known yet"
            )
            yield f"step {number}: {measure.what}, {told}"
