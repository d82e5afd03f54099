"""Where results are kept between runs, beside the logs; all of it can always be deleted."""

from hashlib import sha256
from pathlib import Path

CACHE = ".times"
"""The folder beside the logs."""


def kept_fit(logs: Path, title: str) -> Path:
    """Where the fit of a procedure is kept between runs."""
    return logs / CACHE / f"fit-{sha256(title.encode()).hexdigest()[:16]}.json"
