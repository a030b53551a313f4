"""The cars of a shop in a window, counted by group, fault, year, age and distance, and the test."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from kb.case import Job, System
from kb.recurrence.cars import CarKey, Wear
from kb.recurrence.comparison import (
    Excesses,
    Floats,
    Matched,
    Nature,
    chance_by_nature,
    chance_of_excess,
    expected,
    least_chance,
    natural_spread,
    relative_rates,
)
from kb.recurrence.faults import CarGroup, Fault, Stratum, Visit, cars_of_all, groups_of
from kb.recurrence.pattern import Counts, Window
from kb.settings import RecurrenceSettings

COURSES_KEPT = 32
"""Faults, by model or by make, of which is remembered how they went: those of one part and more.
How they compare is asked three times of all of them, and so kept."""


Compared = tuple[CarGroup, set[CarKey], tuple[Matched, ...]]
"""A group that has a fault, its cars with it, and the counts by stratum."""


@dataclass(frozen=True, slots=True)
class GroupComparison:
    """Vehicles of a group with a fault, compared with all others but those of `aside`.

    `luck` is the chance of so many by luck alone, `by_nature` by luck and as groups differ, and
    `worth` what its alarm counts beside others': the vehicles of the group that were to be expected
    with it. `false_alarms` is about how many false ones are as striking.
    """

    fault: Fault
    group: CarGroup
    cars: frozenset[CarKey]
    bands: tuple[Matched, ...]
    aside: tuple[CarGroup, ...]
    luck: float
    by_nature: float
    worth: float
    false_alarms: float = 1.0

    @property
    def surprise(self) -> float:
        """How likely it is by luck and nature, for each vehicle that was to be expected."""
        return self.by_nature / self.worth

    def is_version_of(self, other: "GroupComparison") -> bool:
        """Whether it is of the same part, and of the same group, its make or a model of it."""
        return self.fault.part == other.fault.part and self.group.meets(other.group)


def rank(cell: GroupComparison) -> tuple[float, float, bool, bool, str, str, str]:
    """Order comparisons: the surest first, of equals the most specific."""
    coarse = cell.fault.mode is None, cell.group.model is None
    names = cell.fault.component, cell.fault.location, cell.group.make
    return (cell.surprise, cell.luck, *coarse, *names)


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultCourses:
    """How a fault went with every group that has it, and with all of them together (`whole`).

    Of each group its cars with the fault, where they had it first (`events`), and where its cars
    were watched for it, by stratum.
    """

    groups: tuple[CarGroup, ...]
    cars: tuple[set[CarKey], ...]
    having: set[CarKey]
    events: Floats
    watched: Floats
    whole: tuple[Floats, Floats]


class ShopCounts:
    """The cases of a shop in one window, indexed by car, fault and group."""

    def __init__(
        self,
        visits: Sequence[Visit],
        cars: Sequence[CarKey],
        window: Window,
        *,
        settings: RecurrenceSettings,
        refuted: frozenset[int],
        spread: float | None = None,
    ) -> None:
        self._settings = settings
        self._given_spread = spread
        self._refuted = refuted
        self._once_said: dict[Fault, list[Job]] = defaultdict(list)
        self.window = window
        self._jobs: dict[Fault, dict[CarKey, list[Job]]] = defaultdict(lambda: defaultdict(list))
        self._members: dict[CarGroup, set[CarKey]] = defaultdict(set)
        self._group_cases: dict[CarGroup, list[tuple[Job, CarKey]]] = defaultdict(list)
        self._visits: dict[CarKey, list[Visit]] = defaultdict(list)
        self._recorded: Counter[str] = Counter()
        self._known_totals: dict[tuple[bool, tuple[CarGroup, ...]], Floats] = {}
        self._known_alike: dict[tuple[CarGroup, tuple[CarGroup, ...]], float] = {}
        for visit, car in zip(visits, cars, strict=True):
            if window.since <= visit.job.opened <= window.until:
                self._take(visit, car)
        self._courses = lru_cache(maxsize=COURSES_KEPT)(self._courses_of)
        self._compared = cache(self._compared_of)
        self._having = lru_cache(maxsize=COURSES_KEPT)(self._having_of)

    def _take(self, visit: Visit, car: CarKey) -> None:
        job = visit.job
        for fault in visit.faults:
            if job.number in self._refuted:
                self._once_said[fault].append(job)
            else:
                self._jobs[fault][car].append(job)
        for group in visit.groups:
            self._members[group].add(car)
            self._group_cases[group].append((job, car))
        self._visits[car].append(visit)
        self._recorded[visit.recorder] += 1

    @cached_property
    def _years(self) -> dict[CarKey, dict[int, Stratum]]:
        """In which years each car was seen, of what age and distance it was then first."""
        return {
            car: {visit.stratum[0]: visit.stratum for visit in reversed(visits)}
            for car, visits in self._visits.items()
        }

    @cached_property
    def _axes(self) -> tuple[dict[int, int], dict[Wear, int]]:
        """Years, ages and distances that were seen, each with its place."""
        seen = {stratum for by_year in self._years.values() for stratum in by_year.values()}
        years = {year: place for place, year in enumerate(sorted({year for year, _ in seen}))}
        return years, {worn: place for place, worn in enumerate({worn for _, worn in seen})}

    @property
    def _shape(self) -> tuple[int, int]:
        years, wears = self._axes
        return len(years), len(wears)

    @cached_property
    def _places(self) -> dict[CarKey, dict[int, int]]:
        years, wears = self._axes
        return {
            car: {year: years[year] * len(wears) + wears[worn] for year, worn in strata.values()}
            for car, strata in self._years.items()
        }

    @cached_property
    def _exposure(self) -> dict[CarGroup, Floats]:
        return {group: self._watched(cars) for group, cars in self._members.items()}

    def _watched(self, cars: Iterable[CarKey]) -> Floats:
        return self._counted([each for car in cars for each in self._places[car].values()])

    def _counted(self, places: Sequence[int]) -> Floats:
        """Return how many there are of each stratum, years by wear."""
        years, wears = self._shape
        counts = np.bincount(np.array(places, dtype=np.intp), minlength=years * wears)
        return counts.reshape(self._shape).astype(np.float64)

    def parts(self, system: System | None) -> list[list[Fault]]:
        """Return the faults that mostly belong to a system, those of one part together."""
        parts: dict[tuple[str, str], list[Fault]] = defaultdict(list)
        systems: dict[tuple[str, str], Counter[System | None]] = defaultdict(Counter)
        for fault, by_car in self._jobs.items():
            parts[fault.part].append(fault)
            systems[fault.part].update(job.system for jobs in by_car.values() for job in jobs)
        return [
            parts[part]
            for part in parts
            if system is None or 2 * systems[part][system] > systems[part].total()
        ]

    @cached_property
    def spread(self) -> float:
        """How much the rates of models differ by nature: of what is neither rare nor usual."""
        if self._given_spread is not None:
            return self._given_spread
        settings = self._settings
        most = settings.usual_share * len(self._seen[True])
        seen = [
            (len(cars), bands, self._alike(group, ()))
            for fault in self._jobs
            if fault.mode is None and settings.least_expected <= len(self._jobs[fault]) <= most
            for group, cars, bands in self._models_beside_their_like(fault)
            if expected(bands) >= settings.least_expected
        ]
        looked_at = sum(map(len, self._looked_at.values()))
        share = min(0.5, max(settings.excess_share, settings.excesses / max(1, looked_at)))
        believed = Excesses(settings.least_ratio, settings.excess_scale, share)
        return natural_spread(seen, believed, spread=settings.spread, doubt=settings.spread_doubt)

    def _alike(self, group: CarGroup, aside: tuple[CarGroup, ...]) -> float:
        """Return how likely two vehicles of those a group is compared with are of one group."""
        known = group, aside
        if known not in self._known_alike:
            sizes = [
                len(cars)
                for other, cars in self._members.items()
                if other.by_model is group.by_model and not group.meets(other)
                if not other.meets_any(aside)
            ]
            self._known_alike[known] = sum(n * n for n in sizes) / max(1, sum(sizes)) ** 2
        return self._known_alike[known]

    def _models_beside_their_like(self, fault: Fault) -> list[Compared]:
        """Return every model that has a fault; the surest excess is a yardstick for none of them.

        One model that is much of the fleet and has it far too often makes all others look as if
        they had it too seldom by nature, however many are left without it.
        """
        rows = self._compared(fault, by_model=True, aside=())
        chances = {
            group: chance_of_excess(len(cars), bands)
            for group, cars, bands in rows
            if len(cars) >= self._settings.least_vehicles and len(cars) > expected(bands)
        }
        surest = min(chances, key=chances.__getitem__, default=None)
        if surest is None or chances[surest] >= self._settings.aside_level:
            return rows
        others = self._compared(fault, by_model=True, aside=(surest,))
        return [*others, *(row for row in rows if row[0] == surest)]

    def attainable(self, faults: Sequence[Fault]) -> list[float]:
        """Return what the alarm of each group counts that could have had a fault more often."""
        return [worth for fault in faults for worth in self._looked_at.get(fault, ())]

    @cached_property
    def _looked_at(self) -> dict[Fault, list[float]]:
        """What the alarm of each group counts that could have shown a fault."""
        return {
            fault: [
                self._worth(group, bands)
                for by_model in (False, True)
                for group, _, bands in self._compared(fault, by_model=by_model, aside=())
                if sum(band.events for band in bands) >= self._settings.least_vehicles
                and least_chance(bands, self._settings.least_ratio) <= self._settings.attainable
            ]
            for fault in self._often_enough(list(self._jobs))
        }

    def _worth(self, group: CarGroup, bands: Sequence[Matched]) -> float:
        """Return what an alarm counts: where more vehicles are concerned, more is to be gained."""
        return expected(bands) / (1 if group.by_model else self._settings.whole_make)

    def _often_enough(self, faults: Sequence[Fault]) -> list[Fault]:
        """Return the faults that vehicles enough have, in whatever group: most have too few."""
        least = self._settings.least_vehicles
        return [fault for fault in faults if len(self._jobs[fault]) >= least]

    def facts(self, faults: Sequence[Fault]) -> list[GroupComparison]:
        """Return the suspects of one part, each measured without the surest of the others.

        The surest are no yardstick, as long as most vehicles still are one; whoever is less sure
        stays one, even where it stands out once the surest are gone: else the group that has a
        fault least would be left as the measure of all.
        """
        found: list[GroupComparison] = []
        surest: list[CarGroup] = []
        while cells := self._not_yet(found, faults, tuple(surest)):
            found.append(min(cells, key=rank))
            if found[-1].luck < self._settings.aside_level:
                surest += self._if_most_are_left(surest, found[-1].group)
        return [self._without(cell, surest) for cell in found]

    def _not_yet(
        self, found: Sequence[GroupComparison], faults: Sequence[Fault], aside: tuple[CarGroup, ...]
    ) -> list[GroupComparison]:
        """Return the suspects that share no vehicle with those found."""
        known = [cell.group for cell in found]
        suspects = self._suspects(faults, aside)
        return [self._cell(*each, aside) for each in suspects if not each[1].meets_any(known)]

    def _if_most_are_left(self, aside: Sequence[CarGroup], group: CarGroup) -> list[CarGroup]:
        """Return the group if most vehicles are left when it is set aside as well."""
        every = set[CarKey]().union(*self._members.values())
        out = set[CarKey]().union(*(self._members[each] for each in (*aside, group)))
        return [group] if 2 * len(out) <= len(every) else []

    def measured(self, cell: GroupComparison) -> GroupComparison:
        """Return a cell measured by these cars; as sure as nothing if none of them has it."""
        rows = self._compared(cell.fault, by_model=cell.group.by_model, aside=cell.aside)
        for group, cars, bands in rows:
            if group == cell.group:
                return self._cell(cell.fault, group, cars, bands, cell.aside)
        return replace(cell, cars=frozenset(), by_nature=1.0, luck=1.0)

    def _without(self, cell: GroupComparison, surest: Sequence[CarGroup]) -> GroupComparison:
        """Return a cell measured against the vehicles of no other group of the surest."""
        aside = tuple(group for group in surest if group != cell.group)
        return self.measured(replace(cell, aside=aside))

    def _suspects(
        self, faults: Sequence[Fault], aside: tuple[CarGroup, ...]
    ) -> list[tuple[Fault, CarGroup, set[CarKey], tuple[Matched, ...]]]:
        """Return what is unlikely to be luck, whatever it is worth."""
        return [
            (fault, group, cars, bands)
            for fault in self._often_enough(faults)
            for by_model in (False, True)
            for group, cars, bands in self._compared(fault, by_model=by_model, aside=aside)
            if len(cars) >= self._settings.least_vehicles
            and len(cars) > expected(bands)
            and chance_of_excess(len(cars), bands) < self._settings.suspect_level
        ]

    def _cell(
        self,
        fault: Fault,
        group: CarGroup,
        cars: set[CarKey],
        bands: tuple[Matched, ...],
        aside: tuple[CarGroup, ...],
    ) -> GroupComparison:
        """Measure a fact by the comparison that makes the least of it.

        What others' rates at an age and distance weigh is itself counted on few cars; where model
        and age go together the weights alone would make a fact, or hide that there is none.
        """
        cell = GroupComparison(fault, group, frozenset(cars), bands, aside, 1.0, 1.0, 1.0)
        told = self.counts(cell)
        having = told.observed + told.others_observed
        at_once = (Matched(told.group_vehicles, told.other_vehicles, having),)
        luck, least = max(
            ((chance_of_excess(len(cars), each), each) for each in (bands, at_once)),
            key=lambda pair: pair[0],
        )
        by_nature = chance_by_nature(
            len(cars), least, Nature(self.spread, self._alike(group, aside))
        )
        worth = max(self._worth(group, least), 1e-12)
        return replace(cell, bands=least, luck=luck, by_nature=by_nature, worth=worth)

    def _compared_of(
        self, fault: Fault, *, by_model: bool, aside: tuple[CarGroup, ...]
    ) -> list[Compared]:
        """Return every group that has the fault, its cars with it, and the counts by stratum."""
        known = self._courses(fault, by_model)
        kept = [place for place, each in enumerate(known.groups) if not each.meets_any(aside)]
        if not kept:
            return []
        events, gone = known.whole
        if aside:
            left_out = set[CarKey]().union(*(self._members[group] for group in aside))
            events, gone = self._course(fault, known.having - left_out)
        own = known.watched[kept]
        rest = np.maximum(self._totals(by_model, aside) - gone - own, 0)
        bands = self._weighed(own, rest, events, events - known.events[kept])
        return [
            (known.groups[place], known.cars[place], each)
            for place, each in zip(kept, bands, strict=True)
        ]

    def _weighed(
        self, own: Floats, rest: Floats, events: Floats, others_events: Floats
    ) -> list[tuple[Matched, ...]]:
        """Return each group's bands, a year each, vehicles weighed by others' rates at their wear.

        Where no other is of that wear there is nothing to compare with.
        """
        watched = rest.sum(axis=1)
        rates = relative_rates(others_events.sum(axis=1), watched, self._settings.wear_pull)
        compared = watched > 0
        by_year = np.einsum("yw,gw->gy", events, compared)
        alone = events.sum() - by_year.sum(axis=1)
        cars = [np.einsum("gyw,gw->gy", each, compared) for each in (own, rest)]
        worn = [
            np.einsum("gyw,gw->gy", each, rates * compared) / np.maximum(seen, 1)
            for each, seen in zip((own, rest), cars, strict=True)
        ]
        wear = np.where((worn[0] > 0) & (worn[1] > 0), worn[0] / np.maximum(worn[1], 1e-12), 1.0)
        return [
            (
                *(
                    Matched(round(mine), round(others), round(count), float(times))
                    for mine, others, count, times in zip(*each, strict=True)
                    if count
                ),
                *([Matched(round(lone), 0, round(lone))] if lone else []),
            )
            for each, lone in zip(zip(*cars, by_year, wear, strict=True), alone, strict=True)
        ]

    def _courses_of(self, fault: Fault, by_model: bool) -> FaultCourses:
        cars_of = {g: cars for g, cars in self._cars_of(fault).items() if g.by_model is by_model}
        having = set[CarKey]().union(*cars_of.values())
        courses = [self._course(fault, cars) for cars in cars_of.values()]
        return FaultCourses(
            groups=tuple(cars_of),
            cars=tuple(cars_of.values()),
            having=having,
            events=np.array([events for events, _ in courses]),
            watched=np.array(
                [self._exposure[g] - gone for g, (_, gone) in zip(cars_of, courses, strict=True)]
            ),
            whole=self._course(fault, having),
        )

    def _having_of(self, fault: Fault, by_model: bool) -> set[CarKey]:
        """Return the cars of all models, or of all makes, that have a fault."""
        return cars_of_all(self._cars_of(fault), by_model)

    def _cars_of(self, fault: Fault) -> dict[CarGroup, set[CarKey]]:
        """Return the cars with a fault by group, for every group that has any."""
        cars: dict[CarGroup, set[CarKey]] = defaultdict(set)
        for car, jobs in self._jobs[fault].items():
            for group in {group for job in jobs for group in groups_of(job)}:
                cars[group].add(car)
        return cars

    def _course(self, fault: Fault, cars: Iterable[CarKey]) -> tuple[Floats, Floats]:
        """Return where cars had the fault first, and where they are no more watched for it."""
        events: list[int] = []
        gone: list[int] = []
        visits = self._jobs[fault]
        for car in cars:
            first, places = visits[car][0].opened.year, self._places[car]
            events.append(places[first])
            gone += (place for year, place in places.items() if year > first)
        return self._counted(events), self._counted(gone)

    def _totals(self, by_model: bool, aside: tuple[CarGroup, ...]) -> Floats:
        known = by_model, aside
        if known not in self._known_totals:
            cars = cars_of_all(self._members, by_model).difference(
                *(self._members[g] for g in aside)
            )
            self._known_totals[known] = self._watched(cars)
        return self._known_totals[known]

    def alone(self, faults: Sequence[Fault]) -> list[GroupComparison]:
        """Return suspects by plain counts that had it where no other car is as old and far gone.

        There is nothing to weigh the others by, so that comparing by age tells nothing of them.
        """
        return [
            self._cell(fault, group, cars, at_once, ())
            for fault in self._often_enough(faults)
            for by_model in (False, True)
            for group, cars, at_once in self._alone_with(fault, by_model=by_model)
            if chance_of_excess(len(cars), at_once) < self._settings.suspect_level
        ]

    def _alone_with(self, fault: Fault, *, by_model: bool) -> Iterator[Compared]:
        known = self._courses(fault, by_model)
        for group, cars, events in zip(known.groups, known.cars, known.events, strict=True):
            if len(cars) < self._settings.least_vehicles or group not in self._ages_alone:
                continue
            if 2 * events[:, self._ages_alone[group]].sum() > len(cars):
                mine, every = len(self._members[group]), len(self._seen[by_model])
                yield group, cars, (Matched(mine, every - mine, len(known.having)),)

    @cached_property
    def _seen(self) -> dict[bool, set[CarKey]]:
        """Which cars have a model, and which a make."""
        return {by_model: cars_of_all(self._members, by_model) for by_model in (False, True)}

    @cached_property
    def _ages_alone(self) -> dict[CarGroup, NDArray[np.bool_]]:
        """At which ages and distances a group was seen and no other car was, if at any."""
        own = {group: watched.sum(axis=0) for group, watched in self._exposure.items()}
        every = {by_model: self._totals(by_model, ()).sum(axis=0) for by_model in (False, True)}
        alone = {group: (mine > 0) & (every[group.by_model] <= mine) for group, mine in own.items()}
        return {group: ages for group, ages in alone.items() if ages.any()}

    def counts(self, cell: GroupComparison) -> Counts:
        """Count the vehicles that were seen, and those with the fault."""
        return self.counted(cell, self._having(cell.fault, cell.group.by_model))

    def counted(self, cell: GroupComparison, having: set[CarKey]) -> Counts:
        """Count the vehicles that were seen, and those of them that are told."""
        group = cell.group
        aside = set[CarKey]().union(*(self._members[other] for other in cell.aside))
        seen = self._seen[group.by_model] - aside
        having = having - aside
        members = self._members[group]
        return Counts(
            window=self.window,
            observed=len(having & members),
            group_vehicles=len(members),
            others_observed=len(having - members),
            other_vehicles=len(seen - members),
        )
