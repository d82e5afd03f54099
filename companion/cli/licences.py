"""`companion licences`: under which licence each installed package and each weight file comes."""

import json
import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from importlib import metadata
from pathlib import Path

import click

from companion.cli import options
from companion.errors import CompanionError

PROGRAM = "bonnet-companion"
LONGEST = 60
"""Letters of a licence on one line; some packages give its whole text."""
NOT_TOLD = "not told"
UNTOLD = {
    "espeakng-loader": "GPL-3.0-or-later (espeak-ng, from memory: the package does not tell)",
}
"""What a package's own data do not tell."""
WEIGHTS = (".bin", ".mdl", ".npz", ".onnx", ".pt")
COPYLEFT = re.compile(r"\b[AL]?GPL|\bMPL\b|\bEUPL\b|\bEPL\b|\bCDDL\b|General Public|Mozilla", re.IGNORECASE)
"""Licences that ask for their own terms on what is passed on, be it all of it or the changed files alone."""


@dataclass(frozen=True)
class Licensed:
    """A package or a weight file."""

    kind: str
    """"package" or "weights"."""
    name: str
    version: str
    """Of the package, or the size of the file."""
    licence: str
    copyleft: bool

    @classmethod
    def of(cls, kind: str, name: str, version: str, licence: str) -> "Licensed":
        """Marked when it is copyleft."""
        return cls(kind, name, version, licence, bool(COPYLEFT.search(licence)))


@click.command(epilog="Examples: companion licences; companion licences --json")
@options.as_json
def command(as_json: bool) -> None:
    """List what is installed for the program: a line for each package, then one for each file of weights.

    The licences are as the packages tell them; where one does not, that is said. What is marked copyleft asks
    something of whoever passes it on.
    """
    for one in listed():
        if as_json:
            click.echo(json.dumps(asdict(one), ensure_ascii=False))
        else:
            mark = "copyleft" if one.copyleft else ""
            click.echo(f"{mark:9} {one.name:44} {one.version:>14}  {one.licence}".rstrip())


def listed() -> Iterator[Licensed]:
    """The packages that the program asks for, as far as they are installed, and their weights."""
    program = _installed(PROGRAM)
    if program is None:
        raise CompanionError(
            "pip knows nothing of this program, so nothing tells what it uses; run: pip install ."
        )
    packages = _asked_for(program)
    told = {name: licence_of(package) for name, package in packages.items()}
    for name in sorted(packages):
        yield Licensed.of("package", packages[name].name, packages[name].version, told[name])
    here = Path(__file__).parents[1]
    for path in sorted(here.rglob("*.npz")):
        yield _weights(f"companion/{path.relative_to(here).as_posix()}", path, "MIT, trained here")
    for name in sorted(packages):
        for file in packages[name].files or ():
            if file.suffix in WEIGHTS and name != PROGRAM and "tests" not in file.parts:
                yield _weights(file.as_posix(), Path(str(file.locate())), told[name])
    for path in sorted(Path("models").glob("*/am/final.mdl")):
        yield _weights(path.as_posix(), path, f"{NOT_TOLD}: see the page that it came from")


def licence_of(package: metadata.Distribution) -> str:
    """As the package tells it: the expression, else the classifiers, else the first line of its text."""

    def said(field: str) -> list[str]:
        return package.metadata.get_all(field) or []

    if known := UNTOLD.get(_plain(package.name)):
        return known
    sorts = [line.rpartition(" :: ")[2] for line in said("Classifier") if "License ::" in line]
    texts = [line for text in said("License") if (line := text.strip().partition("\n")[0][:LONGEST])]
    told = said("License-Expression") or sorts or [text for text in texts if text != "UNKNOWN"]
    return ", ".join(told) or NOT_TOLD


def _asked_for(package: metadata.Distribution) -> dict[str, metadata.Distribution]:
    """The package and all that it asks for, and so on; what is for its tests alone is not asked for."""
    found: dict[str, metadata.Distribution] = {}
    left = [package]
    while left:
        one = left.pop()
        name = _plain(one.name)
        if name in found:
            continue
        found[name] = one
        for wanted in one.requires or ():
            extra = re.search(r"""extra *== *['"]([^'"]+)""", wanted)
            # Extras of the program are what it is whole with; those of others are asked for by nobody.
            if extra and (one is not package or extra[1] == "test"):
                continue
            if (other := _installed(re.split(r"[^\w.-]", wanted, maxsplit=1)[0])) is not None:
                left.append(other)
    return found


def _installed(name: str) -> metadata.Distribution | None:
    try:
        return metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return None


def _plain(name: str) -> str:
    """A package is asked for by any of `a.b`, `a-b` and `A_B`."""
    return re.sub(r"[-_.]+", "-", name).lower()


def _weights(name: str, path: Path, licence: str) -> Licensed:
    size = path.stat().st_size if path.is_file() else 0
    return Licensed.of("weights", name, f"{size / 1e6:.1f} MB", licence)
