"""The quote as a page to print or to send: first what it costs, then how sure it is, then the steps."""

from datetime import date

from companion.labour.answers.quote import Quote, priced
from companion.labour.answers.written import day_words, hours, minutes, step_words
from companion.pages.html import Html, join, page, paragraph, table, tiles

_NOT_ADDED = "Typical times of steps do not add up to the quoted hours: not all are slow on the same day."


def quote_page(quote: Quote, made: date | None = None) -> str:
    """The whole page. It needs no network and no script, and all text is escaped.

    Args:
        made: the day on the quote.
    """
    chance = f"{100 * quote.confidence:g} of 100 such jobs"
    facts = [("Labour", hours(quote.time), f"enough in {chance}")]
    if quote.total is not None:
        facts.append(("Total", priced(quote.total, quote.currency), "labour and parts"))
    facts.append(("As likely over as under", hours(quote.even), "half of such jobs"))
    rows = [(words, hours(time)) for words, time in quote.sureness]
    hours_table = table("Hours of the job", ("How sure", "Hours"), rows)
    sections = [
        ("sure", "How sure it is", join([hours_table, paragraph(quote.included)])),
        ("steps", "Steps", join([_steps(quote), paragraph(_NOT_ADDED)])),
    ]
    if quote.total is not None or quote.parts:
        sections.insert(0, ("price", "What it costs", _prices(quote)))
    day = f"Made on {day_words(made)}. " if made else ""
    lead = f"{day}Rests on: {quote.labour.basis}."
    foot = [
        "An estimate from times of earlier jobs and from the book. What is found on the car may change it."
    ]
    return page(f"Quote: {quote.title}", lead, sections, foot, tiles(facts))


def _prices(quote: Quote) -> Html:
    rows = []
    if quote.rate is not None and quote.labour_cost is not None:
        what = f"Labour, {hours(quote.time)} at {priced(quote.rate, quote.currency)} an hour"
        rows.append((what, priced(quote.labour_cost, quote.currency)))
    for part in quote.parts:
        rows.append((f"{part.count} x {part.name}", priced(part.cost, quote.currency)))
    if quote.total is not None:
        rows.append(("Total", priced(quote.total, quote.currency)))
    return table("Labour and parts", ("Item", "Price"), rows)


def _steps(quote: Quote) -> Html:
    rows = [
        (step_words(line.step), str(line.basis), minutes(line.book), minutes(line.typical))
        for line in quote.lines
    ]
    return table(
        "Each step, for information", ("Step", "Rests on", "Book, min", "Typical, min"), rows, words=2
    )
