"""Procedures found by name: in `procedures/` here, in the user's own folder, among those that come along."""

import os
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from companion.errors import ProcedureError
from companion.harmless import one_line

ENDINGS = (".yaml", ".yml")
MOST = 8
"""Names that are listed in one message."""
_HEAD = 4096
"""Bytes of a file in which its title stands."""


@dataclass(frozen=True)
class Shelf:
    """A folder of procedures, and whose they are."""

    whose: str
    folder: Path


@dataclass(frozen=True)
class Book:
    """A procedure on a shelf."""

    path: Path
    title: str
    shelf: Shelf

    @property
    def name(self) -> str:
        """What it is asked for by: its file without the ending."""
        return self.path.stem


def shelves() -> tuple[Shelf, ...]:
    """Where procedures are looked for, nearest first."""
    return (
        Shelf("here", Path("procedures")),
        Shelf("yours", own_folder()),
        Shelf("come along", _come_along()),
    )


def own_folder() -> Path:
    """The user's own folder of procedures, whether or not it is there yet."""
    data = os.environ.get("XDG_DATA_HOME", "")
    # The XDG standard: what is not an absolute path counts as not set.
    base = Path(data) if os.path.isabs(data) else Path(os.path.expanduser("~")) / ".local" / "share"
    return base / "bonnet-companion" / "procedures"


def _come_along() -> Path:
    """Beside the code once installed; in a clone at its top, where people read them."""
    here = Path(__file__).resolve().parent
    installed = here / "examples"
    return installed if installed.is_dir() else here.parent / "procedures"


def books() -> tuple[Book, ...]:
    """Every procedure that a name can mean; of equal names only the nearest."""
    found: dict[str, Book] = {}
    for shelf in shelves():
        for path in _files(shelf.folder):
            found.setdefault(path.stem, Book(path, _title(path), shelf))
    return tuple(found.values())


def find(name: str) -> Path:
    """The file that is meant: a path as it stands, or the one procedure that these words fit.

    Raises:
        ProcedureError: no procedure or more than one fits; with those that there are.
    """
    path = Path(name)
    if path.suffix in ENDINGS or path.is_file() or os.sep in name:
        return path
    on_hand = books()
    fitting = [book for book in on_hand if book.name == name] or [b for b in on_hand if _fits(b, name)]
    if len(fitting) == 1:
        return fitting[0].path
    if not fitting and path.exists():
        return path
    raise ProcedureError(one_line(_unclear(name, fitting) if fitting else _unknown(name, on_hand)))


def _files(folder: Path) -> Iterator[Path]:
    try:
        inside = sorted(folder.iterdir())
    except OSError:
        return
    for path in inside:
        if path.suffix in ENDINGS and path.is_file() and not path.name.startswith("."):
            yield path


def _title(path: Path) -> str:
    """Its title as it is written, without reading all of it; empty when it has none."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD).decode("utf-8", "replace")
    except OSError:
        return ""
    found = re.search(r"^title:[ \t]*(.+?)[ \t]*(?:#.*)?$", head, re.MULTILINE)
    return found[1].strip("\"'") if found else ""


def _fits(book: Book, words: str) -> bool:
    """Each word begins one of the book's: "brake" means the brakes, "a" alone means nothing."""
    wanted = _plain(words).split()
    its = _plain(f"{book.name} {book.title}").split()
    return (
        words.isprintable()
        and any(len(word) > 1 for word in wanted)
        and all(any(one.startswith(word) for one in its) for word in wanted)
    )


def _plain(text: str) -> str:
    return re.sub(r"[\W_]+", " ", text.casefold()).strip()


def _unclear(name: str, fitting: Sequence[Book]) -> str:
    return f"{name!r} fits {len(fitting)} procedures: {_listed(fitting)}; give one of these names"


def _unknown(name: str, on_hand: Sequence[Book]) -> str:
    if not on_hand:
        return f"no procedure is called {name!r}, and there is none; write one: companion draft --help"
    near = get_close_matches(_plain(name), [book.name for book in on_hand], n=1)
    meant = f"; did you mean {near[0]!r}?" if near else ""
    return f"no procedure is called {name!r}{meant}; there are: {_listed(on_hand)}"


def _listed(some: Sequence[Book]) -> str:
    more = f" and {len(some) - MOST} more (companion procedures)" if len(some) > MOST else ""
    return f"{', '.join(book.name for book in some[:MOST])}{more}"
