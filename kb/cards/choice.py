"""Which of what was done on a card was its repair, learnt from cards that somebody confirmed.

A logistic regression over how each work is told, so that a shop's manner of writing counts: what is
named first or last, in words of its own or behind what was done, alone or with other parts. On the
demonstration shop's cards the last that is told in words of its own weighs most: what stands before
it was tried in vain. Fitting needs scikit-learn.
"""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.cards.work import SAID_ELSEWHERE, CardRead, Fix, WorkRead, is_name
from kb.case import Action

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.int64]

LEAST_CARDS = 10
"""With fewer confirmed cards to choose on, the choice is by rule; by judgement."""
_MOST_COUNTED, _LONG_NAME = 5, 3
_IS_NAME, _FULL, _SAID = 3, 4, 7
"""Columns of what is told of a work that the rule asks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmedCard:
    """A card as it was read, and what on it was confirmed to be the repair."""

    read: CardRead
    fix: Fix


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkTable:
    """What was read on some cards, a row a work, so that the repairs of all are chosen at once.

    Attributes
    ----------
    works : tuple of WorkRead
        Those of all cards, one card after the other.
    card_of, starts : ndarray of int64, shapes (n_works,) and (n_cards,)
        The card of each work, and the first work of each card; none is without any.
    components : tuple of str
        The different components, in small letters.
    component_of : ndarray of int64, shape (n_works,)
        Which of them each work was done to.
    told : ndarray of float64, shape (n_works, n_features)
        What speaks for each work, whatever was confirmed.
    """

    works: tuple[WorkRead, ...]
    card_of: Rows
    starts: Rows
    components: tuple[str, ...]
    component_of: Rows
    told: Floats

    @classmethod
    def of(cls, cards: Sequence[CardRead], said: Mapping[str, int]) -> "WorkTable":
        """Lay out cards on which work was read; `said` counts the cards that say a component."""
        works = tuple(work for card in cards for work in card.works)
        sizes = np.array([len(card.works) for card in cards], dtype=np.int64)
        places: dict[str, int] = {}
        component_of = [places.setdefault(work.fix[1], len(places)) for work in works]
        rows = [row for card in cards for row in _told_on(card, said)]
        return cls(
            works=works,
            card_of=np.repeat(np.arange(len(cards)), sizes),
            starts=np.cumsum(sizes) - sizes,
            components=tuple(places),
            component_of=np.array(component_of, dtype=np.int64),
            told=np.array(rows, dtype=np.float64),
        )

    def counts(self, known: Mapping[str, int]) -> Rows:
        """Return of each work how many cases of its component are known, shape (n_works,)."""
        of_component = [known.get(name, 0) for name in self.components]
        return np.array(of_component, dtype=np.int64)[self.component_of]

    def likeliest(self, *speaking: Floats | Flags | Rows) -> Rows:
        """Return the row of each card for which most speaks, shape (n_cards,).

        What speaks has shape (n_works,), the most important first; of equals the first.
        """
        rows = np.arange(len(self.works))
        order = np.lexsort((-rows, *reversed(speaking), self.card_of))
        likeliest: Rows = order[np.append(self.starts[1:], len(rows)) - 1]
        return likeliest


@dataclass(frozen=True, slots=True)
class RepairChoice:
    """How much each feature speaks for a repair, shape (n_features,); by rule where it is None.

    By rule a component that is known, confirmed on some other job, goes before one that is not;
    then a name of a part before other words, one of several words before a bare noun ("new
    *ring*"), one that other cards say as well. Of equals the first, but of known components the
    last: the others were tried in vain.
    """

    weights: Floats | None = None

    @classmethod
    def fit(
        cls,
        confirmed: Sequence[ConfirmedCard],
        known: Mapping[str, int],
        said: Mapping[str, int],
    ) -> "RepairChoice":
        """Learn from cards on which more than one thing was read, the repair among it.

        `known` counts the cases of each component, the confirmed cards among them: a card must not
        be told its own answer by what was learnt from it.
        """
        from sklearn.linear_model import LogisticRegression  # noqa: PLC0415  slow to import

        told = [card for card in confirmed if card.fix in {each.fix for each in card.read.works}]
        told = [card for card in told if len({each.fix for each in card.read.works}) > 1]
        if len(told) < LEAST_CARDS:
            return cls()
        table = WorkTable.of([card.read for card in told], said)
        fixes = [told[card].fix for card in table.card_of]
        own = np.array(
            [work.fix[1] == fix[1] for work, fix in zip(table.works, fixes, strict=True)]
        )
        right = [work.fix == fix for work, fix in zip(table.works, fixes, strict=True)]
        rows = _features(table, table.counts(known) > own)
        return cls(LogisticRegression().fit(rows, right).coef_[0])

    def repairs(self, table: WorkTable, known: Collection[str]) -> Rows:
        """Return the row of the work on each card that was likeliest its repair, shape (n_cards,).

        `known` are the components that were confirmed on any job.
        """
        if not table.works:
            return table.starts
        had = table.counts(dict.fromkeys(known, 1)) > 0
        if self.weights is not None:
            return table.likeliest(_features(table, had) @ self.weights)
        strange = [table.told[:, column] * ~had for column in (_IS_NAME, _FULL, _SAID)]
        return table.likeliest(had, *strange, np.arange(len(had)) * had)


def _features(table: WorkTable, known: Flags) -> Floats:
    return np.column_stack([table.told, known])


def _told_on(card: CardRead, said: Mapping[str, int]) -> list[tuple[float, ...]]:
    """Return what speaks for each work of a card."""
    names = [each.fix[1] for each in card.works]
    left = Counter(names)
    last_told = max((at for at, work in enumerate(card.works) if _is_told_out(work)), default=None)
    rows = []
    for at, (work, name) in enumerate(zip(card.works, names, strict=True)):
        left[name] -= 1
        place = (at == 0, at == len(names) - 1, left[name] > 0)
        rows.append((*place, *_manner(work, name, said.get(name, 0)), at == last_told))
    return rows


def _is_told_out(work: WorkRead) -> bool:
    """Whether a work's words begin with what was done and to what: not listed behind another."""
    return work.words.casefold().startswith(f"{work.action.value} {work.fix[1]}")


def _manner(work: WorkRead, name: str, cards: int) -> tuple[float, ...]:
    """Return how a work is told, on a number of cards."""
    words, done = work.words.casefold(), work.action.value
    return (
        is_name(name),
        len(name.split()) > 1,
        len(name.split()) > _LONG_NAME,
        min(cards, _MOST_COUNTED) / _MOST_COUNTED,
        cards >= SAID_ELSEWHERE,
        words.startswith(done),
        _is_told_out(work),
        " and " in name or "," in name,
        work.action is Action.REPLACED,
        work.action in {Action.CLEARED, Action.CHARGED, Action.OTHER},
    )
