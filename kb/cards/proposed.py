"""What the cards that nobody has reviewed may have been cases of: proposed, and nothing more."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kb.cards.groups import Confirmed, WaitingCards
from kb.cards.work import CardRead
from kb.case import Action, Attempt, Cause, Job

UNTOLD = 0.5
"""The chance of a cause of whose like nothing was confirmed, which rests on how such parts fail in
the trade: of the demonstration shop's cards 0.57 (``tests/benchmarks/review.py``)."""
LONG_OPEN = timedelta(days=30)
"""A job open for longer was handed over without a word, as old cards were (by judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnreviewedCard:
    """A card that waits for an answer, as it was read; `denied` causes are none of its own."""

    read: CardRead
    opened: date
    closed: bool
    denied: tuple[str, ...] = ()
    reopened: bool = False

    def is_done(self, today: date) -> bool:
        """Whether its job is over, so that what was done on it may be its repair.

        One that was reopened has its cause, and is open: nothing of it waits to be confirmed.
        """
        if self.reopened:
            return False
        return self.closed or today - self.opened > LONG_OPEN


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedCase:
    """What a card may be a case of, and the chance, 0 to 1, that it is.

    What was done on it is no advice where it is `withheld`, as in `kb.cards.work.WorkRead`.
    """

    number: int
    action: Action
    component: str
    cause: Cause
    chance: float
    withheld: bool = False

    def as_case(self, card: Job) -> Job:
        """Return a card as the case that it may be, to be compared with others."""
        done = () if self.withheld else (Attempt(action=self.action, component=self.component),)
        return replace(
            card,
            cause=self.cause,
            closed=card.closed or card.opened,
            attempts=card.attempts or done,
        )


def proposed_cases(waiting: WaitingCards, confirmed: Confirmed) -> Iterator[ProposedCase]:
    """Yield what each card may be a case of, by what was confirmed so far."""
    for card, cause, chance in waiting.proposals(confirmed):
        yield ProposedCase(
            number=card.number,
            action=card.work.action,
            component=card.work.component,
            cause=cause,
            chance=UNTOLD if chance is None else chance,
            withheld=card.work.withheld,
        )
