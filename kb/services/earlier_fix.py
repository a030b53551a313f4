"""What a line gives a fix that was told before it: how it fared, what it took and cost."""

from dataclasses import replace
from typing import Any, NamedTuple

from kb.case import Attempt, Job
from kb.intake.account import Account, FixVerdict, as_words
from kb.intake.costs import PartsCost
from kb.intake.durations import Labour
from kb.intake.findings import Findings
from kb.intake.items import trade_wording
from kb.intake.other_faults import is_of_another, may_be_of_another, tells_another_function
from kb.intake.told_deeds import tells_strange_deed
from kb.safety.job_words import FIT
from kb.services.absent_cures import tells_only_absence

_OF_A_FIX: dict[str, type] = {"cured": FixVerdict, "minutes": Labour, "parts_cost": PartsCost}
_SAYS = {"cured": "outcome", "minutes": "time", "parts_cost": "cost"}


class GivenToFix(NamedTuple):
    """A job with what a line tells of its last attempt, and of its odometer.

    `in_doubt` says that trouble may be of another fault than that attempt cured, which stays cured
    as long as nobody says more.
    """

    job: Job
    notices: tuple[str, ...]
    account: Account
    in_doubt: str | None = None


def given_to_last_fix(base: Job, text: str, found: Findings) -> GivenToFix:
    """Give what a line tells of an earlier fix to the last attempt, if it does not tell it yet.

    What nobody can be sure of stays words: an outcome where the last attempt has one. But where
    that cured, and the fault is back before the car has left, it did not.
    """
    later = found.later
    if later is None:
        return GivenToFix(base, (), found.account)
    last = base.attempts[-1] if base.attempts else None
    foreign = last is not None and _is_foreign(base, last, text, later.verdict)
    doubtful = not foreign and last is not None and _may_be_foreign(base, last, text, later.verdict)
    strange = _strange_deed(found.account) if later.verdict and later.verdict.cured else None
    told: dict[str, Any] = {
        "cured": later.verdict and later.verdict.cured,
        "minutes": later.minutes,
        "parts_cost": later.parts_cost,
    }
    takes = {
        name: value
        for name, value in told.items()
        if value is not None
        and last is not None
        and (getattr(last, name) is None or _is_back(base, name, value))
        and not (value is True and tells_only_absence(base, text))
        and not (name == "cured" and (foreign or doubtful or strange))
    }
    spare = tuple(
        kind for name, kind in _OF_A_FIX.items() if told[name] is not None and name not in takes
    )
    job = base
    if last is not None and takes:
        job = replace(job, attempts=(*base.attempts[:-1], replace(last, **takes)))
    notices = tuple(
        f"{last.label} was told to have cured; the fault is back, so it did not"
        if getattr(last, name) is not None
        else f"Takes as the {_SAYS[name]} of: {last.label}"
        for name in takes
        if last is not None
    )
    if foreign and last is not None:
        own_job = "tell it as a job of its own: kb job open"
        notices += (
            f"Is of another fault than {last.label}, which stays as it was told; {own_job}",
        )
    if strange and last is not None and last.cured is None:
        notices += (
            f"“{FIT.named(strange)}” may be what cured, so {last.label} is left as not told: say "
            f"kb job add {base.number} 'repaired PART, cured' of the one, or kb job add "
            f"{base.number} 'cured' of the other",
        )
    in_doubt = None
    if doubtful and last is not None:
        in_doubt = (
            f"{last.label} stays cured, as it was told; if this is what it was to cure, say: "
            f"kb job add {base.number} 'fault back'"
        )
    return GivenToFix(job, notices, as_words(found.account, spare, text), in_doubt)


def _strange_deed(told: Account) -> str | None:
    """Return what is kept as words before a verdict, and may tell the work that it is of."""
    ends = [each.place.start for each in told.lifted if isinstance(each.fact, FixVerdict)]
    before = (
        each.fact
        for each in told.kept
        if isinstance(each.fact, str) and all(each.place.start < end for end in ends)
    )
    return next((words for words in before if tells_strange_deed(words)), None)


def _is_foreign(base: Job, last: Attempt, text: str, verdict: FixVerdict | None) -> bool:
    """Whether a line tells trouble of another fault than the last fix, which cured, was for."""
    if verdict is None or verdict.cured or last.cured is not True:
        return False
    return is_of_another(text, _told_of(last), base.complaint, trade_wording())


def _told_of(fix: Attempt) -> list[str]:
    return [fix.label, *([fix.words] if fix.words else [])]


def _may_be_foreign(base: Job, last: Attempt, text: str, verdict: FixVerdict | None) -> bool:
    """Whether a line tells trouble that may be of another fault than the last fix cured."""
    if verdict is None or verdict.cured or last.cured is not True or base.closed is not None:
        return False
    return may_be_of_another(text, last.words or "", base.complaint) or tells_another_function(
        text, _told_of(last), base.complaint, trade_wording()
    )


def _is_back(base: Job, name: str, value: Any) -> bool:
    """Whether an outcome says that the fault is back on a job that is still open."""
    cured = bool(base.attempts) and base.attempts[-1].cured is True
    return name == "cured" and value is False and cured and base.closed is None
