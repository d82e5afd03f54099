"""Where results are kept between runs, beside the logs; all of it can always be deleted."""

from hashlib import sha256
from pathlib import Path

CACHE = ".times"
"""The folder beside the logs."""
FIT_SCHEMA = 3
"""In the name of a kept fit: one that was made by another version is not looked at, and made again."""


def kept_fit(logs: Path, title: str) -> Path:
    """Where the fit of a procedure is kept between runs."""
    return logs / CACHE / f"fit-{FIT_SCHEMA}-{sha256(title.encode()).hexdigest()[:16]}.json"
