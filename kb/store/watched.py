"""What the foreman chose to watch and has seen of it, as stored: a list that only grows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum

from sqlalchemy import select

from kb.bounds import check_text
from kb.store.tables import WATCHED
from kb.store.transaction import InTransaction, Transaction

FACT = ("component", "location", "code", "make", "model")
"""What names a fact; each may be None."""


class WatchAct(StrEnum):
    """What was done about a fact: it is watched from a day on, no more, or was seen by then."""

    FOLLOW = "follow"
    STOP = "stop"
    SEEN = "seen"


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchEntry:
    """One act; `fact` has every name of `FACT`."""

    at: datetime
    who: str | None
    act: WatchAct
    fact: Mapping[str, str | None]
    day: date


class Watched(InTransaction):
    """The acts on what is watched, oldest first."""

    def __init__(self, transaction: Transaction, who: str | None) -> None:
        super().__init__(transaction)
        self._who = who

    def all(self) -> list[WatchEntry]:
        """Every act that was ever stored."""
        rows = self._connection.execute(select(WATCHED).order_by(WATCHED.c.sequence)).mappings()
        return [
            WatchEntry(
                at=row["at"],
                who=row["who"],
                act=WatchAct(row["act"]),
                fact={name: row[name] for name in FACT},
                day=row["day"],
            )
            for row in rows
        ]

    def add(self, act: WatchAct, fact: Mapping[str, str | None], day: date) -> None:
        """Store an act.

        Raises
        ------
        InvalidField
            If a name cannot be stored.
        """
        for name in FACT:
            if (text := fact[name]) is not None:
                check_text(name, text)
        row = {"at": datetime.now(UTC), "who": self._who, "act": act.value, "day": day}
        self._transaction.put(WATCHED, [row | {name: fact[name] for name in FACT}])
