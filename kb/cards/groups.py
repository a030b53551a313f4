"""Cards that say the same was done, and the cause they may have had, to be asked about at once."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from kb.cards.choice import ConfirmedCard, RepairChoice, Rows, WorkTable
from kb.cards.usual import kind_of, usual_failure
from kb.cards.work import CardRead, Fix, WorkRead, names_said
from kb.case import Action, Cause, FailureMode, even

CauseKey = tuple[str, str, str]
_Likely = tuple[Cause | None, float | None]
MOST_SHOWN = 10
"""So many cards are shown at once: an answer is for those that were shown, and no others."""
_USUAL, _TOLD = 1.0, 0.5
"""How many confirmed cases the trade, and words anywhere on a card, count for (by judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CardProposal:
    """One card of a group, and what of it was read as its repair."""

    number: int
    work: WorkRead


@dataclass(frozen=True, slots=True, kw_only=True)
class CardGroup:
    """Cards on which the same was done, and the cause that is proposed for all of them.

    `cause` is None where nothing speaks for one. `chance` is the share of it among what was
    confirmed of the like, one more case of another cause counted in; None where nothing was
    confirmed yet, and the cause rests on the cards' words and on how such parts fail in the trade.
    `known` tells that this very cause, with its place, was confirmed of other cards.
    """

    action: Action
    component: str
    cause: Cause | None
    chance: float | None
    cards: tuple[CardProposal, ...]
    known: bool = False

    @property
    def fix(self) -> Fix:
        """What was done, and to what."""
        return self.action, even(self.component)

    @property
    def teaches(self) -> float:
        """How many of the cards would be proposed wrongly without an answer.

        An answer about those shown changes what is proposed of the others too; where a part sits
        that nobody confirmed yet no card tells, so that no such cause is right as a whole.
        """
        return _teaches(len(self.cards), self.chance if self.known else None)


@dataclass
class Confirmed:
    """What somebody said was wrong where something was done: cases, and answers to proposals."""

    causes: dict[CauseKey, Cause] = field(default_factory=dict)
    of_fix: dict[Fix, Counter[CauseKey]] = field(default_factory=lambda: defaultdict(Counter))
    of_component: dict[str, Counter[CauseKey]] = field(default_factory=lambda: defaultdict(Counter))
    of_kind: dict[Fix, Counter[FailureMode]] = field(default_factory=lambda: defaultdict(Counter))
    modes: dict[Action, Counter[FailureMode]] = field(default_factory=lambda: defaultdict(Counter))
    cards: list[ConfirmedCard] = field(default_factory=list)
    denied: dict[int, set[str]] = field(default_factory=lambda: defaultdict(set))
    """Of cards by number, the causes, in one line, that somebody said were not theirs."""

    def learn(self, fix: Fix, cause: Cause, read: CardRead | None = None) -> None:
        """Count one case more, and how it was told on its card where that was read."""
        fix = fix[0], even(fix[1])
        if read:
            self.cards.append(ConfirmedCard(read=read, fix=fix))
        self.causes.setdefault(cause.key, cause)
        self.of_fix[fix][cause.key] += 1
        self.of_component[fix[1]][cause.key] += 1
        self.of_kind[fix[0], kind_of(fix[1])][cause.failure_mode] += 1
        self.modes[fix[0]][cause.failure_mode] += 1

    def cause_of(self, card: CardRead, work: WorkRead) -> _Likely:
        """Return the likeliest cause of a card on which a work was the repair, and its chance.

        By what was confirmed of the same fix, or else of the component whatever was done to it;
        or else the component itself, failed as its like. What was denied of the card is none.
        """
        for seen in (self.of_fix.get(work.fix), self.of_component.get(work.fix[1])):
            left = {key: count for key, count in (seen or {}).items() if self._may_be(card, key)}
            if left:
                cause = max(left, key=left.__getitem__)
                return self.causes[cause], left[cause] / (sum(left.values()) + 1)
        mode, chance = self._failure_of(work.fix, card.mode)
        cause_read = Cause(component=work.component, failure_mode=mode) if mode else None
        denied = cause_read and cause_read.label in self.denied.get(card.number, ())
        return (None, None) if denied else (cause_read, chance)

    def _may_be(self, card: CardRead, cause: CauseKey) -> bool:
        return self.causes[cause].label not in self.denied.get(card.number, ())

    def _failure_of(
        self, fix: Fix, told: FailureMode | None
    ) -> tuple[FailureMode | None, float | None]:
        """Return how a part that nothing was confirmed of may have failed, and the chance.

        By what was confirmed where the same was done to parts of its kind, how these fail in the
        trade counted as one case, and what the card's words tell anywhere as half a one; or else as
        was confirmed most often of what is mended so.
        """
        seen = self.of_kind.get((fix[0], kind_of(fix[1])), Counter[FailureMode]())
        weight = {mode: float(count) for mode, count in seen.items()}
        for mode, counts in ((usual_failure(*fix), _USUAL), (told, _TOLD)):
            if mode:
                weight[mode] = weight.get(mode, 0.0) + counts
        if weight:
            likely = max(weight, key=weight.__getitem__)
            return likely, seen[likely] / (seen.total() + 1) or None
        modes = self.modes.get(fix[0])
        if not modes:
            return None, None
        likely, count = modes.most_common(1)[0]
        return likely, count / (modes.total() + 1)


@dataclass(frozen=True, kw_only=True)
class WaitingCards:
    """Cards on which work was read, laid out once to be grouped again after each answer.

    Attributes
    ----------
    cards : tuple of CardRead
    table : WorkTable
        What was done on them.
    fix_of : ndarray of int64, shape (n_works,)
        Which of `fixes` each work is.
    mode_of : ndarray of int64, shape (n_cards,)
        Which way of failing each card tells, of `_MODES`.
    said : mapping of str to int
        How many cards say each component.
    """

    cards: tuple[CardRead, ...]
    table: WorkTable
    fixes: tuple[Fix, ...]
    fix_of: Rows
    mode_of: Rows
    said: Mapping[str, int]

    @classmethod
    def of(cls, cards: Iterable[CardRead], confirmed: Iterable[ConfirmedCard]) -> "WaitingCards":
        """Lay out cards; those on which no work was read are left out."""
        waiting = tuple(card for card in cards if card.works)
        said = names_said([*waiting, *(each.read for each in confirmed)])
        table = WorkTable.of(waiting, said)
        places: dict[Fix, int] = {}
        fix_of = [places.setdefault(work.fix, len(places)) for work in table.works]
        return cls(
            cards=waiting,
            table=table,
            fixes=tuple(places),
            fix_of=np.array(fix_of, dtype=np.int64),
            mode_of=np.array([_MODES.index(card.mode) for card in waiting], dtype=np.int64),
            said=said,
        )

    def card(self, number: int) -> CardRead:
        """Return the card of a number."""
        return self.cards[self._places[number]]

    @cached_property
    def _places(self) -> dict[int, int]:
        return {card.number: place for place, card in enumerate(self.cards)}

    def repairs(self, confirmed: Confirmed) -> Rows:
        """Return the row of the work on each card that was likeliest its repair."""
        known = {name: causes.total() for name, causes in confirmed.of_component.items()}
        choice = RepairChoice.fit(confirmed.cards, known, self.said)
        return choice.repairs(self.table, known)

    def proposals(self, confirmed: Confirmed) -> Iterator[tuple[CardProposal, Cause, float | None]]:
        """Yield of each card its repair, and its likeliest cause with its chance, if it has one."""
        repairs = self.repairs(confirmed)
        for rows, (cause, chance) in self._alike(repairs, np.arange(len(self.cards)), confirmed):
            if cause:
                for at in rows.tolist():
                    work = self.table.works[repairs[at]]
                    yield CardProposal(number=self.cards[at].number, work=work), cause, chance

    def groups(self, confirmed: Confirmed, without: Collection[int] = ()) -> Iterator[CardGroup]:
        """Yield the groups of cards, but for those `without`, the one that teaches most first.

        That is the one of which most cards are likely to be proposed wrongly, their place
        included, as long as nobody answers.
        """
        left = np.array([card.number not in without for card in self.cards], dtype=np.bool_)
        repairs = self.repairs(confirmed)
        same: dict[tuple[Fix, CauseKey | None], list[Rows]] = defaultdict(list)
        causes: dict[tuple[Fix, CauseKey | None], _Likely] = {}
        for rows, likely in self._alike(repairs, np.flatnonzero(left), confirmed):
            cause = likely[0]
            key = self.fixes[self.fix_of[repairs[rows[0]]]], cause.key if cause else None
            causes.setdefault(key, likely)
            same[key].append(rows)

        def order(key: tuple[Fix, CauseKey | None]) -> tuple[float, int, Fix, int]:
            size, first = sum(map(len, same[key])), min(rows[0] for rows in same[key])
            chance = causes[key][1] if key[1] in confirmed.causes else None
            return -_teaches(size, chance), -size, key[0], first

        for key in sorted(same, key=order):
            members = np.sort(np.concatenate(same[key])).tolist()
            works = [self.table.works[repairs[at]] for at in members]
            yield CardGroup(
                action=key[0][0],
                component=works[0].component,
                cause=causes[key][0],
                chance=causes[key][1],
                known=key[1] in confirmed.causes,
                cards=tuple(
                    CardProposal(number=self.cards[at].number, work=work)
                    for at, work in zip(members, works, strict=True)
                ),
            )

    def _alike(
        self, repairs: Rows, cards: Rows, confirmed: Confirmed
    ) -> Iterator[tuple[Rows, _Likely]]:
        """Yield cards of one repair of which the same is likely, with that."""
        denied = np.array([bool(confirmed.denied.get(card.number)) for card in self.cards])
        alone = np.where(denied, np.arange(len(self.cards)) + 1, 0)
        kinds = (alone * len(self.fixes) + self.fix_of[repairs]) * len(_MODES) + self.mode_of
        order = cards[np.argsort(kinds[cards], kind="stable")]
        for rows in np.split(order, np.flatnonzero(np.diff(kinds[order])) + 1):
            if len(rows):
                card, work = self.cards[rows[0]], self.table.works[repairs[rows[0]]]
                yield rows, confirmed.cause_of(card, work)


def groups_of(cards: Iterable[CardRead], confirmed: Confirmed) -> list[CardGroup]:
    """Return the groups of cards that have no cause yet, as `WaitingCards.groups` does."""
    return list(WaitingCards.of(cards, confirmed.cards).groups(confirmed))


def _teaches(cards: int, chance: float | None) -> float:
    return cards * (1 - (chance or 0.0))


_MODES: tuple[FailureMode | None, ...] = (None, *FailureMode)
