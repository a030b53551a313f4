"""Looking through a store with what is kept beside it."""

import os
from contextlib import suppress
from dataclasses import dataclass, fields
from enum import StrEnum

from kb.recall.cards import Cards
from kb.recall.index import Index
from kb.services.fix_history import is_astray
from kb.services.indexing import Reindexed, forget_computed, is_of, reindex, shop_wording
from kb.services.weights import kept_weights
from kb.settings import Settings
from kb.store.address import index_folder
from kb.store.cell_repair import Mended, mend
from kb.store.clock import WrongClock
from kb.store.condition import Condition, condition_of
from kb.store.database import clock_of, open_store
from kb.store.unit_of_work import UnitOfWork


class IndexState(StrEnum):
    """What the index beside a store is worth."""

    NONE = "none"
    IN_STEP = "in step"
    BEHIND = "behind"
    """Whole, but of other settings, another program or another store."""
    DAMAGED = "damaged"


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedIndex:
    """An index held against its store; `cases` is what it holds, cards where it is of them.

    `astray` are the jobs that it has otherwise than the store has them, though the store's history
    tells of no change since: another program wrote into the store.
    """

    state: IndexState
    cases: int = 0
    astray: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked(Condition):
    """What is wrong with a store, and its indexes, looked at where the store is sound."""

    index: CheckedIndex | None = None
    cards: CheckedIndex | None = None
    rates_astray: bool = False
    weights_lost: bool = False
    """What the fixes say of one another, as it is kept, is not what the store says; likewise."""
    clock: WrongClock | None = None
    """This machine's, where it seems wrong; that is no fault of the store."""

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong that does not mend itself."""
        return not (self.database or self.missing or self.cells or self.astray or self.rates_astray)

    @property
    def astray(self) -> tuple[int, ...]:
        """The jobs that an index has otherwise than the store."""
        found = (each.astray for each in (self.index, self.cards) if each)
        return tuple(sorted({number for astray in found for number in astray}))


def check(address: str, settings: Settings) -> Checked:
    """Look through a whole store and the index beside it; changes nothing.

    Raises
    ------
    StoreUnusable
        If the store cannot be opened at all.
    """
    found = condition_of(address)
    known = {each.name: getattr(found, each.name) for each in fields(found)}
    index = index_against_store(Index, address, settings) if found.is_sound else None
    cards = index_against_store(Cards, address, settings) if found.is_sound else None
    clock = None if found.database or found.missing else clock_of(address)
    astray = lost = False
    if found.is_sound:
        with UnitOfWork(open_store(address), read_only=True) as work:
            astray = is_astray(work, address, settings)
            lost = kept_weights(work, address).lost
    return Checked(
        **known, index=index, cards=cards, rates_astray=astray, weights_lost=lost, clock=clock
    )


def index_against_store(kind: type[Index], address: str, settings: Settings) -> CheckedIndex:
    """Hold every case of an index, or every card, against the store's."""
    folder = index_folder(address)
    index = kind.load(folder)
    if index is None:
        there = os.path.lexists(folder / kind.file)
        return CheckedIndex(state=IndexState.DAMAGED if there else IndexState.NONE)
    with UnitOfWork(open_store(address), read_only=True) as work:
        if not is_of(index, work, shop_wording(work), settings):
            return CheckedIndex(state=IndexState.BEHIND, cases=len(index))
        changed = set(work.changes.since(index.sequence))
        jobs = work.jobs.all(cases_only=kind is Index, lists=kind.lists)
        now = {job.number: kind.print_of(job) for job in jobs if kind.takes(job)}
    fitted = dict(zip(index.base.numbers.tolist(), index.base.prints.tolist(), strict=True))
    numbers = {number for number in fitted.keys() | now.keys() if number is not None} - changed
    astray = sorted(each for each in numbers if fitted.get(each) != now.get(each))
    return CheckedIndex(state=IndexState.IN_STEP, cases=len(index), astray=tuple(astray))


@dataclass(frozen=True, slots=True, kw_only=True)
class Repaired(Mended):
    """What was mended in a store, and the index that was made again; None where some is left."""

    index: Reindexed | None


def repair(address: str, settings: Settings, who: str | None) -> Repaired:
    """Mend what can be mended in a store, and make again what is computed from it.

    Raises
    ------
    StoreUnusable
        If the store cannot be copied or written.
    """
    mended = mend(address, who)
    known = {each.name: getattr(mended, each.name) for each in fields(mended)}
    with suppress(OSError):
        forget_computed(address)
    return Repaired(**known, index=None if mended.left else reindex(address, settings))
