"""How far a past case is evidence for its cause, by what became of its car.

A fix mostly fails by a wrong diagnosis: where a car was back for something alike, its case says
less of its cause than one that nobody heard ill of. The share is by judgement.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from kb.case import CameBack, FoundWrong, Outcome, RepairRecord
from kb.rates.returns import answers, came_again, mended_alike, unjudged

ANOTHER_FOUND = 0.25
"""Share as which a case counts where the same complaint came back and proved another cause, before
anybody judged it."""


def stands(repair: RepairRecord) -> float:
    """Return the share as which a case counts for its cause, 0 to 1.

    It counts in full where nothing came back, or where what came back proved the same cause, or no
    other: a fix that does not last says little against its cause.
    """
    if any(came_again(repair, visit) for visit in repair.visits):
        return 1.0
    failed = {each.job for each in answers(repair) if each.outcome is Outcome.COMEBACK}
    if any(visit.number in failed and _other_cause(repair, visit.cause) for visit in repair.visits):
        return 0.0
    doubtful = (
        mended_alike(repair, each) and _other_cause(repair, each.cause) for each in unjudged(repair)
    )
    return ANOTHER_FOUND if any(doubtful) else 1.0


def found_wrong(comebacks: Iterable[CameBack]) -> list[FoundWrong]:
    """Return the cases that proved another cause in the end, each with every job that did.

    What a case came back as may have come back itself: the last ones tell what it was.

    Examples
    --------
    >>> found_wrong([CameBack(1, "cap", 2, "hose"), CameBack(2, "hose", 3, "water pump")])
    [FoundWrong(number=1, cause='cap', later=3), FoundWrong(number=2, cause='hose', later=3)]
    """
    back: dict[int, list[CameBack]] = defaultdict(list)
    for each in comebacks:
        back[each.number].append(each)
    return [
        FoundWrong(number, told[0].cause, later)
        for number, told in sorted(back.items())
        for later, cause in _in_the_end(number, back).items()
        if told[0].cause is not None and cause != told[0].cause
    ]


def _in_the_end(number: int, back: Mapping[int, Sequence[CameBack]]) -> dict[int, object]:
    """Return the jobs as which a job came back last, of which a cause is known, with that."""
    ends: dict[int, object] = {}
    seen, left = {number}, [*back[number]]
    while left:
        each = left.pop()
        if each.later in seen:
            continue
        seen.add(each.later)
        further = back.get(each.later, ())
        if each.later_cause is not None and all(more.later_cause is None for more in further):
            ends[each.later] = each.later_cause
        left += further
    return dict(sorted(ends.items()))


def _other_cause(repair: RepairRecord, cause: object) -> bool:
    return cause is not None and cause != repair.cause
