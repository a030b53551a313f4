"""The change history as stored: every edit is a row, and none is ever taken away."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import ColumnElement, func, select

from kb.bounds import LARGEST_INTEGER
from kb.patterns import compiled
from kb.store.history import TAKEN_BACK, Change, ChangeSet
from kb.store.tables import CHANGES
from kb.store.transaction import InTransaction, Transaction

_TYPED = compiled(r"entries\[(\d+)\]")


class Changes(InTransaction):
    """Every change of the store, in the order they were made."""

    def __init__(self, transaction: Transaction, who: str | None) -> None:
        super().__init__(transaction)
        self._who = who
        self.at = datetime.now(UTC)

    def note(self, job: int | None, field: str, old: Any = None, new: Any = None) -> None:
        """Write down that a field of a job (or, without a job, a shop word or vehicle) changed.

        All that one unit of work notes has the same moment: it is one entry.
        """
        row = {"job": job, "field": field, "old": old, "new": new, "who": self._who}
        self._transaction.put(CHANGES, [row | {"at": self.at}])

    def of(self, job: int) -> list[Change]:
        """Changes of one job, oldest first."""
        return self._read(CHANGES.c.job == job)

    def entries(
        self, *, job: int | None = None, who: str | None = None, limit: int | None = None
    ) -> list[ChangeSet]:
        """Entries that changed a job, the newest first; of one job, or of one person's alone."""
        undone = self._undone()
        first = func.min(CHANGES.c.sequence)
        heads = select(first, CHANGES.c.at).where(CHANGES.c.job.is_not(None))
        if job is not None:
            heads = heads.where(CHANGES.c.job == job)
        if who is not None:
            heads = heads.where(func.lower(CHANGES.c.who) == who.lower())
        heads = heads.group_by(CHANGES.c.at).order_by(first.desc()).limit(limit)
        moments = [row[1] for row in self._connection.execute(heads)]
        changes: dict[datetime, list[Change]] = {}
        for change in self._read(CHANGES.c.at.in_(moments)):
            changes.setdefault(change.at, []).append(change)
        made = [
            ChangeSet(changes=tuple(each), undone_by=undone.get(each[0].sequence))
            for each in changes.values()
        ]
        return sorted(made, key=lambda each: each.sequence, reverse=True)

    def entry(self, sequence: int) -> ChangeSet | None:
        """The entry whose first change has that sequence; None if none has."""
        changes = self._read(CHANGES.c.at == self.moment(sequence))
        if not changes or changes[0].sequence != sequence:
            return None
        return ChangeSet(changes=tuple(changes), undone_by=self._undone().get(sequence))

    def typed_in_vain(self, job: int) -> tuple[int, ...]:
        """Places of what was typed on a job by entries that are taken back now, ascending."""
        undone = [each for each in self.entries(job=job) if each.undone_by is not None]
        fields = (change.field for each in undone for change in each.of(job))
        return tuple(sorted(int(place[1]) for place in map(_TYPED.fullmatch, fields) if place))

    def _read(self, wanted: ColumnElement[bool]) -> list[Change]:
        query = select(*CHANGES.columns).where(wanted).order_by(CHANGES.c.sequence)
        return [Change(**row) for row in self._connection.execute(query).mappings()]

    def _undone(self) -> dict[int, int]:
        """Every entry that is taken back now, with the entry that did it."""
        query = select(CHANGES.c.at, CHANGES.c.new).where(CHANGES.c.field == TAKEN_BACK)
        told = {row.at: row.new for row in self._connection.execute(query)}
        first = select(func.min(CHANGES.c.sequence), CHANGES.c.at).where(CHANGES.c.at.in_(told))
        undoing = self._connection.execute(first.group_by(CHANGES.c.at)).all()
        undone: dict[int, int] = {}
        for sequence, at in sorted(undoing, reverse=True):  # a later one may take back an earlier
            if sequence not in undone:
                undone[told[at]] = sequence
        return undone

    def last(self) -> int:
        """Sequence of the last change; 0 in an empty store."""
        return self._connection.scalar(select(func.max(CHANGES.c.sequence))) or 0

    def moment(self, sequence: int) -> datetime | None:
        """When the change of that sequence was made; None if there is none.

        Two stores hardly ever agree in it, so it tells whether something was made from this one.
        """
        if abs(sequence) > LARGEST_INTEGER:
            return None
        return self._connection.scalar(select(CHANGES.c.at).where(CHANGES.c.sequence == sequence))

    def since(self, sequence: int) -> list[int]:
        """Numbers of the jobs that were added or changed after a sequence, ascending."""
        query = select(CHANGES.c.job).where(CHANGES.c.sequence > sequence)
        return sorted({number for number in self._connection.scalars(query) if number is not None})


class Recording(InTransaction):
    """What works in a transaction and writes down what it changes."""

    def __init__(self, transaction: Transaction, changes: Changes) -> None:
        super().__init__(transaction)
        self._changes = changes
