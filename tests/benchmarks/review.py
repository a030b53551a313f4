"""How soon the demonstration shop's cards, its structure taken away, are cases again.

Run by hand: ``python tests/benchmarks/review.py`` (two minutes on one core). Every case is written
out as a card of one paragraph. Groups are asked about as ``kb review`` asks, at most so many cards
a question, and answered from the truth: what is true of the first card shown settles every card
shown of which it is true. Told after so many answers: the share of cards whose repair (action and
component), what failed and how, and whole cause, with its place, are confirmed or rightly proposed;
against groups asked in no order, and a logistic regression on the words of the confirmed cards.
"""

import argparse
import random
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.cards.groups import MOST_SHOWN, CardGroup, Confirmed, groups_of
from kb.cards.work import CardRead, Fix, read_card
from kb.case import Cause, Job, even
from tests.benchmarks import datasets
from tests.benchmarks.asking import progress, target
from tests.benchmarks.cards import written_out

TOLD_AFTER = (0, 20, 60, 150)
Chooser = Callable[[list[CardGroup]], CardGroup]


@dataclass
class Reviewed:
    """A shop under review: what is left to ask about, and what was confirmed."""

    truth: dict[int, tuple[Fix, Cause]]
    left: list[CardRead]
    confirmed: Confirmed = field(default_factory=Confirmed)
    settled: set[int] = field(default_factory=set)

    def answer(self, group: CardGroup) -> None:
        """Say what is true of the cards shown."""
        shown = [card.number for card in group.cards[:MOST_SHOWN]]
        fix, cause = self.truth[shown[0]]
        right = {number for number in shown if self._is(number, fix, cause)}
        read = {card.number: card for card in self.left}
        for number in right:
            self.confirmed.learn(*self.truth[number], read[number])
        if group.cause and group.cause.key == cause.key:
            for number in {*shown} - right:
                self.confirmed.denied[number].add(group.cause.label)
        self.settled |= right
        self.left = [card for card in self.left if card.number not in right]

    def shares(self) -> tuple[float, float, float]:
        """Return the shares of cards with the right repair, part that failed and how, and cause."""
        repairs = failures = causes = len(self.settled)
        for group in groups_of(self.left, self.confirmed):
            for card in group.cards:
                fix, cause = self.truth[card.number]
                repairs += group.fix == fix
                if group.cause:
                    causes += group.cause.key == cause.key
                    failures += group.cause.key[::2] == cause.key[::2]
        every = len(self.truth)
        return repairs / every, failures / every, causes / every

    def _is(self, number: int, fix: Fix, cause: Cause) -> bool:
        true_fix, true_cause = self.truth[number]
        return true_fix == fix and true_cause.key == cause.key


def curve(reviewed: Reviewed, choose: Chooser) -> Iterator[tuple[float, float, float]]:
    """Yield the shares after each of `TOLD_AFTER` answers."""
    for answers in range(max(TOLD_AFTER) + 1):
        if answers in TOLD_AFTER:
            yield reviewed.shares()
        groups = groups_of(reviewed.left, reviewed.confirmed)
        if groups:
            reviewed.answer(choose(groups))


def regression(reviewed: Reviewed, texts: dict[int, str]) -> tuple[float, ...]:
    """Return the shares where a logistic regression proposes instead, from the same answers."""
    from sklearn.feature_extraction.text import TfidfVectorizer  # noqa: PLC0415
    from sklearn.linear_model import LogisticRegression  # noqa: PLC0415
    from sklearn.pipeline import make_pipeline  # noqa: PLC0415

    if not reviewed.settled:
        return 0.0, 0.0, 0.0
    known = sorted(reviewed.settled)
    asked = sorted(set(reviewed.truth) - reviewed.settled)
    found = []
    for true in (
        {number: str(fix) for number, (fix, _) in reviewed.truth.items()},
        {number: str(cause.key[::2]) for number, (_, cause) in reviewed.truth.items()},
        {number: str(cause.key) for number, (_, cause) in reviewed.truth.items()},
    ):
        model = make_pipeline(TfidfVectorizer(sublinear_tf=True), LogisticRegression(C=10.0))
        model.fit([texts[n] for n in known], [true[n] for n in known])
        right = model.predict([texts[n] for n in asked]) == [true[n] for n in asked]
        found.append((len(known) + right.sum()) / len(reviewed.truth))
    return tuple(found)


def truth_of(jobs: Sequence[Job]) -> dict[int, tuple[Fix, Cause]]:
    """Return what was done last on each case, and its cause."""
    return {
        job.number or 0: ((job.attempts[-1].action, even(job.attempts[-1].component)), job.cause)
        for job in jobs
        if job.cause
    }


def main() -> None:
    """Print the curves."""
    argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0]).parse_args()
    jobs = [job for job in datasets.demonstration_shop() if job.is_case and job.attempts]
    cards = [written_out(job) for job in jobs]
    progress(f"{len(cards)} cards are read")
    read = [read_card(card) for card in cards]
    texts = {card.number or 0: f"{card.complaint} {card.notes}" for card in cards}
    draw = random.Random(1)
    for name, choose in (
        ("as kb review asks", lambda groups: groups[0]),
        ("in no order", draw.choice),
    ):
        reviewed = Reviewed(truth_of(jobs), list(read))
        print(f"\n{name}\n{'answers':>8}{'repair':>9}{'failure':>9}{'cause':>9}{'confirmed':>11}")
        for answers, shares in zip(TOLD_AFTER, curve(reviewed, choose), strict=True):
            plain = regression(reviewed, texts)
            settled = len(reviewed.settled)
            print(
                f"{answers:>8}{shares[0]:>9.3f}{shares[1]:>9.3f}{shares[2]:>9.3f}{settled:>11}",
                end="",
            )
            print("   a logistic regression: " + " ".join(f"{share:.3f}" for share in plain))
            if answers == 60 and choose is not draw.choice:
                target("repairs right after 60 answers", shares[0], least=0.85)


if __name__ == "__main__":
    main()
