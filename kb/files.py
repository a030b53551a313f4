"""Files that are whole or not there: written beside their place and renamed into it."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from uuid import uuid4


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give a new path to write to, beside a path; what is written there then takes its place.

    Nobody ever sees a part of it, even after a power failure: it is flushed to the disk before
    it is renamed. If anything goes wrong meanwhile, what stood at `path` stays, and the part is
    removed.

    Parameters
    ----------
    path : Path
        In a folder that is there.

    Yields
    ------
    Path
        Of a file that is not there yet; nobody else is given the same.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    part = path.with_name(f"{path.name}.{uuid4().hex}.part")
    try:
        yield part
        with part.open("r+b") as file:
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


@contextmanager
def making_once(path: Path) -> Iterator[Path]:
    """Give a new path to write to, as `replacing` does; whoever is done first keeps the place.

    What others made of the same meanwhile is thrown away, so that nobody finds the file changed
    that was found there once.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    part = path.with_name(f"{path.name}.{uuid4().hex}.part")
    try:
        yield part
        with part.open("r+b") as file:
            os.fsync(file.fileno())
        with suppress(FileExistsError):
            path.hardlink_to(part)
    finally:
        part.unlink(missing_ok=True)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file as a whole, as `replacing` does.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    with replacing(path) as part:
        part.write_bytes(content)
