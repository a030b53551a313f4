"""The foreman's page: what recurs, what came back, and how well the shop keeps its history."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from kb.bands.limits import trade_limits
from kb.bands.spreads import ReadingSpread, spreads
from kb.case import Job
from kb.intake.wording import Wording
from kb.progress import Progress
from kb.recurrence.pattern import Pattern
from kb.safety.hazards import Situation, cautions_of
from kb.safety.job_words import FIT
from kb.services.closed_cases import keeping_all, opened_between, read_closed
from kb.services.comebacks import Comebacks, WorkKind, comebacks_of, trials_of
from kb.services.countermeasures import keys_of
from kb.services.evaluate import Evaluation, evaluate
from kb.services.fix_history import wider_history
from kb.services.fixes import FixesAnswer, fixes
from kb.services.indexing import shop_wording
from kb.services.scan import SCANNED, Scan, causeless, scan_cases
from kb.services.stock import Stock, stock_of
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

MOST_CURVES = 4
"""Facts whose fixes are told with their curves: what a person looks at."""
MOST_SPREADS = 6
"""Items whose good and bad readings are drawn."""
_LOOKED_AT = SCANNED | {"attempts", "readings"}
"""Lists of all the cases that the page needs; of the jobs that it names it reads the whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Health:
    """How much of what was recorded can be built on, in jobs.

    Attributes
    ----------
    cases : int
        Closed with a cause.
    untagged : int
        Of these, with neither key tag nor VIN.
    cured : int
        Of these, left without the complaint.
    unheard : int
        Of the cured, never heard of again, as `kb.services.comebacks` counts.
    unproved : int
        Of the cured, where nobody wrote down how it was verified.
    without_outcome : int
        Of the cases, where nobody wrote down whether it was cured.
    never_reproduced : int
        Of the cases, whose fault never occurred here.
    without_cause : int
        Closed, with nothing said of the cause: no cases.
    still_open : int
        Not closed.
    """

    cases: int
    untagged: int
    cured: int
    unheard: int
    unproved: int
    without_outcome: int
    never_reproduced: int
    without_cause: int
    still_open: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Friday:
    """All of it, as of a day.

    `fixes` are those of the causes behind the first facts, each under the fact's place in the scan;
    `stock` is of all jobs closed until that day, or until the last day that is looked at;
    `readings` what good and bad ones of the items with most bad ones read; `cautions` come before
    all of it; `evaluation` is None unless it was asked for.
    """

    on: date
    scan: Scan
    fixes: dict[int, FixesAnswer]
    by_fix: Comebacks
    by_cause: Comebacks
    by_maker: Comebacks
    stock: Stock
    readings: tuple[ReadingSpread, ...]
    cautions: tuple[str, ...]
    health: Health
    evaluation: Evaluation | None


def friday(
    address: str,
    settings: Settings,
    *,
    today: date,
    since: date | None = None,
    until: date | None = None,
    asked_again: bool = False,
    progress: Progress | None = None,
) -> Friday:
    """Draw the foreman's page of a store, from jobs opened between two days if they are given.

    With `asked_again` past jobs are asked again as well, to see whether the chances hold.

    Raises
    ------
    InvalidField
        If `until` lies before `since`.
    """
    within = opened_between(since, until)
    with keeping_all(), UnitOfWork(open_store(address), read_only=True) as work:
        closed = read_closed(work, progress, lists=_LOOKED_AT)
        cases = [job for job in closed if job.is_case and within(job)]
        given = bool(since or until)
        wording = shop_wording(work)
        readings = _readings(cases, wording, settings)
        tried = trials_of(work, cases, settings)
        if not given:
            wider_history(work, address, settings, tried.trials)
        by_fix = comebacks_of(work, tried, kind=WorkKind.FIX)
        scan = replace(
            scan_cases(work, address, cases, settings, today=today, given=given),
            without_cause=causeless(work, since, until),
        )
        return Friday(
            on=today,
            scan=scan,
            fixes={
                place: fixes(address, "", settings, job=job, today=today)
                for place, fact in enumerate(scan.facts[:MOST_CURVES])
                if (job := _proved(fact.pattern, tried.cases))
            },
            by_fix=by_fix,
            by_cause=comebacks_of(work, tried, kind=WorkKind.CAUSE),
            by_maker=comebacks_of(work, tried, kind=WorkKind.MAKER),
            stock=stock_of(closed, until or today),
            readings=readings,
            cautions=cautions_of(_situation(scan, by_fix, readings, cases), wording),
            health=health(
                cases,
                withheld=tried.withheld,
                unheard=by_fix.whole.unheard if by_fix.whole else 0,
                without_cause=work.jobs.count_in_state(
                    "closed without a cause", since=since, until=until
                ),
                still_open=work.jobs.count_in_state("open", since=since, until=until),
            ),
            evaluation=evaluate(address, settings, since=since, baselines=False, progress=progress)
            if asked_again
            else None,
        )


def _situation(
    scan: Scan, by_fix: Comebacks, readings: Sequence[ReadingSpread], cases: Sequence[Job]
) -> Situation:
    """Put together what the page tells of: what recurs, what was lost, what was measured."""
    told = {number for fact in scan.facts for number in fact.pattern.jobs}
    told |= {number for each in scan.incomparable for number in each.jobs}
    told |= {number for row in by_fix.rows for number in (*row.jobs, *row.to_judge)}
    behind = [job for job in cases if job.number in told]
    causes = [job.cause for job in behind if job.cause]
    return Situation.of_causes(causes, (job.system for job in behind)) | Situation.of_readings(
        each.sample for each in readings
    )


def _proved(pattern: Pattern, cases: Mapping[int, Job]) -> int | None:
    """Return a job that proved the cause which countermeasures are told for; None without one."""
    key = keys_of(pattern, cases)
    causes = ((number, cases[number].cause) for number in pattern.jobs)
    return next((number for number, cause in causes if cause and cause.key == key), None)


def _readings(
    cases: Sequence[Job], wording: Wording, settings: Settings
) -> tuple[ReadingSpread, ...]:
    """Return what is fit to be drawn of the items with most bad readings."""
    return spreads(
        cases, wording, settings.readings, trade_limits(), MOST_SPREADS, fit=FIT.names_item
    )


def health(
    cases: Sequence[Job],
    *,
    withheld: Collection[int],
    unheard: int,
    without_cause: int,
    still_open: int,
) -> Health:
    """Count what of some cases can be built on, beside jobs that are none.

    The last fix of those `withheld` counts as no cure.
    """
    cured = [
        job
        for job in cases
        if job.attempts and job.attempts[-1].cured and job.number not in withheld
    ]
    return Health(
        cases=len(cases),
        untagged=sum(job.vehicle.key is None for job in cases),
        cured=len(cured),
        unheard=unheard,
        unproved=sum(not (job.attempts[-1].verified or job.attempts[-1].proofs) for job in cured),
        without_outcome=sum(not job.attempts or job.attempts[-1].cured is None for job in cases),
        never_reproduced=sum(job.reproduced is False for job in cases),
        without_cause=without_cause,
        still_open=still_open,
    )
