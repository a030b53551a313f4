"""What is told of a fact: how often, since when, and what must be borne in mind."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from kb.case import Job, even
from kb.recurrence.cars import CarKey
from kb.recurrence.change import Trend, chance_of_silence, change_point, trend
from kb.recurrence.comparison import (
    Matched,
    Nature,
    RateRatio,
    chance_of_excess,
    expected,
    least_visible,
    rate_ratio,
)
from kb.recurrence.faults import (
    CarGroup,
    Fault,
    by_day,
    cars_of_all,
    groups_of,
    models_of,
    modes_of,
    month_of,
    names_of,
    numbers_of,
    wears_out,
)
from kb.recurrence.pattern import (
    AgeBeside,
    AlertLevel,
    Counts,
    EngineCount,
    Growth,
    Incomparable,
    MonthCount,
    OneRecorder,
    Pattern,
    Sight,
    Window,
    YearCount,
)
from kb.recurrence.recorders import burst, recorder_of
from kb.recurrence.shop_counts import GroupComparison, ShopCounts
from kb.statistics.summaries import usual


@dataclass(frozen=True, slots=True)
class CasesInTime:
    """Days and months (counted from year 0) of a group's cases, and which car first had it then."""

    days: NDArray[np.int_]
    months: NDArray[np.int_]
    first: NDArray[np.bool_]


class GroupCases:
    """All cases of a group in the order they came, by car and by job."""

    def __init__(self, cases: Sequence[tuple[Job, CarKey]]) -> None:
        opened = [job.opened for job, _ in cases]
        self.days = np.array([day.toordinal() for day in opened])
        self.months = np.array(list(map(month_of, opened)))
        self.place = {id(job): place for place, (job, _) in enumerate(cases)}
        self.of_car: dict[CarKey, list[int]] = defaultdict(list)
        for place, (_, car) in enumerate(cases):
            self.of_car[car].append(place)


class ShopFacts(ShopCounts):
    """The cases of a shop in one window, and what is told of the facts in them."""

    def pattern(self, cell: GroupComparison, everything: "ShopFacts") -> Pattern:
        """Tell all about one cell; its growth, and its counts of all time, by all cases."""
        by_car = {car: self._jobs[cell.fault][car] for car in cell.cars}
        jobs = sorted((job for jobs in by_car.values() for job in jobs), key=by_day)
        ratio = rate_ratio(
            len(cell.cars),
            cell.bands,
            spread=self._settings.ratio_spread,
            confidence=self._settings.confidence,
        )
        only_here = everything.only_on(cell)
        wears = wears_out(jobs)
        of_its_age = self._few_of_its_age(cell)
        marked = everything.marked(cell)
        change = everything.change(marked)
        recorder = self._one_recorder(cell, jobs)
        engine = self._engine(cell)
        spared = self._members[cell.group] - everything.having(cell) - self._with_other(engine)
        weak = (
            of_its_age is not None
            or change.stopped
            or (recorder is not None and not recorder.stands_out)
        )
        return Pattern(
            **names_of(cell.fault, cell.group, jobs),
            level=self._level(cell, ratio, only_here=only_here, wears=wears, weak=weak),
            counts=self.counts(cell),
            all_time=None if self._is_all(everything.window) else everything.counts(cell),
            untagged=sum(job.vehicle.key is None for job in jobs),
            if_apart=None,
            if_joined=None,
            anywhere=self._anywhere(cell),
            spared=len(spared),
            spared_jobs=self._last_jobs(spared),
            engine=engine,
            models=() if cell.group.by_model else models_of(by_car),
            expected=expected(cell.bands),
            set_aside=tuple(map(self._name, cell.aside)),
            of_its_age=of_its_age,
            times=ratio.times,
            at_least=ratio.at_least,
            chance=cell.luck,
            spread=self.spread,
            by_nature=cell.by_nature,
            false_alarms=cell.false_alarms,
            only_here=only_here,
            wears=wears,
            modes=modes_of(by_car),
            change=change,
            years=everything.years(cell, marked),
            months=everything.months(cell, marked),
            one_recorder=recorder,
            came_again=sum(len(jobs) > 1 for jobs in by_car.values()),
            jobs=numbers_of(jobs),
            refuted=numbers_of(
                job for job in self._once_said[cell.fault] if cell.group in groups_of(job)
            ),
        )

    def incomparable(self, cell: GroupComparison) -> Incomparable:
        """Tell about one cell what plain counts tell."""
        by_car = {car: self._jobs[cell.fault][car] for car in cell.cars}
        jobs = sorted((job for jobs in by_car.values() for job in jobs), key=by_day)
        return Incomparable(
            **names_of(cell.fault, cell.group, jobs),
            counts=self.counts(cell),
            beside=self._age_beside(cell),
            untagged=sum(job.vehicle.key is None for job in jobs),
            wears=wears_out(jobs),
            jobs=numbers_of(jobs),
        )

    def _age_beside(self, cell: GroupComparison) -> AgeBeside:
        """Tell whether all cars of a group are older, or newer, than all others."""
        group, members = cell.group, self._members[cell.group]
        told = [self._visits[car][0].job.vehicle.year for car in cell.cars]
        if 2 * told.count(None) > len(told):
            return AgeBeside.UNKNOWN
        own, others = (
            [year for car in cars if (year := self._visits[car][0].job.vehicle.year) is not None]
            for cars in (members, cars_of_all(self._members, group.by_model) - members)
        )
        if not (own and others):
            return AgeBeside.APART
        if max(own) < min(others):
            return AgeBeside.OLDER
        return AgeBeside.NEWER if min(own) > max(others) else AgeBeside.APART

    def _is_all(self, whole: Window) -> bool:
        return self.window.since <= whole.since and whole.until <= self.window.until

    def _few_of_its_age(self, cell: GroupComparison) -> int | None:
        """Return how many others are of the age and distance at which most of its cars had it.

        None where they are enough to tell whether it comes with the model or with the age, or where
        the others are of that age half as often as the group or more.
        """
        members = self._members[cell.group]
        aside = set[CarKey]().union(*(self._members[other] for other in cell.aside))
        others = cars_of_all(self._members, cell.group.by_model) - members - aside
        events, _ = self._course(cell.fault, cell.cars)
        wear = int(events.sum(axis=0).argmax())
        own, alike = self._as_worn(members, wear), self._as_worn(others, wear)
        rare = 2 * alike * len(members) < own * len(others)
        return alike if rare and alike < self._settings.least_of_age else None

    def _as_worn(self, cars: Iterable[CarKey], wear: int) -> int:
        """Count the cars that were once seen at an age and distance."""
        _, wears = self._shape
        return sum(any(at % wears == wear for at in self._places[car].values()) for car in cars)

    def _level(
        self,
        cell: GroupComparison,
        ratio: RateRatio,
        *,
        only_here: bool,
        wears: bool,
        weak: bool,
    ) -> AlertLevel:
        """Tell how sure a fact is.

        One is `weak` that its cars' age or one recorder may explain, or that has stopped.
        """
        sure = cell.false_alarms <= self._settings.act_level
        worth = ratio.at_least >= self._settings.least_ratio
        if weak or not (sure and worth):
            return AlertLevel.WATCH
        if only_here:
            return AlertLevel.WATCH if wears else AlertLevel.APART
        return AlertLevel.ACT

    def only_on(self, cell: GroupComparison) -> bool:
        """Whether no vehicle of another group ever had the part fail in any way."""
        cars = self._jobs[replace(cell.fault, mode=None)]
        return set(cars) <= self._members[cell.group]

    def having(self, cell: GroupComparison) -> set[CarKey]:
        """Return all vehicles with the fault of a cell."""
        return self._having(cell.fault, cell.group.by_model)

    def _anywhere(self, cell: GroupComparison) -> Counts | None:
        """Count the vehicles with the component wherever it sits, if it sits elsewhere as well."""
        parts = [each for each in self._faults_of[cell.fault.component] if each.mode is None]
        if len(parts) < 2:
            return None
        cars = [self._having(each, cell.group.by_model) for each in parts]
        return self.counted(cell, set[CarKey]().union(*cars))

    @cached_property
    def _faults_of(self) -> dict[str, list[Fault]]:
        found: dict[str, list[Fault]] = defaultdict(list)
        for fault in self._jobs:
            found[fault.component].append(fault)
        return found

    def _one_recorder(self, cell: GroupComparison, jobs: Sequence[Job]) -> OneRecorder | None:
        """Tell of a burst of recording: most jobs are one person's, and more than luck brings."""
        found = burst(jobs, self._recorded, self._settings.recorder_level)
        if found is None:
            return None
        return OneRecorder(found.jobs, found.share, self._stands_out(cell, found.recorder))

    def _stands_out(self, cell: GroupComparison, person: str) -> bool:
        """Whether a group has a fault more often than others among the cars one person worked on.

        Who writes down what others do not does so on every group, whichever way the part failed.
        """
        seen = self._cars_by[person] & self._seen[cell.group.by_model]
        having = {
            car
            for car, jobs in self._jobs[replace(cell.fault, mode=None)].items()
            if car in seen and person in map(recorder_of, jobs)
        }
        mine = seen & self._members[cell.group]
        counts = Matched(len(mine), len(seen - mine), len(having))
        return chance_of_excess(len(having & mine), [counts]) < self._settings.recorder_level

    def _engine(self, cell: GroupComparison) -> EngineCount | None:
        """Tell that most cars that had it have one engine, where that is more than luck brings."""
        group = self._engines(self._members[cell.group])
        having = self._engines(cell.cars)
        engine, count = having.most_common(1)[0] if having else ("", 0)
        if 2 * count <= having.total():
            return None
        mine, known = group[engine], group.total()
        chance = chance_of_excess(count, [Matched(mine, known - mine, having.total())])
        if chance >= self._settings.engine_level:
            return None
        written = usual(
            name for car in cell.cars if even(name := self._engine_of.get(car, "")) == engine
        )
        return EngineCount(
            engine=written or engine,
            vehicles=count,
            known=having.total(),
            group_vehicles=mine,
            group_known=known,
        )

    def _engines(self, cars: Iterable[CarKey]) -> Counter[str]:
        """Count cars by their engine, as far as it is written down."""
        return Counter(even(self._engine_of[car]) for car in cars if car in self._engine_of)

    def _last_jobs(self, cars: Iterable[CarKey]) -> tuple[int, ...]:
        """Return the last job of each of some cars, the newest first."""
        last = sorted((self._visits[car][-1].job for car in cars), key=by_day, reverse=True)
        return numbers_of(last)

    def _with_other(self, engine: EngineCount | None) -> set[CarKey]:
        """Return the cars with another engine than all that had a fault have."""
        if engine is None or not engine.is_all:
            return set()
        return {car for car, name in self._engine_of.items() if even(name) != even(engine.engine)}

    @cached_property
    def _engine_of(self) -> dict[CarKey, str]:
        """The engine of each car, as it was written down last."""
        return {
            car: engine
            for car, visits in self._visits.items()
            for visit in visits
            if (engine := visit.job.vehicle.engine)
        }

    @cached_property
    def _cars_by(self) -> dict[str, set[CarKey]]:
        """The cars that each person worked on."""
        found: dict[str, set[CarKey]] = defaultdict(set)
        for car, visits in self._visits.items():
            for visit in visits:
                found[visit.recorder].add(car)
        return found

    def sights(self, worth: float) -> tuple[Sight, ...]:
        """Tell what so many vehicles of a model could have shown, the most frequent first.

        `worth` is what the alarms of all that was looked at count together.
        """
        rate = self._settings.sight_rate
        level = self._settings.watch_level * rate / max(1.0, worth)
        every = len(cars_of_all(self._members, by_model=True))
        models = {group: len(cars) for group, cars in self._members.items() if group.by_model}
        return tuple(
            Sight(self._name(group), many, self._visible(group, many, every - many, level))
            for group, many in sorted(models.items(), key=lambda item: -item[1])
        )

    def _visible(self, group: CarGroup, mine: int, others: int, level: float) -> float:
        """Return what would show of a model, where the level is that of one vehicle."""
        nature = Nature(self.spread, self._alike(group, ()))
        rate = self._settings.sight_rate
        return least_visible(mine, others, rate, level * mine, nature)

    def change(self, cases: CasesInTime) -> Growth:
        """Tell whether, and since when, the fault takes another share of its group's cases."""
        place = int(np.flatnonzero(cases.first)[-1])
        since_then = Growth(
            trend=Trend.TOO_FEW,
            last=date.fromordinal(int(cases.days[place])),
            jobs_since_last=len(cases.days) - 1 - place,
            stopped=chance_of_silence(cases.first) < self._settings.stopped_level,
        )
        kind, chance = trend(
            cases.days[cases.first],
            cases.days[~cases.first],
            level=self._settings.trend_level,
            least=self._settings.least_for_trend,
        )
        if kind not in {Trend.GROWING, Trend.FADING}:
            return replace(since_then, trend=kind, chance=chance)
        found = change_point(cases.first, self._settings.change_confidence)
        if 2 * (found.latest - found.earliest) >= len(cases.days):
            return replace(since_then, trend=kind, chance=chance)
        about, earliest, latest = (
            date.fromordinal(int(cases.days[at])) for at in (found.at, found.earliest, found.latest)
        )
        return replace(
            since_then,
            trend=kind,
            chance=chance,
            about=about,
            earliest=earliest,
            latest=latest,
            before=1 / found.before if found.before else None,
            after=1 / found.after if found.after else None,
            jobs_since=len(cases.days) - found.at,
        )

    def marked(self, cell: GroupComparison) -> CasesInTime:
        """Return when the group's cases were, and at which a car first had the fault.

        A car that had it cannot have it first again: its later cases are none.
        """
        cases = self._cases_of(cell.group)
        kept = np.ones(len(cases.days), dtype=bool)
        first = np.zeros(len(cases.days), dtype=bool)
        for car, jobs in self._jobs[cell.fault].items():
            places = [cases.place[id(job)] for job in jobs if id(job) in cases.place]
            if places:
                first[min(places)] = True
                kept[[place for place in cases.of_car[car] if place > min(places)]] = False
        return CasesInTime(cases.days[kept], cases.months[kept], first[kept])

    def _cases_of(self, group: CarGroup) -> GroupCases:
        if group not in self._in_time:
            self._in_time[group] = GroupCases(self._group_cases[group])
        return self._in_time[group]

    @cached_property
    def _in_time(self) -> dict[CarGroup, GroupCases]:
        """The cases of each group that was looked at so far."""
        return {}

    def years(self, cell: GroupComparison, marked: CasesInTime) -> tuple[YearCount, ...]:
        """Count new cars with the fault among all cases of the group, year by year."""
        cases = self._cases_of(cell.group).months // 12
        cars = Counter((marked.months[marked.first] // 12).tolist())
        first, last = int(cases.min()), int(cases.max())
        counts = np.bincount(cases - first).tolist()
        return tuple(
            YearCount(year=year, vehicles=cars[year], cases=counts[year - first])
            for year in range(first, last + 1)
        )

    def months(self, cell: GroupComparison, marked: CasesInTime) -> tuple[MonthCount, ...]:
        """Count new cars with the fault month by month, beside what was to be expected."""
        aside = {*cell.aside, cell.group}
        others = [group for group in self._members if group.by_model is cell.group.by_model]
        having, cases = self._first_of(cell.fault, [each for each in others if each not in aside])
        share = having / cases if cases else 0.0
        seen = Counter(marked.months.tolist())
        found = Counter(marked.months[marked.first].tolist())
        first, last = (month_of(day) for day in (self.window.since, self.window.until))
        return tuple(
            MonthCount(month // 12, month % 12 + 1, found[month], share * seen[month])
            for month in range(first, last + 1)
        )

    def _first_of(self, fault: Fault, groups: Sequence[CarGroup]) -> tuple[int, int]:
        """Return how many cars of some groups had a fault, and of how many cases.

        As `marked` counts them, but only the cars that had it are gone through.
        """
        wanted, having, later = set(groups), 0, 0
        for car, jobs in self._jobs[fault].items():
            with_it, had = set(map(id, jobs)), set[CarGroup]()
            for visit in self._visits[car]:
                for group in wanted.intersection(visit.groups):
                    if group in had:
                        later += 1
                    elif id(visit.job) in with_it:
                        had.add(group)
            having += len(had)
        return having, sum(len(self._group_cases[group]) for group in groups) - later

    def _name(self, group: CarGroup) -> str:
        vehicles = [job.vehicle for job, _ in self._group_cases[group]]
        make = usual(vehicle.make for vehicle in vehicles) or ""
        model = group.model and usual(vehicle.model for vehicle in vehicles)
        return f"{make} {model}" if model else make
