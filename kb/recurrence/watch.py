"""Looking every week whether a chosen fault befalls a group more often than all others.

Cars that first came with the fault are taken one after the other, as they came. If the group has it
no more often than the rest, the next one is of the group with the chance of its share among the
cars of like age and distance that the shop has seen within the year before. A sequential rule on
these chances may be looked at after every car, and still gives a false alarm in a year with no more
than the chance that was asked for.
"""

import math
from collections import Counter, deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from kb.case import Job, even
from kb.recurrence.cars import CarKey, Wear, tell_apart, wear
from kb.settings import RecurrenceSettings
from kb.statistics.sequential import critical_value, surprise

YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchedFact:
    """A fault on a group of vehicles; what is None is left open.

    Either a `code` or a `component` (and `location`), or neither: all faults of the group. Without
    a `model` every model is a group of its own.
    """

    component: str | None = None
    location: str | None = None
    code: str | None = None
    make: str | None = None
    model: str | None = None

    @property
    def fault(self) -> str:
        """One line: ``seat connector, under seat``."""
        where = f", {self.location}" if self.location else ""
        return self.code or (f"{self.component}{where}" if self.component else "any cause")

    @property
    def group(self) -> str:
        """Make and model: ``Corvane Lido``."""
        return f"{self.make} {self.model}" if self.model else self.make or "any model"

    @property
    def key(self) -> tuple[str, ...]:
        """What makes two facts the same."""
        every = (self.component, self.location, self.code, self.make, self.model)
        return tuple(even(each or "") for each in every)


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """A car that first came with a fault; `share` is the group's chance that it is one of its."""

    on: date
    job: int
    hit: bool
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """How a watched fact went within a year of watching, up to the day on which it was told.

    `crossed` is that day, or None; of `tried` cars with the fault `hits` were of the group where
    `expected` were to be; `later` more of the group came after that day; `jobs` are those of the
    group. `chance` is that of a false alarm in the
    year, `reached` and `critical` the surprise and what it has to come to.
    """

    since: date
    crossed: date | None
    hits: int
    later: int
    tried: int
    expected: float
    reached: float
    critical: float
    chance: float
    jobs: tuple[int, ...]


def courses(
    cases: Sequence[Job],
    watched: WatchedFact,
    since: date,
    settings: RecurrenceSettings,
    *,
    chance: float,
) -> list[tuple[WatchedFact, Course]]:
    """Follow a fact from a day on, every group or fault that it leaves open by itself.

    The chance of a false alarm in a year is shared among these. Of several years of watching the
    first that tells something is returned, else the last.

    References
    ----------
    Kulldorff et al., "A maximized sequential probability ratio test for drug and vaccine safety
    surveillance", Sequential Analysis 30(1), 2011.
    """
    facts = _closed(cases, watched)
    last = max((job.opened for job in cases), default=since)
    told = []
    for fact, arrivals in _arrivals(cases, facts, settings).items():
        before = sum(since - YEAR <= each.on < since for each in arrivals)
        rule = _Rule(chance / len(facts), settings)
        found = [
            _course(start, [e for e in arrivals if start <= e.on < start + YEAR], before, rule)
            for start in _years(since, last)
        ]
        told.append((fact, next((each for each in found if each.crossed), found[-1])))
    return told


@dataclass(frozen=True, slots=True, kw_only=True)
class Grown:
    """Cars of a group that first had a fault before and after a day, and the chance of so many.

    Before it those of the last months are counted; `chance` is the one-sided mid-p value if it
    befell the group's jobs as often as before, and `expected` how many there then would be after.
    """

    before: int
    after: int
    expected: float
    chance: float


def grown(
    cases: Iterable[Job], fact: WatchedFact, day: date, settings: RecurrenceSettings
) -> Grown:
    """Tell whether a fault takes more of its group's jobs since a day than in the months before.

    Given how many cars had it in all, those after the day are binomial with the share of the jobs
    that came after it; a car's jobs count until it had it.

    References
    ----------
    Przyborowski & Wilenski, "Homogeneity of results in testing samples from Poisson series",
    Biometrika 31, 1940.
    """
    from scipy.stats import binom  # noqa: PLC0415  slow to import

    taken = [job for job in cases if job.is_case and _is_of(job, fact)]
    cars = tell_apart(taken, settings).fewest
    begin = day - settings.recent_months * YEAR / 12
    had, hits, jobs = set[CarKey](), Counter[bool](), Counter[bool]()
    for at in sorted(range(len(taken)), key=lambda at: taken[at].opened):
        job, car = taken[at], cars[at]
        if car in had:
            continue
        if _has(job, fact):
            had.add(car)
        if job.opened >= begin:
            hits[job.opened > day] += _has(job, fact)
            jobs[job.opened > day] += 1
    share = jobs[True] / max(1, jobs.total())
    law = binom(hits.total(), share)
    chance = float(law.sf(hits[True]) + law.pmf(hits[True]) / 2)
    often = hits[False] / max(1, jobs[False])
    return Grown(before=hits[False], after=hits[True], expected=often * jobs[True], chance=chance)


def is_arrival(job: Job, fact: WatchedFact) -> bool:
    """Whether a job is of a fact's group and has its fault."""
    return job.is_case and _is_of(job, fact) and _has(job, fact)


def _years(since: date, last: date) -> list[date]:
    count = max(0, (last - since).days) // YEAR.days + 1
    return [since + place * YEAR for place in range(count)]


@dataclass(frozen=True, slots=True)
class _Rule:
    chance: float
    settings: RecurrenceSettings


def _course(since: date, arrivals: Sequence[Arrival], before: int, rule: _Rule) -> Course:
    """Look after every arrival whether the surprise has reached its critical value."""
    settings = rule.settings
    planned = max(settings.watch_planned, math.ceil(settings.watch_growth * before), len(arrivals))
    shares = [each.share for each in arrivals]
    usual = sum(shares) / len(shares) if shares else 0.5
    every = shares + [usual] * (planned - len(shares))
    critical = critical_value(every, rule.chance, settings.least_vehicles)
    means = np.cumsum(every) / np.arange(1, planned + 1)
    hits, crossed, reached, tried = 0, None, 0.0, 0
    for tried, (each, mean) in enumerate(zip(arrivals, means, strict=False), start=1):
        hits += each.hit
        reached = surprise(hits, tried, float(mean))
        if hits >= settings.least_vehicles and reached >= critical:
            crossed = each.on
            break
    return Course(
        since=since,
        crossed=crossed,
        hits=hits,
        later=sum(each.hit for each in arrivals[tried:]),
        tried=tried,
        expected=sum(shares[:tried]),
        reached=reached,
        critical=critical,
        chance=rule.chance,
        jobs=tuple(each.job for each in arrivals if each.hit),
    )


def _closed(cases: Iterable[Job], watched: WatchedFact) -> list[WatchedFact]:
    """Return the facts that a watched one stands for, each with a fault and a group."""
    facts: dict[tuple[str, ...], WatchedFact] = {}
    for job in cases:
        if not (job.is_case and _is_of(job, watched) and _has(job, watched)):
            continue
        open_fault = watched.code is None and watched.component is None
        if job.cause is None or (watched.model is None and job.vehicle.model is None):
            continue
        fact = WatchedFact(
            code=watched.code,
            component=job.cause.component if open_fault else watched.component,
            location=job.cause.location if open_fault else watched.location,
            make=job.vehicle.make,
            model=job.vehicle.model,
        )
        facts.setdefault(fact.key, fact)
    return list(facts.values())


def _has(job: Job, fact: WatchedFact) -> bool:
    """Whether a job has the fault."""
    if fact.code is not None:
        return any(fact.code in {str(each), each.code} for each in job.codes)
    if fact.component is None:
        return True
    if job.cause is None or even(job.cause.component) != even(fact.component):
        return False
    return fact.location is None or even(job.cause.location or "") == even(fact.location)


def _is_of(job: Job, fact: WatchedFact) -> bool:
    """Whether a job's car is of the group."""
    for wanted, own in ((fact.make, job.vehicle.make), (fact.model, job.vehicle.model)):
        if wanted is not None and even(wanted) != even(own or ""):
            return False
    return True


def _arrivals(
    cases: Sequence[Job], facts: Sequence[WatchedFact], settings: RecurrenceSettings
) -> dict[WatchedFact, list[Arrival]]:
    """Return the cars that first came with each fault, in order, in one walk through the cases."""
    taken = [job for job in cases if job.is_case]
    cars = tell_apart(taken, settings).fewest
    order = sorted(range(len(taken)), key=lambda at: (taken[at].opened, taken[at].number or 0))
    seen = _Seen()
    arrivals: dict[WatchedFact, list[Arrival]] = {fact: [] for fact in facts}
    had: dict[WatchedFact, set[CarKey]] = {fact: set() for fact in facts}
    may_have = _by_fault(facts)
    for at in order:
        job, car = taken[at], cars[at]
        seen.forget(job.opened - YEAR)
        worn = wear(job, settings)
        for fact in may_have(job):
            if car in had[fact] or not _has(job, fact):
                continue
            had[fact].add(car)
            share = seen.share(worn, _group_of(fact))
            hit = _is_of(job, fact)
            arrivals[fact].append(Arrival(on=job.opened, job=job.number or 0, hit=hit, share=share))
        seen.add(job, car, worn)
    return arrivals


def _by_fault(facts: Sequence[WatchedFact]) -> Callable[[Job], Iterable[WatchedFact]]:
    """Return what tells which facts a job may have, without asking all of them."""
    by_component: dict[str | None, list[WatchedFact]] = {}
    for fact in facts:
        name = even(fact.component) if fact.component is not None else None
        by_component.setdefault(name, []).append(fact)

    def may_have(job: Job) -> Iterable[WatchedFact]:
        own = even(job.cause.component) if job.cause else ""
        return (*by_component.get(own, ()), *by_component.get(None, ()))

    return may_have


_GroupKey = tuple[str, str]


def _group_of(fact: WatchedFact) -> _GroupKey:
    return even(fact.make or ""), even(fact.model or "")


class _Seen:
    """The cars seen within the last year, by wear and group; each where it was seen last."""

    def __init__(self) -> None:
        self._visits: deque[tuple[date, CarKey]] = deque()
        self._cars: dict[CarKey, tuple[date, Wear, _GroupKey]] = {}
        self._all: Counter[Wear] = Counter()
        self._own: Counter[tuple[Wear, _GroupKey]] = Counter()

    def add(self, job: Job, car: CarKey, worn: Wear) -> None:
        group = even(job.vehicle.make or ""), even(job.vehicle.model or "")
        self._take_out(car)
        self._cars[car] = job.opened, worn, group
        self._count(worn, group, 1)
        self._visits.append((job.opened, car))

    def forget(self, before: date) -> None:
        """Take out the cars that were last seen before a day."""
        while self._visits and self._visits[0][0] < before:
            day, car = self._visits.popleft()
            if car in self._cars and self._cars[car][0] == day:
                self._take_out(car)

    def share(self, worn: Wear, group: _GroupKey) -> float:
        """Return a group's share, as if the next car were one of its: never too small."""
        return (self._own[worn, group] + 1) / (self._all[worn] + 1)

    def _take_out(self, car: CarKey) -> None:
        if car in self._cars:
            _, worn, group = self._cars.pop(car)
            self._count(worn, group, -1)

    def _count(self, worn: Wear, group: _GroupKey, by: int) -> None:
        self._all[worn] += by
        self._own[worn, group] += by
