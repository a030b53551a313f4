"""From similar cases to chances of causes, with room for what the shop has not seen before.

Each recalled case votes for its cause with a power of its chance of sharing it. What the votes
leave is the chance that the cause is none of the shop's known ones: the Good-Turing estimate
(Good 1953), the share of cases whose cause was seen once, raised where even the nearest case is
unlike and lowered where it is very like.
"""

from collections import defaultdict
from dataclasses import dataclass
from math import inf

from kb.recall.recall import Recalled
from kb.settings import Diagnosis as Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseChance:
    """One possible cause: its key, its chance, and the recalled jobs that spoke for it."""

    cause: int
    chance: float
    jobs: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """The causes, likeliest first; with `not_seen_before` their chances sum to one."""

    causes: tuple[CauseChance, ...]
    not_seen_before: float


def rank(recalled: Recalled, settings: Settings) -> Ranking:
    """Rank the causes of recalled cases.

    Parameters
    ----------
    recalled : Recalled
    settings : Settings

    Returns
    -------
    Ranking
        Of equal chances the cause with the newer job comes first.

    References
    ----------
    Good, I. J. (1953). The population frequencies of species and the estimation of population
    parameters. Biometrika 40, 237-264.
    """
    votes: dict[int, float] = defaultdict(float)
    jobs: dict[int, list[int]] = defaultdict(list)
    for neighbour in recalled.neighbours:
        votes[neighbour.cause] += neighbour.chance**settings.vote_power
        jobs[neighbour.cause].append(neighbour.number)
    unseen = not_seen_before(recalled, settings)
    total = sum(votes.values())
    ranked = sorted(votes, key=lambda cause: (-votes[cause], -max(jobs[cause])))
    return Ranking(
        causes=tuple(
            CauseChance(
                cause=cause,
                chance=(1 - unseen) * votes[cause] / total,
                jobs=tuple(jobs[cause]),
            )
            for cause in ranked
        ),
        not_seen_before=unseen,
    )


def not_seen_before(recalled: Recalled, settings: Settings) -> float:
    """Return the chance that the cause is none that any case in question had.

    The prior is Good-Turing's share of causes seen once: that of the recalled cases, each counted
    by its chance, drawn towards that of the whole store where few were recalled. The nearest case
    counts against it with a root of its odds of sharing the cause. The root and the pull were
    chosen on replay of the demonstration shop and are not published.

    Returns
    -------
    float
        Between 0 and 1; 1 where nothing was recalled.
    """
    if not recalled.neighbours:
        return 1.0
    everywhere = (recalled.causes_seen_once + 0.5) / (recalled.cases + 1)
    here = sum(each.chance for each in recalled.neighbours if each.alone)
    weight = sum(each.chance for each in recalled.neighbours)
    pull = settings.unseen_pull
    mass = (here + pull * everywhere) / (weight + pull)
    odds = mass / (1 - mass) * _odds_against(recalled.neighbours[0].chance) ** settings.unseen_root
    return 1.0 if odds == inf else odds / (1 + odds)


def _odds_against(chance: float) -> float:
    return (1 - chance) / chance if chance else inf
