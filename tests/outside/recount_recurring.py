"""Count recurring faults anew from exported jobs alone: nothing of the project is imported here.

Run: python recount_recurring.py EXPORTED.jsonl RECURRING.json, the second as `kb recurring --json`
prints it. Printed is, as JSON, a list of what differs: fact, figure, told, counted.
"""

import json
import math
import sys
from collections import Counter, defaultdict
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import betaprime, binom, mannwhitneyu, nchypergeom_fisher, norm

AGE_YEARS, FAR_KM, MOST_KM_A_DAY, TRIP_KM, PRIOR_SPREAD = 5, 200_000, 60, 1_000, 1.0
WEAR_PULL, LEAST_OF_AGE = 1.0, 20
LEVEL = 0.01

Job = dict[str, Any]


def even(text: str | None) -> str:
    return " ".join((text or "").casefold().split())


def day(text: str) -> date:
    return date.fromisoformat(text)


def read_cases(path: Path) -> list[Job]:
    jobs = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    cases = [each for each in jobs if each.get("closed") and each.get("cause")]
    cases = [each for each in cases if not each.get("void")]
    cases.sort(key=lambda each: (each["opened"], each["number"]))
    name_cars(cases)
    mark_refuted(cases)
    return cases


def part_of(job: Job) -> tuple[str, str]:
    return even(job["cause"]["component"]), even(job["cause"].get("location"))


def cause_of(job: Job) -> tuple[str, ...]:
    return (*part_of(job), job["cause"]["failure_mode"])


def mark_refuted(cases: list[Job]) -> None:
    """Mark the cases that came back, as the file names it, and were another part in the end."""
    known = {each["number"]: each for each in cases}
    for job in cases:
        ends: list[Job] = []
        left, seen = [job], {job["number"]}
        while left:
            back = [known[n] for n in told_back(left.pop()) if n in known and n not in seen]
            seen |= {each["number"] for each in back}
            left += back
            ends += (each for each in back if not any(n in known for n in told_back(each)))
        others = [each for each in ends if cause_of(each) != cause_of(job)]
        job["refuted"] = bool(others) and part_of(job) not in map(part_of, others)


def told_back(job: Job) -> list[int]:
    contacts = [each for each in job.get("contacts", ()) if each["on"] >= job["closed"]]
    return [e["job"] for e in contacts if e.get("outcome") == "comeback" and e.get("job")]


def name_cars(cases: list[Job]) -> None:
    """Give every case a car: its tag, its VIN, or a chain of untagged visits."""
    chains: list[dict[str, Any]] = []
    told: dict[int, dict[str, Any]] = {}
    for job in cases:
        vehicle = job["vehicle"]
        if vehicle.get("ref") or vehicle.get("vin"):
            job["car"] = ("ref", vehicle["ref"]) if vehicle.get("ref") else ("vin", vehicle["vin"])
            continue
        kind = tuple(even(str(vehicle.get(key, ""))) for key in ("make", "model", "year", "engine"))
        km, opened = job.get("odometer_km"), day(job["opened"])
        chain = told.get(job["number"])
        if chain is None and km is not None and vehicle.get("model") and vehicle.get("year"):
            near = [
                (km - each["km"], place)
                for place, each in enumerate(chains)
                if each["kind"] == kind
                and each["km"] is not None
                and 0 <= km - each["km"] <= TRIP_KM + MOST_KM_A_DAY * (opened - each["on"]).days
            ]
            chain = chains[min(near)[1]] if near else None
        if chain is None:
            chain = {"kind": kind, "number": len(chains)}
            chains.append(chain)
        chain.update(on=opened, km=km)
        job["car"] = ("untagged", chain["number"])
        for contact in job.get("contacts", ()):
            if contact.get("job"):
                told[contact["job"]] = chain


def is_read(job: Job) -> bool:
    vehicle = job["vehicle"]
    told = job.get("odometer_km"), vehicle.get("model"), vehicle.get("year")
    return None not in told


def has(job: Job, fact: Job) -> bool:
    return not job["refuted"] and is_said(job, fact)


def is_said(job: Job, fact: Job) -> bool:
    cause = job["cause"]
    same = even(cause["component"]) == even(fact["component"])
    same = same and even(cause.get("location")) == even(fact["location"])
    return same and fact["failure_mode"] in {None, cause["failure_mode"]}


def of_group(job: Job, make: str, model: str | None) -> bool:
    vehicle = job["vehicle"]
    same = even(vehicle.get("make")) == even(make)
    return same and (model is None or even(vehicle.get("model")) == even(model))


def group_name(job: Job, by_model: bool) -> str | None:
    vehicle = job["vehicle"]
    if not vehicle.get("make") or (by_model and not vehicle.get("model")):
        return None
    return f"{vehicle['make']} {vehicle['model']}" if by_model else str(vehicle["make"])


def comparable(job: Job) -> tuple[int, int | None, int]:
    year, opened = job["vehicle"].get("year"), day(job["opened"])
    age = None if year is None else max(0, opened.year - year) // AGE_YEARS
    return opened.year, age, (job.get("odometer_km") or 0) // FAR_KM


def cars(jobs: list[Job]) -> set[Any]:
    return {each["car"] for each in jobs}


def recount(cases: list[Job], fact: Job, window: Job) -> dict[str, Any]:
    """Count one fact within a window."""
    by_model = fact["model"] is not None
    within = [each for each in cases if window["since"] <= each["opened"] <= window["until"]]
    known = [each for each in within if group_name(each, by_model)]
    group = [each for each in known if of_group(each, fact["make"], fact["model"])]
    aside = cars([each for each in known if group_name(each, by_model) in fact["set_aside"]])
    seen = cars(known) - aside
    mine = cars(group)
    having = cars([each for each in known if has(each, fact)]) - aside
    counted: dict[str, Any] = {
        "observed": len(having & mine),
        "group_vehicles": len(mine),
        "others_observed": len(having - mine),
        "other_vehicles": len(seen - mine),
    }
    first: dict[Any, int] = {}
    strata: dict[Any, dict[int, Any]] = defaultdict(dict)
    for each in within:
        strata[each["car"]].setdefault(day(each["opened"]).year, comparable(each))
        if has(each, fact):
            first.setdefault(each["car"], day(each["opened"]).year)
    exposed: dict[Any, Counter[bool]] = defaultdict(Counter)
    events: dict[Any, Counter[bool]] = defaultdict(Counter)
    for car in seen:
        for year, stratum in strata[car].items():
            if car not in having or year <= first[car]:
                exposed[stratum][car in mine] += 1
    for car in having:
        events[strata[car][first[car]]][car in mine] += 1
    observed = counted["observed"]
    at_once = (len(mine), len(seen - mine), len(having), 1.0)
    ways = [list(compared(exposed, events).values()), [at_once]]
    counted["chance"], shares = max(((chance(each, observed), each) for each in ways), key=first_of)
    counted["expected"] = sum(n * w * g / (w * g + r) for g, r, n, w in shares if g)
    sizes: dict[str, set[Any]] = defaultdict(set)
    for each in known:
        if each["car"] not in aside | mine:
            sizes[even(group_name(each, by_model))].add(each["car"])
    counted["by_nature"] = by_nature(
        shares, observed, fact["spread"], list(map(len, sizes.values()))
    )
    counted["times"], counted["at_least"] = ratio(shares, observed)
    counted["of_its_age"] = of_its_age(
        [strata[c] for c in mine],
        [strata[c] for c in seen - mine],
        Counter(strata[c][first[c]][1:] for c in having & mine),
    )
    behind = [each for each in group if has(each, fact)]
    counted["jobs"] = [each["number"] for each in behind]
    ever = cars([each for each in cases if has(each, fact)])
    counted["engine"] = engine(within, mine, having & mine)
    others = set[Any]()
    if counted["engine"] and counted["engine"][1] == counted["engine"][2]:
        powers = engines(within, mine)
        others = {
            car for car in mine if powers.get(car, counted["engine"][0]) != counted["engine"][0]
        }
    left = mine - ever - others
    counted["spared"] = len(left)
    last = {each["car"]: each for each in group if each["car"] in left}
    newest = sorted(last.values(), key=lambda e: (e["opened"], e["number"]), reverse=True)
    counted["spared_jobs"] = [each["number"] for each in newest]
    counted["models"] = Counter(
        model for _, model in {(e["car"], even(e["vehicle"].get("model"))) for e in behind} if model
    )
    part = even(fact["component"])
    sits = [e for e in known if even(e["cause"]["component"]) == part and not e["refuted"]]
    wherever = cars(sits) - aside
    several = len({part_of(each) for each in sits}) > 1
    counted["anywhere"] = (len(wherever & mine), len(wherever - mine)) if several else None
    counted["one_recorder"] = one_recorder(within, behind, fact, mine, seen | aside)
    said = [each for each in group if is_said(each, fact) and each["refuted"]]
    counted["refuted"] = [each["number"] for each in said]
    counted["came_again"] = sum(n > 1 for n in Counter(e["car"] for e in behind).values())
    return counted


def engines(within: list[Job], whose: set[Any]) -> dict[Any, str]:
    told = [each for each in within if each["car"] in whose and each["vehicle"].get("engine")]
    return {each["car"]: even(each["vehicle"]["engine"]) for each in told}


def engine(within: list[Job], mine: set[Any], having: set[Any]) -> tuple[Any, ...] | None:
    """Tell the engine of most that had it, where it is more of them than luck brings."""
    group, struck = (Counter(engines(within, cars).values()) for cars in (mine, having))
    name, count = struck.most_common(1)[0] if struck else ("", 0)
    if 2 * count <= struck.total():
        return None
    many = [(group[name], group.total() - group[name], struck.total(), 1.0)]
    if chance(many, count) >= LEVEL:
        return None
    return name, count, struck.total(), group[name], group.total()


def one_recorder(
    within: list[Job], behind: list[Job], fact: Job, mine: set[Any], seen: set[Any]
) -> tuple[int, float, bool] | None:
    """Tell whether one person recorded most of it, and whether that is more than luck brings."""
    told = Counter(who for each in behind if (who := recorder(each)))
    person, count = told.most_common(1)[0] if told else ("", 0)
    own = [each for each in within if recorder(each) == person]
    many = [(len(own), len(within) - len(own), len(behind), 1.0)]
    if 2 * count <= len(behind) or chance(many, count) >= LEVEL:
        return None
    known = cars(own) & seen
    having = cars([each for each in own if has(each, fact | {"failure_mode": None})]) & known
    at_once = [(len(known & mine), len(known - mine), len(having), 1.0)]
    return count, len(own) / len(within), chance(at_once, len(having & mine)) < LEVEL


def recount_apart(cases: list[Job], fact: Job) -> dict[str, Any]:
    """Count a fault of a group of whose age and distance there is no other car."""
    by_model, window = fact["model"] is not None, fact["counts"]["window"]
    within = [each for each in cases if window["since"] <= each["opened"] <= window["until"]]
    known = [each for each in within if group_name(each, by_model)]
    group = [each for each in known if of_group(each, fact["make"], fact["model"])]
    mine, having = cars(group), cars([each for each in known if has(each, fact)])
    built: dict[Any, int | None] = {}
    worn: dict[Any, Any] = {}
    first: dict[Any, Any] = {}
    for each in within:
        built.setdefault(each["car"], each["vehicle"].get("year"))
        year, *wear = comparable(each)
        worn.setdefault((each["car"], year), tuple(wear))
        if has(each, fact):
            first.setdefault(each["car"], worn[each["car"], year])
    elsewhere = {wear for (car, _), wear in worn.items() if car in cars(known) - mine}
    own, others = (
        [when for car in whose if (when := built[car]) is not None]
        for whose in (mine, cars(known) - mine)
    )
    beside = "apart"
    if own and others and (max(own) < min(others) or min(own) > max(others)):
        beside = "older" if max(own) < min(others) else "newer"
    alone = [car for car in having & mine if first[car] not in elsewhere]
    return {
        "observed": len(having & mine),
        "group_vehicles": len(mine),
        "others_observed": len(having - mine),
        "other_vehicles": len(cars(known) - mine),
        "beside": beside,
        "most at an age of their own": 2 * len(alone) > len(having & mine),
        "jobs": [each["number"] for each in group if has(each, fact)],
    }


def recorder(job: Job) -> str:
    return "".join(filter(str.isalnum, (job.get("technician") or "").casefold()))


def first_of(pair: tuple[float, Any]) -> float:
    return pair[0]


def of_its_age(mine: list[Any], others: list[Any], events: Counter[Any]) -> int | None:
    """Count the others as old and far gone as most that had it, where they tell too little."""
    told = set()
    most = max(events.values())
    for wear in (wear for wear, count in events.items() if count == most):
        own, alike = (
            sum(any(tuple(each[1:]) == wear for each in car.values()) for car in cars)
            for cars in (mine, others)
        )
        few = alike < LEAST_OF_AGE and alike / len(others) < own / len(mine) / 2
        told.add(alike if few else None)
    return told.pop() if len(told) == 1 else -1


Band = tuple[int, int, int, float]
"""Cars of the group and of the rest, events, and how worn the group is beside the rest."""


def compared(
    exposed: dict[Any, Counter[bool]], events: dict[Any, Counter[bool]]
) -> dict[Any, Band]:
    """Return by year what others' rates at each age and distance make of the cars seen then."""
    watched: Counter[Any] = Counter()
    struck: Counter[Any] = Counter()
    for (_, *wear), count in exposed.items():
        watched[tuple(wear)] += count[False]
    for (_, *wear), count in events.items():
        struck[tuple(wear)] += count[False]
    rate = struck.total() / watched.total() if watched.total() else 0.0
    sums: dict[Any, list[float]] = defaultdict(lambda: [0, 0, 0.0, 0.0, 0])
    for stratum in {*exposed, *events}:
        year, *wear = stratum
        others, having = watched[tuple(wear)], events[stratum].total()
        if not others:  # nobody to compare with: all are the group's
            sums["alone"][0] += having
            sums["alone"][4] += having
            continue
        weight = (struck[tuple(wear)] + WEAR_PULL) / (others * rate + WEAR_PULL)
        for place, whose in enumerate((True, False)):
            sums[year][place] += exposed[stratum][whose]
            sums[year][place + 2] += weight * exposed[stratum][whose]
        sums[year][4] += having
    return {
        year: (int(g), int(r), int(n), (wg / g) / (wr / r) if wg and wr else 1.0)
        for year, (g, r, wg, wr, n) in sums.items()
        if n
    }


def chance(bands: list[Band], observed: int, times: float = 1.0) -> float:
    """Fisher's exact test of all bands together, half of just so many counted."""
    pmf = np.ones(1)
    for group, rest, count, worn in bands:
        odds = worn * times if rest else 1.0
        hits = np.arange(count + 1)
        pmf = np.convolve(pmf, nchypergeom_fisher.pmf(hits, group + rest, group, count, odds))
    return float(pmf[observed + 1 :].sum() + pmf[observed] / 2)


def by_nature(bands: list[Band], observed: int, spread: float, sizes: list[int]) -> float:
    """The same test where the group's rate and those of all others are gamma ones."""
    shape, alike = spread**-2, sum(n * n for n in sizes) / sum(sizes) ** 2
    logs = np.linspace(-3, 4, 176)
    times = np.exp(logs)
    weights = betaprime.pdf(times, shape, shape / alike, scale=1 / alike) * times
    chances = np.array([chance(bands, observed, each) for each in times])
    return float(chances @ weights / weights.sum())


def counts_at(bands: list[Band], times: float) -> Any:
    pmf = np.ones(1)
    for group, rest, count, worn in bands:
        share = times * worn * group / (times * worn * group + rest) if group else 0.0
        pmf = np.convolve(pmf, binom.pmf(np.arange(count + 1), count, share))
    return pmf


def ratio(bands: list[Band], observed: int) -> tuple[float, float]:
    """Median and lower end of the rate ratio, its logarithm normal beforehand."""
    logs = np.linspace(-4, 4, 1601)
    weights = np.array([counts_at(bands, math.exp(each))[observed] for each in logs])
    below = np.cumsum(weights * norm.pdf(logs, 0, PRIOR_SPREAD))
    middle, low = np.interp([0.5, 0.025], below / below[-1], logs)
    return math.exp(middle), math.exp(low)


def silence(marks: list[bool]) -> float:
    """Chance of so long without one at the end, in whatever order, the first one aside."""
    left = marks[marks.index(True) + 1 :]
    count = sum(left)
    until = len(left) - left[::-1].index(True) if count else 0
    return math.comb(until, count) / math.comb(len(left), count)


def course(cases: list[Job], fact: Job) -> dict[str, Any]:
    """Tell how a fact's share of its group's cases went on, over all time."""
    group = [each for each in cases if of_group(each, fact["make"], fact["model"])]
    had: set[Any] = set()
    days, marks = [], []
    for each in group:
        if each["car"] in had:
            continue
        fault = has(each, fact)
        days.append(day(each["opened"]))
        marks.append(fault)
        had |= {each["car"]} if fault else set()
    late = [when.toordinal() for when, mark in zip(days, marks, strict=True) if mark]
    other = [when.toordinal() for when, mark in zip(days, marks, strict=True) if not mark]
    new = Counter(when.year for when, mark in zip(days, marks, strict=True) if mark)
    every = Counter(day(each["opened"]).year for each in group)
    months = Counter((w.year, w.month) for w, mark in zip(days, marks, strict=True) if mark)
    only = {each["car"] for each in cases if has(each, fact | {"failure_mode": None})}
    return {
        "trend_chance": float(mannwhitneyu(late, other, alternative="two-sided").pvalue),
        "last": max(when for when, mark in zip(days, marks, strict=True) if mark),
        "stopped": silence(marks),
        "years": {year: (new[year], every[year]) for year in every},
        "months": months,
        "only_here": only <= cars(group),
    }


def differences(cases: list[Job], answer: Job) -> list[list[Any]]:
    found: list[list[Any]] = []

    def compare(what: str, told: Any, counted: Any, near: float = 0.0) -> None:
        same = math.isclose(told, counted, rel_tol=near) if near else told == counted
        if not same:
            found.append(
                [f"{fact['make']} {fact['model']} {fact['component']}", what, told, counted]
            )

    for each in answer["facts"]:
        fact = each["pattern"]
        counted = recount(cases, fact, fact["counts"]["window"])
        for name in ("observed", "group_vehicles", "others_observed", "other_vehicles"):
            compare(name, fact["counts"][name], counted[name])
        compare("expected", fact["expected"], counted["expected"], 1e-9)
        compare("chance", fact["chance"], counted["chance"], 1e-6)
        compare("by nature", fact["by_nature"], counted["by_nature"], 1e-3)
        compare("times", fact["times"], counted["times"], 0.02)
        compare("at_least", fact["at_least"], counted["at_least"], 0.02)
        if counted["of_its_age"] != -1:  # of several ages alike the first that was seen counts
            compare("of its age", fact["of_its_age"], counted["of_its_age"])
        compare("jobs", fact["jobs"], counted["jobs"])
        compare("came_again", fact["came_again"], counted["came_again"])
        compare("refuted", fact["refuted"], counted["refuted"])
        if fact["all_time"]:
            whole = recount(cases, fact, fact["all_time"]["window"])
            for name in ("observed", "group_vehicles", "others_observed", "other_vehicles"):
                compare(f"all time {name}", fact["all_time"][name], whole[name])
        told = course(cases, fact)
        if fact["change"]["chance"] is not None:
            compare("trend", fact["change"]["chance"], told["trend_chance"], 1e-9)
        compare("last", fact["change"]["last"], str(told["last"]))
        compare("stopped", fact["change"]["stopped"], told["stopped"] < LEVEL)
        years = {row["year"]: (row["vehicles"], row["cases"]) for row in fact["years"]}
        compare("years", {k: v for k, v in years.items() if v[1]}, told["years"])
        months = {(r["year"], r["month"]): r["vehicles"] for r in fact["months"] if r["vehicles"]}
        compare("months", sorted(months.items()), sorted(told["months"].items()))
        compare("only here", fact["only_here"], told["only_here"])
        compare("spared jobs", fact["spared_jobs"], counted["spared_jobs"])
        compare("spared", each["countermeasures"]["spared"], counted["spared"])
        place = fact["anywhere"]
        sits = place and (place["observed"], place["others_observed"])
        compare("anywhere", sits, counted["anywhere"])
        power = fact["engine"]
        has_one = power and (
            even(power["engine"]),
            *(power[n] for n in ("vehicles", "known", "group_vehicles", "group_known")),
        )
        compare("engine", has_one, counted["engine"])
        models = {even(row["model"]): row["vehicles"] for row in fact["models"]}
        compare("models", models, {} if fact["model"] else dict(counted["models"]))
        one = fact["one_recorder"]
        recorder = one and (one["jobs"], one["share"], one["stands_out"])
        compare("one recorder", recorder, counted["one_recorder"])
    for fact in answer["incomparable"]:
        told = {key: fact["counts"][key] for key in fact["counts"] if key != "window"}
        told |= {"beside": fact["beside"], "jobs": fact["jobs"]}
        for what, figure in recount_apart(cases, fact).items():
            compare(f"apart: {what}", told.get(what, True), figure)
    tags = [each for each in cases if each["car"][0] == "untagged"]
    fact = {"make": "", "model": "", "component": "whole"}
    compare("cases", answer["cases"], len(cases))
    compare("untagged", answer["untagged"], len(tags))
    compare("folded", answer["folded"], len(cars(tags)))
    unread = [each for each in tags if not is_read(each)]
    compare("unread", answer["unread"], len(unread))
    return found


if __name__ == "__main__":
    told = json.loads(Path(sys.argv[2]).read_text(encoding="utf-8"))
    json.dump(differences(read_cases(Path(sys.argv[1])), told), sys.stdout, default=str)
