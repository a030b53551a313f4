"""Copies of stores, for tests that change what others only ask."""

import shutil
from pathlib import Path


def copied(address: str, folder: Path) -> str:
    """Copy an SQLite store, its index left behind, and return the copy's address."""
    folder.mkdir(parents=True, exist_ok=True)
    return str(shutil.copy(address, folder / "copy.sqlite"))
