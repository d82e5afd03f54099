"""The quote for a customer: who, what, until when, and a price range with its tax. No statistics."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from companion.labour.answers.quote import Quote, as_hours, money, priced
from companion.labour.answers.written import day_words
from companion.labour.table.shop import Shop
from companion.pages.html import join, page, paragraph, table, tiles

_RANGE = (
    "The range is what such jobs usually come to. What is found once it is open may change it; we ask before "
    "we go beyond the upper price."
)


@dataclass(frozen=True)
class Customer:
    """Whom a quote is for."""

    name: str = ""
    vehicle: str = ""
    valid: timedelta = timedelta(days=30)
    """How long the quote stands."""
    deposit: Decimal = Decimal(0)
    """What is paid beforehand, as a part of the upper price: 0.3 is 30 %."""


@dataclass(frozen=True)
class Prices:
    """A sum of money, from and to."""

    low: Decimal
    high: Decimal

    def __add__(self, other: "Prices") -> "Prices":
        return Prices(self.low + other.low, self.high + other.high)

    def times(self, part: Decimal) -> "Prices":
        """A part of it, to the cent."""
        return Prices(money(self.low * part), money(self.high * part))

    def words(self, currency: str) -> str:
        """Such as "157.50 to 210.00 EUR"."""
        if self.low == self.high:
            return priced(self.high, currency)
        return f"{self.low} to {priced(self.high, currency)}"


@dataclass(frozen=True)
class Offer:
    """A quote in money, from as likely over as under to the confidence quoted. Lines add up to the cent."""

    labour: Prices
    parts: Prices
    tax: Prices

    @property
    def total(self) -> Prices:
        """All of it."""
        return self.labour + self.parts + self.tax


def offer(quote: Quote, rate: Decimal, tax_percent: Decimal) -> Offer:
    """The price range of a quote at a rate."""
    low, high = sorted(Decimal(f"{as_hours(time):.2f}") for time in (quote.even, quote.time))
    labour = Prices(money(rate * low), money(rate * high))
    parts = Prices(quote.parts_cost, quote.parts_cost)
    return Offer(labour, parts, (labour + parts).times(tax_percent / 100))


def customer_page(quote: Quote, rate: Decimal, shop: Shop, customer: Customer, made: date) -> str:
    """The page. It needs no network and no script, and all text is escaped."""
    found, currency = offer(quote, rate, shop.tax_percent), quote.currency
    low, high = sorted(as_hours(time) for time in (quote.even, quote.time))
    rows = [(f"Labour, {low:.2f} to {high:.2f} h at {priced(rate, currency)}", found.labour.words(currency))]
    rows += [(f"{part.count} x {part.name}", priced(part.cost, currency)) for part in quote.parts]
    if shop.tax:
        rows.append((f"{shop.tax}, {shop.tax_percent:f} %", found.tax.words(currency)))
    rows.append(("Total", found.total.words(currency)))
    facts = [("Price", found.total.words(currency), shop.tax and f"with {shop.tax}")]
    if customer.deposit:
        deposit = money(found.total.high * customer.deposit)
        rows.append(("Deposit, paid beforehand", priced(deposit, currency)))
        facts.append(("Deposit", priced(deposit, currency), "paid beforehand"))
    until = made + customer.valid
    told = [("For", customer.name), ("Vehicle", customer.vehicle), ("From", shop.name), ("", shop.address)]
    lead = " · ".join(f"{what} {words}".strip() for what, words in told if words)
    dates = f"Made on {day_words(made)}, valid until {day_words(until)}."
    sections = [("price", "What it costs", join([table("Labour and parts", ("Item", "Price"), rows)]))]
    body = [("when", "How long this stands", paragraph(dates))]
    return page(f"Quote: {quote.title}", lead, [*sections, *body], [_RANGE], tiles(facts))
