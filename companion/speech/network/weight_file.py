"""The weights of a CTranslate2 model as one file: where each array lies, so that it can be read and altered.

Layout (CTranslate2, binary version 6): version, name of the specification, its revision, number of arrays;
for each its name, rank, dimensions, type, size in bytes, and the bytes; then aliases. Little end first.
"""

import struct
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.errors import ModelError

VERSION = 6
_TYPES = (np.float32, np.int8, np.int16, np.int32, np.float16)


@dataclass(frozen=True)
class Variable:
    """One array in the file."""

    offset: int
    """Bytes from the start of the file."""
    shape: tuple[int, ...]
    dtype: type

    def read(self, data: bytes | bytearray) -> NDArray[np.generic]:
        """A view of the array; writable when `data` is."""
        count = int(np.prod(self.shape))
        return np.frombuffer(data, self.dtype, count, self.offset).reshape(self.shape)


def variables(data: bytes | bytearray) -> dict[str, Variable]:
    """Every array of a model file by name.

    Raises:
        ModelError: not a model file of the version known here.
    """
    try:
        return _variables(data)
    except (struct.error, IndexError, UnicodeDecodeError) as error:
        raise ModelError("the speech model file is damaged; install its package again") from error


def _variables(data: bytes | bytearray) -> dict[str, Variable]:
    position = 0

    def take(layout: str) -> tuple[int, ...]:
        nonlocal position
        found = struct.unpack_from(layout, data, position)
        position += struct.calcsize(layout)
        return found

    def name() -> str:
        nonlocal position
        (length,) = take("<H")
        text = bytes(data[position : position + length - 1]).decode()
        position += length
        return text

    (version,) = take("<I")
    if version != VERSION:
        raise ModelError(f"the speech model file has layout {version}, and {VERSION} is the one known here")
    name()
    _, count = take("<II")
    found = {}
    for _ in range(count):
        key = name()
        (rank,) = take("<B")
        shape = take(f"<{rank}I")
        kind, size = take("<BI")
        found[key] = Variable(position, shape, _TYPES[kind])
        position += size
    return found
