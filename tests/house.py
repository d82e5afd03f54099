"""The rules of the house, each a function from all source files to what is wrong.

Who may import whom, and what may be used where, is read from the tables of DEVELOPERS.md. `test_house.py`
applies the rules.
"""

import ast
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from graphlib import CycleError, TopologicalSorter
from pathlib import PurePosixPath

LONGEST = 300
"""Lines in a file."""
FULLEST = 14
"""Modules in a folder, its `__init__` and `conftest` not counted."""
CLOCKS = {
    "datetime.datetime.now",
    "datetime.datetime.utcnow",
    "datetime.datetime.today",
    "datetime.date.today",
}
OUTSIDE = {"open", "print", "input", "exec", "eval", "__import__", "breakpoint"}
"""Built-in functions that reach out of a pure function."""


@dataclass(frozen=True)
class House:
    """The source of every file, by its path from the root, and the page that draws the rules."""

    files: Mapping[str, str]
    page: str

    @cached_property
    def modules(self) -> dict[str, str]:
        """Name -> path, of the program only."""
        return {_module(path): path for path in self.files if path.startswith("companion/")}

    @cached_property
    def imports(self) -> dict[str, set[str]]:
        """Module -> the modules of the house that it imports, at the top of the file or later."""
        return {
            name: {target for full in names if (target := self._within(full))} - {name}
            for name, names in self.names.items()
        }

    @cached_property
    def names(self) -> dict[str, frozenset[str]]:
        """Module -> everything it imports, from anywhere, by full name."""
        return {name: _imported(name, self.files[path]) for name, path in self.modules.items()}

    def table(self, *heads: str) -> dict[str, list[str]]:
        """A table of the page by the words at its head: first column -> the words of all others."""
        lines = iter(self.page.splitlines())
        assert "| " + " | ".join(heads) + " |" in lines, f"DEVELOPERS.md has no table {heads}"
        next(lines)
        rows: dict[str, list[str]] = {}
        for line in lines:
            if not line.startswith("|"):
                break
            first, *others = (cell.strip() for cell in line.strip("|").split("|"))
            words = " ".join(others).replace("`", "").replace(",", " ").split()
            rows[first.strip("`")] = [word for word in words if word != "nothing"]
        return rows

    def _within(self, full: str) -> str | None:
        """The module that an imported name is, or is in; None when it is not of the house."""
        if full in self.modules:
            return full
        holder = full.rpartition(".")[0]
        return holder if holder in self.modules else None


def _module(path: str) -> str:
    return ".".join(PurePosixPath(path).with_suffix("").parts).removesuffix(".__init__")


_parse = cache(ast.parse)


@cache
def _imported(module: str, text: str) -> frozenset[str]:
    """Full names: `from a import b` is "a.b"."""
    full = set()
    for node in ast.walk(_parse(text)):
        if isinstance(node, ast.Import):
            full |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            above = module.split(".")[: -node.level] if node.level else []
            stem = ".".join([*above, *([node.module] if node.module else [])])
            full |= {f"{stem}.{alias.name}" for alias in node.names}
    return frozenset(full)


def _room(path: str) -> str:
    return str(PurePosixPath(path).parent)


Fault = tuple[str, int]
"""What is wrong, and its size: lines, modules, imports."""


def strangers(house: House) -> Iterator[Fault]:
    """A package imports only those that its row names, and a row names only rows above it."""
    allowed = house.table("package", "may import")
    above: set[str] = set()
    for package, friends in allowed.items():
        for friend in friends:
            if friend not in above:
                yield f"the table lets {package} import {friend}, which stands below it", 1
        above.add(package)
    for module, imports in house.imports.items():
        package = _package(module)
        if package is None:
            continue
        if package not in allowed:
            yield f"{package} has no row in the table", 1
            continue
        for other in imports:
            friend = _package(other)
            if friend not in (None, package, *allowed[package]):
                yield f"{house.modules[module]} imports {friend}, which its row does not name", 1


def _package(module: str) -> str | None:
    """`companion.job.decide` is of the package "job"; the root is of none."""
    return module.split(".")[1] if "." in module else None


def mutual(house: House) -> Iterator[Fault]:
    """No two rooms import each other, and no modules in a ring."""
    ways = Counter(
        (here, there)
        for module, imports in house.imports.items()
        for other in imports
        if (here := _room(house.modules[module])) != (there := _room(house.modules[other]))
        and not here.startswith(f"{there}/")
        and not there.startswith(f"{here}/")
    )
    for (here, there), number in ways.items():
        if here < there and (there, here) in ways:
            yield f"{here} and {there} import each other", min(number, ways[there, here])
    imports = {module: set(others) for module, others in house.imports.items()}
    while ring := _ring(imports):
        yield f"modules import each other: {', '.join(sorted(ring))}", len(ring)
        for module in ring:
            imports[module] -= ring


def _ring(imports: Mapping[str, set[str]]) -> set[str]:
    try:
        TopologicalSorter(imports).prepare()
    except CycleError as error:
        return set(error.args[1])
    return set()


def impure(house: House) -> Iterator[Fault]:
    """The pure core uses what its row names: no clock, thread or file, and nothing that is not there."""
    may_use = house.table("pure", "may use")
    for module, path in house.modules.items():
        rows = [row for row in may_use if path == f"companion/{row}" or path.startswith(f"companion/{row}/")]
        if not rows:
            continue
        libraries = {"companion", *(library for row in rows for library in may_use[row])}
        for full in house.names[module]:
            if (library := full.split(".")[0]) not in libraries:
                yield f"{path} is pure and uses {library}", 1
        for used in _used(house.files[path]):
            if used in CLOCKS or used in OUTSIDE:
                yield f"{path} is pure and uses {used}", 1


@cache
def _used(text: str) -> frozenset[str]:
    """Full names of what the code reaches for: `dt.now` after `from datetime import datetime as dt`."""
    tree = _parse(text)
    known: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            known |= {alias.asname or alias.name: f"{node.module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Import):
            known |= {alias.asname or alias.name: alias.name for alias in node.names}
    reached = [ast.unparse(n).split(".") for n in ast.walk(tree) if isinstance(n, ast.Attribute | ast.Name)]
    return frozenset(".".join([known.get(first, first), *others]) for first, *others in reached)


def wired_inside(house: House) -> Iterator[Fault]:
    """An adapter is imported where things are wired together, and in its own room."""
    wiring = [f"companion/{place}" for place in house.table("wired in", "what it puts together")]
    adapters = {name for names in house.table("protocol", "adapters", "fakes").values() for name in names}
    defined = {
        node.name: module
        for module, path in house.modules.items()
        for node in _parse(house.files[path]).body
        if isinstance(node, ast.ClassDef)
    }
    yield from ((f"the table names {name}, and there is no such class", 1) for name in adapters - {*defined})
    for module, path in house.modules.items():
        if any(path == place or path.startswith(f"{place}/") for place in wiring):
            continue
        for full in house.names[module]:
            name = full.rpartition(".")[2]
            if name in adapters & {*defined} and _room(house.modules[defined[name]]) != _room(path):
                yield f"{path} imports the adapter {name}; let it be handed in", 1


def oversized(house: House) -> Iterator[Fault]:
    """No file that must be scrolled for long, no folder that must be searched."""
    for path, text in house.files.items():
        if (lines := len(text.splitlines())) > LONGEST:
            yield f"{path} is too long", lines
    rooms = Counter(_room(p) for p in house.files if not p.endswith(("__init__.py", "conftest.py")))
    yield from ((f"{room} is too full", number) for room, number in rooms.items() if number > FULLEST)


def unexplained(house: House) -> Iterator[Fault]:
    """Every file of the program says what it is for, and so does every room."""
    for path in house.modules.values():
        if not ast.get_docstring(_parse(house.files[path])):
            yield f"{path} does not say what it is for: give it a docstring", 1
        if f"{_room(path)}/__init__.py" not in house.files:
            yield f"{_room(path)} has no __init__.py that says what it is for", 1


RULES: tuple[Callable[[House], Iterator[Fault]], ...] = (
    strangers,
    mutual,
    impure,
    wired_inside,
    oversized,
    unexplained,
)


def faults(house: House) -> dict[str, int]:
    return {what: size for rule in RULES for what, size in rule(house)}
