"""The demonstration shop, made from the seed cases that come along."""

import os
from hashlib import sha256
from pathlib import Path
from shutil import rmtree

from kb.files import making_once
from kb.intake.files import read_models
from kb.progress import Progress, counted
from kb.store.address import demo_file, index_folder
from kb.store.backup import back_up
from kb.store.beside import check_place
from kb.store.database import create_store, open_store
from kb.store.sqlite_file import SIDES, is_database
from kb.store.tables import REVISIONS
from kb.store.unit_of_work import UnitOfWork

_VEHICLES = "vehicles.toml"


def demo_address(progress: Progress | None = None) -> str:
    """Return the address of the demonstration store, making the store if there is none.

    An empty file, or one that is no database, is none. It is named after the content of the seed
    cases and the revision of its tables: other ones make another store.
    """
    store = _place()
    if not is_database(store):
        _make(store, seed_files(), progress, anew=os.path.lexists(store))
    return str(store)


def copy_demo(target: Path, progress: Progress | None = None) -> Path:
    """Copy the demonstration shop to a file of its own, which may be changed; return its path.

    Raises
    ------
    Conflict
        If there is something at `target` already, or it belongs to a store.
    StoreUnusable
        If it cannot be written.
    """
    check_place(target)
    return back_up(demo_address(progress), target)


def reset_demo(progress: Progress | None = None) -> str:
    """Make the demonstration shop anew, whatever became of its files; return its address.

    Whoever asks it meanwhile is answered from the old one until the new one is whole.
    """
    store = _place()
    _make(store, seed_files(), progress, anew=True)
    return str(store)


def _place() -> Path:
    """Where the store of these seed cases and this revision lies."""
    content = [file.read_bytes() for file in (*seed_files(), vehicles_file())]
    return demo_file(sha256(b"".join((*content, REVISIONS[-1].encode()))).hexdigest()[:8])


def seed_files() -> list[Path]:
    """Return the files of jobs, in the wheel or in the checkout, in order of name."""
    return sorted(file for file in _folder().glob("*.toml") if file.name != _VEHICLES)


def vehicles_file() -> Path:
    """Return the file of the shop's list of vehicles."""
    return _folder() / _VEHICLES


def _folder() -> Path:
    room = Path(__file__).resolve().parents[1]
    folders = (room / "_seed_cases", room.parent / "seed_cases")
    return next(folder for folder in folders if folder.is_dir())


def _make(store: Path, files: list[Path], progress: Progress | None, *, anew: bool) -> None:
    """Fill a store beside its place, so that a half-made one is never asked.

    What lies beside one whose place it takes is of that one, and goes with it.
    """
    from kb.services.exchange import import_file  # noqa: PLC0415  only when there is none yet

    store.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with making_once(store, anew=anew) as part:
        create_store(str(part))
        with UnitOfWork(open_store(str(part))) as work:
            for model in read_models(vehicles_file()):
                work.models.add(model)
            work.commit()
        for file in counted(files, len(files), progress):
            import_file(str(part), file)
        if anew:
            for end in SIDES:
                Path(f"{store}{end}").unlink(missing_ok=True)
            rmtree(index_folder(str(store)), ignore_errors=True)
