"""Arrays trained for the ear that come with this package: pinned, so that what hears is what was measured."""

import hashlib
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from companion.errors import ModelError

Floats = NDArray[np.float32]
Arrays = Mapping[str, Floats]


def read_trained(path: Path, checksum: str) -> Arrays:
    """The arrays of a file, in single precision.

    Args:
        path: an `.npz` file.
        checksum: its SHA-256, in hexadecimal.

    Raises:
        ModelError: the file is missing or is not the one that was measured.
    """
    try:
        found = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise ModelError(f"{path} cannot be read ({error.strerror}); install the program again") from error
    if found != checksum:
        raise ModelError(f"{path} is not the file this program was measured with; install the program again")
    with np.load(path) as arrays:
        return {name: arrays[name].astype(np.float32) for name in arrays.files}
