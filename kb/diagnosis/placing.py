"""How far recalled jobs speak for a cause, by where on the car each of them was.

The same part fails alike on the left and on the right, so that another place is only less alike; a
cause that sits elsewhere altogether, by its own location, hardly is what was told.
"""

from collections.abc import Iterable, Mapping
from itertools import pairwise

from kb.case import Placed
from kb.intake.positions import find_position

OTHER_PLACE = 0.5
"""Share as which a job counts that was at another place than the one told (by judgement)."""
ELSEWHERE = 0.2
"""The same for a job whose cause, by its location, sits elsewhere (by judgement)."""
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
    >>> rear = Placed(1, "lock dead", "right rear", "rear door")
    >>> front = Placed(2, "lock dead", "driver", "front door")
    >>> shares_by_place("LR door lock dead", [rear, front])
    {1: 0.5, 2: 0.2}
    >>> shares_by_place("door lock dead", [rear, front])
    {}
    """
    here = facts_of(told)
    if not here:
        return {}
    shares = {}
    for each in cases:
        by_cause = facts_of(each.location or "")
        there = facts_of(each.complaint) | facts_of(each.position or "") | by_cause
        if _differs(here, by_cause):
            shares[each.number] = ELSEWHERE
        elif _differs(here, there):
            shares[each.number] = OTHER_PLACE
    return shares


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
