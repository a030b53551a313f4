"""One piece of work on a store: all of it is kept, or nothing."""

from types import TracebackType
from typing import Any, Self

from sqlalchemy import Engine, Executable, Result
from sqlalchemy.exc import DBAPIError

from kb.store.address import must_be_changeable
from kb.store.changes import Changes
from kb.store.clock import tell_if_wrong
from kb.store.database import explained, newest_change
from kb.store.names import ShopNames
from kb.store.repairs import Repairs
from kb.store.repository import Jobs
from kb.store.transaction import Transaction
from kb.store.vehicle_models import VehicleModels
from kb.store.watched import Watched
from kb.store.words import Words


class UnitOfWork:
    """Access to a store's jobs, changes, words, names, vehicle list and watch in one transaction.

    The engine is from `kb.store.database.open_store`; `who` are initials for the change history.
    Read-only work sees the store as it is at this moment, without waiting for anybody and without
    holding anybody up. Otherwise the work is the only one that writes until it ends, and waits for
    others to end theirs, `patience` seconds where that is given. That this machine's clock seems
    wrong is told before anything is stored (`kb.store.clock`).

    Raises
    ------
    StoreBusy
        On entry, if others write for longer.
    OnlyDemonstration
        On entry, if the store is the demonstration shop and the work is not read-only.
    StoreUnusable
        On entry or use, if the store cannot be written.

    Notes
    -----
    As in::

        with UnitOfWork(open_store(address), who="BT") as work:
            stored = work.jobs.add(job)
            work.commit()
    """

    jobs: Jobs
    repairs: Repairs
    changes: Changes
    words: Words
    names: ShopNames
    models: VehicleModels
    watched: Watched

    def __init__(
        self,
        engine: Engine,
        *,
        who: str | None = None,
        read_only: bool = False,
        patience: int | None = None,
    ) -> None:
        self._engine = engine
        self._patience = patience
        self._who = who
        self._read_only = read_only

    def __enter__(self) -> Self:
        """Begin."""
        if not self._read_only:
            must_be_changeable(self._engine.url.render_as_string(hide_password=False))
        with explained(self._engine.url):
            connection = self._engine.connect()
            self._connection = connection.execution_options(
                kb_read_only=self._read_only, kb_patience=self._patience
            )
            try:
                self._connection.begin()
            except BaseException:
                self._connection.close()
                raise
        self._transaction = Transaction(self._connection)
        self.changes = Changes(self._transaction, self._who)
        self.names = ShopNames(self._transaction, self.changes)
        self.jobs = Jobs(self._transaction, self.changes, self.names)
        self.repairs = Repairs(self._transaction, self.names)
        self.words = Words(self._transaction, self.changes)
        self.models = VehicleModels(self._transaction, self.changes)
        self.watched = Watched(self._transaction, self._who)
        if not self._read_only:
            self._mind_clock()
        return self

    def _mind_clock(self) -> None:
        try:
            with explained(self._engine.url):
                tell_if_wrong(self.changes.at, newest_change(self._connection))
        except BaseException:
            self._connection.close()
            raise

    def execute(self, statement: Executable) -> Result[Any]:
        """Run a statement, for what concerns whole tables and no job by itself."""
        return self._transaction.flushed().execute(statement)

    def commit(self) -> None:
        """Keep what was done; further work needs a new unit."""
        with explained(self._engine.url):
            self._transaction.flushed()
            self._connection.commit()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End; whatever was not committed is undone."""
        self._connection.close()
        if isinstance(error, DBAPIError):
            with explained(self._engine.url):
                raise error
