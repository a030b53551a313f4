"""One transaction, in which rows wait, so that many jobs are stored with few statements."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import TypeVar

from sqlalchemy import Connection, Table, insert

from kb.store.mapping import Row
from kb.store.tables import METADATA

LIMIT = 5000
"""How many rows may wait: bounds memory and the length of one statement."""
BATCH = 500
"""How many things one statement names: far below what databases take (SQLite: 32,766)."""
T = TypeVar("T")


def batches(items: Iterable[T]) -> Iterator[list[T]]:
    """Take items a few hundred at a time."""
    rest = iter(items)
    while batch := list(islice(rest, BATCH)):
        yield batch


class Transaction:
    """The connection of one unit of work, and the rows that nobody has to see yet."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._waiting: dict[Table, list[Row]] = defaultdict(list)
        self._count = 0

    def put(self, table: Table, rows: list[Row]) -> None:
        """Take rows to be inserted."""
        self._waiting[table] += rows
        self._count += len(rows)
        if self._count > LIMIT:
            self.flushed()

    def flushed(self) -> Connection:
        """Insert what waits, and return the connection: whoever runs a statement sees it all."""
        if self._count:
            for table in METADATA.sorted_tables:  # what others refer to comes first
                if rows := self._waiting.pop(table, None):
                    self._connection.execute(insert(table), rows)
            self._count = 0
        return self._connection

    def insert(self, table: Table, row: Row) -> int:
        """Insert a row at once, ahead of what waits; its new key."""
        made = self._connection.execute(insert(table), row).inserted_primary_key
        assert made is not None  # noqa: S101  every table has a key
        return int(made[0])


class InTransaction:
    """What works in a transaction: puts rows into it, and asks with all of them in view."""

    def __init__(self, transaction: Transaction) -> None:
        self._transaction = transaction

    @property
    def _connection(self) -> Connection:
        return self._transaction.flushed()
