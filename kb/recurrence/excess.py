"""Faults that a group of vehicles has more often than its share, and whether they grow.

A vehicle counts once, however often it came: margins, observed and expected counts are vehicles.
Expected counts are formed within bands of model years, so that old cars are compared with old
ones. A workshop sees only what its customers bring, not the vehicles on the road; an excess is a
fact about its own jobs.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from kb.case import FailureMode, Job, System, even
from kb.recurrence.association import (
    Stratum,
    Trend,
    chance_of_excess,
    expected,
    false_discovery,
    least_component,
    trend,
)
from kb.recurrence.pattern import AlertLevel, ModeCount, Pattern, YearCount
from kb.settings import RecurrenceSettings
from kb.statistics.summaries import usual

CarKey = tuple[str, str] | int
"""A car's own key, or the place of its job where nobody knows whose car it was."""


def recurring(
    jobs: Iterable[Job], settings: RecurrenceSettings, *, system: System | None = None
) -> tuple[Pattern, ...]:
    """Find the faults that some group of vehicles has more often than its share, the surest first.

    Faults are components at their location, with and without their failure mode; groups are
    models and makes. Of versions of one fact (one component and location; a model and its make)
    only the one with the surest excess is reported, the most specific of equals. One bad model
    would hide the next: the vehicles of its group are set aside and the rest compared among
    themselves, until no group is even suspect. Each is then measured against the vehicles of no
    other group reported. Jobs that are no cases are left out; with a system its faults alone are
    reported, but compared with all jobs all the same.

    References
    ----------
    `kb.recurrence.association.least_component` and the functions beside it; setting aside:
    Juhlin et al., "Outlier removal to uncover patterns in adverse drug reaction surveillance",
    Pharmacoepidemiology and Drug Safety 22(10), 2013.
    """
    shop = _Shop([job for job in jobs if job.is_case], settings)
    parts = shop.parts(system)
    found = sorted((cell for faults in parts for cell in shop.facts(faults)), key=_rank)
    chances = [chance_of_excess(len(cell.cars), cell.strata) for cell in found]
    looked_at = sum(len(shop.cars_of(fault)) for faults in parts for fault in faults)
    alarms = false_discovery(chances, looked_at)
    return tuple(map(shop.pattern, found, chances, alarms))


@dataclass(frozen=True, slots=True)
class _Fault:
    component: str
    location: str
    mode: FailureMode | None


@dataclass(frozen=True, slots=True)
class _Group:
    make: str
    model: str | None

    @property
    def by_model(self) -> bool:
        return self.model is not None

    def meets_any(self, others: Iterable["_Group"]) -> bool:
        """Whether it is one of the others, or their make, or a model of theirs."""
        return any(
            self.make == other.make
            and (self.model == other.model or None in {self.model, other.model})
            for other in others
        )


@dataclass(frozen=True, slots=True)
class _Cell:
    """Vehicles of a group with a fault, compared with all others but those of `aside`.

    `low` is the lower end of the information component, a base-2 logarithm.
    """

    fault: _Fault
    group: _Group
    cars: frozenset[CarKey]
    strata: tuple[Stratum, ...]
    low: float
    aside: tuple[_Group, ...]


def _rank(cell: _Cell) -> tuple[float, bool, bool, str, str, str]:
    coarse = cell.fault.mode is None, cell.group.model is None
    names = cell.fault.component, cell.fault.location, cell.group.make
    return (-cell.low, *coarse, *names)


class _Shop:
    """The cases of a shop, indexed by car, fault and group."""

    def __init__(self, cases: Sequence[Job], settings: RecurrenceSettings) -> None:
        self._settings = settings
        self._jobs: dict[_Fault, dict[CarKey, list[Job]]] = defaultdict(lambda: defaultdict(list))
        self._members: dict[_Group, set[CarKey]] = defaultdict(set)
        self._group_cases: dict[_Group, list[Job]] = defaultdict(list)
        self._band: dict[CarKey, int | None] = {}
        self._known_totals: dict[tuple[bool, tuple[_Group, ...]], Counter[int | None]] = {}
        for place, job in enumerate(sorted(cases, key=_age)):
            self._take(job, job.vehicle.key or place)
        self._member_bands = {group: self._bands(cars) for group, cars in self._members.items()}

    def _take(self, job: Job, car: CarKey) -> None:
        for fault in _faults(job):
            self._jobs[fault][car].append(job)
        for group in _groups(job):
            self._members[group].add(car)
            self._group_cases[group].append(job)
        if job.vehicle.year is not None:
            self._band[car] = job.vehicle.year // self._settings.year_band
        self._band.setdefault(car, None)

    def parts(self, system: System | None) -> list[list[_Fault]]:
        """Return the faults that belong to a system, those of one part together."""
        parts: dict[tuple[str, str], list[_Fault]] = defaultdict(list)
        systems: dict[tuple[str, str], set[System | None]] = defaultdict(set)
        for fault, by_car in self._jobs.items():
            part = fault.component, fault.location
            parts[part].append(fault)
            systems[part].update(job.system for jobs in by_car.values() for job in jobs)
        return [parts[part] for part in parts if system is None or system in systems[part]]

    def cars_of(self, fault: _Fault) -> dict[_Group, set[CarKey]]:
        """Return the cars with a fault by group, for every group that has any."""
        cars: dict[_Group, set[CarKey]] = defaultdict(set)
        for car, jobs in self._jobs[fault].items():
            for group in {group for job in jobs for group in _groups(job)}:
                cars[group].add(car)
        return cars

    def facts(self, faults: Sequence[_Fault]) -> list[_Cell]:
        """Return the excesses of one part, each measured without the groups of the others."""
        found: list[_Cell] = []
        while suspects := self._suspects(faults, found):
            found.append(min(suspects, key=_rank))
        while found:
            found = [self._without(cell, found) for cell in found]
            weakest = max(found, key=_rank)
            if weakest.low >= self._settings.watch_level:
                break
            found.remove(weakest)
        return found

    def _suspects(self, faults: Sequence[_Fault], found: Sequence[_Cell]) -> list[_Cell]:
        aside = tuple(cell.group for cell in found)
        cells = (cell for fault in faults for cell in self._cells(fault, aside))
        return [cell for cell in cells if cell.low > self._settings.suspect_level]

    def _without(self, cell: _Cell, found: Sequence[_Cell]) -> _Cell:
        others = tuple(other.group for other in found if other is not cell)
        cells = self._cells(cell.fault, others)
        return next(same for same in cells if same.group == cell.group)

    def _cells(self, fault: _Fault, aside: tuple[_Group, ...]) -> Iterator[_Cell]:
        cars_of = self.cars_of(fault)
        for by_model in (False, True):
            totals = self._totals(by_model, aside)
            faulty = self._bands(_cars(cars_of, by_model, aside))
            for group, cars in cars_of.items():
                enough = len(cars) >= self._settings.least_vehicles
                if group.by_model is by_model and enough and not group.meets_any(aside):
                    members = self._member_bands[group]
                    strata = tuple(Stratum(totals[b], members[b], faulty[b]) for b in faulty)
                    sure = self._settings.confidence
                    low = least_component(len(cars), expected(strata), sure)
                    yield _Cell(fault, group, frozenset(cars), strata, low, aside)

    def _totals(self, by_model: bool, aside: tuple[_Group, ...]) -> Counter[int | None]:
        known = by_model, aside
        if known not in self._known_totals:
            self._known_totals[known] = self._bands(_cars(self._members, by_model, aside))
        return self._known_totals[known]

    def _bands(self, cars: Iterable[CarKey]) -> Counter[int | None]:
        return Counter(self._band[car] for car in cars)

    def pattern(self, cell: _Cell, chance: float, false_alarms: float) -> Pattern:
        """Tell all about one cell."""
        by_car = {car: self._jobs[cell.fault][car] for car in cell.cars}
        jobs = sorted((job for jobs in by_car.values() for job in jobs), key=_age)
        first = [jobs[0].opened for jobs in by_car.values()]
        kind, trend_chance = self._trend(cell, first)
        mean = expected(cell.strata)
        faulty = sum(each.fault for each in cell.strata)
        sure = cell.low >= self._settings.alert_level
        return Pattern(
            component=usual(job.cause.component for job in jobs if job.cause) or "",
            location=usual(job.cause.location for job in jobs if job.cause),
            failure_mode=cell.fault.mode,
            make=usual(job.vehicle.make for job in jobs) or "",
            model=cell.group.model and usual(job.vehicle.model for job in jobs),
            level=AlertLevel.ALERT if sure else AlertLevel.WATCH,
            observed=len(cell.cars),
            expected=mean,
            group_vehicles=len(self._members[cell.group]),
            fault_vehicles=faulty,
            vehicles=self._totals(cell.group.by_model, cell.aside).total(),
            set_aside=tuple(map(self._name, cell.aside)),
            times=len(cell.cars) / mean,
            at_least=2**cell.low,
            chance=chance,
            false_alarms=false_alarms,
            only_here=len(self._jobs[cell.fault]) == len(cell.cars),
            modes=_modes(by_car),
            trend=kind,
            trend_chance=trend_chance,
            years=self._years(cell.group, first),
            came_again=sum(len(jobs) > 1 for jobs in by_car.values()),
            jobs=tuple(job.number for job in jobs if job.number is not None),
        )

    def _trend(self, cell: _Cell, first: Sequence[date]) -> tuple[Trend, float | None]:
        others = [
            job.opened.toordinal()
            for job in self._group_cases[cell.group]
            if cell.fault not in _faults(job)
        ]
        return trend(
            [day.toordinal() for day in first],
            others,
            level=self._settings.trend_level,
            least=self._settings.least_for_trend,
        )

    def _years(self, group: _Group, first: Sequence[date]) -> tuple[YearCount, ...]:
        cases = Counter(job.opened.year for job in self._group_cases[group])
        cars = Counter(day.year for day in first)
        return tuple(
            YearCount(year=year, vehicles=cars[year], cases=cases[year])
            for year in range(min(cases), max(cases) + 1)
        )

    def _name(self, group: _Group) -> str:
        vehicles = [job.vehicle for job in self._group_cases[group]]
        make = usual(vehicle.make for vehicle in vehicles) or ""
        model = group.model and usual(vehicle.model for vehicle in vehicles)
        return f"{make} {model}" if model else make


def _cars(
    cars_of: Mapping[_Group, set[CarKey]], by_model: bool, aside: tuple[_Group, ...]
) -> set[CarKey]:
    """Return the cars of all models, or of all makes, but those set aside."""
    cars = set().union(*(cars_of[group] for group in cars_of if group.by_model is by_model))
    return cars.difference(*(cars_of.get(group, set()) for group in aside))


def _faults(job: Job) -> tuple[_Fault, ...]:
    if job.cause is None:
        return ()
    component, location, _ = job.cause.key
    any_mode = _Fault(component, location, None)
    if job.cause.failure_mode is FailureMode.UNKNOWN:
        return (any_mode,)
    return any_mode, _Fault(component, location, job.cause.failure_mode)


def _groups(job: Job) -> tuple[_Group, ...]:
    if job.vehicle.make is None:
        return ()
    make = even(job.vehicle.make)
    if job.vehicle.model is None:
        return (_Group(make, None),)
    return _Group(make, None), _Group(make, even(job.vehicle.model))


def _age(job: Job) -> tuple[date, int]:
    return job.opened, job.number or 0


def _modes(by_car: dict[CarKey, list[Job]]) -> tuple[ModeCount, ...]:
    seen = Counter(
        mode
        for jobs in by_car.values()
        for mode in {job.cause.failure_mode for job in jobs if job.cause}
    )
    return tuple(
        ModeCount(failure_mode=mode, vehicles=count)
        for mode, count in sorted(seen.items(), key=lambda item: (-item[1], item[0]))
    )
