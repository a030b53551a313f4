"""Copies of stores, for tests that change what others only ask."""

import shutil
from pathlib import Path

from kb.store.address import index_folder


def copied(address: str, folder: Path) -> str:
    """Copy an SQLite store with its index, where it has one, and return the copy's address."""
    folder.mkdir(parents=True, exist_ok=True)
    copy = str(shutil.copy(address, folder / "copy.sqlite"))
    if index_folder(address).exists():
        shutil.copytree(index_folder(address), index_folder(copy))
    return copy
