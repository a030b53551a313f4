"""What a shop's jobs are written to is its owner's alone, however loose the system's habits are."""

import os
from collections.abc import Iterator
from pathlib import Path
from stat import S_IMODE

import pytest
from click.testing import CliRunner, Result

from kb.cli.main import kb
from kb.services import demo
from kb.store.address import desks
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


@pytest.fixture
def loose() -> Iterator[None]:
    """Any file is anybody's, unless it is said otherwise."""
    before = os.umask(0)
    yield
    os.umask(before)


def run(address: str, *words: str) -> Result:
    result = CliRunner().invoke(kb, ["--store", address, *words])
    assert result.exit_code == 0, result.output
    return result


@pytest.mark.usefixtures("loose")
def test_every_file_that_is_made_is_its_owners_alone(tmp_path: Path, small_store: str) -> None:
    shop = tmp_path / "shop"
    address = str(shop / "shop.sqlite")
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    run(small_store, "export", str(jobs / "jobs.jsonl"))
    run(address, "init")
    run(address, "import", str(jobs / "jobs.jsonl"))
    run(address, "causes", "no crank")
    run(address, "export", str(jobs / "jobs.csv"))
    run(address, "report", str(jobs / "page.html"))
    run(address, "db", "backup")
    modes: dict[Path, int] = {}
    with UnitOfWork(open_store(address)) as work:  # its log lies beside it meanwhile
        work.words.add("os", ["offside"])
        work.jobs.count()
        for folder in (shop, jobs, desks()):
            modes |= {path: S_IMODE(path.stat().st_mode) for path in folder.rglob("*")}
        files = {path: mode for path, mode in modes.items() if path.is_file()}
    endings = {path.suffix for path in files}
    assert {".sqlite", ".sqlite-wal", ".jsonl", ".csv", ".html", ".index"} <= endings
    assert {str(path): oct(mode) for path, mode in files.items() if mode & 0o077} == {}


@pytest.mark.usefixtures("loose")
def test_the_folder_that_the_demonstration_is_made_in_is_its_owners_alone(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    demo._make(folder / "demo-0a1b2c3d.sqlite", [], None, anew=False)
    assert S_IMODE(folder.stat().st_mode) == 0o700
