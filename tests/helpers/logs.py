"""What a companion wrote down."""

import json
from pathlib import Path
from typing import Any


def events(folder: Path) -> list[dict[str, Any]]:
    """The whole lines of the one log in the logs of a folder; a last one that was cut off is none."""
    (log,) = (folder / "logs").glob("*.jsonl")
    lines = log.read_bytes().splitlines(keepends=True)
    return [json.loads(line) for line in lines if line.endswith(b"\n")]
