"""The tables of the trade that come with the program: TOML beside the modules that read them.

Reading TOML takes longer than a question may, so what a file says is kept as JSON where Python
keeps its compiled modules, until the file changes.
"""

import sys
from collections.abc import Mapping
from contextlib import suppress
from importlib.util import cache_from_source
from pathlib import Path
from typing import Any, NamedTuple

import msgspec

from kb.files import read_whole, write_whole


class _Kept(NamedTuple):
    """What a file of that time (ns) and size (bytes) says."""

    changed: int
    size: int
    table: dict[str, Any]


def read_table(path: Path) -> Mapping[str, Any]:
    """Read a TOML file of the program's own that has neither dates nor numbers JSON lacks.

    A folder that cannot be written is no error.

    Raises
    ------
    tomllib.TOMLDecodeError
        If it is no TOML.
    """
    file, kept = path.stat(), Path(cache_from_source(f"{path}.py")).with_suffix(".json")
    with suppress(OSError, msgspec.MsgspecError):
        known = msgspec.json.decode(read_whole(kept), type=_Kept)
        if known[:2] == (file.st_mtime_ns, file.st_size):
            return known.table
    import tomllib  # noqa: PLC0415 - costs more than all that is kept

    table = tomllib.loads(path.read_text(encoding="utf-8"))
    if not sys.dont_write_bytecode:
        with suppress(OSError):
            kept.parent.mkdir(parents=True, exist_ok=True)
            content = msgspec.json.encode(_Kept(file.st_mtime_ns, file.st_size, table))
            write_whole(kept, content, shared=True, own=True)
    return table
