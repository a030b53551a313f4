"""How far a past case is evidence for its cause, by what became of its car.

A fix mostly fails by a wrong diagnosis: where a car was back for something alike, its case says
less of its cause than one that nobody heard ill of. The share is by judgement.
"""

from kb.case import Outcome, RepairRecord
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


def _other_cause(repair: RepairRecord, cause: object) -> bool:
    return cause is not None and cause != repair.cause
