"""What a companion wrote down."""

import json
from pathlib import Path
from typing import Any


def events(folder: Path) -> list[dict[str, Any]]:
    """What the one log in the logs of a folder holds."""
    (log,) = (folder / "logs").glob("*.jsonl")
    return lines_of(log)


def lines_of(log: Path) -> list[dict[str, Any]]:
    """The whole lines of a log; a last one that was cut off is none."""
    lines = log.read_bytes().splitlines(keepends=True)
    return [json.loads(line) for line in lines if line.endswith(b"\n")]
