"""One transaction, in which rows wait, so that many jobs are stored with few statements."""

from collections import defaultdict
from typing import Any

from sqlalchemy import Connection, CursorResult, Executable, ScalarResult, Table, insert

from kb.store.mapping import Row
from kb.store.tables import Base

LIMIT = 5000
"""How many rows may wait: bounds memory and the length of one statement."""


class Transaction:
    """Runs the statements of one unit of work. Whoever reads sees every row that was put."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._waiting: dict[Table, list[Row]] = defaultdict(list)
        self._count = 0

    def put(self, table: type[Base], rows: list[Row]) -> None:
        """Take rows to be inserted."""
        self._waiting[_core(table)] += rows
        self._count += len(rows)
        if self._count > LIMIT:
            self.flush()

    def flush(self) -> None:
        """Insert what waits."""
        if not self._count:
            return
        for table in Base.metadata.sorted_tables:  # what others refer to comes first
            if rows := self._waiting.pop(table, None):
                self._connection.execute(insert(table), rows)
        self._count = 0

    def insert(self, table: type[Base], row: Row) -> int:
        """Insert a row at once, ahead of what waits; its new key."""
        made = self._connection.execute(insert(_core(table)), row).inserted_primary_key
        assert made is not None  # noqa: S101  every table has a key
        return int(made[0])

    def execute(self, statement: Executable) -> CursorResult[Any]:
        """Run a statement."""
        self.flush()
        return self._connection.execute(statement)

    def scalar(self, query: Executable) -> Any:
        """First column of the first row; None if there is no row."""
        return self.execute(query).scalar()

    def scalars(self, query: Executable) -> ScalarResult[Any]:
        """First column of every row."""
        return self.execute(query).scalars()


def _core(table: type[Base]) -> Table:
    """Return the table without its class: inserting rows through the class takes far longer."""
    core = table.__table__
    assert isinstance(core, Table)  # noqa: S101  it is no view
    return core
