"""The change history as stored: every edit is a row, and none is ever taken away."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import func, select

from kb.store.history import Change
from kb.store.tables import CHANGES
from kb.store.transaction import InTransaction, Transaction


class Changes(InTransaction):
    """Every change of the store, in the order they were made."""

    def __init__(self, transaction: Transaction, who: str | None) -> None:
        super().__init__(transaction)
        self._who = who
        self._at = datetime.now(UTC)

    def note(self, job: int | None, field: str, old: Any = None, new: Any = None) -> None:
        """Write down that a field of a job (or, without a job, a shop word or vehicle) changed.

        All that one unit of work notes has the same moment: it is one entry.
        """
        row = {"job": job, "field": field, "old": old, "new": new, "who": self._who}
        self._transaction.put(CHANGES, [row | {"at": self._at}])

    def of(self, job: int) -> list[Change]:
        """Changes of one job, oldest first."""
        query = select(*CHANGES.columns).where(CHANGES.c.job == job)
        rows = self._connection.execute(query.order_by(CHANGES.c.sequence)).mappings()
        return [Change(**row) for row in rows]

    def last(self) -> int:
        """Sequence of the last change; 0 in an empty store."""
        return self._connection.scalar(select(func.max(CHANGES.c.sequence))) or 0

    def moment(self, sequence: int) -> datetime | None:
        """When the change of that sequence was made; None if there is none.

        Two stores hardly ever agree in it, so it tells whether something was made from this one.
        """
        return self._connection.scalar(select(CHANGES.c.at).where(CHANGES.c.sequence == sequence))

    def since(self, sequence: int) -> list[int]:
        """Numbers of the jobs that were added or changed after a sequence, ascending."""
        query = (
            select(CHANGES.c.job)
            .where(CHANGES.c.sequence > sequence, CHANGES.c.job.is_not(None))
            .distinct()
            .order_by(CHANGES.c.job)
        )
        return [number for number in self._connection.scalars(query) if number is not None]


class Recording(InTransaction):
    """What works in a transaction and writes down what it changes."""

    def __init__(self, transaction: Transaction, changes: Changes) -> None:
        super().__init__(transaction)
        self._changes = changes
