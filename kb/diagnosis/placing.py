"""How far recalled jobs speak for a cause, by where on the car it sits.

The same part fails alike on the left and on the right, so that a job at another place counts in
full (tried on the demonstration shop: counting it less makes the chances worse). A cause that sits
elsewhere altogether, by its own location, hardly is what was told. Where the shop
had the same part fail in the same way at the place told, what is known of it elsewhere speaks for
that: five front door locks say of a rear one how such locks fail.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import pairwise

from kb.case import FailureMode, Placed, even
from kb.diagnosis.causes import Ranking
from kb.intake.positions import find_position

ELSEWHERE = 0.2
"""Share as which a job counts whose cause, by its location, sits elsewhere (by judgement)."""
_KINDS = (
    frozenset(("left", "right")),
    frozenset(("nearside", "offside")),
    frozenset(("driver", "passenger")),
    frozenset(("front", "rear", "second row", "third row")),
)
_NUMBERED = ("bank", "sensor", "cylinder")


def shares_by_place(told: str, cases: Iterable[Placed]) -> dict[int, float]:
    """Return as what share cases count beside a complaint that tells a place, where below one.

    Examples
    --------
    >>> what = "door lock", FailureMode.INTERNAL_FAULT
    >>> rear, front = Placed(1, "rear door", *what), Placed(2, "front door", *what)
    >>> shares_by_place("LR door lock dead", [rear, front])
    {2: 0.2}
    >>> shares_by_place("door lock dead", [rear, front])
    {}
    """
    here = facts_of(told)
    if not here:
        return {}
    return {
        each.number: ELSEWHERE
        for each in cases
        if each.location and _differs(here, facts_of(each.location))
    }


def brought_here(ranking: Ranking, told: str, cases: Iterable[Placed]) -> Ranking:
    """Give what speaks for a cause elsewhere to its like at the place told, but for `ELSEWHERE`.

    Its like is the same part that failed in the same way, and whose location tells that place; the
    likeliest of several, and nothing changes where there is none.

    Parameters
    ----------
    cases : iterable of Placed
        The examples of the causes; a cause whose example is not among them stays as it is.

    Examples
    --------
    >>> what = "door lock", FailureMode.INTERNAL_FAULT
    >>> cases = Placed(1, "front door", *what), Placed(2, "rear door", *what)
    >>> from kb.diagnosis.causes import CauseChance
    >>> front, rear = (CauseChance(cause=n, chance=chance, jobs=(n,), example=n, by_jobs=chance)
    ...                for n, chance in ((1, 0.5), (2, 0.1)))
    >>> asked = Ranking(causes=(front, rear), not_seen_before=0.4)
    >>> found = brought_here(asked, "LR door lock dead", cases)
    >>> [(each.cause, round(each.chance, 2)) for each in found.causes]
    [(2, 0.5), (1, 0.1)]
    """
    here = facts_of(told)
    if not here:
        return ranking
    examples = {each.number: each for each in cases}
    locations = {
        number: facts_of(case.location) for number, case in examples.items() if case.location
    }
    away = {number for number, there in locations.items() if _differs(here, there)}
    likes: dict[tuple[str, FailureMode], int] = {}
    for each in ranking.causes:
        if each.example not in away and here.items() & locations.get(each.example, {}).items():
            likes.setdefault(_part(examples[each.example]), each.cause)
    chances = {each.cause: each.chance for each in ranking.causes}
    for each in ranking.causes:
        like = likes.get(_part(examples[each.example])) if each.example in away else None
        if like is not None:
            chances[each.cause] -= (moved := (1 - ELSEWHERE) * each.chance)
            chances[like] += moved
    causes = (replace(each, chance=chances[each.cause]) for each in ranking.causes)
    return replace(ranking, causes=tuple(sorted(causes, key=lambda each: -each.chance)))


def _part(case: Placed) -> tuple[str, FailureMode]:
    """Return what failed and how, wherever it sits."""
    return even(case.component), case.failure_mode


def facts_of(text: str) -> dict[str, str]:
    """Return what a text tells of a place, each by its kind; nothing where it tells two.

    Examples
    --------
    >>> facts_of("LR door lock")
    {'left right': 'left', 'front rear second row third row': 'rear'}
    """
    position, _ = find_position(text)
    if position is None:
        return {}
    found = {
        " ".join(sorted(kind)): word
        for kind in _KINDS
        for word in kind
        if f" {word} " in f" {position} "
    }
    numbers = pairwise(position.split())
    return found | {name: number for name, number in numbers if name in _NUMBERED}


def _differs(here: Mapping[str, str], there: Mapping[str, str]) -> bool:
    return any(there.get(kind, fact) != fact for kind, fact in here.items())
