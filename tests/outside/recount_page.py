"""Count the foreman's page anew from exported jobs: nothing of the project is imported here.

Run: python recount_page.py EXPORTED.jsonl REPORT.json EVALUATION.json SINCE, as `kb export`, `kb
report --json` and `kb evaluate --since SINCE --json` print them. Printed is, as JSON, a list of
what differs: what, told, counted. What keeps coming back is counted by `recount_recurring.py`, and
fixes and what came back by `recount.py`.

What nobody outside can count is taken from the file: what the program answered to each job, and of
a reading which side does no harm.
"""

import json
import math
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import beta, chi2, nct, t

Row = dict[str, Any]
Difference = tuple[str, Any, Any]

CONTENT, CONFIDENCE = 0.95, 0.90
OUTLIER_SHARE, OUTLIER_LEVEL = 0.2, 0.05
PLAIN_SCALE = {"temperature": 0.5, "proportion": 0.5, "angle": 0.05}
FINEST = {"voltage": 0.01, **PLAIN_SCALE}
FINEST_RATIO = 0.01
BINS = 15
FLOOR = 1e-4


def even(text: str | None) -> str:
    return " ".join((text or "").casefold().split())


def read_jobs(path: Path) -> list[Row]:
    jobs = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [each for each in jobs if not each.get("void")]


def is_case(job: Row) -> bool:
    return bool(job.get("closed") and job.get("cause"))


def health(jobs: Sequence[Row]) -> Row:
    cases = [each for each in jobs if is_case(each)]
    last = [(each["attempts"][-1] if each.get("attempts") else {}) for each in cases]
    cured = [(job, end) for job, end in zip(cases, last, strict=True) if end.get("cured")]
    return {
        "cases": len(cases),
        "untagged": sum(not (j["vehicle"].get("ref") or j["vehicle"].get("vin")) for j in cases),
        "cured": len(cured),
        "unproved": sum(not (end.get("verified") or end.get("proofs")) for _, end in cured),
        "without_outcome": sum(end.get("cured") is None for end in last),
        "never_reproduced": sum(each.get("reproduced") is False for each in cases),
        "without_cause": sum(bool(each.get("closed")) and not each.get("cause") for each in jobs),
        "still_open": sum(not each.get("closed") for each in jobs),
    }


def readings_of(jobs: Sequence[Row], told: Row) -> tuple[list[Row], list[Row]]:
    """Return the good and the bad readings that one strip of the page is about."""
    found: tuple[list[Row], list[Row]] = [], []
    for job in filter(is_case, jobs):
        if told["make"] and even(job["vehicle"].get("make")) != even(told["make"]):
            continue
        for each in job.get("readings", ()):
            same = even(each["item"]) == even(told["item"])
            same = same and even(each.get("condition")) == even(told["condition"])
            same = same and each["quantity"] == told["quantity"]
            exact = each.get("relation", "exact") == "exact"
            if same and exact and each.get("proved_good") is not None:
                found[not each["proved_good"]].append({**each, "job": job["number"]})
    return found


def farthest_out(points: Any) -> tuple[float, Any]:
    """Return how far off the farthest point lies, in standard deviations, and the others."""
    away = np.abs(points - points.mean())
    place = int(away.argmax())
    return away[place] / points.std(ddof=1), np.delete(points, place)


def kept(points: Any) -> Any:
    """Set aside what Rosner's generalised ESD test does: NIST e-Handbook, 1.3.5.17.3."""
    count = len(points)
    left = keep = np.sort(points)
    for step in range(1, min(math.ceil(OUTLIER_SHARE * count), count - 3) + 1):
        if not left.std() > 1e-12 * np.abs(left).max():
            break
        distance, left = farthest_out(left)
        freedom = count - step - 1
        quantile = t.ppf(1 - OUTLIER_LEVEL / (2 * (count - step + 1)), freedom)
        critical = (count - step) * quantile
        critical /= math.sqrt((freedom + quantile**2) * (count - step + 1))
        if distance > critical:
            keep = left
    return keep


def rank_from_the_end(count: int, sides: int) -> int:
    """Distribution-free limits: NIST e-Handbook, 7.2.6.4, by the beta distribution of coverage."""
    rank = 0
    while (gaps := sides * (rank + 1)) <= count:
        if beta.sf(CONTENT, count + 1 - gaps, gaps) < CONFIDENCE:
            break
        rank += 1
    return rank


def factor(behind: int, freedom: int, sides: int) -> float:
    """Howe's two-sided factor, or the noncentral t's: NIST e-Handbook, 7.2.6.3."""
    if sides == 2:
        normal = math.sqrt(chi2.ppf(CONTENT, 1))
        square = (1 + 1 / behind) * freedom / chi2.ppf(1 - CONFIDENCE, freedom)
        return float(normal * math.sqrt(square))
    shift = math.sqrt(chi2.ppf(2 * CONTENT - 1, 1) * behind)
    return float(nct.ppf(CONFIDENCE, freedom, shift) / math.sqrt(behind))


def band(values: Sequence[float], quantity: str, jobs: int, told: Row) -> Row:
    """Draw the band of good readings; `told` says which sides are open."""
    plain = quantity in PLAIN_SCALE or min(values) <= 0
    finest = FINEST.get(quantity, 0.0) if plain else FINEST_RATIO
    points = kept(np.array(values) if plain else np.log(values))
    sides = 1 + (told["low"] is not None and told["high"] is not None)
    rank = rank_from_the_end(len(points), sides)
    if rank:
        low, high = points[rank - 1], points[-rank]
    else:
        wide = factor(min(len(points), jobs), len(points) - 1, sides)
        wide *= max(points.std(ddof=1), finest)
        low, high = points.mean() - wide, points.mean() + wide
    middle = float(np.median(points))
    ends = {"low": min(low, middle - 2 * finest), "high": max(high, middle + 2 * finest)}
    ends = {name: end for name, end in ends.items() if told[name] is not None}
    on_scale = {"median": middle, **ends}
    return {name: float(each if plain else math.exp(each)) for name, each in on_scale.items()} | {
        "count": len(points),
        "set_aside": len(values) - len(points),
    }


def outside(value: float, edges: Row) -> bool:
    return bool(value < edges.get("low", -math.inf) or value > edges.get("high", math.inf))


def differing_strips(jobs: Sequence[Row], told: Sequence[Row]) -> Iterator[Difference]:
    for each in told:
        name = f"{each['item']} @ {each['condition']}"
        good, bad = readings_of(jobs, each)
        for kind, readings in (("good", good), ("bad", bad)):
            said = Counter((one["value"], one["job"]) for one in each[kind])
            here = Counter((one["value"], one["job"]) for one in readings)
            if said != here:
                yield f"{name}: {kind}", sorted(said.elements()), sorted(here.elements())
        places = {one["job"] for one in good}
        drawn = band([one["value"] for one in good], each["quantity"], len(places), each["band"])
        for figure, counted in drawn.items():
            if not math.isclose(each["band"][figure], counted, rel_tol=1e-6):
                yield f"{name}: {figure}", each["band"][figure], counted
        if sorted(each["band"]["jobs"]) != sorted(places):
            yield f"{name}: jobs", each["band"]["jobs"], sorted(places)
        inside = sum(not outside(one["value"], drawn) for one in bad)
        if each["bad_inside"] != inside:
            yield f"{name}: bad inside", each["bad_inside"], inside


def cause(job: Row) -> tuple[str, ...]:
    told = job["cause"]
    return even(told["component"]), even(told.get("location")), told["failure_mode"]


def questions(cases: Sequence[Row], least_known: int, since: str) -> dict[int, set[Any]]:
    """Return which jobs could be asked, each with the causes of the cases closed before its day."""
    found = {}
    for job in cases:
        before = [each for each in cases if each["closed"] < job["opened"]]
        if len(before) >= least_known and job["opened"] >= since:
            found[job["number"]] = {cause(each) for each in before}
    return found


def in_words(asked: Sequence[Row], bins: Sequence[Row]) -> list[str]:
    """Return the counts that the first sentence has to hold."""

    def of(count: int, total: int) -> str:
        if total >= 100:
            return f"{100 * count / total:.0f} of 100"
        return f"{count or 'none'} of {total}"

    known = [each for each in asked if not each["new"]]
    first, three = (sum((each["place"] or 99) <= most for each in known) for most in (1, 3))
    often = [each for each in bins if each["count"] >= 10]
    usual = min(often, key=lambda each: abs(each["chance"] - 0.8), default=None)
    said = [of(first, len(known)), of(three, len(known)), of(len(asked) - len(known), len(asked))]
    if usual:
        said.append(of(usual["came_true"], usual["count"]))
    return said


def calibration(asked: Sequence[Row]) -> list[Row]:
    named = [each for each in asked if each["chance"] is not None]
    rows = []
    for number in range(BINS):
        here = [e for e in named if min(int(e["chance"] * BINS), BINS - 1) == number]
        if here:
            rows.append(
                {
                    "count": len(here),
                    "chance": sum(each["chance"] for each in here) / len(here),
                    "came_true": sum(each["place"] == 1 for each in here),
                }
            )
    return rows


def differing_chances(jobs: Sequence[Row], told: Row, since: str) -> Iterator[Difference]:
    cases = [each for each in jobs if is_case(each)]
    number = {each["number"]: each for each in cases}
    could = questions(cases, told["least_known"], since)
    asked = told["asked"]
    whole = told["whole"]
    figures = whole["ways"][0]["figures"]
    bins = calibration(asked)
    total = len(asked)
    places = [each["place"] for each in asked]
    counted = {
        "questions that could be asked": (told["questions"], len(could)),
        "asked": ([each["job"] for each in asked], sorted(could, key=lambda n: when(number[n]))),
        "new": (whole["new"], sum(each["new"] for each in asked)),
        "first asked": (told["first_asked"], min(number[e["job"]]["opened"] for e in asked)),
        "last asked": (told["last_asked"], max(number[e["job"]]["opened"] for e in asked)),
        "bins": ([each["count"] for each in figures["calibration"]], [e["count"] for e in bins]),
        "came true": (
            [each["came_true"] for each in figures["calibration"]],
            [each["came_true"] for each in bins],
        ),
    }
    yield from ((what, one, other) for what, (one, other) in counted.items() if one != other)
    gaps = [abs(each["chance"] * each["count"] - each["came_true"]) for each in bins]
    near = {
        "first": sum(place == 1 for place in places) / total,
        "first_three": sum(bool(place) and place <= 3 for place in places) / total,
        "first_five": sum(bool(place) and place <= 5 for place in places) / total,
        "reciprocal_rank": sum(1 / place for place in places if place) / total,
        "log_loss": -sum(math.log(max(each["to_truth"], FLOOR)) for each in asked) / total,
        "calibration_error": sum(gaps) / sum(each["count"] for each in bins),
    }
    for name, value in near.items():
        if not math.isclose(figures[name], value, rel_tol=1e-9):
            yield name, figures[name], value
    for one, other in zip(figures["calibration"], bins, strict=False):
        if not math.isclose(one["chance"], other["chance"], rel_tol=1e-9):
            yield "mean chance of a bin", one["chance"], other["chance"]
    for share in in_words(asked, bins):
        if share not in told["in_short"]:
            yield "in short", told["in_short"], share
    # asked together are jobs of some weeks: what was closed in between may make a cause known
    for each in asked:
        if not each["new"] and cause(number[each["job"]]) not in could.get(each["job"], set()):
            yield f"job {each['job']} new", False, True


def when(job: Row) -> tuple[str, int]:
    return job["opened"], job["number"]


def differences(jobs: Sequence[Row], report: Row, evaluation: Row, since: str) -> list[Difference]:
    # who was heard of is counted anew by recount.py; both parts of the page must say the same
    counted = {**health(jobs), "unheard": report["by_fix"]["whole"]["unheard"]}
    return [
        *(
            (name, report["health"][name], n)
            for name, n in counted.items()
            if report["health"][name] != n
        ),
        *differing_strips(jobs, report["readings"]),
        *differing_chances(jobs, evaluation, since),
    ]


if __name__ == "__main__":
    report, evaluation = (json.loads(Path(each).read_text("utf-8")) for each in sys.argv[2:4])
    found = differences(read_jobs(Path(sys.argv[1])), report, evaluation, sys.argv[4])
    json.dump(found, sys.stdout)
