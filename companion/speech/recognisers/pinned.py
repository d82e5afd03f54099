"""The SHA-256 sums of a model of the user's own: written down once, and compared each time it is loaded.

They stand beside the model in `NAME.sha256`, as `sha256sum` writes and checks them.
"""

import hashlib
from pathlib import Path

from companion.errors import ModelError
from companion.files import failures_named

MODELS = Path("models")
"""Where models of the user's own are looked for: in the folder that one stands in."""


def pin_file(folder: Path) -> Path:
    """Where the sums of a model folder stand."""
    return folder.with_name(f"{folder.name}.sha256")


def sums(folder: Path) -> dict[str, str]:
    """The SHA-256 of every file, by its path from beside the folder."""
    with failures_named(folder):
        return {
            p.relative_to(folder.parent).as_posix(): _sum(p) for p in sorted(folder.rglob("*")) if p.is_file()
        }


def pin(folder: Path) -> Path:
    """Write the sums down; gives the file."""
    path = pin_file(folder)
    with failures_named(path):
        path.write_text("".join(f"{found}  {name}\n" for name, found in sums(folder).items()))
    return path


def check_pinned(folder: Path) -> bool:
    """Compare the files with the sums that were written down; False when none were.

    Raises:
        ModelError: a file is missing, is new, or is not what it was.
    """
    path = pin_file(folder)
    if not path.is_file():
        return False
    expected = {}
    for line in path.read_text(encoding="utf-8", errors="replace").splitlines():
        found, _, name = line.partition(" ")
        expected[name.lstrip(" *")] = found
    now = sums(folder)
    for name in dict.fromkeys([*expected, *now]):
        if expected.get(name) != now.get(name):
            raise ModelError(
                f"{name} is not what {path} says (SHA-256); unpack the model again, "
                "or if it was changed on purpose: companion models --pin"
            )
    return True


def _sum(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
