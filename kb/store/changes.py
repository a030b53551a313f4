"""The change history as stored: every edit is a row, and none is ever taken away."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, func, select

from kb.store.history import Change
from kb.store.pending import Pending
from kb.store.tables import CHANGES


class Changes:
    """Every change of the store, in the order they were made."""

    def __init__(self, connection: Connection, pending: Pending, who: str | None) -> None:
        self._connection = connection
        self._pending = pending
        self._who = who

    def note(self, job: int | None, field: str, old: Any = None, new: Any = None) -> None:
        """Write down that a field of a job (or, without a job, a shop word or vehicle) changed."""
        row = {"job": job, "field": field, "old": old, "new": new, "who": self._who}
        self._pending.put(CHANGES, [row | {"at": datetime.now(UTC)}])

    def of(self, job: int) -> list[Change]:
        """Changes of one job, oldest first."""
        self._pending.flush()
        query = select(*CHANGES.columns).where(CHANGES.c.job == job)
        rows = self._connection.execute(query.order_by(CHANGES.c.sequence)).mappings()
        return [Change(**row) for row in rows]

    def last(self) -> int:
        """Sequence of the last change; 0 in an empty store."""
        self._pending.flush()
        return self._connection.scalar(select(func.max(CHANGES.c.sequence))) or 0

    def moment(self, sequence: int) -> datetime | None:
        """When the change of that sequence was made; None if there is none.

        Two stores hardly ever agree in it, so it tells whether something was made from this one.
        """
        return self._connection.scalar(select(CHANGES.c.at).where(CHANGES.c.sequence == sequence))

    def since(self, sequence: int) -> list[int]:
        """Numbers of the jobs that were added or changed after a sequence, ascending."""
        self._pending.flush()
        query = (
            select(CHANGES.c.job)
            .where(CHANGES.c.sequence > sequence, CHANGES.c.job.is_not(None))
            .distinct()
            .order_by(CHANGES.c.job)
        )
        return [number for number in self._connection.scalars(query) if number is not None]
