"""What a shop says of itself, in `shop.yaml` beside its logs: written by `companion shop`, or by hand."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator
from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

from companion.errors import LabourError
from companion.files import write_whole
from companion.labour.table.hours import Hours

FILE = "shop.yaml"
LARGEST = 100_000
"""Bytes."""
_HEAD = "# What this shop says of itself; 'companion shop' writes it.\n"

Line = Annotated[str, Field(max_length=200)]


class Pair(BaseModel):
    """Two steps of a procedure, by their ids."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    procedure: Line
    """Its title."""
    before: Line
    now: Line


class Shop(BaseModel):
    """A shop. Whatever is not told is empty, and nothing is assumed."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Line = ""
    """What stands at the head of a quote."""
    address: Line = ""
    hours: Line = ""
    """Working hours, such as "Mon-Fri 08:00-12:00 13:00-17:00". A night outside them is no interruption."""
    closed: tuple[date, ...] = ()
    """Days on which nobody works."""
    rate: Annotated[Decimal, Field(ge=0, le=1_000_000_000)] | None = None
    """The price of an hour."""
    currency: Line = ""
    tax: Line = ""
    """The name of the tax on a quote, such as "sales tax"."""
    tax_percent: Annotated[Decimal, Field(ge=0, le=100)] = Decimal(0)
    same: tuple[Pair, ...] = ()
    """Pairs of wordings that are of the same step: the times of the first count for the second."""
    not_same: tuple[Pair, ...] = ()
    """Pairs of wordings that are not, though they do the same."""

    @field_validator("hours")
    @classmethod
    def _hours(cls, text: str) -> str:
        if text:
            try:
                Hours.parse(text)
            except LabourError as error:
                raise ValueError(str(error)) from None
        return text

    @property
    def open_hours(self) -> Hours | None:
        """When people work; None when the shop has not said."""
        return Hours.parse(self.hours, self.closed) if self.hours else None

    def said_of(self, title: str) -> "SaidOf":
        """What it says of the steps of one procedure."""
        return SaidOf(frozenset(_pairs(self.same, title)), frozenset(_pairs(self.not_same, title)))


class SaidOf:
    """What a shop says of the steps of one procedure, for `doing.joined`."""

    def __init__(self, together: frozenset[tuple[str, str]], parted: frozenset[tuple[str, str]]) -> None:
        self._together = together
        self._parted = parted

    def same(self, before: str, now: str) -> bool:
        """It says that they are the same step."""
        return (before, now) in self._together

    def apart(self, one: str, other: str) -> bool:
        """It says that they are not."""
        return (one, other) in self._parted or (other, one) in self._parted


def _pairs(pairs: tuple[Pair, ...], title: str) -> Iterator[tuple[str, str]]:
    return ((p.before, p.now) for p in pairs if p.procedure.casefold() == title.casefold())


def shop_of(logs: Path) -> Shop:
    """What the shop with these logs says of itself.

    Raises:
        LabourError: its file cannot be read, or makes no sense.
    """
    path = logs / FILE
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST + 1)
    except FileNotFoundError:
        return Shop()
    except OSError as error:
        raise LabourError(f"{path}: cannot be read ({error.strerror}); check its permissions") from error
    if len(content) > LARGEST:
        raise LabourError(f"{path}: is larger than {LARGEST // 1000} kB; write it anew with 'companion shop'")
    try:
        data = YAML(typ="safe", pure=True).load(content.decode("utf-8"))
        return Shop.model_validate({} if data is None else data)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the whole file"
        raise LabourError(
            f"{path}: {where}: {first['msg']}; mend it, or see 'companion shop --help'"
        ) from None
    except (YAMLError, ValueError, RecursionError) as error:  # a day that no calendar has is a ValueError
        raise LabourError(f"{path}: is no YAML; write it anew with 'companion shop'") from error


def write_shop(logs: Path, shop: Shop) -> None:
    """Write what it says of itself.

    Raises:
        LabourError: the file cannot be written.
    """
    path = logs / FILE
    data: dict[str, Any] = shop.model_dump(mode="json", exclude_defaults=True)
    out = StringIO(_HEAD)
    out.seek(0, 2)
    YAML(typ="safe", pure=True).dump(data, out)
    try:
        logs.mkdir(parents=True, exist_ok=True)
        write_whole(path, out.getvalue().encode())
    except OSError as error:
        raise LabourError(f"{path}: cannot be written ({error.strerror}); check the folder") from error
