"""Answers to what a draft leaves open, put into their fields; the question goes."""

import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, assert_never

from ruamel.yaml import YAML

from companion.draft.home import about
from companion.draft.sheet import written
from companion.draft.words import slug
from companion.errors import ProcedureError
from companion.outline.counts import LITRES, details
from companion.outline.details import Details
from companion.outline.plain import plain
from companion.procedure.fasteners.sizes import Size
from companion.procedure.read import examine_bytes
from companion.procedure.review import Asked

Node = Any
_YES = re.compile(r"^(?:y|yes|yep|yeah|right|correct|ok|true|sure)\b", re.IGNORECASE)
_NO = re.compile(r"^(?:n|no|nope|none|not|never|false|without)\b", re.IGNORECASE)
_BY_HAND = re.compile(r"\b(?:hand|finger|snug|nip|feel|no torque|none)\b", re.IGNORECASE)
_AGAIN = re.compile(r"\b(?:reus\w*|again|inspect\w*|keep|kept|old|look\w*)\b", re.IGNORECASE)


class NotUnderstoodError(ProcedureError):
    """An answer does not answer its question; the message says how one is written."""


@dataclass(frozen=True)
class Question:
    """A question that is left, with its number in the file."""

    number: int
    ask: str
    about: Asked
    dangerous: bool
    holder: Node
    """The step or the energy source that it stands in, or the whole procedure."""


class Draft:
    """A procedure's file with its questions, which keeps its comments and its order."""

    def __init__(self, content: bytes, path: Path) -> None:
        """Read it; `path` only names it.

        Raises:
            ProcedureError: it has faults; its questions are no faults.
        """
        self._path = path
        self._yaml = YAML()
        self._yaml.width = 10_000
        self._yaml.indent(mapping=2, sequence=4, offset=2)
        self._yaml.preserve_quotes = True
        self._check(content)
        self._content = content
        self._data = self._yaml.load(content)

    @property
    def content(self) -> bytes:
        """The file as it stands now."""
        return self._content

    def questions(self) -> tuple[Question, ...]:
        """What is still open, in the order of the file."""
        found = [(holder, mark) for holder in self._holders() for mark in holder.get("review", ())]
        return tuple(
            Question(n, str(mark["ask"]), Asked(mark["about"]), bool(mark.get("dangerous")), holder)
            for n, (holder, mark) in enumerate(found, start=1)
        )

    def answer(self, question: Question, text: str) -> None:
        """Put an answer into its field and take the question out.

        Raises:
            NotUnderstoodError: it is no such answer, or makes a fault in the file. Nothing is changed.
        """
        self._apply(question, text.strip())
        marks = question.holder["review"]
        index = next(n for n, mark in enumerate(marks) if mark["ask"] == question.ask)
        del marks[index]
        if not marks:
            del question.holder["review"]
        out = io.BytesIO()
        self._yaml.dump(self._data, out)
        try:
            self._check(out.getvalue())
        except ProcedureError as error:
            self._data = self._yaml.load(self._content)
            raise NotUnderstoodError(error.faults[0].partition(": ")[2] or str(error)) from None
        self._content = out.getvalue()
        self._data = self._yaml.load(self._content)

    def _check(self, content: bytes) -> None:
        reading = examine_bytes(content, self._path)
        if reading.errors:
            raise ProcedureError(*map(str, reading.errors))

    def _holders(self) -> Iterator[Node]:
        yield self._data
        yield from self._data.get("energy", {}).values()
        yield from self._data["steps"]

    def _apply(self, question: Question, text: str) -> None:
        match question.about:
            case Asked.TORQUE:
                self._torque(question.holder, text)
            case Asked.AMOUNT:
                self._amount(question.holder, text)
            case Asked.SEAL:
                self._seal(question.holder, text)
            case Asked.COUNT:
                self._count(question.holder, text)
            case Asked.SIZE:
                self._size(question.holder, text)
            case Asked.WAIT:
                question.holder["wait"] = self._wait(text)
            case Asked.ENERGY:
                self._energy(question.holder, text)
            case Asked.PROOF | Asked.OTHER:
                self._words(question.holder, text)
            case _:
                assert_never(question.about)

    def _torque(self, step: Node, text: str) -> None:
        told = _told(text)
        if told.torque is None and re.fullmatch(r"\d+(?:[.,]\d+)?", text):
            told = _told(f"{text} Nm")
        if told.torque is None and _BY_HAND.search(text):
            step["act"] = "fit"
        elif told.torque is None:
            raise NotUnderstoodError(
                f"'{text}' is no torque; answer like 23 Nm, 17 lb ft, 20 Nm + 90 degrees, or by hand"
            )
        for fastener in step["fasteners"]:
            if told.torque is not None and "torque" not in fastener and "stages" not in fastener:
                if told.angle is None:
                    fastener["torque"] = f"{told.torque:g} N·m"
                else:
                    fastener["stages"] = [f"{told.torque:g} N·m", f"{told.angle:g}°"]
        if step.get("measure", {}).get("unit") == "N·m":
            del step["measure"]

    def _amount(self, step: Node, text: str) -> None:
        amount = _told(text).amount
        if amount is None and re.fullmatch(r"\d+(?:[.,]\d+)?", text):
            amount = float(text.replace(",", "."))
        if amount is None:
            raise NotUnderstoodError(
                f"'{text}' is no amount; answer like 4.5 litres ({', '.join(sorted(LITRES)[:4])} "
                "are understood)"
            )
        step["measure"] |= about(amount)

    def _seal(self, step: Node, text: str) -> None:
        if _NO.match(text):
            return
        item = step["closes"][0]
        name = self._data["items"][item]["name"]
        seal = plain(
            re.sub(r"^(?:yes|y|yep)\b[\s,.:;-]*(?:an?|the|new|with)?\s*", "", text, flags=re.IGNORECASE)
        ).text
        known = re.search(r"(?:\w+ )?(?:gasket|o-ring|seal|washer|ring)s?\b", seal)
        called = f"{name} {re.sub(r'^(?:new|a|the) ', '', known[0]) if known else 'gasket'}"
        if not known and not _YES.match(text):
            raise NotUnderstoodError(
                f"'{text}' tells of no seal; answer no, yes, or what it is: new gasket, o-ring, reused"
            )
        id_ = slug(called)
        used = "inspect" if _AGAIN.search(text) else "single"
        entry = {"name": called, "use": used, "joint": item}
        if used == "single":
            entry["part"] = f"new-{id_}"
            self._section("parts")[f"new-{id_}"] = {"name": called, "single_use": True}
        self._section("seals")[id_] = entry
        opener = next(other for other in self._data["steps"] if item in other.get("opens", ()))
        opener["disturbs"] = [*opener.get("disturbs", ()), id_]
        step["renews"] = [*step.get("renews", ()), id_]

    def _section(self, name: str) -> Node:
        if name not in self._data:
            place = [*self._data].index("steps")
            self._data.insert(place, name, {})
        return self._data[name]

    def _count(self, step: Node, text: str) -> None:
        told = re.search(r"\d+", plain(text).text)
        if not told:
            raise NotUnderstoodError(f"'{text}' is no number; answer like 6")
        many = next((f for f in step["fasteners"] if f["what"] in self._asked_of(step)), step["fasteners"][0])
        for fastener in self._same(many["what"]):
            fastener["count"] = int(told[0])

    def _asked_of(self, step: Node) -> str:
        return " ".join(str(mark["ask"]) for mark in step["review"])

    def _same(self, what: str) -> Iterator[Node]:
        for step in self._data["steps"]:
            yield from (one for one in step.get("fasteners", ()) if one["what"] == what)

    def _size(self, step: Node, text: str) -> None:
        told = _told(text if re.search(r"[a-z]", text.lower()) else f"{text} mm")
        sizes = {
            name: getattr(told, name)
            for name in ("thread", "hex", "socket_hex", "six_lobe", "driver")
            if getattr(told, name)
        }
        if not sizes:
            raise NotUnderstoodError(
                f"'{text}' is no size; answer like M8, 13 mm, T30, 6 mm allen or 7/16 in"
            )
        asked = self._asked_of(step)
        chosen = next((f for f in step["fasteners"] if f["what"] in asked), step["fasteners"][0])
        for fastener in self._same(chosen["what"]):
            for name, size in sizes.items():
                if name in ("hex", "socket_hex"):
                    fastener[name] = written(Size.parse(size if "in" in size else float(size)))
                else:
                    fastener[name] = size

    def _wait(self, text: str) -> str:
        minutes = _told(text).minutes
        if minutes is None and re.fullmatch(r"\d+", text):
            minutes = float(text)
        if not minutes:
            raise NotUnderstoodError(f"'{text}' is no time; answer like 10 min or 2 hours, as the maker says")
        return f"{minutes:g} min" if minutes >= 1 else f"{minutes * 60:g} s"

    def _energy(self, step: Node, text: str) -> None:
        if _YES.match(text):
            return
        if not _NO.match(text):
            raise NotUnderstoodError(f"'{text}' is neither yes nor no")
        source = step["isolates"]
        steps = self._data["steps"]
        for n in reversed(range(len(steps))):
            if source in (steps[n].get("isolates"), steps[n].get("proves"), steps[n].get("restores")):
                del steps[n]
            elif source in steps[n].get("needs_isolated", ()):
                steps[n]["needs_isolated"].remove(source)
                if not steps[n]["needs_isolated"]:
                    del steps[n]["needs_isolated"]
        del self._data["energy"][source]
        if not self._data["energy"]:
            del self._data["energy"]
        step.setdefault("review", [])

    def _words(self, holder: Node, text: str) -> None:
        if not text:
            raise NotUnderstoodError("there is no answer in that")
        if "applies_to" in holder:
            holder["applies_to"][:] = [text]
        else:
            said = f"{text[:1].upper()}{text[1:]}{'' if text.endswith('.') else '.'}"
            holder["more"] = f"{holder['more']} {said}" if "more" in holder else said


def _told(text: str) -> Details:
    return details(plain(text).text)


Asking = Callable[[Question], str | None]
"""Gives the answer to a question; None leaves it open."""
