"""Faults that befall a group of vehicles more often than the rest, and whether they grow.

A vehicle counts once, however often it came. It is watched in every calendar year in which it was
seen, until it had the fault, and compared with vehicles of other groups of that year, each weighed
by how often others of its age and distance have the fault: what the accused has does not tell what
is usual. A workshop sees only what its customers bring, not the vehicles on the road; an excess is
a fact about its own jobs.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, lru_cache, partial
from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from kb.cards.usual import wears_in_use
from kb.case import FailureMode, Job, System, even
from kb.recurrence.association import false_discovery
from kb.recurrence.cars import CarKey, ToldApart, Wear, tell_apart, wear
from kb.recurrence.change import Trend, change_point, trend
from kb.recurrence.comparison import (
    Excesses,
    Floats,
    Matched,
    RateRatio,
    chance_of_excess,
    expected,
    false_shares,
    least_chance,
    least_visible,
    natural_spread,
    odds_of_nature,
    rate_ratio,
    relative_rates,
    variance,
)
from kb.recurrence.pattern import (
    AgeBeside,
    AlertLevel,
    Counts,
    Growth,
    Incomparable,
    ModeCount,
    MonthCount,
    OneRecorder,
    Pattern,
    Recurrences,
    Sight,
    Window,
    YearCount,
)
from kb.settings import RecurrenceSettings
from kb.statistics.summaries import usual

COURSES_KEPT = 32
"""Faults, by model or by make, of which is remembered how they went, and compared: those of one
part and more."""
NAMES_KEPT = 50_000
"""Causes, and models, as they are written, that are remembered as what they count as."""

_Marked = tuple[list[date], list[bool]]
"""Days of a group's cases, and whether a car first had the fault then."""
Stratum = tuple[int, Wear]
"""Vehicles seen in one year, of like age and distance."""


def recurring(
    jobs: Iterable[Job],
    settings: RecurrenceSettings,
    *,
    system: System | None = None,
    windows: Sequence[Window] = (),
    refuted: Collection[int] = (),
) -> Recurrences:
    """Find the faults that befall some group of vehicles more often than all others.

    Faults are components at their location, with and without their failure mode; groups are
    models and makes. Of versions of one fact (one component and location; a model and its make)
    only the one least likely to be luck is reported, the most specific of equals. One bad model
    would hide the next: the vehicles of its group are set aside and the rest compared among
    themselves, until no group is even suspect. Each is then measured against the vehicles of no
    other group reported. Jobs that are no cases are left out; with a system its faults alone are
    reported, but compared with all jobs all the same. Of `refuted` jobs the cause was found wrong
    later: that the car was seen is all they tell.

    A fact is judged by how likely so many were by luck, and by how much likelier they are where a
    group has at least `settings.least_ratio` times the rate of the rest than where groups differ as
    they do by nature; over all windows together the share of false alarms is kept. Facts of the
    first window come first; one that was found in an earlier window of the sequence is not told
    again. Without windows all time is looked at.

    References
    ----------
    `kb.recurrence.comparison`; of what could show something only: Gilbert, "A modified false
    discovery rate multiple-comparisons procedure for discrete data", Applied Statistics 54, 2005;
    setting aside: Juhlin et al., "Outlier removal to uncover patterns in adverse drug reaction
    surveillance", Pharmacoepidemiology and Drug Safety 22(10), 2013.
    """
    cases = [job for job in jobs if job.is_case]
    cars = tell_apart(cases, settings)
    if not cases:
        return _findings((), (), None, (), cars)
    days = [job.opened for job in cases]
    whole = Window(min(days), max(days))
    shop = partial(_Shop, cases, settings=settings, refuted=frozenset(refuted))
    looks = [_Look(shop(cars.of, window), system) for window in windows or (whole,)]
    nearest = _judge(looks, settings)
    told = tuple(_told(looks, cars, whole, shop))
    alone = tuple(_incomparable(looks, settings))
    return _findings(told, alone, None if told else nearest, looks, cars)


def _told(
    looks: Sequence["_Look"],
    cars: ToldApart,
    whole: Window,
    shop: Callable[[Sequence[CarKey], Window], "_Shop"],
) -> Iterator[Pattern]:
    """Yield what is told of each fact; where cars are guessed, how much rests on the guess."""
    shops = [look.shop for look in looks if look.shop.window == whole]
    everything = shops[0] if shops else shop(cars.of, whole)
    facts = _once(looks)
    if not cars.untagged:
        yield from (look.shop.pattern(cell, everything) for look, cell in facts)
        return
    windows = {look.shop.window for look, _ in facts}
    apart = {each: shop(cars.apart, each) for each in windows | {whole}}
    for look, cell in facts:
        pattern = look.shop.pattern(cell, everything)
        guessed, if_apart = pattern.counts, apart[look.shop.window].counts(cell)
        same = guessed.group_vehicles == if_apart.group_vehicles
        yield replace(
            pattern,
            if_apart=None if same else if_apart,
            change=_sure(pattern.change, apart[whole].change(apart[whole].marked(cell))),
        )


def _sure(change: Growth, if_apart: Growth) -> Growth:
    """Return a change that does not hang on which visits are taken for one car's."""
    if change.trend in {Trend.TOO_FEW, if_apart.trend}:
        return change
    return Growth(trend=Trend.CARS_UNKNOWN)


def _once(looks: Sequence["_Look"]) -> list[tuple["_Look", "_Cell"]]:
    """Return each fact in the first window that it was found in, as sure as it is in any."""
    facts: list[tuple[_Look, _Cell]] = []
    for look in looks:
        for cell in sorted(look.found, key=_rank):
            for place, (first, known) in enumerate(facts):
                if cell.is_version_of(known):
                    sure = min(known.false_alarms, cell.false_alarms)
                    facts[place] = first, replace(known, false_alarms=sure)
                    break
            else:
                facts.append((look, cell))
    return facts


def _findings(
    patterns: tuple[Pattern, ...],
    incomparable: tuple[Incomparable, ...],
    nearest: Pattern | None,
    looks: Sequence["_Look"],
    cars: ToldApart,
) -> Recurrences:
    return Recurrences(
        patterns=patterns,
        incomparable=incomparable,
        nearest=nearest,
        looked_at=sum(look.looked_at for look in looks),
        spread=max((look.shop.spread for look in looks), default=0.0),
        untagged=cars.untagged,
        folded=cars.folded,
        sights=looks[0].shop.sights(sum(look.looked_at for look in looks)) if looks else (),
    )


@dataclass(frozen=True, slots=True)
class _Fault:
    component: str
    location: str
    mode: FailureMode | None

    @property
    def part(self) -> tuple[str, str]:
        return self.component, self.location


@dataclass(frozen=True, slots=True)
class _Group:
    make: str
    model: str | None

    @property
    def by_model(self) -> bool:
        return self.model is not None

    def meets(self, other: "_Group") -> bool:
        """Whether it is the other, or its make, or a model of it."""
        return self.make == other.make and (
            self.model == other.model or None in {self.model, other.model}
        )

    def meets_any(self, others: Iterable["_Group"]) -> bool:
        return any(map(self.meets, others))


@dataclass(frozen=True, slots=True)
class _Cell:
    """Vehicles of a group with a fault, compared with all others but those of `aside`.

    `luck` is the chance of so many by luck alone, `odds` how much likelier they are by nature than
    by an excess, `false_alarms` the share of false ones among all that are as striking.
    """

    fault: _Fault
    group: _Group
    cars: frozenset[CarKey]
    bands: tuple[Matched, ...]
    aside: tuple[_Group, ...]
    luck: float
    odds: float
    false_alarms: float = 1.0

    def is_version_of(self, other: "_Cell") -> bool:
        return self.fault.part == other.fault.part and self.group.meets(other.group)


def _rank(cell: _Cell) -> tuple[float, float, bool, bool, str, str, str]:
    coarse = cell.fault.mode is None, cell.group.model is None
    names = cell.fault.component, cell.fault.location, cell.group.make
    return (cell.odds, cell.luck, *coarse, *names)


class _Look:
    """What is found in one window."""

    def __init__(self, shop: "_Shop", system: System | None) -> None:
        self.shop = shop
        self.looked_at = 0
        self.found: list[_Cell] = []
        self.alone: list[_Cell] = []
        for faults in shop.parts(system):
            self.looked_at += shop.attainable(faults)
            self.found += shop.facts(faults)
            self.alone += shop.alone(faults)


def _judge(looks: Sequence[_Look], settings: RecurrenceSettings) -> Pattern | None:
    """Let every look keep what may be told, by all that was looked at; return the surest of all.

    Both must be sure enough: that it is no luck, and that it is worth telling.
    """
    looked_at = sum(look.looked_at for look in looks)
    cells = [cell for look in looks for cell in look.found]
    alarms = iter(_false_alarms(cells, looked_at, settings))
    every: list[tuple[_Cell, _Look]] = []
    for look in looks:
        judged = [replace(cell, false_alarms=next(alarms)) for cell in look.found]
        every += ((cell, look) for cell in judged)
        look.found = [cell for cell in judged if cell.false_alarms <= settings.watch_level]
    surest = min(every, key=lambda each: (each[0].false_alarms, _rank(each[0])), default=None)
    return surest[1].shop.pattern(surest[0], surest[1].shop) if surest else None


def _incomparable(looks: Sequence[_Look], settings: RecurrenceSettings) -> Iterator[Incomparable]:
    """Yield what plain counts make as striking as what is to be watched, each fact once."""
    looked_at = sum(look.looked_at for look in looks)
    known = [cell for look in looks for cell in look.found]
    cells = [(cell, look) for look in looks for cell in sorted(look.alone, key=_rank)]
    for (cell, look), alarms in zip(
        cells, _false_alarms([cell for cell, _ in cells], looked_at, settings), strict=True
    ):
        if alarms <= settings.watch_level and not any(map(cell.is_version_of, known)):
            known.append(cell)
            yield look.shop.incomparable(cell)


def _false_alarms(
    cells: Sequence[_Cell], looked_at: int, settings: RecurrenceSettings
) -> list[float]:
    """Return for each the share of false ones among all that are as striking, by luck or nature."""
    by_luck = false_discovery([cell.luck for cell in cells], looked_at)
    having = max(settings.having, settings.having_share * looked_at)
    by_nature = false_shares([cell.odds for cell in cells], looked_at, having)
    return list(map(max, by_luck, by_nature))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Courses:
    """How a fault went with every group that has it, and with all of them together (`whole`).

    Of each group its cars with the fault, where they had it first (`events`), and where its cars
    were watched for it, by stratum.
    """

    groups: tuple[_Group, ...]
    cars: tuple[set[CarKey], ...]
    having: set[CarKey]
    events: Floats
    watched: Floats
    whole: tuple[Floats, Floats]


class _Shop:
    """The cases of a shop in one window, indexed by car, fault and group."""

    def __init__(
        self,
        cases: Sequence[Job],
        cars: Sequence[CarKey],
        window: Window,
        *,
        settings: RecurrenceSettings,
        refuted: frozenset[int],
    ) -> None:
        self._settings = settings
        self._refuted = refuted
        self._once_said: dict[_Fault, list[Job]] = defaultdict(list)
        self.window = window
        self._jobs: dict[_Fault, dict[CarKey, list[Job]]] = defaultdict(lambda: defaultdict(list))
        self._members: dict[_Group, set[CarKey]] = defaultdict(set)
        self._group_cases: dict[_Group, list[tuple[Job, CarKey]]] = defaultdict(list)
        self._visits: dict[CarKey, list[Job]] = defaultdict(list)
        self._years: dict[CarKey, dict[int, Stratum]] = defaultdict(dict)
        self._recorded: Counter[str] = Counter()
        self._known_totals: dict[tuple[bool, tuple[_Group, ...]], Floats] = {}
        pairs = sorted(zip(cases, cars, strict=True), key=lambda pair: _age(pair[0]))
        for job, car in pairs:
            if window.since <= job.opened <= window.until:
                self._take(job, car)
        seen = {stratum for by_year in self._years.values() for stratum in by_year.values()}
        years = {year: place for place, year in enumerate(sorted({year for year, _ in seen}))}
        wears = {worn: place for place, worn in enumerate({worn for _, worn in seen})}
        self._shape = len(years), len(wears)
        self._places = {
            car: {year: years[year] * len(wears) + wears[worn] for year, worn in strata.values()}
            for car, strata in self._years.items()
        }
        self._exposure = {group: self._watched(cars) for group, cars in self._members.items()}
        self._courses = lru_cache(maxsize=COURSES_KEPT)(self._courses_of)
        self._compared = lru_cache(maxsize=COURSES_KEPT)(self._compared_of)

    def _take(self, job: Job, car: CarKey) -> None:
        for fault in _faults(job):
            if job.number in self._refuted:
                self._once_said[fault].append(job)
            else:
                self._jobs[fault][car].append(job)
        for group in _groups(job):
            self._members[group].add(car)
            self._group_cases[group].append((job, car))
        self._visits[car].append(job)
        self._recorded[even(job.technician or "")] += 1
        year = job.opened.year
        self._years[car].setdefault(year, (year, wear(job, self._settings)))

    def _watched(self, cars: Iterable[CarKey]) -> Floats:
        return self._counted([each for car in cars for each in self._places[car].values()])

    def _counted(self, places: Sequence[int]) -> Floats:
        """Return how many there are of each stratum, years by wear."""
        years, wears = self._shape
        counts = np.bincount(np.array(places, dtype=np.intp), minlength=years * wears)
        return counts.reshape(self._shape).astype(np.float64)

    def parts(self, system: System | None) -> list[list[_Fault]]:
        """Return the faults that mostly belong to a system, those of one part together."""
        parts: dict[tuple[str, str], list[_Fault]] = defaultdict(list)
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
        """How much the rates of models differ by nature; what is out of all nature left aside."""
        rows = [
            (len(cars), expected(bands), luck)
            for fault in self._jobs
            if fault.mode is None and len(self._jobs[fault]) >= 4 * self._settings.least_expected
            for _, cars, bands in self._compared(fault, by_model=True, aside=self._unnatural(fault))
            if (luck := variance(bands)) >= self._settings.least_expected
        ]
        seen, means, variances = zip(*rows, strict=True) if rows else ((), (), ())
        start, pull = self._settings.spread, self._settings.spread_pull
        spread = natural_spread(seen, means, variances, start=start, pull=pull)
        return max(self._settings.least_spread, spread)

    def _unnatural(self, fault: _Fault) -> tuple[_Group, ...]:
        """Return the models that have a fault so much more often that nature does not make it."""
        found: tuple[_Group, ...] = ()
        while suspects := [
            (chance_of_excess(len(cars), bands), group.model or "", group)
            for _, group, cars, bands in self._suspects([fault], found)
            if group.by_model and len(cars) >= expected(bands, self._settings.unnatural)
        ]:
            found = (*found, min(suspects)[2])
        return found

    def attainable(self, faults: Sequence[_Fault]) -> int:
        """Return how many groups could have shown that a fault befalls them more often."""
        return sum(
            sum(band.events for band in bands) >= self._settings.least_vehicles
            and least_chance(bands, self._settings.least_ratio) <= self._settings.attainable
            for fault in self._often_enough(faults)
            for by_model in (False, True)
            for _, _, bands in self._compared(fault, by_model=by_model, aside=())
        )

    def _often_enough(self, faults: Sequence[_Fault]) -> list[_Fault]:
        """Return the faults that vehicles enough have, in whatever group: most have too few."""
        least = self._settings.least_vehicles
        return [fault for fault in faults if len(self._jobs[fault]) >= least]

    def facts(self, faults: Sequence[_Fault]) -> list[_Cell]:
        """Return the suspects of one part, each measured without the surest of the others.

        The surest are no yardstick, as long as most vehicles still are one; whoever is less sure
        stays one, even where it stands out once the surest are gone: else the group that has a
        fault least would be left as the measure of all.
        """
        found: list[_Cell] = []
        surest: list[_Group] = []
        while cells := self._not_yet(found, faults, tuple(surest)):
            found.append(min(cells, key=_rank))
            if found[-1].luck < self._settings.aside_level:
                surest += self._if_most_are_left(surest, found[-1].group)
        return [self._without(cell, surest) for cell in found]

    def _not_yet(
        self, found: Sequence[_Cell], faults: Sequence[_Fault], aside: tuple[_Group, ...]
    ) -> list[_Cell]:
        """Return the suspects that share no vehicle with those found."""
        known = [cell.group for cell in found]
        suspects = self._suspects(faults, aside)
        return [self._cell(*each, aside) for each in suspects if not each[1].meets_any(known)]

    def _if_most_are_left(self, aside: Sequence[_Group], group: _Group) -> list[_Group]:
        """Return the group if most vehicles are left when it is set aside as well."""
        every = set[CarKey]().union(*self._members.values())
        out = set[CarKey]().union(*(self._members[each] for each in (*aside, group)))
        return [group] if 2 * len(out) <= len(every) else []

    def _without(self, cell: _Cell, surest: Sequence[_Group]) -> _Cell:
        """Return a cell measured against the vehicles of no other group of the surest."""
        aside = tuple(group for group in surest if group != cell.group)
        rows = self._compared(cell.fault, by_model=cell.group.by_model, aside=aside)
        return next(
            self._cell(cell.fault, group, cars, bands, aside)
            for group, cars, bands in rows
            if group == cell.group
        )

    def _suspects(
        self, faults: Sequence[_Fault], aside: tuple[_Group, ...]
    ) -> list[tuple[_Fault, _Group, set[CarKey], tuple[Matched, ...]]]:
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
        fault: _Fault,
        group: _Group,
        cars: set[CarKey],
        bands: tuple[Matched, ...],
        aside: tuple[_Group, ...],
    ) -> _Cell:
        """Measure a fact by the comparison that makes the least of it.

        What others' rates at an age and distance weigh is itself counted on few cars; where model
        and age go together the weights alone would make a fact, or hide that there is none.
        """
        cell = _Cell(fault, group, frozenset(cars), bands, aside, 0.0, 0.0)
        told = self.counts(cell)
        having = told.observed + told.others_observed
        at_once = (Matched(told.group_vehicles, told.other_vehicles, having),)
        luck, least = max(
            ((chance_of_excess(len(cars), each), each) for each in (bands, at_once)),
            key=lambda pair: pair[0],
        )
        believed = Excesses(self.spread, self._settings.least_ratio, self._settings.excess_scale)
        odds = odds_of_nature(len(cars), least, believed)
        if not group.by_model:
            odds *= self._settings.whole_make
        return replace(cell, bands=least, luck=luck, odds=odds)

    def _compared_of(
        self, fault: _Fault, *, by_model: bool, aside: tuple[_Group, ...]
    ) -> list[tuple[_Group, set[CarKey], tuple[Matched, ...]]]:
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

    def _courses_of(self, fault: _Fault, by_model: bool) -> "_Courses":
        cars_of = {g: cars for g, cars in self._cars_of(fault).items() if g.by_model is by_model}
        having = set[CarKey]().union(*cars_of.values())
        courses = [self._course(fault, cars) for cars in cars_of.values()]
        return _Courses(
            groups=tuple(cars_of),
            cars=tuple(cars_of.values()),
            having=having,
            events=np.array([events for events, _ in courses]),
            watched=np.array(
                [self._exposure[g] - gone for g, (_, gone) in zip(cars_of, courses, strict=True)]
            ),
            whole=self._course(fault, having),
        )

    def _cars_of(self, fault: _Fault) -> dict[_Group, set[CarKey]]:
        """Return the cars with a fault by group, for every group that has any."""
        cars: dict[_Group, set[CarKey]] = defaultdict(set)
        for car, jobs in self._jobs[fault].items():
            for group in {group for job in jobs for group in _groups(job)}:
                cars[group].add(car)
        return cars

    def _course(self, fault: _Fault, cars: Iterable[CarKey]) -> tuple[Floats, Floats]:
        """Return where cars had the fault first, and where they are no more watched for it."""
        events: list[int] = []
        gone: list[int] = []
        visits = self._jobs[fault]
        for car in cars:
            first, places = visits[car][0].opened.year, self._places[car]
            events.append(places[first])
            gone += (place for year, place in places.items() if year > first)
        return self._counted(events), self._counted(gone)

    def _totals(self, by_model: bool, aside: tuple[_Group, ...]) -> Floats:
        known = by_model, aside
        if known not in self._known_totals:
            cars = _cars(self._members, by_model).difference(*(self._members[g] for g in aside))
            self._known_totals[known] = self._watched(cars)
        return self._known_totals[known]

    def pattern(self, cell: _Cell, everything: "_Shop") -> Pattern:
        """Tell all about one cell; its growth, and its counts of all time, by all cases."""
        by_car = {car: self._jobs[cell.fault][car] for car in cell.cars}
        jobs = sorted((job for jobs in by_car.values() for job in jobs), key=_age)
        ratio = rate_ratio(
            len(cell.cars),
            cell.bands,
            spread=self._settings.ratio_spread,
            confidence=self._settings.confidence,
        )
        only_here = everything.only_on(cell)
        wears = _wears(jobs)
        of_its_age = self._few_of_its_age(cell)
        marked = everything.marked(cell)
        return Pattern(
            **_names(cell, jobs),
            level=self._level(
                cell, ratio, only_here=only_here, wears=wears, told_apart=of_its_age is None
            ),
            counts=self.counts(cell),
            all_time=None if self._is_all(everything.window) else everything.counts(cell),
            untagged=sum(job.vehicle.key is None for job in jobs),
            if_apart=None,
            expected=expected(cell.bands),
            set_aside=tuple(map(self._name, cell.aside)),
            of_its_age=of_its_age,
            times=ratio.times,
            at_least=ratio.at_least,
            chance=cell.luck,
            false_alarms=cell.false_alarms,
            only_here=only_here,
            wears=wears,
            modes=_modes(by_car),
            change=everything.change(marked),
            years=everything.years(cell, marked),
            months=everything.months(cell, marked),
            one_recorder=self._one_recorder(jobs),
            came_again=sum(len(jobs) > 1 for jobs in by_car.values()),
            jobs=_numbers(jobs),
            refuted=_numbers(
                job for job in self._once_said[cell.fault] if cell.group in _groups(job)
            ),
        )

    def incomparable(self, cell: _Cell) -> Incomparable:
        """Tell about one cell what plain counts tell."""
        by_car = {car: self._jobs[cell.fault][car] for car in cell.cars}
        jobs = sorted((job for jobs in by_car.values() for job in jobs), key=_age)
        return Incomparable(
            **_names(cell, jobs),
            counts=self.counts(cell),
            beside=self._age_beside(cell.group),
            wears=_wears(jobs),
            jobs=_numbers(jobs),
        )

    def _age_beside(self, group: _Group) -> AgeBeside:
        """Tell whether all cars of a group are older, or newer, than all others."""
        members = self._members[group]
        own, others = (
            [year for car in cars if (year := self._visits[car][0].vehicle.year) is not None]
            for cars in (members, _cars(self._members, group.by_model) - members)
        )
        if not (own and others):
            return AgeBeside.APART
        if max(own) < min(others):
            return AgeBeside.OLDER
        return AgeBeside.NEWER if min(own) > max(others) else AgeBeside.APART

    def alone(self, faults: Sequence[_Fault]) -> list[_Cell]:
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

    def _alone_with(
        self, fault: _Fault, *, by_model: bool
    ) -> Iterator[tuple[_Group, set[CarKey], tuple[Matched, ...]]]:
        known = self._courses(fault, by_model)
        for group, cars, events in zip(known.groups, known.cars, known.events, strict=True):
            if len(cars) < self._settings.least_vehicles or group not in self._ages_alone:
                continue
            if 2 * events[:, self._ages_alone[group]].sum() > len(cars):
                mine, every = len(self._members[group]), self._seen[by_model]
                yield group, cars, (Matched(mine, every - mine, len(known.having)),)

    @cached_property
    def _seen(self) -> dict[bool, int]:
        """How many cars have a model, and how many a make."""
        return {by_model: len(_cars(self._members, by_model)) for by_model in (False, True)}

    @cached_property
    def _ages_alone(self) -> dict[_Group, NDArray[np.bool_]]:
        """At which ages and distances a group was seen and no other car was, if at any."""
        own = {group: watched.sum(axis=0) for group, watched in self._exposure.items()}
        every = {by_model: self._totals(by_model, ()).sum(axis=0) for by_model in (False, True)}
        alone = {group: (mine > 0) & (every[group.by_model] <= mine) for group, mine in own.items()}
        return {group: ages for group, ages in alone.items() if ages.any()}

    def _is_all(self, whole: Window) -> bool:
        return self.window.since <= whole.since and whole.until <= self.window.until

    def _few_of_its_age(self, cell: _Cell) -> int | None:
        """Return how many others are of the age and distance at which most of its cars had it.

        None where they are enough to tell whether it comes with the model or with the age, or where
        the others are of that age half as often as the group or more.
        """
        members = self._members[cell.group]
        aside = set[CarKey]().union(*(self._members[other] for other in cell.aside))
        others = _cars(self._members, cell.group.by_model) - members - aside
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
        self, cell: _Cell, ratio: RateRatio, *, only_here: bool, wears: bool, told_apart: bool
    ) -> AlertLevel:
        sure = cell.false_alarms <= self._settings.act_level
        worth = ratio.at_least >= self._settings.least_ratio
        if not (sure and worth and told_apart):
            return AlertLevel.WATCH
        if only_here:
            return AlertLevel.WATCH if wears else AlertLevel.APART
        return AlertLevel.ACT

    def only_on(self, cell: _Cell) -> bool:
        """Whether no vehicle of another group ever had the part fail in any way."""
        cars = self._jobs[replace(cell.fault, mode=None)]
        return set(cars) <= self._members[cell.group]

    def _one_recorder(self, jobs: Sequence[Job]) -> OneRecorder | None:
        """Tell of a burst of recording: most jobs are one person's, and more than luck brings."""
        by = Counter(even(job.technician) for job in jobs if job.technician)
        person, count = by.most_common(1)[0] if by else ("", 0)
        if 2 * count <= len(jobs):
            return None
        mine, every = self._recorded[person], self._recorded.total()
        share = mine / every
        chance = chance_of_excess(count, [Matched(mine, every - mine, len(jobs))])
        return OneRecorder(count, share) if chance < self._settings.recorder_level else None

    def sights(self, looked_at: int) -> tuple[Sight, ...]:
        """Tell what so many vehicles of a model could have shown, the most frequent first."""
        level = self._settings.watch_level / max(1, looked_at)
        rate = self._settings.sight_rate
        every = len(_cars(self._members, by_model=True))
        models = {group: len(cars) for group, cars in self._members.items() if group.by_model}
        return tuple(
            Sight(self._name(group), many, least_visible(many, every - many, rate, level))
            for group, many in sorted(models.items(), key=lambda item: -item[1])
        )

    def counts(self, cell: _Cell) -> Counts:
        """Count the vehicles that were seen, and those with the fault."""
        group = cell.group
        aside = set[CarKey]().union(*(self._members[other] for other in cell.aside))
        seen = _cars(self._members, group.by_model) - aside
        having = _cars(self._cars_of(cell.fault), group.by_model) - aside
        members = self._members[group]
        return Counts(
            window=self.window,
            observed=len(having & members),
            group_vehicles=len(members),
            others_observed=len(having - members),
            other_vehicles=len(seen - members),
        )

    def change(self, cases: _Marked) -> Growth:
        """Tell whether, and since when, the fault takes another share of its group's cases."""
        days, marked = cases
        with_it = [day.toordinal() for day, has in zip(days, marked, strict=True) if has]
        others = [day.toordinal() for day, has in zip(days, marked, strict=True) if not has]
        kind, chance = trend(
            with_it,
            others,
            level=self._settings.trend_level,
            least=self._settings.least_for_trend,
        )
        if kind not in {Trend.GROWING, Trend.FADING}:
            return Growth(trend=kind, chance=chance)
        found = change_point(marked, self._settings.change_confidence)
        if 2 * (found.latest - found.earliest) >= len(marked):
            return Growth(trend=kind, chance=chance)
        return Growth(
            trend=kind,
            chance=chance,
            about=days[found.at],
            earliest=days[found.earliest],
            latest=days[found.latest],
            before=1 / found.before if found.before else None,
            after=1 / found.after if found.after else None,
        )

    def marked(self, cell: _Cell) -> _Marked:
        """Return the days of the group's cases, and whether a car first had the fault then.

        A car that had it cannot have it first again: its later cases are none.
        """
        days, marked, had = [], [], set[CarKey]()
        with_it = {id(job) for jobs in self._jobs[cell.fault].values() for job in jobs}
        for job, car in self._group_cases[cell.group]:
            if car in had:
                continue
            has = id(job) in with_it
            days.append(job.opened)
            marked.append(has)
            if has:
                had.add(car)
        return days, marked

    def years(self, cell: _Cell, marked: _Marked) -> tuple[YearCount, ...]:
        """Count new cars with the fault among all cases of the group, year by year."""
        cases = Counter(job.opened.year for job, _ in self._group_cases[cell.group])
        cars = Counter(day.year for day, has in zip(*marked, strict=True) if has)
        return tuple(
            YearCount(year=year, vehicles=cars[year], cases=cases[year])
            for year in range(min(cases), max(cases) + 1)
        )

    def months(self, cell: _Cell, marked: _Marked) -> tuple[MonthCount, ...]:
        """Count new cars with the fault month by month, beside what was to be expected."""
        aside = {*cell.aside, cell.group}
        others = [group for group in self._members if group.by_model is cell.group.by_model]
        having, cases = self._first_of(cell.fault, [each for each in others if each not in aside])
        share = having / cases if cases else 0.0
        seen = Counter((day.year, day.month) for day in marked[0])
        found = Counter((d.year, d.month) for d, has in zip(*marked, strict=True) if has)
        first, last = (_month(day) for day in (self.window.since, self.window.until))
        spans = ((month // 12, month % 12 + 1) for month in range(first, last + 1))
        return tuple(MonthCount(*span, found[span], share * seen[span]) for span in spans)

    def _first_of(self, fault: _Fault, groups: Sequence[_Group]) -> tuple[int, int]:
        """Return how many cars of some groups had a fault, and of how many cases.

        As `marked` counts them, but only the cars that had it are gone through.
        """
        wanted, having, later = set(groups), 0, 0
        for car, jobs in self._jobs[fault].items():
            with_it, had = set(map(id, jobs)), set[_Group]()
            for job in self._visits[car]:
                for group in wanted.intersection(_groups(job)):
                    if group in had:
                        later += 1
                    elif id(job) in with_it:
                        had.add(group)
            having += len(had)
        return having, sum(len(self._group_cases[group]) for group in groups) - later

    def _name(self, group: _Group) -> str:
        vehicles = [job.vehicle for job, _ in self._group_cases[group]]
        make = usual(vehicle.make for vehicle in vehicles) or ""
        model = group.model and usual(vehicle.model for vehicle in vehicles)
        return f"{make} {model}" if model else make


def _cars(cars_of: Mapping[_Group, set[CarKey]], by_model: bool) -> set[CarKey]:
    """Return the cars of all models, or of all makes."""
    return set().union(*(cars_of[group] for group in cars_of if group.by_model is by_model))


def _faults(job: Job) -> tuple[_Fault, ...]:
    cause = job.cause
    return _faults_of(cause.component, cause.location, cause.failure_mode) if cause else ()


@lru_cache(maxsize=NAMES_KEPT)
def _faults_of(component: str, location: str | None, mode: FailureMode) -> tuple[_Fault, ...]:
    part = even(component), even(location or "")
    any_mode = _Fault(*part, None)
    return (any_mode,) if mode is FailureMode.UNKNOWN else (any_mode, _Fault(*part, mode))


def _groups(job: Job) -> tuple[_Group, ...]:
    return _groups_of(job.vehicle.make, job.vehicle.model)


@lru_cache(maxsize=NAMES_KEPT)
def _groups_of(make: str | None, model: str | None) -> tuple[_Group, ...]:
    if make is None:
        return ()
    whole = _Group(even(make), None)
    return (whole,) if model is None else (whole, _Group(whole.make, even(model)))


def _month(day: date) -> int:
    return day.year * 12 + day.month - 1


def _age(job: Job) -> tuple[date, int]:
    return job.opened, job.number or 0


def _numbers(jobs: Iterable[Job]) -> tuple[int, ...]:
    return tuple(job.number for job in jobs if job.number is not None)


class _Names(TypedDict):
    component: str
    location: str | None
    failure_mode: FailureMode | None
    make: str
    model: str | None


def _names(cell: _Cell, jobs: Sequence[Job]) -> _Names:
    """Return the names of a fault and its group as they are mostly written."""
    return _Names(
        component=usual(job.cause.component for job in jobs if job.cause) or "",
        location=usual(job.cause.location for job in jobs if job.cause),
        failure_mode=cell.fault.mode,
        make=usual(job.vehicle.make for job in jobs) or "",
        model=cell.group.model and usual(job.vehicle.model for job in jobs),
    )


def _wears(jobs: Sequence[Job]) -> bool:
    """Whether a part wears in use, or was mostly found worn."""
    causes = [job.cause for job in jobs if job.cause]
    worn = sum(each.failure_mode is FailureMode.WORN for each in causes)
    return 2 * worn > len(causes) or any(wears_in_use(each.component) for each in causes)


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
