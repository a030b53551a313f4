"""Stable 64-bit keys for words and names, so that columns need no dictionary on disk."""

from collections.abc import Iterable
from hashlib import blake2b

import numpy as np
from numpy.typing import NDArray

Keys = NDArray[np.uint64]

MISSING = np.uint64(0)
"""The key of what was not recorded."""


def key(text: str | None) -> int:
    """Return the 64-bit key of a text; 0 for None.

    BLAKE2b (RFC 7693) cut to 8 bytes: among a million words two share a key with a chance of
    3 in 100 million (birthday bound).
    """
    if text is None:
        return 0
    return int.from_bytes(blake2b(text.encode(), digest_size=8).digest(), "little")


def keys(texts: Iterable[str | None]) -> Keys:
    """Return the keys of many texts, shape (n,)."""
    return np.fromiter(map(key, texts), dtype=np.uint64)
