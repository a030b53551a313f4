"""How soon the demonstration shop's cards, its structure taken away, are cases again.

Run by hand: ``python tests/benchmarks/review.py`` (two minutes on one core). Every case is written
out as a card of one paragraph. Groups are asked about as ``kb review`` asks, at most so many cards
a question, and answered from the truth: what is true of the first card shown settles every card
shown of which it is true. Told after so many answers: the share of cards whose repair (action and
component), what failed and how, and whole cause, with its place, are confirmed or rightly proposed;
against groups asked in no order, and a logistic regression on the words of the confirmed cards.
Beside it, how often the ranking made from the cards tells the true cause, and its part, first or of
three, against the ranking of the true structure in brackets (``--folds N`` for fewer of five).
"""

import argparse
import random
import sys
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.cards.groups import (
    MOST_SHOWN,
    CardGroup,
    CauseKey,
    Confirmed,
    WaitingCards,
    groups_of,
)
from kb.cards.proposed import ProposedCase, proposed_cases
from kb.cards.work import CardRead, Fix, read_card
from kb.case import Cause, Complaint, Job, even
from kb.diagnosis.diagnose import Knowledge, diagnose
from kb.diagnosis.proposals import Unreviewed
from kb.intake.card_facts import codes_in_words, readings_in_words
from kb.recall.cards import Cards
from kb.recall.index import Index, key_of
from tests.benchmarks import datasets
from tests.benchmarks.asking import DEFAULTS, WORDING, cause_of, progress, target
from tests.benchmarks.cards import written_out

TOLD_AFTER = (0, 20, 60, 150)
PLACES = (1, 3)
MOST_LOST = 0.03
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

    def unreviewed(self) -> dict[int, ProposedCase]:
        """Return what is proposed of the cards that wait for an answer."""
        waiting = WaitingCards.of(self.left, self.confirmed.cards)
        return {each.number: each for each in proposed_cases(waiting, self.confirmed)}

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


class Ranked:
    """The ranking made from reviewed cards, beside that of the true structure.

    Every fold is asked as found, with what is known of the others: cases where they were confirmed,
    proposals where they were not.
    """

    def __init__(self, jobs: Sequence[Job], cards: Sequence[Job], folds: int) -> None:
        splits = list(datasets.by_text(jobs))[:folds]
        self._true = {job.number or 0: job for job in jobs}
        self._card = {card.number or 0: card for card in cards}
        self._folds = [([job.number or 0 for job in known], asked) for known, asked in splits]
        self._name = {cause_of(job): job.cause for job in jobs if job.cause}

    def true(self) -> "Hits":
        """Ask the cases as they are."""
        hits = Hits()
        for known, asked in self._folds:
            index = Index.fit([self._true[each] for each in known], WORDING, DEFAULTS)
            hits += self._asked(asked, Knowledge(wording=WORDING, index=index, settings=DEFAULTS))
        return hits

    def reviewed(self, reviewed: Reviewed) -> "Hits":
        """Ask what was made of the cards so far."""
        proposed, hits = reviewed.unreviewed(), Hits()
        self._name.update({key_of(each.cause): each.cause for each in proposed.values()})
        for known, asked in self._folds:
            jobs = {each: self._confirmed(each, reviewed) for each in known}
            cases = [job for job in jobs.values() if job.cause]
            cards = Unreviewed(
                index=Cards.fit(list(jobs.values()), WORDING, DEFAULTS),
                cases={each: proposed[each] for each in known if each in proposed},
                jobs=partial(_chosen, jobs),
            )
            index = Index.fit(cases, WORDING, DEFAULTS)
            hits += self._asked(
                asked,
                Knowledge(wording=WORDING, index=index, settings=DEFAULTS, unreviewed=cards),
            )
        return hits

    def _confirmed(self, number: int, reviewed: Reviewed) -> Job:
        card, true = self._card[number], self._true[number]
        if number not in reviewed.settled:
            return card
        return replace(
            card,
            cause=true.cause,
            attempts=true.attempts[-1:],
            codes=codes_in_words(card),
            readings=readings_in_words(card, WORDING),
        )

    def _asked(self, asked: Sequence[Job], known: Knowledge) -> "Hits":
        hits = Hits()
        for job in asked:
            ranking = diagnose(Complaint.of(job), known, on=job.opened).ranking
            told = [self._name[each.cause] for each in ranking.causes]
            hits.count([each.key for each in told if each], job.cause.key if job.cause else None)
        return hits


def _chosen(jobs: Mapping[int, Job], numbers: Collection[int]) -> list[Job]:
    return [jobs[each] for each in numbers]


@dataclass
class Hits:
    """How often the true cause came first, or among the first three: whole, and its part alone."""

    asked: int = 0
    whole: Counter[int] = field(default_factory=Counter)
    part: Counter[int] = field(default_factory=Counter)

    def __add__(self, other: "Hits") -> "Hits":
        return Hits(self.asked + other.asked, self.whole + other.whole, self.part + other.part)

    def count(self, told: Sequence[CauseKey], true: CauseKey | None) -> None:
        """Count one question, and what was told of it."""
        self.asked += 1
        parts = list(dict.fromkeys(key[0] for key in told))
        for most in PLACES:
            self.whole[most] += true in told[:most]
            self.part[most] += true is not None and true[0] in parts[:most]

    def shares(self) -> list[float]:
        """Return top-1 and top-3 of the whole cause, then of its part."""
        counts = [each[most] for each in (self.whole, self.part) for most in PLACES]
        return [count / self.asked for count in counts]


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
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--folds", type=int, default=5, help="rank at most so many folds; 0: none")
    folds = parser.parse_args().folds
    jobs = [job for job in datasets.demonstration_shop() if job.is_case and job.attempts]
    cards = [written_out(job) for job in jobs]
    progress(f"{len(cards)} cards are read")
    read = [read_card(card) for card in cards]
    texts = {card.number or 0: f"{card.complaint} {card.notes}" for card in cards}
    draw = random.Random(1)
    ranking = Ranked(jobs, cards, folds)
    true = ranking.true() if folds else Hits()
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
            asked_so = choose is not draw.choice
            if answers == 60 and asked_so:
                target("repairs right after 60 answers", shares[0], least=0.85)
            if folds:
                ranked(ranking.reviewed(reviewed), true, wanted=answers == 60 and asked_so)


def ranked(hits: Hits, true: Hits, *, wanted: bool) -> None:
    """Print how the ranking made from the cards fares beside that of the true structure."""
    told = [
        f"{each:.3f} ({whole:.3f})"
        for each, whole in zip(hits.shares(), true.shares(), strict=True)
    ]
    print(f"{'':>8}  cause first {told[0]}, of three {told[1]};", end=" ")
    print(f"its part first {told[2]}, of three {told[3]}", flush=True)
    if wanted:
        names = ("cause first", "cause of three", "part first", "part of three")
        for name, one, other in zip(names, true.shares(), hits.shares(), strict=True):
            target(f"{name}: lost after 60 answers", one - other, most=MOST_LOST)


if __name__ == "__main__":
    main()
