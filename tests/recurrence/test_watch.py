"""A chosen fact looked at every week: an excess is told once it is sure, luck hardly ever."""

import random
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from kb.case import Cause, FailureMode, Job, TroubleCode, Vehicle
from kb.recurrence.watch import Course, WatchedFact, courses, grown
from kb.settings import RecurrenceSettings

SETTINGS = RecurrenceSettings()
START = date(2023, 1, 1)
BEGIN = date(2024, 1, 1)
MODELS = (("Corvane", "Lido"), ("Sunato", "Kiri"), ("Bramwick", "Dray"), ("Halbrecht", "Ostra"))
CONNECTOR = Cause(
    component="seat connector", location="under seat", failure_mode=FailureMode.HIGH_RESISTANCE
)
BATTERY = Cause(component="battery", failure_mode=FailureMode.INTERNAL_FAULT)
LIDO = WatchedFact(component="seat connector", location="Under Seat", make="Corvane", model="Lido")


def shop(seed: int, times: float = 1.0, jobs: int = 800) -> list[Job]:
    """Two years of jobs; from `BEGIN` on the fault befalls a Lido so many times as often."""
    dice = random.Random(seed)
    made = []
    for number in range(1, jobs + 1):
        day = START + timedelta(days=number * 720 // jobs)
        make, model = dice.choice(MODELS)
        rate = 0.04 * (times if (model, day >= BEGIN) == ("Lido", True) else 1)
        made.append(
            Job(
                number=number,
                vehicle=Vehicle(make=make, model=model, ref=f"{model}{dice.randrange(jobs)}"),
                opened=day,
                closed=day,
                complaint="lamp on",
                cause=CONNECTOR if dice.random() < rate else BATTERY,
                codes=(TroubleCode(code="B1201", failure_type="1A"),) if number % 7 == 0 else (),
            )
        )
    return made


def followed(jobs: Iterable[Job], watched: WatchedFact = LIDO, chance: float = 0.1) -> Course:
    ((_, course),) = courses(list(jobs), watched, BEGIN, SETTINGS, chance=chance)
    return course


def test_luck_is_told_no_more_often_than_asked_for() -> None:
    chance, shops = 0.2, 60
    told = sum(followed(shop(seed), chance=chance).crossed is not None for seed in range(shops))
    assert told <= binom.ppf(0.999, shops, chance)


def test_four_times_as_often_is_told_within_the_year() -> None:
    found = [followed(shop(seed, times=4)) for seed in range(100, 112)]
    assert sum(each.crossed is not None for each in found) >= 9
    for each in found:
        if each.crossed:
            assert each.since == BEGIN <= each.crossed
            assert each.hits >= SETTINGS.least_vehicles
            assert each.hits > each.expected
            assert each.reached >= each.critical


def test_what_came_before_the_watch_does_not_count() -> None:
    early = [replace(job, cause=BATTERY) if job.opened >= BEGIN else job for job in shop(1, 9)]
    assert followed(early).tried == 0


def test_a_smaller_chance_asks_for_more() -> None:
    jobs = shop(3)
    assert followed(jobs, chance=0.01).critical > followed(jobs, chance=0.2).critical


@pytest.mark.parametrize("order", [1, -1])
def test_the_order_of_the_jobs_does_not_matter(order: int) -> None:
    assert followed(shop(4, 4)[::order]) == followed(shop(4, 4))


def test_one_car_counts_once() -> None:
    jobs = [
        replace(job, vehicle=replace(job.vehicle, ref="always the same"))
        if job.cause == CONNECTOR and job.vehicle.model == "Lido" and job.opened >= BEGIN
        else job
        for job in shop(5, 8)
    ]
    course = followed(jobs)
    assert course.hits <= 1
    assert course.crossed is None


def test_what_is_left_open_is_followed_one_by_one_and_shares_the_chance() -> None:
    jobs = shop(6, 6)
    anywhere = courses(jobs, WatchedFact(component="seat connector"), BEGIN, SETTINGS, chance=0.1)
    assert {fact.model for fact, _ in anywhere} == {model for _, model in MODELS}
    assert {course.chance for _, course in anywhere} == {0.1 / 4}
    assert [fact.model for fact, course in anywhere if course.crossed] == ["Lido"]
    anything = courses(jobs, WatchedFact(make="Corvane", model="Lido"), BEGIN, SETTINGS, chance=0.1)
    assert {fact.component for fact, _ in anything} == {"seat connector", "battery"}
    assert "seat connector" in {fact.component for fact, course in anything if course.crossed}


@pytest.mark.parametrize("code", ["B1201", "B1201-1A"])
def test_a_code_is_a_fact_too(code: str) -> None:
    found = courses(shop(7), WatchedFact(code=code), BEGIN, SETTINGS, chance=0.1)
    assert sum(course.hits for _, course in found) > 20
    assert not courses(shop(7), WatchedFact(code="B9999"), BEGIN, SETTINGS, chance=0.1)


def test_nothing_to_look_at_tells_nothing() -> None:
    assert courses([], LIDO, BEGIN, SETTINGS, chance=0.1) == []


def test_a_fact_of_an_earlier_year_of_watching_stays_told() -> None:
    quiet = [
        replace(job, number=9000 + place, opened=day, closed=day)
        for place, job in enumerate(shop(8)[:40])
        if job.cause == BATTERY
        for day in [BEGIN + timedelta(days=400 + place)]
    ]
    jobs = shop(8, 6)
    crossed = followed(jobs).crossed
    assert crossed is not None
    assert followed([*jobs, *quiet]).crossed == crossed


def lidos(count: int, hits: int, first: int, after: int = 0) -> list[Job]:
    """So many Lidos a day apart from a day after the beginning, the first ones with the fault."""
    return [
        Job(
            number=first + n,
            vehicle=Vehicle(make="Corvane", model="Lido", ref=f"G{first + n}"),
            opened=BEGIN + timedelta(days=after),
            closed=BEGIN + timedelta(days=after),
            complaint="lamp on",
            cause=CONNECTOR if n < hits else BATTERY,
        )
        for n in range(count)
    ]


cars = st.tuples(st.integers(1, 40), st.integers(0, 40)).map(lambda pair: (max(pair), min(pair)))


@given(cars, cars)
def test_growth_is_judged_by_the_conditional_test_of_two_rates(
    early: tuple[int, int], late: tuple[int, int]
) -> None:
    """scipy's binomial test, once with and once without just so many counted, is the mid-p."""
    jobs = lidos(*early, first=1, after=-200) + lidos(*late, first=1001, after=20)
    found = grown(jobs, LIDO, BEGIN, SETTINGS)
    assert (found.before, found.after) == (early[1], late[1])
    assert found.expected == pytest.approx(late[0] * early[1] / early[0])
    share, every = late[0] / (early[0] + late[0]), early[1] + late[1]
    if every:
        upper = binomtest(late[1], every, share, alternative="greater").pvalue
        more = binom.sf(late[1], every, share)
        assert found.chance == pytest.approx((upper + more) / 2)


def test_what_came_long_before_is_no_yardstick_and_a_car_counts_once() -> None:
    long_ago = lidos(40, 40, first=1, after=-1000)
    now = lidos(10, 5, first=1001, after=20)
    assert grown(long_ago + now, LIDO, BEGIN, SETTINGS).before == 0
    again = [
        replace(
            job,
            number=(job.number or 0) + 5000,
            opened=job.opened + timedelta(days=9),
            closed=job.opened + timedelta(days=9),
        )
        for job in now
    ]
    assert grown(now + again, LIDO, BEGIN, SETTINGS).after == 5


def test_visits_that_nothing_tells_apart_are_one_car_to_the_rule() -> None:
    """Nine visits without tag and odometer, in a year, of a part nobody else had."""
    odd = replace(CONNECTOR, component="sun visor", location=None)
    visits = [
        replace(
            job,
            number=9000 + n,
            opened=BEGIN + timedelta(days=20 * n),
            closed=BEGIN + timedelta(days=20 * n),
            cause=odd,
            vehicle=Vehicle(make="Corvane", model="Lido", ref=ref),
        )
        for n, (job, ref) in enumerate((job, None) for job in shop(1)[:9])
    ]
    visor = WatchedFact(component="sun visor", make="Corvane", model="Lido")
    others = [job for job in shop(2) if job.vehicle.model != "Lido"] + shop(2)[:50]
    assert followed([*others, *visits], visor).crossed is None
    tagged = [replace(job, vehicle=replace(job.vehicle, ref=f"V{job.number}")) for job in visits]
    assert followed([*others, *tagged], visor).crossed is not None
