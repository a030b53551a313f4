"""Arrays in one file that is read back whole or not at all.

The file begins with a manifest: what the arrays are of, and the place, type, shape and checksum
(XXH3, 64 bits) of each, under a checksum of its own. Every byte is checked whenever the file is
opened, which at the speed of memory costs a few milliseconds: a disk that returns other bytes than
it was given is noticed before anything is read into them. A new file is written beside the old one,
brought to the disk and put in its place in one step; whoever has the old one open goes on with it.
"""

import json
import math
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from xxhash import xxh3_64_hexdigest

from kb.files import replacing

MAGIC = b"kbarrays"
ALIGNMENT = 64
"""Arrays begin at a multiple of so many bytes: a line of the processor's cache."""
_KINDS = "biuf"
"""Kinds of numbers that an array may be of: truth values, integers, floating point."""
_DIGEST = 16
_HEAD = len(MAGIC) + 8 + _DIGEST


class Damaged(ValueError):
    """The file is not what was written."""


@dataclass(frozen=True, slots=True)
class StoredArrays:
    """What a file holds: arrays by name, memory-mapped, and what was said of them."""

    about: Mapping[str, Any]
    arrays: Mapping[str, NDArray[Any]]


def write(path: Path, about: Mapping[str, Any], arrays: Mapping[str, NDArray[Any]]) -> None:
    """Write arrays to a file, replacing an older one in one step.

    What stands under several names is written once.

    Raises
    ------
    OSError
        If the file cannot be written or put in its place; an older one is then left as it was.
    """
    entries, chunks = _laid_out(arrays)
    manifest = json.dumps({"about": dict(about), "arrays": entries}).encode()
    head = MAGIC + len(manifest).to_bytes(8, "little") + xxh3_64_hexdigest(manifest).encode()
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with replacing(path, own=True) as part, part.open("wb") as file:
        file.write(head + manifest)
        for chunk in chunks:
            file.write(bytes(-file.tell() % ALIGNMENT))
            file.write(chunk)


def read(path: Path) -> StoredArrays:
    """Read a file back.

    Raises
    ------
    Damaged
        If any byte that matters is not as it was written.
    OSError
        If there is no file, or it cannot be read.
    """
    if path.exists() and not path.is_file():
        raise Damaged(path)  # a pipe would be waited for
    with path.open("rb") as file:
        if os.fstat(file.fileno()).st_size < _HEAD:
            raise Damaged(path)
        data: NDArray[np.uint8] = np.memmap(file, dtype=np.uint8, mode="r").view(np.ndarray)
    manifest, start = _manifest(data)
    arrays, checked = {}, set()
    try:
        for name, entry in manifest["arrays"].items():
            place = start + entry["start"]
            dtype, shape = np.dtype(entry["type"]), tuple(entry["shape"])
            size = math.prod(shape) * dtype.itemsize
            raw = data[place : place + size]
            if len(raw) != size:
                raise Damaged(name)
            if (place, len(raw)) not in checked and (
                xxh3_64_hexdigest(raw.data) != entry["checksum"]
            ):
                raise Damaged(name)
            checked.add((place, len(raw)))
            arrays[name] = raw.view(dtype).reshape(shape)
        return StoredArrays(manifest["about"], arrays)
    except (KeyError, TypeError, AttributeError, OverflowError, ValueError) as error:
        raise Damaged(path) from error


def _manifest(data: NDArray[np.uint8]) -> tuple[dict[str, Any], int]:
    """Return the manifest and where the arrays begin."""
    head = data[:_HEAD].tobytes()
    size = int.from_bytes(head[len(MAGIC) : len(MAGIC) + 8], "little")
    raw = data[_HEAD : _HEAD + size].tobytes() if size <= len(data) else b""
    if head[: len(MAGIC)] != MAGIC or xxh3_64_hexdigest(raw).encode() != head[-_DIGEST:]:
        raise Damaged("manifest")
    start = _HEAD + size
    return json.loads(raw), start + -start % ALIGNMENT


def _laid_out(
    arrays: Mapping[str, NDArray[Any]],
) -> tuple[dict[str, dict[str, Any]], list[memoryview]]:
    """Return the manifest's entry of each array, and the bytes of each different one in order."""
    entries: dict[str, dict[str, Any]] = {}
    chunks: list[memoryview] = []
    starts: dict[tuple[str, int], int] = {}
    place = 0
    for name, array in arrays.items():
        if array.dtype.kind not in _KINDS:
            raise TypeError(f"{name}: {array.dtype} is no number")
        raw = np.ascontiguousarray(array).reshape(-1).view(np.uint8).data
        checksum = xxh3_64_hexdigest(raw)
        start = starts.setdefault((checksum, raw.nbytes), place)
        if start == place:
            chunks.append(raw)
            place += raw.nbytes + -raw.nbytes % ALIGNMENT
        entries[name] = {
            "start": start,
            "type": array.dtype.str,
            "shape": array.shape,
            "checksum": checksum,
        }
    return entries, chunks
