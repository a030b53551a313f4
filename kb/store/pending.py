"""Rows on their way to the database, so that many jobs are stored with few statements."""

from collections import defaultdict

from sqlalchemy import Connection, Table, insert

from kb.store.mapping import Row

LIMIT = 5000
"""How many rows may wait."""


class Pending:
    """Rows that nobody has to see yet. Whoever reads or commits calls `flush` first."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._rows: dict[Table, list[Row]] = defaultdict(list)
        self._count = 0

    def put(self, table: Table, rows: list[Row]) -> None:
        """Take rows to be inserted."""
        if not rows:
            return
        self._rows[table] += rows
        self._count += len(rows)
        if self._count > LIMIT:
            self.flush()

    def flush(self) -> None:
        """Insert what waits."""
        for table, rows in self._rows.items():
            self._connection.execute(insert(table), rows)
        self._rows.clear()
        self._count = 0
