"""How far a past case is evidence for its cause, by what became of its car.

A fix mostly fails by a wrong diagnosis: where a car was back for something alike, its case says
less of its cause than one that nobody heard ill of. The shares are by judgement.
"""

from kb.case import Outcome, RepairRecord
from kb.rates.returns import answers, came_again, mended_alike, unjudged

NOT_CURED = 0.5
"""Share as which a case counts that came back, by somebody's word: its fix or its cause was wrong.
The same of one that was back for something alike, of which nobody has said what it was ..."""
ANOTHER_FOUND = 0.25
"""... and where the same complaint then proved another cause, before anybody judged it."""


def stands(repair: RepairRecord) -> float:
    """Return the share as which a case counts for its cause, 0 to 1.

    It counts in full where nothing came back, or where what came back proved the same cause.
    """
    if any(came_again(repair, visit) for visit in repair.visits):
        return 1.0
    back = list(unjudged(repair))
    if any(mended_alike(repair, visit) and visit.cause != repair.cause for visit in back):
        return ANOTHER_FOUND
    failed = [each for each in answers(repair) if each.outcome is Outcome.COMEBACK]
    named = {each.job for each in failed}
    if any(visit.number in named and _other_cause(repair, visit.cause) for visit in repair.visits):
        return 0.0
    return NOT_CURED if back or failed else 1.0


def _other_cause(repair: RepairRecord, cause: object) -> bool:
    return cause is not None and cause != repair.cause
