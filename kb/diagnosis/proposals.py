"""Old cards that nobody has reviewed vote as well, each by the chance of what is proposed of it."""

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from kb.cards.proposed import ProposedCase
from kb.case import Job
from kb.intake.card_facts import readings_in_words
from kb.intake.wording import Wording
from kb.recall import blend, linear
from kb.recall import reading_signal as readings
from kb.recall.cards import Cards
from kb.recall.features import Query
from kb.recall.index import Index, key_of, laid_out
from kb.recall.recall import (
    LinearChance,
    Neighbour,
    Recalled,
    SignalShare,
    nearest,
    recall,
    voting,
)
from kb.settings import RecallSettings


@dataclass(frozen=True, slots=True, kw_only=True)
class Unreviewed:
    """The shop's cards: `cases` are proposed of those that wait, `jobs` looks cards up."""

    index: Cards
    cases: Mapping[int, ProposedCase]
    jobs: Callable[[Collection[int]], Sequence[Job]]


def with_proposed(
    recalled: Recalled,
    asked: Query,
    cards: Unreviewed,
    wording: Wording,
    settings: RecallSettings,
    *,
    since: date | None = None,
    without: Collection[int] = (),
) -> Recalled:
    """Return what was recalled of cases with the cards that are like what is asked among it.

    A card is found by all that is written on it, one that was confirmed, too. What the others vote
    for is proposed, so a vote counts by the chance of that; its cause is named, and at home, as if
    it were a case's.
    """
    found = nearest(asked, cards.index, wording, settings, since=since, without=without)
    measured = _with_readings(found.neighbours, asked, cards, wording, settings)
    near = [_proposing(each, cards.cases) for each in measured]
    best: dict[int, Neighbour] = {}
    for each in sorted((*recalled.neighbours, *near), key=lambda each: -each.chance):
        if each.cause:
            best.setdefault(each.number, each)
    proposed = [each.number for each in best.values() if each.proposed]
    votes = voting(best.values(), settings, {n: cards.cases[n].chance for n in proposed})
    jobs = [cards.cases[job.number or 0].as_case(job) for job in cards.jobs(proposed)]
    as_cases = recall(asked, _index_of(jobs, cards.index, wording), wording, settings)
    times = Counter(each.cause.key for each in cards.cases.values())
    return replace(
        recalled,
        neighbours=votes[: settings.neighbours],
        read_as=found.read_as,
        strange_codes=found.strange_codes,
        cases=recalled.cases + len(cards.cases),
        causes_seen_once=recalled.causes_seen_once + sum(n == 1 for n in times.values()),
        new_model=found.new_model,
        linear_chances=_among(recalled, votes),
        named=tuple({each.cause: each for each in (*as_cases.named, *recalled.named)}.values()),
        naming_share=max(recalled.naming_share, as_cases.naming_share),
        names=(*recalled.names, *as_cases.names),
        about=as_cases.about,
        at_home={**as_cases.at_home, **recalled.at_home},
        same_system={**as_cases.same_system, **recalled.same_system},
        said_fine={**as_cases.said_fine, **recalled.said_fine},
        shown={**as_cases.shown, **recalled.shown},
    )


def _proposing(card: Neighbour, cases: Mapping[int, ProposedCase]) -> Neighbour:
    """Return a card with what it votes for: nothing where nothing is proposed."""
    case = cases.get(card.number)
    if card.cause or case is None:
        return card
    return replace(card, cause=key_of(case.cause), proposed=True)


def _with_readings(
    near: Sequence[Neighbour],
    asked: Query,
    cards: Unreviewed,
    wording: Wording,
    settings: RecallSettings,
) -> list[Neighbour]:
    """Return cards with what the readings that stand in their words only say of them.

    They are read here, of the few cards in view, as reading them on all would take minutes.
    """
    measured = asked.complaint.readings
    if not measured:
        return list(near)
    told = {
        job.number: readings_in_words(job, wording) for job in cards.jobs([n.number for n in near])
    }
    rows = readings.build([told.get(each.number, ()) for each in near], wording, cards.index.widths)
    likeness = {"readings": rows.similarities(measured, wording, cards.index.widths)}
    added = blend.parts(likeness, settings.weights)["readings"]
    return [
        each if np.isnan(alike) else _saying(each, SignalShare("readings", alike, more), settings)
        for each, alike, more in zip(
            near, likeness["readings"].tolist(), added.tolist(), strict=True
        )
    ]


def _saying(card: Neighbour, share: SignalShare, settings: RecallSettings) -> Neighbour:
    """Return a card of which one signal more says something."""
    parts = tuple(sorted((*card.parts, share), key=lambda each: -each.added))
    added = {each.signal: np.array([each.added], dtype=np.float32) for each in parts}
    return replace(card, parts=parts, chance=float(blend.chances(added, settings.intercept)[0]))


def _among(recalled: Recalled, neighbours: Iterable[Neighbour]) -> tuple[LinearChance, ...]:
    """Return the linear model's chances, less what the votes give to causes it never learnt.

    It learnt confirmed cases only, so that it takes every complaint for one of theirs.
    """
    learnt = {each.cause for each in recalled.linear_chances}
    votes = [(each.cause in learnt, each.vote) for each in neighbours]
    total = sum(vote for _, vote in votes)
    share = sum(vote for known, vote in votes if known) / total if total else 1.0
    return tuple(each._replace(chance=each.chance * share) for each in recalled.linear_chances)


def _index_of(jobs: Sequence[Job], cards: Cards, wording: Wording) -> Index:
    """Return an index of a few jobs alone, with the words and bands that all cards taught."""
    return Index(
        model=cards.model,
        widths=cards.widths,
        agreement=cards.agreement,
        linear=linear.EMPTY,
        base=laid_out(jobs, wording, cards.model, cards.widths),
        recent=laid_out((), wording, cards.model, cards.widths),
        superseded=np.zeros(len(jobs), dtype=np.bool_),
    )
