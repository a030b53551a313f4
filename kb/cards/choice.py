"""Which of what was done on a card was its repair, learnt from cards that somebody confirmed.

A logistic regression over how each work is told, so that a shop's manner of writing counts: what is
named first or last, in words of its own or behind what was done, alone or with other parts.
Fitting needs scikit-learn.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.cards.work import SAID_ELSEWHERE, CardRead, Fix, WorkRead, is_name, repair_on
from kb.case import Action

LEAST_CARDS = 10
"""With fewer confirmed cards to choose on, the choice is by rule; by judgement."""
_MOST_COUNTED, _LONG_NAME = 5, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmedCard:
    """A card as it was read, and what on it was confirmed to be the repair."""

    read: CardRead
    fix: Fix


@dataclass(frozen=True, slots=True)
class RepairChoice:
    """How much each feature speaks for a repair, shape (n_features,); by rule where it is None."""

    weights: NDArray[np.float64] | None = None

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
        rows = [_features(card.read, _without(known, card.fix[1]), said) for card in told]
        right = [each.fix == card.fix for card in told for each in card.read.works]
        return cls(LogisticRegression().fit(np.vstack(rows), right).coef_[0])

    def repair_on(
        self, card: CardRead, known: Collection[str], said: Mapping[str, int]
    ) -> WorkRead | None:
        """Return which work on a card was likeliest its repair; None where none was read."""
        if self.weights is None or not card.works:
            return repair_on(card, known, said)
        return card.works[int((_features(card, known, said) @ self.weights).argmax())]


def _without(known: Mapping[str, int], component: str) -> Collection[str]:
    return {name for name, count in known.items() if name != component or count > 1}


def _features(
    card: CardRead, known: Collection[str], said: Mapping[str, int]
) -> NDArray[np.float64]:
    """Return what speaks for each work, shape (n_works, n_features)."""
    names = [each.fix[1] for each in card.works]
    places = [
        (at == 0, at == len(names) - 1, name in names[at + 1 :]) for at, name in enumerate(names)
    ]
    rows = [
        [*place, each.fix[1] in known, *_manner(each, said.get(each.fix[1], 0))]
        for place, each in zip(places, card.works, strict=True)
    ]
    return np.array(rows, dtype=np.float64)


def _manner(work: WorkRead, cards: int) -> list[float]:
    """Return how a work is told, on a number of cards."""
    name, words, done = work.fix[1], work.words.casefold(), work.action.value
    return [
        is_name(name),
        len(name.split()) > 1,
        len(name.split()) > _LONG_NAME,
        min(cards, _MOST_COUNTED) / _MOST_COUNTED,
        cards >= SAID_ELSEWHERE,
        words.startswith(done),
        words.startswith(f"{done} {name}"),
        " and " in name or "," in name,
        work.action is Action.REPLACED,
        work.action in {Action.CLEARED, Action.CHARGED, Action.OTHER},
    ]
