"""Scanning the shop's past for what keeps coming back."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeVar

from kb.case import Cause, Job, System, Vehicle, even
from kb.errors import Notice
from kb.intake.systems import parse_system
from kb.progress import Progress
from kb.rates.trials import Trial, trials
from kb.recurrence.excess import recurring
from kb.recurrence.pattern import FaultOfGroup, Incomparable, Pattern, Sight, Window
from kb.safety.hazards import Situation, cautions_of_list
from kb.safety.job_words import FIT
from kb.services.advisable import only_advisable
from kb.services.closed_cases import opened_between, read_cases
from kb.services.countermeasures import Countermeasures, countermeasures, keys_of
from kb.services.found_wrong import refuted_jobs
from kb.services.indexing import shop_wording
from kb.services.kept_rates import CauseRepairs
from kb.services.knowledge import few_wait, fit_rate, repairs_of
from kb.services.proposed import proposed
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

SCANNED = frozenset({"contacts"})
"""Lists of a job that tell which visits are one car's; what recurs needs no other."""


Named = TypeVar("Named", bound=FaultOfGroup)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecurringFault:
    """A fact and what to do about it.

    `proposed` cards of such cars, which nobody has reviewed, may be of it as well; they count in
    none of its numbers.
    """

    pattern: Pattern
    countermeasures: Countermeasures
    proposed: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Scan:
    """What keeps coming back, the newest and surest first, and what was looked at for it.

    Looked at were `cases` of all systems, opened from `since` until `until` (None if there are
    none), and those of `windows` by themselves; with a `system` only its faults are told.
    `incomparable` is what stands out where a model cannot be told from its age, and is no fact;
    `nearest` is what came nearest to being told where nothing is; `looked_at` combinations could
    have shown something. `untagged` jobs without a key tag or VIN were taken for `folded` cars,
    the `unread` of them that no odometer tells apart either for one each.
    `sights` tell what so few vehicles could have shown. Jobs of days `to_come` count in nothing,
    nor do closed ones `without_cause`. Of `proposed` cards, which nobody has
    reviewed, a cause is proposed; they count in nothing else.
    """

    system: System | None
    since: date | None
    until: date | None
    cases: int
    windows: tuple[Window, ...]
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    facts: tuple[RecurringFault, ...]
    incomparable: tuple[Incomparable, ...]
    nearest: Pattern | None
    looked_at: int
    untagged: int
    unread: int
    folded: int
    sights: tuple[Sight, ...]
    to_come: int
    without_cause: int
    proposed: int = 0


def scan(
    address: str,
    settings: Settings,
    *,
    today: date,
    system: str | None = None,
    since: date | None = None,
    until: date | None = None,
    progress: Progress | None = None,
) -> Scan:
    """Find the faults that some make or model has more often than all others.

    With a system only its faults are told, compared with all. Without `since` and `until` the last
    months are looked at beside all time.

    Raises
    ------
    InvalidField
        If `until` lies before `since`, or the system is unknown.
    """
    wanted = parse_system(system) if system else None
    within = opened_between(since, until)
    with UnitOfWork(open_store(address), read_only=True) as work:
        cases = read_cases(work, progress, within, lists=SCANNED)
        given = bool(since or until)
        found = scan_cases(work, address, cases, settings, today=today, system=wanted, given=given)
        return replace(found, without_cause=causeless(work, since, until))


def causeless(work: UnitOfWork, since: date | None, until: date | None) -> int:
    """Count the jobs of some days that are closed without a cause: they recur in nothing."""
    return work.jobs.count_in_state("closed without a cause", since=since, until=until)


def scan_cases(
    work: UnitOfWork,
    address: str,
    cases: list[Job],
    settings: Settings,
    *,
    today: date,
    system: System | None = None,
    given: bool = False,
) -> Scan:
    """Find the recurring faults of cases read before, all of a store's or those of `given` days.

    Of their lists `SCANNED` are looked at. Whatever is said to be of a day to come was mistyped,
    and would move the last months to where nothing is.
    """
    every = len(cases)
    cases = [job for job in cases if job.opened <= today]
    windows = _windows(cases, settings, given=given)
    found = recurring(
        cases, settings.recurrence, system=system, windows=windows, refuted=refuted_jobs(work)
    )
    wording = shop_wording(work)
    told = {number for each in found.patterns for number in each.jobs}
    told |= {number for each in found.incomparable for number in each.jobs}
    jobs = {job.number: job for job in work.jobs.get_many(told) if job.number is not None}
    keys = {key for each in found.patterns if (key := keys_of(each, jobs))}
    rates = {
        key: CauseRepairs(
            cases=known.cases,
            last_proved=known.last_proved,
            rates=tuple(map(fit_rate, known.rates)),
        )
        for key, known in repairs_of(work, address, keys, settings).items()
    }
    tried = _tried_on(work, told, settings)
    facts = tuple(
        RecurringFault(
            pattern=_fit(each),
            countermeasures=countermeasures(
                each,
                jobs,
                [trial for number in each.jobs for trial in tried.get(number, ())],
                rates.get(keys_of(each, jobs) or ("", "", "")),
                wording,
            ),
        )
        for each in found.patterns
    )
    behind = [jobs[number] for number in sorted(told)]
    causes = {job.cause.key: job.cause for job in behind if job.cause}
    days = [job.opened for job in cases]
    whole = Scan(
        system=system,
        since=min(days, default=None),
        until=max(days, default=None),
        cases=len(cases),
        windows=windows,
        cautions=cautions_of_list(
            Situation.of_causes(tuple(causes.values()), (job.system for job in behind)), wording
        ),
        notices=_notices(cases, settings),
        facts=facts,
        incomparable=tuple(map(_fit_names, found.incomparable)),
        nearest=_fit(found.nearest) if found.nearest else None,
        looked_at=found.looked_at,
        untagged=found.untagged,
        unread=found.unread,
        folded=found.folded,
        sights=tuple(replace(each, group=FIT.named(each.group)) for each in found.sights),
        to_come=every - len(cases),
        without_cause=0,
    )
    return _with_proposed(work, address, whole, today)


def _with_proposed(work: UnitOfWork, address: str, found: Scan, today: date) -> Scan:
    """Tell beside what was found how many cards that nobody has reviewed may be of it."""
    cards = proposed(work, address, today=today)
    if few_wait(len(cards), work.jobs.count() - len(cards)):
        return found
    parts = {even(each.pattern.component) for each in found.facts}
    alike = {n: card.cause for n, card in cards.items() if even(card.cause.component) in parts}
    cars = {job.number: job.vehicle for job in work.jobs.get_many(alike)}
    told = [(cause, cars[number]) for number, cause in alike.items() if number in cars]
    facts = (
        replace(each, proposed=sum(_may_be(each.pattern, *card) for card in told))
        for each in found.facts
    )
    return replace(found, proposed=len(cards), facts=tuple(facts))


def _may_be(pattern: Pattern, cause: Cause, car: Vehicle) -> bool:
    """Whether a cause proposed of a car is a pattern's fault, as far as it is told, on its cars."""
    same = (
        (cause.component, pattern.component),
        (cause.location, pattern.location if cause.location else None),
        (cause.failure_mode, pattern.failure_mode or cause.failure_mode),
        (car.make, pattern.make),
        (car.model, pattern.model or car.model),
    )
    return all(even(one or "") == even(other or "") for one, other in same)


def _tried_on(
    work: UnitOfWork, numbers: Collection[int], settings: Settings
) -> dict[int, list[Trial]]:
    """Return what was tried on some jobs, without what nobody should repeat."""
    found: dict[int, list[Trial]] = defaultdict(list)
    for trial in trials(only_advisable(work.repairs.of_jobs(numbers)), settings.rates):
        found[trial.job].append(trial)
    return found


def _fit(pattern: Pattern) -> Pattern:
    """Return a pattern whose names may be shown."""
    engine = pattern.engine and replace(pattern.engine, engine=FIT.named(pattern.engine.engine))
    return replace(
        _fit_names(pattern),
        set_aside=tuple(map(FIT.named, pattern.set_aside)),
        engine=engine,
        models=tuple(replace(each, model=FIT.named(each.model)) for each in pattern.models),
    )


def _fit_names(fault: Named) -> Named:
    """Return a fault and its group by names that may be shown."""
    named = FIT.named(fault.fault) == fault.fault
    return replace(
        fault,
        component=FIT.named(fault.component if named else fault.fault),
        location=fault.location and (FIT.named(fault.location) if named else None),
        make=FIT.named(fault.make),
        model=fault.model and FIT.named(fault.model),
    )


def _windows(cases: list[Job], settings: Settings, *, given: bool) -> tuple[Window, ...]:
    """Return the last months, and all time where that is more; what was asked for by itself."""
    if not cases:
        return ()
    first, last = min(job.opened for job in cases), max(job.opened for job in cases)
    recent = _months_before(last, settings.recurrence.recent_months)
    if given or recent <= first:
        return (Window(first, last),)
    return Window(recent, last), Window(first, last)


def _months_before(day: date, months: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    return date(year, month + 1, min(day.day, 28))


def _notices(cases: list[Job], settings: Settings) -> tuple[str, ...]:
    if not cases:
        return (Notice.NO_CASES,)
    if len(cases) < settings.diagnosis.few_jobs:
        return (Notice.FEW_TO_COMPARE,)
    return ()
