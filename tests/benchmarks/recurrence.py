"""What `kb recurring` names in shops whose truth is known, beside plain ways at equal alarms.

Shops of 3,000 and of 20,000 jobs over four years: 24 models of 8 makes, from very popular to rare,
120 parts from common to rare, cars of all ages with one to six visits, one year busier than the
others. A third of the parts fail at any age, a third in proportion to it, a third to its square, so
that models of old cars have more of them. Every model differs from its like by nature, part by part
(gamma, coefficient of variation 0.3, or none). One fact is planted: a part that befalls one model,
which is 3, 20, 35, 50 or 70 % of the fleet, 1.5 to 8 times as often as the others.

Printed are, for shops with nothing planted, how many reports name anything; for those with a fact,
how often it is named, how many months of jobs that took, and how many of all facts named truly run
at 1.5 times or more, by nature or as planted; beside them, where each way names something, or
something untrue, in as many shops of such a fleet with nothing planted (5 % and 20 %): the most
frequent combinations, a fixed ratio, and Fisher's test with Benjamini-Hochberg; and how often so
many cars can show a fact at all.

Run: python tests/benchmarks/recurrence.py [--shops N] [--nothing N] [--size 3000] [--months]
[--first SEED]
"""

import argparse
from bisect import bisect_left
from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom, false_discovery_control, hypergeom

from kb.case import Cause, FailureMode, Job, System, Vehicle
from kb.recurrence.comparison import Matched, Nature, chance_by_nature
from kb.recurrence.excess import recurring
from kb.recurrence.pattern import AlertLevel, Pattern
from kb.settings import RecurrenceSettings

DAYS = 1461
START = date(2022, 1, 1)
MODELS = 24
PARTS = 120
WORTH = 1.5
SHARES = (0.03, 0.2, 0.35, 0.5, 0.7)
EXCESSES = (1.5, 2, 3, 5, 8)
OLDEST = 25
USUAL_AGE = 9
"""Years, at which the parts fail as often as they are common."""
FALSE_REPORTS = {"upper": 0.05, "lower": 0.20}
"""Share of shops with nothing planted in which each way may name something."""


@dataclass(frozen=True)
class Shop:
    """Jobs, and how many times as often as the other models a model truly has a part."""

    jobs: list[Job]
    truth: dict[tuple[str, str], float]
    planted: tuple[str, str] | None


def shop(
    seed: int, size: int, spread: float, share: float | None, excess: float | None = None
) -> Shop:
    """Return a shop in which one model is a share of the fleet, and has one part more often."""
    dice = np.random.default_rng(seed)
    shares = dice.dirichlet(np.full(MODELS, 1.0))
    parts = 1 / np.arange(3, PARTS + 3)
    parts /= parts.sum()
    nature = np.ones((MODELS, PARTS))
    if spread:
        nature = dice.gamma(1 / spread**2, spread**2, (MODELS, PARTS))
    fact = None
    if share is not None:
        fact = 0, int(dice.integers(5, 30))
        shares = np.append(share, (1 - share) * shares[1:] / shares[1:].sum())
        if excess is None:
            fact = None
        else:
            nature[fact] = excess * nature[1:, fact[1]].mean()
    cars = size * 2 // 5
    model_of = dice.choice(MODELS, cars, p=shares)
    middle = dice.uniform(2008, 2018, MODELS)
    year_of = np.clip(dice.normal(middle[model_of], 3), 2000, 2021).astype(int)
    often = dice.gamma(1.5, 1, cars)
    car_of = dice.choice(cars, size, p=often / often.sum())
    busy = np.ones(DAYS)
    busy[800:1100] = 2
    day_of = np.sort(dice.choice(DAYS, size, p=busy / busy.sum()))
    steep = dice.choice([0.0, 1.0, 2.0], PARTS)
    came = model_of[car_of]
    opened = np.array([(START + timedelta(days=day)).year for day in range(DAYS)])[day_of]
    wear = np.clip((opened - year_of[car_of]) / USUAL_AGE, 0.1, 2.0)[:, None] ** steep
    rates = np.cumsum(parts * nature[came] * wear, axis=1)
    failed = (rates / (1.6 * rates[:, -1:]) < dice.random(size)[:, None]).sum(axis=1)
    rows = zip(car_of, came, year_of[car_of], failed, day_of, strict=True)
    jobs = [_job(number, *map(int, row)) for number, row in enumerate(rows, start=1)]
    aged = np.clip((np.arange(OLDEST + 1)) / USUAL_AGE, 0.1, 2.0)[:, None] ** steep
    visits = np.zeros((MODELS, OLDEST + 1))
    np.add.at(visits, (came, opened - year_of[car_of]), 1)
    ratios = true_ratios(parts * nature[:, None] * aged, visits, shares)
    truth = {
        (f"model {model}", f"part {part}"): float(ratios[model, part])
        for model, part in np.ndindex(MODELS, PARTS)
    }
    truth |= {(f"model {model}", f"part {PARTS}"): 1.0 for model in range(MODELS)}
    planted = None if fact is None else ("model 0", f"part {fact[1]}")
    return Shop(jobs, truth, planted)


def true_ratios(
    rates: NDArray[np.float64], visits: NDArray[np.float64], shares: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how many times as often as other models of its ages would each model has each part.

    `rates` are by model, age and part; a visit is for one part only, so that what a model has more
    of leaves less for the others.
    """
    of_visit = rates / rates.sum(axis=2, keepdims=True)
    own = np.einsum("ma,map->mp", visits, of_visit)
    every = np.einsum("ma,oap,o->mp", visits, of_visit, shares)
    others = (every - shares[:, None] * own) / (1 - shares[:, None])
    ratios: NDArray[np.float64] = own / np.maximum(others, 1e-12)
    return ratios


def _job(number: int, car: int, model: int, year: int, part: int, day: int) -> Job:
    opened = START + timedelta(days=day)
    distance = 14_000 * (opened.year - year) + 3_000 * (car % 7)
    return Job(
        number=number,
        vehicle=Vehicle(
            make=f"make {model // 3}", model=f"model {model}", year=year, ref=f"C{car}"
        ),
        opened=opened,
        closed=opened,
        complaint="noise",
        odometer_km=max(0, distance),
        system=System.OTHER,
        cause=Cause(component=f"part {part}", failure_mode=FailureMode.INTERNAL_FAULT),
    )


Named = tuple[str, str]


def sure(patterns: tuple[Pattern, ...], settings: RecurrenceSettings) -> tuple[Pattern, ...]:
    return tuple(each for each in patterns if each.false_alarms <= settings.watch_level)


def named(patterns: tuple[Pattern, ...], *levels: AlertLevel) -> list[Named]:
    return [(each.model or each.make, each.component) for each in patterns if each.level in levels]


@dataclass(frozen=True)
class Cell:
    """A combination as the plain ways see it."""

    name: Named
    seen: int
    ratio: float
    alarms: float


def plain(jobs: list[Job]) -> list[Cell]:
    """Count cars by model and part over everything, as most would in a spreadsheet."""
    cars, groups, having = set(), defaultdict(set), defaultdict(set)
    faulty: dict[str, set[str]] = defaultdict(set)
    for job in jobs:
        part = job.cause.component if job.cause else ""
        car, model = str(job.vehicle.ref), str(job.vehicle.model)
        cars.add(car)
        groups[model].add(car)
        having[model, part].add(car)
        faulty[part].add(car)
    names = [name for name in having if len(having[name]) >= 3]
    seen = np.array([len(having[name]) for name in names])
    group = np.array([len(groups[model]) for model, _ in names])
    fault = np.array([len(faulty[part]) for _, part in names])
    chances = hypergeom.sf(seen - 1, len(cars), fault, group)
    untold = np.ones(len(having) - len(names))
    alarms = false_discovery_control(np.clip([*chances, *untold], 0, 1))
    rows = zip(names, seen, seen / (group * fault / len(cars)), alarms, strict=False)
    return [Cell(name, int(count), float(ratio), float(q)) for name, count, ratio, q in rows]


def truly(found: Shop, name: Named) -> bool:
    """Whether a named fact runs at 1.5 times or more; of a make, if any model of it does."""
    group, part = name
    if part not in {key[1] for key in found.truth}:
        return False
    models = [group]
    if group.startswith("make"):
        first = 3 * int(group.split()[1])
        models = [f"model {number}" for number in range(first, first + 3)]
    return any(found.truth[model, part] >= WORTH for model in models)


UPPER = (AlertLevel.ACT, AlertLevel.APART)
LOWER = (*UPPER, AlertLevel.WATCH)


Ranked = list[tuple[float, Named]]
"""What one way of looking names in a shop, the surest first by its own number."""


def looked(jobs: list[Job], settings: RecurrenceSettings) -> tuple[Pattern, ...]:
    """Return all that was looked at and might be named, however unsure."""
    return recurring(jobs, replace(settings, watch_level=1.0)).patterns


def by_every_way(jobs: list[Job], patterns: tuple[Pattern, ...]) -> dict[str, Ranked]:
    ours = zip((each.false_alarms for each in patterns), named(patterns, *LOWER), strict=True)
    cells = plain(jobs)
    return {
        "ours": list(ours),
        "most frequent": [(-cell.seen, cell.name) for cell in cells],
        "fixed ratio": [(-cell.ratio, cell.name) for cell in cells],
        "Fisher, BH": [(cell.alarms, cell.name) for cell in cells],
    }


Limits = dict[str, float]
"""Below which number each way names what it sees."""


def nothing_planted(
    size: int,
    shops: int,
    settings: RecurrenceSettings,
    *,
    first: int,
    spread: float,
    share: float | None,
) -> dict[str, Limits]:
    """Print what is named where nothing is planted; limits that name something equally often.

    The fleet is that of the shops with a fact: where one model is most of it, counts are so good
    that Fisher's test names how it differs by nature, which shops of small models do not show.
    """
    counts: Counter[str] = Counter()
    surest: dict[str, dict[str, list[float]]] = {
        alarm: defaultdict(list) for alarm in ("anything", "untrue")
    }
    for seed in range(first, first + shops):
        found = shop(seed, size, spread, share)
        patterns = looked(found.jobs, settings)
        for label, levels in (("upper", UPPER), ("lower", LOWER)):
            names = named(sure(patterns, settings), *levels)
            counts[label] += bool(names)
            counts[f"{label} facts"] += len(names)
            counts[f"{label} true"] += sum(truly(found, name) for name in names)
            counts[f"{label} false"] += any(not truly(found, name) for name in names)
        for way, ranked in by_every_way(found.jobs, patterns).items():
            untrue = [each for each in ranked if not truly(found, each[1])]
            for alarm, numbers in (("anything", ranked), ("untrue", untrue)):
                best = min((number for number, _ in numbers), default=NEVER)
                surest[alarm][way].append(best)
    fleet = "no large model" if share is None else f"a model of {share:.0%}"
    print(f"{size:6} jobs, nothing planted, {fleet}, spread {spread}: ", end="")
    for label in ("upper", "lower"):
        print(
            f"{label}: {counts[label]} of {shops} reports name something"
            f" ({counts[f'{label} false']} something below {WORTH}),"
            f" {counts[f'{label} true']} of {counts[f'{label} facts']} facts true; ",
            end="",
        )
    print(flush=True)
    return {
        label if alarm == "anything" else f"{label}, {alarm}": {
            way: sorted(best)[int(part * shops)] for way, best in surest[alarm].items()
        }
        for alarm in surest
        for label, part in FALSE_REPORTS.items()
    }


NEVER = 9.0


def at_best(size: int, share: float, excess: float) -> float:
    """Return how often so many cars can show a fact at all, where it is known which model it is.

    Named has to be what luck and nature bring in one of five such shops: the test of the page, over
    the parts that are planted, each car as often at the shop as any other.
    """
    cars = 0.77 * size * 2 / 5  # the others never came: 2.5 visits on average, gamma of 1.5
    group, level = round(share * cars), FALSE_REPORTS["lower"] / PARTS
    nature = Nature(0.3, 0.0)
    powers = []
    for rank in range(5, 30):
        part = 1 / (rank + 3) / sum(1 / np.arange(3, PARTS + 3))
        having = 1 - np.exp(-size / 1.6 / cars * part * np.array([excess, 1.0]))
        events = round(float(having @ [group, cars - group]))
        bands = [Matched(group, round(cars) - group, events)]
        least = bisect_left(
            range(events + 1), True, lo=3, key=lambda n: chance_by_nature(n, bands, nature) <= level
        )
        true = having[0] * group / (having @ [group, cars - group])
        powers.append(binom.sf(least - 1, events, true))
    return float(np.mean(powers))


def _versions(name: Named) -> set[Named]:
    """Return what a name may mean: that of a make is that of its models, too."""
    group, part = name
    if not group.startswith("make"):
        return {name}
    first = 3 * int(group.split()[1])
    return {(f"model {number}", part) for number in range(first, first + 3)}


def surest(found: Shop, ranked: Ranked) -> float:
    """Return by which number a way names the planted fact."""
    return min(
        (number for number, name in ranked if found.planted in _versions(name)), default=NEVER
    )


def months_to(found: Shop, limits: Limits, settings: RecurrenceSettings) -> dict[str, int]:
    """Return after how many months, in steps of three, each way first names the planted fact."""
    months: dict[str, int] = {}
    for month in range(6, 49, 3):
        until = START + timedelta(days=round(30.44 * month))
        jobs = [job for job in found.jobs if job.opened <= until]
        for way, ranked in by_every_way(jobs, looked(jobs, settings)).items():
            if surest(found, ranked) < limits[way]:
                months.setdefault(way, month)
    return months


def planted(
    size: int,
    shops: int,
    nothing: int,
    settings: RecurrenceSettings,
    *,
    first: int,
    months: bool,
) -> None:
    totals: Counter[str] = Counter()
    everywhere: Counter[tuple[str, str]] = Counter()
    limits: dict[float, dict[str, Limits]] = {}
    for place, (share, excess) in enumerate(product(SHARES, EXCESSES)):
        if share not in limits:
            limits[share] = nothing_planted(
                size, nothing, settings, first=first, spread=0.3, share=share
            )
        hits: Counter[tuple[str, str]] = Counter()
        when: dict[str, list[int]] = defaultdict(list)
        for seed in range(shops):
            found = shop(first + 1000 + 25 * seed + place, size, 0.3, share, excess)
            patterns = looked(found.jobs, settings)
            for label, levels in (("upper", UPPER), ("lower", LOWER)):
                names = named(sure(patterns, settings), *levels)
                hits[label, "own level"] += any(found.planted in _versions(n) for n in names)
                totals[f"{label} true"] += sum(truly(found, name) for name in names)
                totals[f"{label} facts"] += len(names)
            for way, ranked in by_every_way(found.jobs, patterns).items():
                for label, limit in limits[share].items():
                    hits[label, way] += surest(found, ranked) < limit[way]
            if months and excess >= 3:
                for way, month in months_to(found, limits[share]["lower"], settings).items():
                    when[way].append(month)
        everywhere += hits
        best = at_best(size, share, excess)
        print(f"{size:6} jobs, {share:4.0%} of the fleet, {excess:3}x, of {shops}", end=" ")
        print(f"(at best {best * shops:.1f}): ", end="")
        print(*(_told(label, hits) for label in limits[share]), sep="; ", flush=True)
        for way, found_after in when.items():
            print(f"       months to the lower level, {way}: {sorted(found_after)}")
    print(f"{size:6} jobs, all planted, of {25 * shops}: ", end="")
    print(*(_told(label, everywhere) for label in limits[SHARES[0]]), sep="; ")
    for label in ("upper", "lower"):
        print(f"{label}: {totals[f'{label} true']} of {totals[f'{label} facts']} facts true")


def _told(label: str, hits: Counter[tuple[str, str]]) -> str:
    ways = ("own level", "ours", "Fisher, BH", "fixed ratio", "most frequent")
    told = [way for way in ways if way != "own level" or label in FALSE_REPORTS]
    return f"{label}: " + ", ".join(f"{way} {hits[label, way]}" for way in told)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--shops", type=int, default=20)
    options.add_argument("--size", type=int, nargs="*", default=[3000, 20000])
    options.add_argument("--months", action="store_true")
    options.add_argument("--nothing", type=int, default=60)
    options.add_argument("--first", type=int, default=0, help="Seed, for shops not seen before.")
    given = options.parse_args()
    settings = RecurrenceSettings()
    for size in given.size:
        for spread in (0.0, 0.3):
            nothing_planted(
                size, given.nothing, settings, first=given.first, spread=spread, share=None
            )
        planted(
            size,
            given.shops,
            given.nothing,
            settings,
            first=given.first,
            months=given.months,
        )


if __name__ == "__main__":
    main()
