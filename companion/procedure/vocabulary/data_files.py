"""The data files that come with the program, read once each. They are part of it, as its modules are."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table(room: str, name: str) -> dict[str, Any]:
    """The rows of `name`.toml in a room of `companion.procedure`."""
    return tomllib.loads(files(f"companion.procedure.{room}").joinpath(f"{name}.toml").read_text("utf-8"))
