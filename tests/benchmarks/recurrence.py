"""What `kb recurring` names in shops whose truth is known, beside plain ways at equal alarms.

Shops of 3,000 and of 20,000 jobs over four years: 24 models of 8 makes, from very popular to rare,
120 parts from common to rare, cars of all ages with one to six visits, one year busier than the
others. Every model differs from its like by nature, part by part (gamma, coefficient of variation
0.3, or none). One fact is planted: a part that befalls one model, which is 3, 20, 35, 50 or 70 %
of the fleet, 1.5 to 8 times as often as the others.

Printed are, for shops with nothing planted, how many reports name anything; for those with a fact,
how often it is named, how many months of jobs that took, and how many of all facts named truly run
at 1.5 times or more; beside them, at the rate of false names per shop that our own levels have:
the most frequent combinations, a fixed ratio, and Fisher's test with Benjamini-Hochberg.

Run: python tests/benchmarks/recurrence.py [--shops N] [--size 3000]
"""

import argparse
from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from scipy.stats import false_discovery_control, hypergeom

from kb.case import Cause, FailureMode, Job, System, Vehicle
from kb.recurrence.excess import recurring
from kb.recurrence.pattern import AlertLevel, Pattern
from kb.settings import RecurrenceSettings

DAYS = 1461
START = date(2022, 1, 1)
MODELS = 24
PARTS = 120
WORTH = 1.5


@dataclass(frozen=True)
class Shop:
    """Jobs, and how many times as often as the other models a model truly has a part."""

    jobs: list[Job]
    truth: dict[tuple[str, str], float]
    planted: tuple[str, str] | None


def shop(seed: int, size: int, spread: float, share: float | None, excess: float) -> Shop:
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
    rates = parts * nature
    spare = 1.6 * rates.sum(axis=1).max()
    jobs = []
    for number, (car, day) in enumerate(zip(car_of, day_of, strict=True), start=1):
        model = int(model_of[car])
        part = int(np.searchsorted(np.cumsum(rates[model]) / spare, dice.random()))
        jobs.append(_job(number, int(car), model, int(year_of[car]), part, int(day)))
    truth = {}
    for model in range(MODELS):
        others = np.delete(np.arange(MODELS), model)
        rest = np.average(nature[others], axis=0, weights=np.maximum(shares[others], 1e-12))
        for part in range(PARTS):
            truth[f"model {model}", f"part {part}"] = float(nature[model, part] / rest[part])
    planted = None if fact is None else ("model 0", f"part {fact[1]}")
    return Shop(jobs, truth, planted)


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
        cause=Cause(component=f"part {part}", failure_mode=FailureMode.WORN),
    )


Named = tuple[str, str]


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


def months_to(found: Shop, levels: tuple[AlertLevel, ...], settings: RecurrenceSettings) -> int:
    """Return after how many months, in steps of three, the planted fact is first named."""
    for month in range(6, 49, 3):
        until = START + timedelta(days=round(30.44 * month))
        jobs = [job for job in found.jobs if job.opened <= until]
        if found.planted in named(recurring(jobs, settings).patterns, *levels):
            return month
    return 99


UPPER = (AlertLevel.ACT, AlertLevel.APART)
LOWER = (*UPPER, AlertLevel.WATCH)


def nothing_planted(size: int, shops: int, settings: RecurrenceSettings) -> None:
    for spread in (0.0, 0.3):
        counts: Counter[str] = Counter()
        for seed in range(shops):
            found = shop(seed, size, spread, None, 1.0)
            patterns = recurring(found.jobs, settings).patterns
            for label, levels in (("upper", UPPER), ("lower", LOWER)):
                names = named(patterns, *levels)
                counts[label] += bool(names)
                counts[f"{label} facts"] += len(names)
                counts[f"{label} true"] += sum(truly(found, name) for name in names)
                counts[f"{label} false"] += any(not truly(found, name) for name in names)
        print(f"{size:6} jobs, nothing planted, spread {spread}: ", end="")
        for label in ("upper", "lower"):
            print(
                f"{label}: {counts[label]} of {shops} reports name something"
                f" ({counts[f'{label} false']} something below {WORTH}),"
                f" {counts[f'{label} true']} of {counts[f'{label} facts']} facts true; ",
                end="",
            )
        print(flush=True)


Ranked = list[tuple[float, Named]]
"""What one way of looking names in a shop, the surest first by its own number."""


def by_plain_ways(jobs: list[Job]) -> dict[str, Ranked]:
    cells = plain(jobs)
    return {
        "most frequent": [(-cell.seen, cell.name) for cell in cells],
        "fixed ratio": [(-cell.ratio, cell.name) for cell in cells],
        "Fisher, BH": [(cell.alarms, cell.name) for cell in cells],
    }


def found_at_equal_alarms(shops: list[tuple[Shop, Ranked]], alarms: int) -> int:
    """Count planted facts named before more than so many false names, over all shops."""
    rows = sorted(
        (number, found.planted in _versions(name), truly(found, name))
        for found, ranked in shops
        for number, name in ranked
    )
    wrong = hits = 0
    for _, planted, true in rows:
        wrong += not true
        if wrong > alarms:
            break
        hits += planted
    return hits


def _versions(name: Named) -> set[Named]:
    """Return what a name may mean: that of a make is that of its models, too."""
    group, part = name
    if not group.startswith("make"):
        return {name}
    first = 3 * int(group.split()[1])
    return {(f"model {number}", part) for number in range(first, first + 3)}


def planted(size: int, shops: int, settings: RecurrenceSettings, *, months: bool) -> None:
    loose = replace(settings, watch_level=1.0)
    totals: Counter[str] = Counter()
    for share in (0.03, 0.2, 0.35, 0.5, 0.7):
        for excess in (1.5, 2, 3, 5, 8):
            ways: dict[str, list[tuple[Shop, Ranked]]] = defaultdict(list)
            alarms, hits, when = Counter[str](), Counter[str](), []
            for seed in range(shops):
                found = shop(1000 + seed, size, 0.3, share, excess)
                patterns = recurring(found.jobs, loose).patterns
                sure = [each for each in patterns if each.false_alarms <= settings.watch_level]
                ways["ours"].append(
                    (found, [(p.false_alarms, named((p,), *LOWER)[0]) for p in patterns])
                )
                for way, ranked in by_plain_ways(found.jobs).items():
                    ways[way].append((found, ranked))
                for label, levels in (("upper", UPPER), ("lower", LOWER)):
                    names = named(tuple(sure), *levels)
                    hits[label] += any(found.planted in _versions(name) for name in names)
                    true = sum(truly(found, name) for name in names)
                    totals[f"{label} true"] += true
                    totals[f"{label} facts"] += len(names)
                    alarms[label] += len(names) - true
                if months:
                    when.append(months_to(found, LOWER, settings))
            print(f"{size:6} jobs, {share:4.0%} of the fleet, {excess:3}x: ", end="")
            for label in ("upper", "lower"):
                told = ", ".join(
                    f"{way} {found_at_equal_alarms(rows, alarms[label])}"
                    for way, rows in ways.items()
                )
                print(f"{label} {hits[label]}/{shops}, {alarms[label]} false; so: {told}. ", end="")
            print(f"months {sorted(when)}" if months else "", flush=True)
    for label in ("upper", "lower"):
        print(f"{label}: {totals[f'{label} true']} of {totals[f'{label} facts']} facts true")


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--shops", type=int, default=20)
    options.add_argument("--size", type=int, nargs="*", default=[3000, 20000])
    options.add_argument("--months", action="store_true")
    options.add_argument("--part", choices=["nothing", "planted"])
    given = options.parse_args()
    settings = RecurrenceSettings()
    for size in given.size:
        if given.part != "planted":
            nothing_planted(size, given.shops, settings)
        if given.part != "nothing":
            planted(size, given.shops, settings, months=given.months)


if __name__ == "__main__":
    main()
