"""What is computed from a store, kept as JSON under a checksum, and read back or not at all.

A number of which one digit has changed is a number still: only a checksum tells.
"""

from hashlib import blake2b
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from kb.files import read_whole, write_whole

T = TypeVar("T")
NOT_KEPT = (OSError, ValueError, RecursionError)
"""What `read_kept` raises where a file is missing, damaged or of another form."""


def write_kept(path: Path, value: Any) -> None:
    """Write a value to a file, replacing an older one in one step; its folder is made.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    told = msgspec.json.encode(value)
    write_whole(path, _checksum(told) + b"\n" + told, own=True)


def read_kept(path: Path, kind: type[T]) -> T:
    """Read a value back.

    Raises
    ------
    OSError
        If there is no file, or it cannot be read.
    ValueError
        If a byte of it is not as it was written, or it is of another kind.
    """
    checksum, _, told = read_whole(path).partition(b"\n")
    if checksum != _checksum(told):
        raise ValueError(path)
    return msgspec.json.decode(told, type=kind)


def _checksum(told: bytes) -> bytes:
    return blake2b(told, digest_size=16).hexdigest().encode()
