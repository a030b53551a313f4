"""What all tests share: folders of their own instead of the user's, and stores to ask."""

import fcntl
import gc
import os
import shutil
import sys
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime
from hashlib import blake2b
from importlib import metadata
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from sqlalchemy import URL, Engine, NullPool, create_engine

from kb.recall import linear, softmax
from kb.services import fix_history
from kb.settings import Settings
from kb.store import database
from kb.store.database import create_store, open_store
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES
from tests.remembered import remember

# Whoever forbids to keep what is compiled would have every process that is started here compile the
# whole program and read every table anew, and pytest rewrite every assertion at each run.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# The tests run side by side, so none of them needs a core for each thread of its linear algebra.
for library in ("OMP", "OPENBLAS"):
    os.environ.setdefault(f"{library}_NUM_THREADS", "1")

# What tests write is of no use when the power fails: in memory, if there is plenty of room, nothing
# waits for the disk.
MEMORY, PLENTY = Path("/dev/shm"), 4 << 30
if os.access(MEMORY, os.W_OK) and shutil.disk_usage(MEMORY).free > PLENTY:
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))

# What the libraries make when they are imported stays: a tenth of the time went into looking
# through it again and again for what may be forgotten.
gc.set_threshold(100_000)

# Fresh examples at every run by hand; the same ones in CI, so that a change is judged by itself.
# A slow or busy machine is no failure; a store made for one test may serve all of its examples.
settings.register_profile(
    "shop",
    deadline=None,
    derandomize="CI" in os.environ,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.load_profile("shop")

collect_ignore = ["warm.py"]  # does all its work as it is imported


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the longest tests first: one that begins last leaves the other cores without work."""
    items.sort(key=lambda item: not item.path.name.startswith(("test_recount", "test_work_orders")))


@pytest.fixture(scope="session", autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Keep the user's data, cache and environment out of the tests."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        for name in (
            *("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME"),
            *("HOME", "LOCALAPPDATA"),
        ):
            patch.setenv(name, str(home))
        for name in ("KB_STORE", "KB_WHO"):
            patch.delenv(name, raising=False)
        patch.setenv("COLUMNS", "80")
        noon = 12 - datetime.now(UTC).hour
        patch.setenv("TZ", f"NOON{-noon:+d}")  # no day ends while the tests run
        time.tzset()
        yield home


@pytest.fixture(scope="session", autouse=True)
def compiled_once() -> Iterator[None]:
    """Let the stores of all tests share what was made of statements: a program has one store."""
    first = create_engine("sqlite://", poolclass=NullPool)
    first.connect().close()  # the dialect asks what the library can

    def sharing(url: URL, **how: Any) -> Engine:
        engine = create_engine(url, **how)
        if engine.dialect.name == first.dialect.name:
            engine.dialect, engine._compiled_cache = first.dialect, first._compiled_cache
        return engine

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(database, "create_engine", sharing)
        yield


@pytest.fixture(scope="session", autouse=True)
def fitted_once() -> Iterator[None]:
    """Let tests that fit the same share what comes of it: most ask the demonstration shop anew."""
    with pytest.MonkeyPatch.context() as patch:
        for module, name in (
            (linear, "_strongest"),
            (softmax, "fit"),
            (fix_history, "fit_stages"),
        ):
            remember(patch, module, name)
        yield


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store without a job, to be copied: making one takes every migration."""
    path = tmp_path_factory.mktemp("sqlite") / "template.sqlite"
    create_store(str(path)).dispose()
    return path


@pytest.fixture(scope="session")
def small_template(tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path) -> Path:
    path = Path(shutil.copy(sqlite_template, tmp_path_factory.mktemp("sqlite") / "small.sqlite"))
    with UnitOfWork(open_store(str(path)), who="BT") as work:
        for case in CASES:
            work.jobs.add(case)
        work.commit()
    return path


@pytest.fixture
def empty_store(tmp_path: Path, sqlite_template: Path) -> str:
    """Address of a store without a job."""
    return str(shutil.copy(sqlite_template, tmp_path / "empty.sqlite"))


@pytest.fixture
def small_store(tmp_path: Path, small_template: Path) -> str:
    """Address of a store with the six cases known by heart."""
    return str(shutil.copy(small_template, tmp_path / "small.sqlite"))


@pytest.fixture(scope="session")
def demo_store(
    own_folders: Path, tmp_path_factory: pytest.TempPathFactory, pytestconfig: pytest.Config
) -> str:
    """Address of the demonstration shop; only asked, never changed.

    Whichever process comes first makes it, with what is kept beside it, and all others copy it:
    later runs, too, on the same day and while nothing has changed that it may be made of.
    """
    from kb.services.ask import causes  # noqa: PLC0415
    from kb.services.demo import demo_address  # noqa: PLC0415
    from kb.services.inquiry import Question  # noqa: PLC0415
    from kb.services.proposed import prepare_recall  # noqa: PLC0415

    base = tmp_path_factory.getbasetemp()
    cache: pytest.Cache | None = getattr(pytestconfig, "cache", None)  # may be switched off
    if cache is not None:
        shared = cache.mkdir("demonstration")
    else:
        shared = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "demonstration"
        shared.mkdir(exist_ok=True)
    made = shared / f"{date.today()}-{_what_it_is_made_of(pytestconfig.rootpath)}"
    with pytest.MonkeyPatch.context() as patch, (shared / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not made.exists():
            for old in shared.glob("*-*"):
                shutil.rmtree(old)
            part = shared / "part"
            shutil.rmtree(part, ignore_errors=True)
            patch.setenv("XDG_DATA_HOME", str(part))
            prepare_recall(demo_address(), Settings(), today=date.today())
            causes(demo_address(), Question(text="no crank"), Settings())  # rates are learnt
            part.rename(made)
        shutil.copytree(made, own_folders, dirs_exist_ok=True)
    return demo_address()


def _what_it_is_made_of(root: Path) -> str:
    """Digest of the program, the seed cases and the libraries."""
    found = blake2b(digest_size=8)
    installed = sorted(f"{each.name} {each.version}" for each in metadata.distributions())
    found.update(" ".join(installed).encode())
    for folder in ("kb", "migrations", "seed_cases"):
        for file in sorted((root / folder).rglob("*")):
            if file.is_file() and file.parent.name != "__pycache__":
                found.update(str(file.relative_to(root)).encode() + file.read_bytes())
    return found.hexdigest()


@pytest.fixture
def small_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A demonstration shop of one file, and the test's own, for calls that make it anew."""
    from kb.services import demo  # noqa: PLC0415

    one_file = demo.seed_files()[:1]
    monkeypatch.setattr(demo, "seed_files", lambda: one_file)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
