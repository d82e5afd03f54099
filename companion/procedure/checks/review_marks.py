"""Questions that are left open in a procedure: each is a finding, the dangerous ones another."""

from collections.abc import Iterator

from companion.procedure.fault import Fault, Path
from companion.procedure.model import Asked, Procedure, Review
from companion.procedure.order import Order
from companion.procedure.rules import review_marks as rules


def look(procedure: Procedure, _order: Order) -> Iterator[Fault]:
    """Every question that is left, in the order of the file."""
    for path, review in questions(procedure):
        rule = rules.DANGEROUS if review.dangerous else rules.OPEN
        yield rule.at(path, review.ask)


def questions(procedure: Procedure) -> Iterator[tuple[Path, Review]]:
    """Each question with its place: of the whole job, of its energy, of its steps."""
    for place, review in enumerate(procedure.review):
        yield ("review", place), review
    for name, energy in procedure.energy.items():
        for place, review in enumerate(energy.review):
            yield ("energy", name, "review", place), review
    for position, step in enumerate(procedure.steps):
        for place, review in enumerate(step.review):
            yield ("steps", position, "review", place), review


def asked(reviews: tuple[Review, ...], about: Asked) -> bool:
    """Is it known to be missing? Then nobody needs to be told that it is."""
    return any(review.about is about for review in reviews)
