"""Counts and rates of every fix again, from exported jobs alone; run by `test_recount`.

``python recount.py jobs.jsonl systems.json`` prints, as JSON, for each job that closed with a cause
what `kb fixes --job N` must say, and what `kb comebacks`, `kb job follow-up` and `kb job show`
must. It imports nothing of the project and reads only what `kb export` writes, and the systems that
`kb job show --json` says jobs are about: that must be the recorded one wherever one is recorded.
Everything is computed anew from what the documentation says: which attempts count as what, the
returns that nobody judged, the product limit, the interval, and the shrinkage, the kinds of fixes
and their frequency included (by expectation and maximisation, not by Newton's method).

Medians of minutes and costs, curves and comparisons are not recounted.
"""

import json
import re
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from functools import cache
from itertools import pairwise, product
from math import prod
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special, stats

Floats = NDArray[np.float64]
Job = dict[str, Any]
HORIZONS: tuple[int, ...] = (90, 365)
HORIZONS_KM = (4_000, 15_000)
USUAL_KM_PER_DAY, MOST_KM_PER_DAY = 40.0, 1_000
WOULD_TELL = 0.9
LEAST_KNOWN, LEAST_FIXES = 3, 10
CONFIDENCE = 0.95
LIKE_WORDS, SAME_SYSTEM_DAYS = 0.6, 365
_FILLERS = (
    "after again all and any are but can car comes customer does for from had has have her his its"
    " just not now off one only our out said says seems she sometimes still that the them then"
    " there they this very was were when while will with you your"
)
AGAIN = re.compile(
    r"\b(again|still|same|returned|returns?|returning|(came|comes?|is|lamp|light|on|was) back"
    r"|back (on|again|with|in|after|as)|(second|third) time|no better"
    r"|not (fixed|cured|mended|right)|(as|like) (before|last|ever|always)"
    r"|wieder|immer noch|encore|znowu)\b",
    re.IGNORECASE,
)
FUELS = {"petrol", "gasoline", "diesel"}
FILLERS = frozenset(_FILLERS.split())
_RETURN_WORDS = (
    "back before better came car come complaint cured always day days ever fault faults fix fixed"
    " here immer issue job last like mended month months noch please problem problems repair"
    " repaired return returned returning returns right same since thing time times trouble vehicle"
    " visit week weeks wieder year years yet encore znowu fehler old défaut panne usterka"
)
OF_RETURNS = frozenset(_RETURN_WORDS.split())
GENERAL = [
    *("front", "rear", "left", "right", "side", "cold", "hot", "warm", "wet", "rain", "morn"),
    *("speed", "idl", "start", "eng", "engin", "driv", "road", "wheel", "get", "gets", "com"),
    *("go", "stay", "under", "over", "turn", "from", "dash", "cluster"),
]
SOUNDS = [
    *("nois", "sound", "knock", "rattl", "squeal", "squeak", "whin", "whistl", "hum", "dron"),
    *("clunk", "clonk", "rumbl", "creak", "groan", "buz", "his", "howl", "grind", "click"),
    *("tick", "clatter", "bang", "thud", "roar", "scrap", "grumbl"),
]
LAMPS = ["lamp", "light", "lit", "warn", "eml", "mil", "messag", "symbol"]
GUARD, GUARD_LOST = 0.68, 0.36
CURES = (0.03, 0.2, 0.4, 0.6, 0.75, 0.86, 0.93, 0.97, 0.99)
HOLDS = (0.05, 0.3, 0.6, 0.8, 0.9, 0.96, 0.99)
STRENGTH = 40.0
EDGES = (0, 1 / 12, 1 / 6, 1 / 3, 2 / 3, 1)
EVENLY = 0.1
PULLS = (1.0, 4.0, 16.0, 64.0, 10_000.0)
MOST_ROUNDS = 60_000


class Life(NamedTuple):
    """How long a car was watched, whether it failed then, and by what share that is sure."""

    time: float
    failed: bool
    share: float = 1.0

    def outlasts(self, horizon: float) -> bool:
        return self.time > horizon or (self.time == horizon and not self.failed)


class Attempt(NamedTuple):
    """What is known of one attempt.

    `back` is the number of a return that nobody judged, `back_on` its day; `denied` the number of
    one that proved the same cause and was said to be for another.
    """

    cured: bool
    lives: tuple[Life, ...]
    if_same: tuple[Life, ...]
    if_other: tuple[Life, ...]
    back: int | None
    denied: int | None = None
    back_on: str = ""
    undated: bool = False


# What became of the attempts


def even(text: str) -> str:
    return " ".join(text.casefold().split())


def cause_of(job: Job) -> tuple[str, str, str] | None:
    return named(job.get("cause"))


def named(cause: Job | None) -> tuple[str, str, str] | None:
    if not cause:
        return None
    return even(cause["component"]), even(cause.get("location") or ""), cause["failure_mode"]


def car_of(job: Job) -> tuple[str, str] | None:
    vehicle = job["vehicle"]
    for name in ("ref", "vin"):
        if vehicle.get(name):
            return name, vehicle[name]
    return None


def join_cars(jobs: Sequence[Job]) -> None:
    """Note of each job its car: of jobs without a tag those are one car's that an answer joins."""
    counting = {job["number"]: job for job in jobs if not job.get("void")}
    for job in jobs:
        job["one car"] = car_of(job) or ("job", job["number"])
    for job in counting.values():
        for each in job.get("contacts", ()):
            later = counting.get(each.get("job"))
            if later is not None and None in (car_of(job), car_of(later)):
                joined, into = later["one car"], job["one car"]
                for other in jobs:
                    if other["one car"] == joined:
                        other["one car"] = into


def is_case(job: Job) -> bool:
    return bool(job.get("closed") and job.get("cause") and not job.get("void"))


def day(text: str) -> date:
    return date.fromisoformat(text)


def words_of(complaint: str) -> frozenset[str]:
    found = re.findall(r"[^\W\d_]+", complaint.casefold())
    even_fuel = ("fuel" if word in FUELS else word for word in found)
    return frozenset(word for word in even_fuel if len(word) >= 3) - FILLERS


def soon_after(job: Job, visit: Job) -> bool:
    return (day(visit["opened"]) - day(job["closed"])).days <= SAME_SYSTEM_DAYS


def alike(job: Job, visit: Job) -> bool:
    if same_fault(job, visit) or ("told_of" in visit and cause_of(job) == cause_of(visit)):
        return True
    if (
        soon_after(job, visit)
        and job.get("system") == visit.get("system")
        and job.get("system") not in (None, "other")
    ):
        return True
    return same_complaint(job, visit) or ("told_of" not in visit and short_of(job, visit))


def same_complaint(job: Job, visit: Job) -> bool:
    families = {code["code"][:3] for code in job.get("codes", ())}
    if any(code["code"][:3] in families for code in visit.get("codes", ())):
        return True
    here, there = words_of(job["complaint"]), words_of(visit["complaint"])
    if there <= OF_RETURNS and AGAIN.search(visit["complaint"]):
        systems = {job.get("system"), visit.get("system")}
        return None in systems or len(systems) == 1
    both = len(here & there)
    if both >= max(2, min(len(here), len(there)) / 2) and AGAIN.search(visit["complaint"]):
        return True
    return 2 * both >= LIKE_WORDS * (len(here) + len(there)) > 0


def said_alike(job: Job, visit: Job) -> bool:
    """Whether a visit was told to be for it again, or in fewer words."""
    return short_of(job, visit) or AGAIN.search(visit["complaint"]) is not None


def short_of(job: Job, visit: Job) -> bool:
    """Whether a visit names the part at fault, a part of the complaint, or says its kind again."""
    if not soon_after(job, visit):
        return False
    here, there = stems_of(job["complaint"]), stems_of(visit["complaint"])
    part = stems_of(job["cause"]["component"])
    if part and not part - there:
        return True
    if here and there and (not here - there or not there - here):
        return True
    if not AGAIN.search(visit["complaint"]):
        return False
    kinds = [
        [any(stem in kind for stem in said) for kind in (SOUNDS, LAMPS)] for said in (here, there)
    ]
    apart = all(any(kind) for kind in kinds) and not any(map(min, *kinds))
    if visit.get("system") is None and not apart:
        return True
    if any(stem not in GENERAL + SOUNDS + LAMPS for stem in here & there):
        return True
    if any(stem in SOUNDS for stem in here) and any(stem in SOUNDS for stem in there):
        return True
    lit = any(stem in LAMPS for stem in here) and any(stem in LAMPS for stem in there)
    return lit and all(stem in GENERAL + SOUNDS + LAMPS for stem in there)


def stems_of(complaint: str) -> set[str]:
    found = set()
    for word in words_of(even(complaint)) - OF_RETURNS:
        stem = re.sub(r"(?<=...)(ions|ion|ings|ing|ed|es|s|y|e)$", "", word)
        found.add(re.sub(r"(?<=..)(.)\1$", r"\1", stem))
    return found


def told_of(job: Job) -> list[Job]:
    """What was heard since the handover, without what does not tell how the fix fared."""
    return [
        each
        for each in job.get("contacts", ())
        if each["outcome"] != "not told" and day(each["on"]) >= day(job["closed"])
    ]


def is_early(job: Job, visit: Job) -> bool:
    return day(visit["opened"]) < day(job["closed"])


def may_be_back(job: Job, visit: Job) -> bool:
    """Jobs of one day were booked in together, unless the later one says that it is a return."""
    said = bool(AGAIN.search(visit["complaint"]))
    return visit["opened"] > job["closed"] or (visit["opened"] == job["closed"] and said)


def same_fault_again(job: Job, visit: Job) -> bool:
    if not (same_fault(job, visit) and may_be_back(job, visit)):
        return False
    named = said_of_visit(job, visit)
    return "comeback" in named or (surely_there(job, visit) and not named)


def denied(job: Job, visit: Job) -> bool:
    named = said_of_visit(job, visit)
    again = same_fault(job, visit) and may_be_back(job, visit) and surely_there(job, visit)
    return again and bool(named) and "comeback" not in named


def said_of_visit(job: Job, visit: Job) -> set[str]:
    return {each["outcome"] for each in told_of(job) if each.get("job") == visit["number"]}


def surely_there(job: Job, visit: Job) -> bool:
    places = [bool(each["cause"].get("position")) for each in (job, visit)]
    return soon_after(job, visit) and places[0] == places[1]


def same_fault(job: Job, visit: Job) -> bool:
    if not is_case(visit) or cause_of(visit) != cause_of(job):
        return False
    here, there = (each["cause"].get("position") for each in (job, visit))
    return not (here and there) or even(here) == even(there)


def visits_after(job: Job, jobs: Iterable[Job]) -> list[Job]:
    """Later jobs of the same car, in order; of the day of the handover those of a later number.

    Those opened while the job was open on paper are among them, and what was told of earlier jobs.
    """
    car, closed, opened = car_of(job), day(job["closed"]), day(job["opened"])
    found = [
        each
        for each in jobs
        if car is not None and car_of(each) == car and each is not job and not each.get("void")
        and (
            day(each["opened"]) > closed
            or opened < day(each["opened"]) < closed
            or (day(each["opened"]) == closed and each["number"] > job["number"])
        )
    ]  # fmt: skip
    found += told_of_earlier(job, jobs) if car is not None else []
    return sorted(found, key=lambda each: (each["opened"], each["number"]))


def told_of_earlier(job: Job, jobs: Iterable[Job]) -> list[Job]:
    """Comebacks told of earlier jobs of a car once this one was handed over, as jobs of no cause.

    Each has the complaint of the earlier job, on the day of the one that it names or its own.
    """
    known = {each["number"]: each for each in jobs if car_of(each) == car_of(job)}
    found = []
    for other in known.values():
        if other.get("void") or not other.get("closed"):
            continue
        if (other["closed"], other["number"]) >= (job["closed"], job["number"]):
            continue
        for contact in other["contacts"]:
            named = known.get(contact.get("job"))
            on = min(contact["on"], named["opened"]) if named else contact["on"]
            if contact["outcome"] == "comeback" and on > job["closed"] and named is not job:
                number = named["number"] if named else other["number"]
                told = {"opened": on, "number": number, "told_of": other["number"]}
                told["odometer_km"] = contact.get("odometer_km")
                if told["odometer_km"] is None and named:
                    told["odometer_km"] = named.get("odometer_km")
                found.append({**other, "closed": None, **told})
    return found


Moment = tuple[str, int | None]
"""A day and the odometer then, if it is known."""


def driven(job: Job, moment: Moment) -> int | None:
    """Kilometres since the job; None where none can be believed."""
    day_of_it, odometer = moment
    if odometer is None or job.get("odometer_km") is None:
        return None
    km = int(odometer - job["odometer_km"])
    days = max(0, (day(day_of_it) - day(job["opened"])).days)
    return km if 0 <= km <= MOST_KM_PER_DAY * (1 + days) else None


def pace_of(jobs: Iterable[Job]) -> float:
    """Kilometres a day where no odometer tells them: the median of what contacts tell."""
    paces = []
    for job in filter(is_case, jobs):
        for each in job["contacts"]:
            days = (day(each["on"]) - day(job["closed"])).days
            km = driven(job, (each["on"], each.get("odometer_km")))
            if days > 0 and km is not None:
                paces.append(km / days)
    return float(np.median(paces)) if paces else USUAL_KM_PER_DAY


def last_attempt(job: Job, jobs: Iterable[Job], pace: float | None) -> Attempt:
    """What is known of a fix that cured, and was left on the car."""
    closed = day(job["closed"])
    visits = visits_after(job, jobs)
    if any(
        same_fault(job, each) and not (is_early(job, each) or may_be_back(job, each))
        for each in visits
    ):
        visits = []  # mended once more before it left: the later number tells
    told = told_of(job)

    def since(moment: Moment) -> float:
        days = max(0, (day(moment[0]) - closed).days)
        if pace is None:
            return days
        km = driven(job, moment)
        return days * pace if km is None else km

    def came(each: Job) -> Moment:
        return each["opened"], each.get("odometer_km")

    def heard(outcome: str) -> list[Moment]:
        return [
            (each["on"], each.get("odometer_km")) for each in told if each["outcome"] == outcome
        ]

    def latest(moments: Sequence[Moment]) -> Moment:
        return max(moments, key=lambda each: each[0])

    def broke(back: Moment) -> float:
        """When a fix failed: no sooner than one day, or km, after it was known to be good.

        What an odometer read is not set against distances that are reckoned.
        """
        is_read = pace is None or driven(job, back) is not None
        one = 1 if is_read else pace or 0
        good_until = [
            since(each)
            for each in heard("held")
            if each[0] <= back[0] and (not is_read or pace is None or driven(job, each) is not None)
        ]
        return max(since(back), max(good_until, default=0) + one)

    again = [each["opened"] for each in visits if same_fault_again(job, each)]
    back = [came(each) for each in visits if same_fault_again(job, each)]
    opened = {each["number"]: each["opened"] for each in visits}
    back += [
        (min(each["on"], opened.get(each.get("job"), each["on"])), each.get("odometer_km"))
        for each in told
        if each["outcome"] == "comeback"
    ]
    if back:
        first = min(back, key=lambda each: each[0])
        failed = (Life(broke(first), failed=True),)
        good_on = [job["closed"], *(on for on, _ in heard("held"))]
        again += [
            min(each["on"], opened.get(each["job"], each["on"]))
            for each in told
            if each["outcome"] == "comeback" and each.get("job")
        ]
        undated = first[0] in good_on and first[0] not in again
        return Attempt(True, failed, failed, failed, None, undated=undated)
    asked_after = [(job["closed"], job.get("odometer_km")), *heard("held")]
    seen = [*map(came, visits), *heard("other reason")]
    sure, last = since(latest(asked_after)), since(latest([*asked_after, *seen]))
    against = next((each["number"] for each in visits if denied(job, each)), None)
    good: tuple[Life, ...] = (Life(sure, failed=False),)
    if last > sure:
        good = (Life(last, False, WOULD_TELL), Life(sure, False, 1 - WOULD_TELL))
    for visit in visits:
        early = is_early(job, visit) and (same_fault(job, visit) or same_complaint(job, visit))
        judged = any(
            each.get("job") == visit["number"]
            or (each["on"] == visit["opened"] and not early)
            or (
                not early
                and each["outcome"] == "held"
                and each["on"] >= visit["opened"]
                and not (
                    ("told_of" not in visit or is_case(visit))
                    and (
                        same_fault(job, visit)
                        or same_complaint(job, visit)
                        or (
                            "told_of" not in visit
                            and (not is_case(visit) or said_alike(job, visit))
                        )
                    )
                )
            )
            for each in told
        )
        if not judged and (early or (alike(job, visit) and may_be_back(job, visit))):
            time = since(came(visit))
            asked = [each for each in asked_after if each[0] <= visit["opened"]]
            before = max((since(each) for each in asked), default=0)
            until: tuple[Life, ...] = (Life(min(time, before), failed=False),)
            if before < time:
                rest = Life(before, False, 1 - WOULD_TELL)
                until = (Life(time, False, WOULD_TELL), rest)
            same, number = (Life(broke(came(visit)), failed=True),), visit["number"]
            return Attempt(True, until, same, good, number, against, visit["opened"])
    return Attempt(True, good, good, good, None, against)


def unwritten(
    job: Job, jobs: Iterable[Job], pace: float | None, written: tuple[Life, ...]
) -> Attempt:
    """What is known of the fix left on a car of whose last try nobody wrote how it ended.

    A comeback and a later good word speak; the good word not if the car was back before it.
    """
    found = last_attempt(job, jobs, pace)
    good = [
        each["on"]
        for each in told_of(job)
        if each["outcome"] == "held" and each["on"] > job["closed"]
    ]
    if found.lives[0].failed or any(not found.back or on <= found.back_on for on in good):
        return found
    same = found.if_same if found.back else written
    return found._replace(lives=written, if_same=same, if_other=found.if_other if good else written)


class Made(NamedTuple):
    """A fix of a case: what it was for, how often it was tried, and what is known of it.

    It is `later` known where only what was heard of the car tells; `untold` while nothing does.
    """

    fix: "Fix"
    cause: tuple[str, str, str] | None
    supposed: tuple[str, str, str] | None
    times: int
    known: Attempt | None
    later: bool = False
    untold: Attempt | None = None

    @property
    def back(self) -> int | None:
        told = self.known or self.untold
        return told.back if told else None


def fix_of(told: Job) -> "Fix":
    return told["action"], even(told["component"])


def shows_it_was_there(later: Job) -> bool:
    """Whether a later attempt shows that an earlier one of its job had not cured for good."""
    return later.get("cured") is False or bool(later.get("cured") and not later.get("supposed"))


def attempts_of(job: Job, jobs: Iterable[Job], pace: float | None = None) -> list[Made]:
    """Each fix of a case once, by its last try that tells whether it cured."""
    found: list[Made] = []
    every = job.get("attempts", [])
    for fix in dict.fromkeys(map(fix_of, every)):
        tries = [place for place, each in enumerate(every, 1) if fix_of(each) == fix]
        told = [place for place in tries if every[place - 1].get("cured") is not None]
        place = told[-1] if told else tries[-1]
        each = every[place - 1]
        known: Attempt | None = None
        if each.get("cured") is False:
            failed = (Life(0, failed=True),)
            known = Attempt(False, failed, failed, failed, None)
        elif each.get("cured") and any(map(shows_it_was_there, every[place:])):
            known = None
        elif each.get("cured") and place < len(every):
            left = (Life(0, failed=False),)
            known = Attempt(True, left, left, left, None)
        elif each.get("cured"):
            known = last_attempt(job, jobs, pace)
        is_left, untold = tries[-1] == len(every), None
        if is_left and every[-1].get("cured") is None and each.get("cured") is not False:
            heard = unwritten(job, jobs, pace, known.lives if known else ())
            known, untold = (heard, None) if heard.lives else (None, heard)
        left_for = named(every[-1].get("supposed")) if is_left else None
        made = (left_for or cause_of(job), named(each.get("supposed")), len(tries), known)
        found.append(Made(fix, *made, bool(known) and each.get("cured") is None, untold))
    return found


# The product limit and its interval


Tried = list[tuple[Job, Made]]
"""Job of each time a fix was tried, and what is known of it."""


def once_a_car(tried: Tried) -> tuple[Tried, int]:
    """Leave of each car the first job that tells, and say how many others were left out.

    Of jobs handed over on one day that whose fix failed, else that whose car was good longest.
    """

    def rank(one: tuple[Job, Made]) -> tuple[int, bool, float, int]:
        job, made = one
        assert made.known
        life = made.known.lives[0]
        return -day(job["closed"]).toordinal(), life.failed, life.time, job["number"]

    cars: dict[Any, Tried] = defaultdict(list)
    for job, made in tried:
        if made.known:
            cars[job["one car"]].append((job, made))
    spare = {
        one[0]["number"] for told in cars.values() for one in sorted(told, key=rank)[:-1]
    }  # fmt: skip
    left = [(job, made) for job, made in tried if not made.known or job["number"] not in spare]
    return left, len(tried) - len(left)


class Step(NamedTuple):
    time: float
    at_risk: float
    failed: float


def steps_of(lives: Iterable[Life]) -> list[Step]:
    """Return every time at which something failed, and how many were watched until then."""
    of_time: dict[float, list[Life]] = defaultdict(list)
    for life in lives:
        of_time[life.time].append(life)
    found = []
    at_risk = 0.0
    for time in sorted(of_time, reverse=True):
        at_risk += sum(life.share for life in of_time[time])
        if any(life.failed for life in of_time[time]):
            failed = sum(life.share for life in of_time[time] if life.failed)
            found.append(Step(time, at_risk, failed))
    return found[::-1]


def product_limit(lives: Iterable[Life], horizon: float) -> float:
    return left_after(steps_of(lives), horizon)


def left_after(steps: Iterable[Step], horizon: float) -> float:
    return prod(1 - s.failed / s.at_risk for s in steps if s.time <= horizon)


def interval(lives: Iterable[Life], horizon: float) -> tuple[float, float]:
    """Return the beta product confidence interval between its exact and its mid-p form.

    Fay, Brittain and Proschan (2013), by the method of moments.
    """
    return interval_of(tuple(sorted(lives)), horizon)


@cache
def interval_of(lives: tuple[Life, ...], horizon: float) -> tuple[float, float]:
    if not lives:
        return 0.0, 1.0
    steps = [each for each in steps_of(lives) if each.time <= horizon]
    beyond = sum(life.share for life in lives if life.outlasts(horizon))
    watched = sum(life.share for life in lives if life.failed or life.time > 0)
    lost = watched - beyond - sum(each.failed for each in steps)
    outer = max(0.5, GUARD - GUARD_LOST * lost / max(watched, 1))
    factors = [(each.at_risk - each.failed + 1, each.failed) for each in steps]
    upper = moments(factors) if factors else None
    lower = moments([*factors, (beyond, 1)]) if beyond else None

    def limit(weight: float, chance: float) -> float:
        def below(x: float) -> float:
            low = special.betainc(*lower, x) if lower else 1.0
            high = special.betainc(*upper, x) if upper else 0.0
            return float(weight * low + (1 - weight) * high - chance)

        return float(optimize.brentq(below, 0, 1, xtol=1e-13))

    tail = (1 - CONFIDENCE) / 2
    return (
        limit(outer, tail) if lower else 0.0,
        limit(1 - outer, 1 - tail) if upper else 1.0,
    )


def moments(factors: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Shapes of the beta variable with mean and variance of a product of independent ones."""
    return shapes(
        prod(first_moment(*each) for each in factors),
        prod(second_moment(*each) for each in factors),
    )


@cache
def first_moment(a: float, b: float) -> float:
    return float(stats.beta.mean(a, b))


@cache
def second_moment(a: float, b: float) -> float:
    return float(stats.beta.moment(2, a, b))


def shapes(mean: float, square: float) -> tuple[float, float]:
    spread = square - mean**2
    size = mean * (1 - mean) / spread - 1
    return mean * size, (1 - mean) * size


# What the shop's fixes say of one another


class Stretch(NamedTuple):
    """The kinds of fixes over one stretch of time, and what is learnt of a shop's."""

    cures: tuple[float, ...]
    holds: tuple[float, ...]
    strengths: tuple[float, float]
    edges: tuple[float, ...]
    spread: tuple[float, ...]
    frequent: Floats
    pulls: tuple[float, ...]
    groups: dict[str, Floats]


Fix = tuple[str, str]


def after(lives: Iterable[Life], start: float) -> list[Life]:
    """What is left of the lifetimes that outlast a time, counted from it."""
    if not start:
        return list(lives)
    return [Life(each.time - start, *each[1:]) for each in lives if each.outlasts(start)]


def kinds_told(stretch: Stretch, lives: Iterable[Life]) -> tuple[Floats, Floats, Floats]:
    """Mean, square and log probability of each kind once it has met some lifetimes.

    Between two times at which a lifetime ended the chance to stay good is a beta variable around
    the kind's curve (Ferguson & Phadia, 1979); so is the chance to cure at handover.
    """
    return kinds_by(*stretch[:5], tuple(sorted(lives)))


@cache
def kinds_by(
    cures: tuple[float, ...],
    holds: tuple[float, ...],
    strengths: tuple[float, float],
    edges: tuple[float, ...],
    spread: tuple[float, ...],
    lives: tuple[Life, ...],
) -> tuple[Floats, Floats, Floats]:
    times = sorted({0.0, edges[-1], *(life.time for life in lives if life.time < edges[-1])})
    counts = [
        (
            sum(life.share for life in lives if life.time >= time),
            sum(life.share for life in lives if life.failed and life.time == time),
        )
        for time in times
    ]
    come = np.interp(times, edges, spread).tolist()
    handover = [
        met([(strengths[0] * cure, strengths[0] * (1 - cure))], counts[:1]) for cure in cures
    ]
    after_it = []
    for hold in holds:
        left = [1.0, *(1 - part * (1 - hold) for part in come[1:])]
        steps = [(strengths[1] * now, strengths[1] * (was - now)) for was, now in pairwise(left)]
        after_it.append(met(steps, counts[1:]))
    pairs = list(product(handover or [(1.0, 1.0, 0.0)], after_it))
    return (
        np.array([one[0] * other[0] for one, other in pairs]),
        np.array([one[1] * other[1] for one, other in pairs]),
        np.array([one[2] + other[2] for one, other in pairs]),
    )


def met(
    shapes_of: Iterable[tuple[float, float]], counts: Iterable[tuple[float, float]]
) -> tuple[float, float, float]:
    """Mean, square and log probability of a product of beta variables; at risk and failed."""
    mean = square = 1.0
    log = 0.0
    for (good, bad), (at_risk, failed) in zip(shapes_of, counts, strict=True):
        a, b = good, bad
        if at_risk:
            a, b = good + at_risk - failed, bad + failed
            log += log_beta(a, b) - log_beta(good, bad)
        share = a / (a + b)
        mean *= share
        square *= share * (a + 1) / (a + b + 1)
    return mean, square, log


@cache
def log_beta(a: float, b: float) -> float:
    return float(special.betaln(a, b))


def shared(weights: Floats) -> Floats:
    found: Floats = weights / weights.sum(axis=-1, keepdims=True)
    return found


def levels(fix: Fix) -> tuple[str, str]:
    return fix[0], f"{fix[0]} {fix[1]}"


def belief(stretch: Stretch, fix: Fix, lives: Sequence[Life]) -> tuple[float, float]:
    """Mean and mean square of a fix's chance, by its wider history without its own part in it."""
    mean, square, log = kinds_told(stretch, lives)
    likely = np.exp(log - log.max())
    own = shared(stretch.frequent * likely)
    prior = stretch.frequent
    for name, pull in zip(levels(fix), stretch.pulls, strict=False):
        others = np.maximum(stretch.groups.get(name, own) - own, 0)
        prior = shared(pull * prior + others)
    weights = shared(prior * likely)
    return float(weights @ mean), float(weights @ square)


def learnt(fixes: dict[Any, list[Life]], length: float, cures: tuple[float, ...]) -> Stretch | None:
    """Learn from all fixes of a shop; keys end in the fix. None where they are too few."""
    known = {key: lives for key, lives in fixes.items() if lives}
    if len(known) < LEAST_FIXES:
        return None
    edges = tuple(edge * length for edge in EDGES)
    start = Stretch(cures, HOLDS, (STRENGTH, STRENGTH), edges, spread_of(known, edges), *_NOTHING)
    logs = np.array([kinds_told(start, lives)[2] for lives in known.values()])
    likely = np.exp(logs - logs.max(axis=1, keepdims=True))
    frequent = most_likely(likely)
    own = shared(frequent * likely)
    names = [levels(key[-1]) for key in known]
    totals: list[dict[str, Floats]] = [{}, {}]
    for mine, named in zip(own, names, strict=True):
        for total, name in zip(totals, named, strict=True):
            total[name] = total.get(name, np.zeros(own.shape[1])) + mine
    others = [
        np.array([total[named[n]] for named in names]) - own for n, total in enumerate(totals)
    ]

    def told(pulls: Sequence[float]) -> float:
        prior = np.broadcast_to(frequent, own.shape)
        for pull, group in zip(pulls, others, strict=True):
            prior = shared(pull * prior + group)
        return float(np.log((prior * likely).sum(axis=1)).sum())

    pulls = max(product(PULLS, repeat=2), key=lambda each: (told(each), each))
    groups = {name: row.round(4) for total in totals for name, row in total.items()}
    return start._replace(frequent=frequent, pulls=pulls, groups=groups)


_NOTHING: tuple[Floats, tuple[float, ...], dict[str, Floats]] = (np.ones(1), (), {})


def spread_of(fixes: dict[Any, list[Life]], edges: Sequence[float]) -> tuple[float, ...]:
    """Part of the comebacks that has come by each edge, a tenth of it spread evenly."""
    steps = steps_of(life for lives in fixes.values() for life in lives if life.time > 0)
    left = np.array([left_after(steps, edge) for edge in edges])
    even_part = np.array(edges) / edges[-1]
    seen = (1 - left) / (1 - left[-1]) if left[-1] < 1 else even_part
    return tuple(((1 - EVENLY) * seen + EVENLY * even_part).tolist())


def most_likely(likely: Floats) -> Floats:
    """How frequent kinds are: most probable, with one fix's worth spread over all of them.

    By expectation and maximisation until nothing changes (Laird, 1978), with leaps where they
    make it more probable yet (squared extrapolation: Varadhan & Roland, "Simple and globally
    convergent methods for accelerating the convergence of any EM algorithm", Scandinavian Journal
    of Statistics 35, 2008; from memory). Fixes that are alike are one row with their number.
    """
    fixes, kinds = likely.shape
    rows, alike = np.unique(likely, axis=0, return_counts=True)

    def better(frequent: Floats) -> Floats:
        found: Floats = (alike @ shared(rows * frequent) + 1 / kinds) / (fixes + 1)
        return found

    def probable(frequent: Floats) -> float:
        return float(alike @ np.log(rows @ frequent) + np.log(frequent).mean())

    frequent = np.full(kinds, 1 / kinds)
    for _ in range(MOST_ROUNDS):
        first = better(frequent)
        moved = first - frequent
        if float(np.abs(moved).max()) < 1e-10:
            return first
        second = better(first)
        bent = second - first - moved
        length = float(np.linalg.norm(moved)) / max(float(np.linalg.norm(bent)), 1e-300)
        leap = frequent + 2 * length * moved + length**2 * bent
        if length > 1 and leap.min() > 0 and probable(leap) > probable(second):
            frequent = leap
        else:
            frequent = second
    return frequent


def jeffreys(length: float, cures: tuple[float, ...]) -> Stretch:
    """What is believed where too few fixes speak."""
    return Stretch(cures, (2 / 3,), (1.0, 0.75), (0.0, length), (0.0, 1.0), *_NOTHING)


def stretches(fixes: dict[Any, list[Life]]) -> list[Stretch]:
    """One up to the first horizon, one from there to the next."""
    first = learnt(fixes, HORIZONS[0], CURES)
    rest = HORIZONS[1] - HORIZONS[0]
    if first is None:
        return [jeffreys(HORIZONS[0], (0.75,)), jeffreys(rest, ())]
    later = learnt({key: after(lives, HORIZONS[0]) for key, lives in fixes.items()}, rest, ())
    return [first, later or jeffreys(rest, ())]


# What is said of a fix


def rates(shop: Sequence[Stretch], fix: Fix, told: Sequence[tuple[Life, ...]]) -> list[Job]:
    """Rate and interval at each horizon."""
    lives = [life for each in told for life in each]
    mean, found = 1.0, []
    for start, horizon, stretch in zip((0, *HORIZONS), HORIZONS, shop, strict=False):
        mean *= belief(stretch, fix, after(lives, start))[0]
        known = sum(
            each[0].outlasts(horizon) or (each[0].failed and each[0].time <= horizon)
            for each in told
        )
        watched = any(life.outlasts(horizon) for life in lives)
        failed = sum(life.share for life in lives if life.failed and life.time <= horizon)
        early = sum(life.share for life in lives if not life.failed and life.time < horizon)
        ended = product_limit(lives, horizon) == 0 and failed >= early
        enough = known >= LEAST_KNOWN and (watched or ended)
        found.append({"rate": mean if enough else None, "interval": interval(lives, horizon)})
    return found


def at_horizons(
    shop: Sequence[Stretch], fix: Fix, tried: Tried, relearn: Callable[..., Sequence[Stretch]]
) -> list[Job]:
    known = [made.known for _, made in tried if made.known]
    untold = [made.untold for _, made in tried if made.untold]
    ends = [(job["number"], told) for job, made in tried if (told := made.known or made.untold)]
    plain = rates(shop, fix, [each.lives for each in known])
    judged = not any(each.back for each in (*known, *untold))
    found = []
    for place, horizon in enumerate(HORIZONS):
        cured = [each for each in known if each.cured]
        seen = [each for each in cured if each.lives[0].outlasts(horizon)]
        held = [each for each in seen if all(life.outlasts(horizon) for life in each.lives)]
        failed = [each for each in cured if each.lives[0].failed and each not in seen]
        early = [each for each in cured if each not in seen and each not in failed]
        surely = sum(all(life.outlasts(horizon) for life in each.lives) for each in known)
        bad_surely = sum(
            all(life.failed and life.time <= horizon for life in each.lives) for each in known
        )
        lost = len(known) + len(untold) - surely - bad_surely
        by_then = [bool(each.back) and each.if_same[0].time <= horizon for _, each in ends]
        judge = {(job, fix) for (job, _), back in zip(ends, by_then, strict=True) if back}
        same, other = (
            rates(
                relearn(frozenset(judge), end) if judge else shop,
                fix,
                [
                    supposed
                    for (_, each), back in zip(ends, by_then, strict=True)
                    if (supposed := getattr(each, end) if back else each.lives)
                ],
            )[place]
            for end in ("if_same", "if_other")
        )
        good, bad = Life(horizon, failed=False), Life(0, failed=True)
        worst = [good] * surely + [bad] * (lost + bad_surely)
        best = [good] * (surely + lost) + [bad] * bad_surely
        found.append(
            {
                "horizon": horizon,
                "held": len(held),
                "seen_only": len(seen) - len(held),
                "seen_unjudged": sum(each.back is not None for each in seen if each not in held),
                "back_later": sum(each.lives[0].failed for each in held),
                "back_unjudged": sum(each.back is not None for each in held),
                "comebacks": len(failed),
                "still_good": sum(each.back is None and each.lives[0].time > 0 for each in early),
                "still_seen": sum(
                    not each.back and len(each.lives) == 2 and each.lives[1].time == 0
                    for each in early
                ),
                "unjudged": sum(each.back is not None for each in early),
                "untold_unjudged": sum(
                    bool(each.back) and each.if_same[0].time <= horizon for each in untold
                ),
                **plain[place],
                "ends": (interval(worst, horizon)[0], interval(best, horizon)[1]),
                "lost": lost,
                "if_same": None if judged else same,
                "if_other": None if judged else other,
            }
        )
    return found


def said_of(
    shop: Sequence[Stretch],
    fix: Fix,
    every: Tried,
    mistaken: int,
    relearn: Callable[..., Sequence[Stretch]],
) -> Job:
    """Return all that must be said of one fix: job and what is known of each time."""
    tried, again = once_a_car(every)
    known = [made.known for _, made in tried if made.known is not None]
    cured = [each for each in known if each.cured]
    return {
        "tried": len(known),
        "cured_at_handover": len(cured),
        "unheard": sum(
            each.lives == (Life(0, failed=False),) and each.back is None for each in cured
        ),
        "unknown": len(tried) - len(known),
        "told_later": sum(made.later for _, made in tried),
        "untold": sum(made.untold is not None for _, made in tried),
        "untold_back": sum(bool(made.untold and made.back) for _, made in tried),
        "came_back": sorted(each.lives[0].time for each in cured if each.lives[0].failed),
        "undated": sorted(each.lives[0].time for each in cured if each.undated),
        "unjudged": [
            {"job": job["number"], "visit": made.back} for job, made in tried if made.back
        ],
        "denied": [
            {"job": job["number"], "visit": made.known.denied}
            for job, made in tried
            if made.known and made.known.denied
        ],
        "repeated": sum(made.times > 1 for _, made in tried),
        "mistaken": mistaken,
        "again": again,
        "jobs": list(dict.fromkeys(job["number"] for job, _ in every)),
        "horizons": at_horizons(shop, fix, tried, relearn),
    }


def recount(jobs: Sequence[Job], *, km: bool = False) -> dict[str, dict[str, Job]]:
    """Return what must be said of every fix, by number of a job of its cause, and by its name.

    With `km` in kilometres: what no odometer tells is reckoned for a cause by its own cases, and
    for the wider history by all.
    """
    void = {job["number"] for job in jobs if job.get("void")}
    for job in jobs:  # of a void visit nothing counts but that it was a comeback, by its day
        job["contacts"] = [
            {**each, "job": None} if each.get("job") in void else each
            for each in job.get("contacts", ())
            if each.get("job") not in void or each["outcome"] == "comeback"
        ]
    join_cars(jobs)
    cars: dict[Any, list[Job]] = defaultdict(list)
    for job in jobs:
        cars[car_of(job)].append(job)
    groups: dict[Any, dict[tuple[Fix, bool], Tried]] = defaultdict(lambda: defaultdict(list))
    mistaken: Counter[Any] = Counter()
    first: dict[Any, int] = {}
    about: dict[Any, dict[int, Job]] = defaultdict(dict)
    cases = sorted(filter(is_case, jobs), key=lambda each: each["number"])
    for job in cases:
        supposed = [named(each.get("supposed")) for each in job.get("attempts", ())]
        for cause in {cause_of(job), *supposed}:
            about[cause][job["number"]] = job
    paces = {cause: pace_of(told.values()) if km else None for cause, told in about.items()}
    everywhere = pace_of(cases) if km else None
    wider: dict[Any, dict[tuple[Fix, bool], Tried]] = defaultdict(lambda: defaultdict(list))
    for job in cases:
        first.setdefault(cause_of(job), job["number"])
        never = job.get("reproduced") is False
        of_car = cars[car_of(job)]
        by_all = attempts_of(job, of_car, everywhere)
        for place, made in enumerate(by_all):
            wider[made.cause][made.fix, never].append((job, made))
            by_its_own = attempts_of(job, of_car, paces[made.cause])[place] if km else made
            groups[made.cause][made.fix, never].append((job, by_its_own))
            if made.supposed != made.cause:
                mistaken[made.supposed, made.fix, never] += 1

    @cache
    def learn(judged: frozenset[tuple[int, Fix]] = frozenset(), end: str = "") -> list[Stretch]:
        """Learn from all fixes, with one end supposed of those of some jobs."""
        fixes: dict[Any, list[Life]] = defaultdict(list)
        for cause, of_cause in wider.items():
            for (fix, _), tried in of_cause.items():
                for job, made in once_a_car(tried)[0]:
                    of_it = end if (job["number"], fix) in judged else "lives"
                    told = made.known or made.untold
                    fixes[cause, fix] += getattr(told, of_it) if told else ()
        return stretches(fixes)

    shop = learn()
    return {
        str(first[cause]): {
            f"{fix[0]} {fix[1]}{' never reproduced' if never else ''}": said_of(
                shop, fix, tried, mistaken[cause, fix, never], learn
            )
            for (fix, never), tried in found.items()
        }
        for cause, found in groups.items()
        if cause in first
    }


def tries_of(job: Job, each: Made) -> list[Job]:
    """What was tried of one fix on a job, in that order."""
    return [tried for tried in job.get("attempts", []) if fix_of(tried) == each.fix]


def for_nothing(job: Job, each: Made) -> list[Job]:
    """What of it came back or was in vain: all tries, or those that failed before one cured."""
    tries = tries_of(job, each)
    if each.known and each.known.lives[0].failed:
        return tries
    return [tried for tried in tries if tried.get("cured") is False]


def cured_at_last(job: Job, each: Made) -> bool:
    """Whether it failed at first and cured in the end."""
    told = [cured for tried in tries_of(job, each) if (cured := tried.get("cured")) is not None]
    return bool(told) and told[-1] and not all(told)


def recount_of_all(jobs: Sequence[Job]) -> Job:
    """Return what `kb comebacks` and `kb job follow-up` must say, once `recount` was called."""
    cars: dict[Any, list[Job]] = defaultdict(list)
    for job in jobs:
        cars[car_of(job)].append(job)
    every_made = [
        (job, each) for job in filter(is_case, jobs) for each in attempts_of(job, cars[car_of(job)])
    ]
    made = [(job, each) for job, each in every_made if each.known]
    back = {str(job["number"]): each.back for job, each in every_made if each.back}
    left = [
        (job, each.known)
        for job, each in made
        if each.known and each.known.cured and fix_of(job["attempts"][-1]) == each.fix
    ]
    silent = (Life(0, failed=False),)
    unheard = [job for job, known in left if known.lives == silent and known.back is None]
    vain = [each for _, each in made if each.known and not each.known.cured]
    at_last = sum(cured_at_last(job, each) for job, each in every_made)
    lost = [tried for job, each in every_made for tried in for_nothing(job, each)]
    every, told = (
        {car_of(job) or job["number"] for job in group}
        for group in ([job for job, _ in left], [job for job, _ in left if job not in unheard])
    )
    return {
        "comebacks": {
            "cured": len(left),
            "came_back": sum(known.lives[0].failed for _, known in left),
            "not_judged": len(back),
            "unheard": len(unheard),
            "in_vain": len(vain) + at_last,
            "at_last": at_last,
            "minutes": sum(each.get("minutes") or 0 for each in lost),
            "parts_cost": sum(each.get("parts_cost") or 0 for each in lost),
            "for_another": sum(each.supposed not in {None, each.cause} for each in vain),
        },
        "returns": back,
        "unheard": {"cars": len(every - told), "of_cars": len(every)},
    }


def take_systems(jobs: Iterable[Job], about: dict[str, str | None]) -> None:
    """Give each job that names no system the one it is said to be about; the others keep theirs."""
    for job in jobs:
        taken = about.get(str(job["number"]))
        if job.get("system") is None:
            job["system"] = taken
        elif str(job["number"]) in about and taken != job["system"]:
            raise ValueError(f"job {job['number']} is about {job['system']}, not {taken}")


def main() -> None:
    """Recount the jobs of a file."""
    lines = Path(sys.argv[1]).read_text("utf-8").splitlines()
    jobs = [json.loads(line) for line in lines]
    take_systems(jobs, json.loads(Path(sys.argv[2]).read_text("utf-8")))
    if "km" in sys.argv[3:]:
        global HORIZONS  # noqa: PLW0603
        HORIZONS = HORIZONS_KM
        sys.stdout.write(json.dumps({"fixes": recount(jobs, km=True)}))
        return
    fixes = recount(jobs)
    proved = {str(job["number"]): cause_of(job) for job in jobs if is_case(job)}
    told = {"fixes": fixes, **recount_of_all(jobs), "causes": {n: proved[n] for n in fixes}}
    sys.stdout.write(json.dumps(told))


if __name__ == "__main__":
    main()
