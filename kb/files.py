"""Files that are whole or not there: written beside their place and renamed into it."""

import errno
import hashlib
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from glob import escape
from pathlib import Path
from stat import S_IMODE, S_ISREG
from uuid import uuid4

try:
    import fcntl
except ImportError:  # where files are not locked in that way
    fcntl = None  # type: ignore[assignment]

ABANDONED = 86_400.0
"""Seconds after which a half-written file is that of a program that was stopped: a day, for a part
that is being written is younger on any machine."""
STOPPED = 3_600.0
"""Seconds after which one that no program holds any more is: an hour, for other machines may write
to the same drive, whose holding is not seen here."""
_PRIVATE, _AS_OTHERS = 0o600, 0o666
LONGEST_NAME = 255
"""Bytes that a file's name may have on common file systems (NAME_MAX of limits.h)."""
MOST_BYTES = 512 << 20
"""Of a file that is read as a whole; none that the program writes is a tenth of that (of 100,000
jobs), and one that has grown to gigabytes would be read for minutes."""
_PART = "[0-9a-f]" * 32
_ROOM = len(".part-journal") + 33
"""Bytes that stand behind a name while it is written."""
_BESIDE = ("", "-journal", "-wal", "-shm")
"""What SQLite keeps beside the name of a part: https://www.sqlite.org/tempfiles.html"""


@contextmanager
def replacing(
    path: Path, *, anew: bool = False, shared: bool = False, own: bool = False
) -> Iterator[Path]:
    """Give a new path to write to, beside a path; what is written there then takes its place.

    Nobody ever sees a part of it, even after a power failure: it is flushed to the disk before
    it is renamed. If anything goes wrong meanwhile, what stood at `path` stays, and the part is
    removed. What takes the place of a file keeps who may read that.

    Parameters
    ----------
    path : Path
        In a folder that is there.
    anew : bool
        Take no other file's place, also not that of one which came meanwhile.
    shared : bool
        Let others read it as far as the system lets them; otherwise its owner alone.
    own : bool
        The place is the program's own, for what it can make again: whatever is no plain file gives
        way there, too, but for a folder with something in it. What a link leads to stays.

    Yields
    ------
    Path
        Of an empty file; nobody else is given the same.

    Raises
    ------
    OSError
        If it cannot be written, or what stands at `path` is no plain file: a link, a folder, a
        pipe or a device is replaced in the program's own places alone.
    """
    if own:
        _clear_strange(path)
    mode = _mode_there(path, anew=anew)
    clear_abandoned(path.parent, escape(fitting(path.name, _ROOM)))
    part = _part_of(path)
    try:
        part.touch(_AS_OTHERS if shared else _PRIVATE, exist_ok=False)
        with _holding(part):
            yield part
        if mode is not None:
            part.chmod(mode)
        with part.open("r+b") as file:
            os.fsync(file.fileno())
        if anew:
            _take_free_place(part, path)
        else:
            _mode_there(path, anew=False)
            part.replace(path)
        sync_folder(path.parent)
    finally:
        for end in _BESIDE:
            Path(f"{part}{end}").unlink(missing_ok=True)


@contextmanager
def making_once(path: Path, *, anew: bool = False) -> Iterator[Path]:
    """Give a new path to write to, as `replacing` does; whoever is done first keeps the place.

    What others made of the same meanwhile is thrown away, so that nobody finds the file changed
    that was found there once.

    Parameters
    ----------
    anew : bool
        Take the place of whatever stands there, in one step: whoever opens it meanwhile has the old
        one or the new.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    clear_abandoned(path.parent, escape(fitting(path.name, _ROOM)))
    part = _part_of(path)
    try:
        yield part
        with part.open("r+b") as file:
            os.fsync(file.fileno())
        if anew:
            part.replace(path)
        else:
            with suppress(FileExistsError):
                path.hardlink_to(part)
        sync_folder(path.parent)
    finally:
        for end in _BESIDE:
            Path(f"{part}{end}").unlink(missing_ok=True)


def read_whole(path: Path) -> bytes:
    """Read a plain file, also by a link; a pipe would be waited for, and a device has no end.

    Raises
    ------
    OSError
        If it cannot be read, is none, or has more than `MOST_BYTES`.
    """
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "no plain file", str(path))
    if path.exists() and path.stat().st_size > MOST_BYTES:
        raise OSError(errno.EFBIG, "larger than 512 MB", str(path))
    return path.read_bytes()


def write_whole(
    path: Path, content: bytes, *, anew: bool = False, shared: bool = False, own: bool = False
) -> None:
    """Write a file as a whole, as `replacing` does.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    with replacing(path, anew=anew, shared=shared, own=own) as part:
        part.write_bytes(content)


def fitting(name: str, room: int) -> str:
    """Return a name, or of one too long its beginning and a digest of it all.

    Parameters
    ----------
    room : int
        Bytes that are to stand behind it.

    Examples
    --------
    >>> fitting("shop", room=90)
    'shop'
    >>> len(fitting("shop" * 60, room=90))
    165
    """
    whole, most = os.fsencode(name), LONGEST_NAME - room
    if len(whole) <= most:
        return name
    digest = hashlib.sha256(whole).hexdigest()[:8]
    return f"{whole[: most - 9].decode(errors='ignore')}~{digest}"


def _part_of(path: Path) -> Path:
    """Return a new path beside a path, for what is to take its place."""
    return path.with_name(f"{fitting(path.name, _ROOM)}.{uuid4().hex}.part")


def sync_folder(folder: Path) -> None:
    """Bring a folder's list of names to the disk, where the system can."""
    if hasattr(os, "O_DIRECTORY"):
        with suppress(OSError):
            handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)


def clear_abandoned(folder: Path, names: str) -> list[Path]:
    """Remove what a program that was stopped has left half written of files with such names.

    Parameters
    ----------
    names : str
        As `Path.glob` takes them.

    Returns
    -------
    list of Path
        The parts that were removed.
    """
    gone = list[Path]()
    with suppress(OSError):
        for part in sorted(
            each for end in _BESIDE for each in folder.glob(f"{names}.{_PART}.part{end}")
        ):
            with suppress(OSError):
                if _is_abandoned(part):
                    part.unlink()
                    gone.append(part)
    return gone


def _is_abandoned(part: Path) -> bool:
    age = time.time() - part.stat().st_mtime
    return age > ABANDONED or (age > STOPPED and _is_held_by_nobody(part))


def _is_held_by_nobody(part: Path) -> bool:
    """Whether no program on this machine writes a part; what lies beside one is as its part is."""
    if fcntl is None or not part.name.endswith(".part") or not is_plain(part):
        return False
    handle = os.open(part, os.O_RDWR)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    finally:
        os.close(handle)
    return True


@contextmanager
def _holding(part: Path) -> Iterator[None]:
    """Show others that a part is being written: the system forgets it with the program.

    References
    ----------
    flock(2), which SQLite's own locks (fcntl(2)) do not touch.
    """
    handle = os.open(part, os.O_RDWR)
    try:
        if fcntl is not None:
            with suppress(OSError):  # a drive may not know of it
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    finally:
        os.close(handle)


def is_plain(path: Path) -> bool:
    """Whether a plain file, or nothing yet, stands at a path; a link is no plain file."""
    try:
        return S_ISREG(path.lstat().st_mode)
    except FileNotFoundError:
        return True


def _clear_strange(path: Path) -> None:
    """Take away what is no plain file; a folder goes only if nothing is in it."""
    if is_plain(path):
        return
    if path.is_dir() and not path.is_symlink():
        path.rmdir()
    else:
        path.unlink()


def _take_free_place(part: Path, path: Path) -> None:
    """Put a part in a place that is free, in one step where the file system knows links."""
    try:
        path.hardlink_to(part)
    except FileExistsError:
        raise
    except OSError:
        path.touch(_PRIVATE, exist_ok=False)
        part.replace(path)


def _mode_there(path: Path, *, anew: bool) -> int | None:
    """Permissions of the file to be replaced; None where there is none."""
    if not is_plain(path):
        raise OSError(errno.EINVAL, "no plain file stands there", str(path))
    if not os.path.lexists(path):
        return None
    if anew:
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
    return S_IMODE(path.stat().st_mode)
