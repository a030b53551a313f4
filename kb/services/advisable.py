"""Which attempts may be rated and proposed: none of which anything told may not be shown.

An innocent fix counts although something dangerous was done on its job, too: that a new plug held
is true all the same. But where the fault of a restraint was hidden on the job, by a load left in, a
bag coded out or a bridge, the lamp is off whatever was done: then no fix of it counts as a cure,
and what was heard of the car since tells nothing of any. The dangerous step itself is told on the
job's own page, and only there.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache

from kb.cards.proposed import ProposedCase
from kb.case import Action, RepairRecord, System, Tried, may_name_igniter
from kb.rates.fixes import FixRate
from kb.safety.hidden_fault import fix_told, hides_fault
from kb.safety.igniter_concern import about_igniter, is_of_drive
from kb.safety.job_words import forbidden_around, is_advisable
from kb.safety.told_fix import dangerously_told

_LEFT_OUT = ""
"""Stands as the component of what is not to be rated; no fix has an empty one."""


def only_advisable(
    repairs: Iterable[RepairRecord], cause: Sequence[str] = ()
) -> list[RepairRecord]:
    """Return repairs with no outcome of what nobody should repeat.

    Such an attempt keeps its place: that something else was done last on the car stays true of
    the attempts before it.

    Parameters
    ----------
    repairs : iterable of RepairRecord
    cause : sequence of str
        Names of the cause they share, if they share one, as `kb.case.Cause.key`.
    """
    restraint, named = _of_cause(cause)
    return [_advisable(repair, named, restraint) for repair in repairs]


def left_out(repairs: Iterable[RepairRecord], cause: Sequence[str]) -> tuple[int, ...]:
    """Return the jobs on which such an attempt was made."""
    restraint, named = _of_cause(cause)
    return tuple(each.number for each in repairs if not all(_are_fit(each, named, restraint)))


def with_hidden_fault(repairs: Iterable[RepairRecord], cause: Sequence[str]) -> tuple[int, ...]:
    """Return the jobs on which the fault was hidden: nothing done on them counts as a cure."""
    restraint, _ = _of_cause(cause)
    return tuple(each.number for each in repairs if _is_hidden(each, restraint))


def withheld_jobs(advisable: Iterable[RepairRecord]) -> tuple[int, ...]:
    """Return of what `only_advisable` returned the jobs whose last fix counts nowhere."""
    last = ((each.number, each.attempts[-1]) for each in advisable if each.attempts)
    return tuple(number for number, tried in last if tried.component == _LEFT_OUT)


def is_advised(rate: FixRate) -> bool:
    """Whether a rate is of what may be proposed."""
    return rate.component != _LEFT_OUT


def is_fit(case: ProposedCase) -> bool:
    """Whether what was done on a card may be proposed for what it may have been a case of."""
    if case.withheld:
        return False
    named, restraint = ", ".join(filter(None, case.cause.key[:2])), about_igniter(case.cause.key)
    return _judged(case.action, case.component, None, None, None, named, restraint)


def _of_cause(cause: Sequence[str]) -> tuple[bool, str]:
    """Return whether a cause concerns an igniter, and what it is called."""
    return about_igniter(cause), ", ".join(filter(None, cause[:2]))


def _advisable(repair: RepairRecord, cause: str, restraint: bool) -> RepairRecord:
    fit = _are_fit(repair, cause, restraint)
    if _is_hidden(repair, restraint):
        told = zip(repair.attempts, fit, strict=True)
        fit = [it_is and each.cured is False for each, it_is in told]
    if all(fit):
        return repair
    kept = zip(repair.attempts, fit, strict=True)
    return repair._replace(attempts=[each if it_is else _unrated(each) for each, it_is in kept])


def _are_fit(repair: RepairRecord, cause: str, restraint: bool) -> list[bool]:
    """Return of each attempt of a case whether all that is told of it may be shown."""
    igniter_job = restraint or _is_igniter_job(repair)
    return [
        _judged(
            each.action,
            each.component,
            each.words,
            each.part_maker,
            each.verified,
            cause,
            igniter_job,
        )
        and not (each.told_in and forbidden_around(each.told_in, igniter_job=igniter_job))
        and not (igniter_job and _is_told_elsewhere(repair, each))
        for each in repair.attempts
    ]


def _is_told_elsewhere(repair: RepairRecord, tried: Tried) -> bool:
    """Whether a fix without words of its own is told dangerously by those of its job."""
    if tried.words:
        return False
    told = (*_done_on(repair), repair.complaint, *repair.heard)
    return dangerously_told(told, tried.action, tried.component) is not None


def _is_hidden(repair: RepairRecord, restraint: bool) -> bool:
    """Whether the fault of a case was hidden."""
    if not (restraint or _is_igniter_job(repair)):
        return False
    heard = (repair.complaint, *repair.heard)
    return hides_fault(_done_on(repair), heard, repair.since, igniter_job=True)


def _done_on(repair: RepairRecord) -> Sequence[str]:
    """Return what a case tells as done, as `kb.safety.hidden_fault.told_on` reads a job."""
    tried = (
        text
        for each in repair.attempts
        if each.cured is not False
        for text in fix_told(f"{each.action} {each.component}", each.words, each.verified)
    )
    return *repair.told, *tried, *filter(None, [repair.proved_by])


def _is_igniter_job(repair: RepairRecord) -> bool:
    """Whether a case concerns an igniter: by its system, or by its complaint and what was done."""
    if repair.system is System.RESTRAINTS:
        return True
    named = (repair.complaint, *(each.component for each in repair.attempts))
    told = [text for text in named if may_name_igniter(text)]
    return about_igniter(told, of_drive=is_of_drive((repair.system,), (), named))


@lru_cache(maxsize=20_000)
def _judged(
    action: Action,
    component: str,
    words: str | None,
    part_maker: str | None,
    verified: str | None,
    cause: str,
    igniter_job: bool,
) -> bool:
    return is_advisable(
        action,
        component,
        words,
        part_maker=part_maker,
        verified=verified,
        cause=cause,
        igniter_job=igniter_job,
    )


def _unrated(tried: Tried) -> Tried:
    return tried._replace(
        component=_LEFT_OUT, words=None, verified=None, cured=None, fix=(tried.action, _LEFT_OUT)
    )
