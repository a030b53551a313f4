"""Recurring faults from jobs: planted ones are found, once each; luck and one car are not."""

import random
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import gamma

from kb.case import Cause, FailureMode, Job, System, Vehicle
from kb.recurrence.association import Trend
from kb.recurrence.excess import recurring
from kb.recurrence.pattern import AlertLevel, Pattern
from kb.settings import RecurrenceSettings

START = date(2022, 1, 1)
MODELS = [("Corvane", "Lido"), ("Corvane", "Tessel"), ("Sunato", "Kiri"), ("Bramwick", "Dray")]
MODELS += [("Halbrecht", "Ostra"), ("Halbrecht", "Fjell"), ("Sunato", "Haru"), ("Ilmaro", "Tuuli")]
PARTS = ["battery", "wheel bearing", "thermostat", "spark plug", "door lock", "wiper motor"]


def job(number: int, model: tuple[str, str], component: str, day: int = 0, **more: Any) -> Job:
    mode = more.pop("mode", FailureMode.INTERNAL_FAULT)
    ref, year = more.pop("ref", f"K{number}"), more.pop("year", 2015)
    values: dict[str, Any] = {
        "vehicle": Vehicle(make=model[0], model=model[1], year=year, ref=ref),
        "opened": START + timedelta(days=day),
        "closed": START + timedelta(days=day),
        "complaint": "something is wrong",
        "cause": Cause(component=component, failure_mode=mode),
        "system": System.OTHER,
    }
    return Job(number=number, **(values | more))


def background(dice: random.Random, count: int, first: int = 1) -> list[Job]:
    """Jobs in which the fault has nothing to do with the model."""
    return [
        job(number, dice.choice(MODELS), dice.choice(PARTS), dice.randrange(1500))
        for number in range(first, first + count)
    ]


def planted(count: int, model: tuple[str, str], first: int, **more: Any) -> list[Job]:
    return [
        job(first + place, model, "seat connector", 150 * place, **more) for place in range(count)
    ]


def only(jobs: list[Job], **more: Any) -> Pattern:
    (found,) = recurring(jobs, RecurrenceSettings(), **more)
    return found


def shop() -> list[Job]:
    """400 jobs of no interest, and 10 seat connectors of the Lido among 14."""
    dice = random.Random(1)
    jobs = background(dice, 400)
    jobs += planted(10, MODELS[0], 1001, mode=FailureMode.HIGH_RESISTANCE)
    return jobs + [job(2001 + n, MODELS[n % 3 + 1], "seat connector") for n in range(4)]


def test_a_planted_fault_is_found_once_with_its_jobs() -> None:
    found = only(shop())
    assert (found.fault, found.group) == ("seat connector: high resistance", "Corvane Lido")
    assert (found.level, found.observed) == (AlertLevel.ALERT, 10)
    lidos = sum(each.vehicle.model == "Lido" for each in shop())
    assert found.expected == pytest.approx(10 * lidos / 414)
    assert (found.group_vehicles, found.vehicles) == (lidos, 414)
    assert found.jobs == tuple(range(1001, 1011))
    assert found.set_aside == ()
    assert found.at_least < found.times
    assert found.chance < found.false_alarms < 0.05
    assert sum(year.vehicles for year in found.years) == 10


def test_how_sure_the_lower_end_is_is_a_setting() -> None:
    sure, less = (recurring(shop(), RecurrenceSettings(confidence=c))[0] for c in (0.95, 0.8))
    for found, tail in ((sure, 0.025), (less, 0.1)):  # the quantile as scipy.stats has it
        low = gamma.ppf(tail, found.observed + 0.5) / (found.expected + 0.5)
        assert found.at_least == pytest.approx(low)
    assert less.at_least > sure.at_least


def test_one_car_that_comes_again_and_again_is_no_pattern() -> None:
    dice = random.Random(2)
    jobs = background(dice, 200) + planted(10, MODELS[0], 1001, ref="K900")
    assert recurring(jobs, RecurrenceSettings()) == ()


def test_visits_of_one_car_count_once_but_are_all_named() -> None:
    again = job(3001, MODELS[0], "seat connector", 1400, ref="K1001", mode=FailureMode.OPEN)
    found = only([*shop(), again])
    assert found.observed == 10
    assert found.came_again == (1 if found.failure_mode is None else 0)


def test_cars_without_ref_or_vin_count_as_cars_of_their_own() -> None:
    dice = random.Random(3)
    jobs = background(dice, 200) + planted(10, MODELS[0], 1001, ref=None)
    assert only(jobs).observed == 10


def test_two_ways_of_failing_are_one_fact_told_apart() -> None:
    jobs = shop() + planted(8, MODELS[0], 4001, mode=FailureMode.INTERMITTENT)
    found = only(jobs)
    assert (found.failure_mode, found.observed) == (None, 18)
    assert {str(mode.failure_mode): mode.vehicles for mode in found.modes} == {
        "high resistance": 10,
        "intermittent": 8,
    }


def test_one_bad_model_does_not_hide_the_next() -> None:
    jobs = shop() + planted(30, MODELS[0], 4001) + planted(9, MODELS[2], 5001)
    found = recurring(jobs, RecurrenceSettings())
    assert {pattern.group for pattern in found} == {"Corvane Lido", "Sunato Kiri"}
    assert {pattern.set_aside for pattern in found} == {("Corvane Lido",), ("Sunato Kiri",)}


def test_old_cars_are_compared_with_old_cars() -> None:
    """The fault comes with age, and one model happens to be old."""
    dice = random.Random(4)
    jobs = []
    for number in range(1, 601):
        old = dice.random() < 0.3
        model = MODELS[0] if dice.random() < (0.9 if old else 0.1) else MODELS[3]
        part = "seat connector" if old and dice.random() < 0.3 else dice.choice(PARTS)
        jobs.append(job(number, model, part, year=2010 if old else 2020))
    assert recurring(jobs, RecurrenceSettings()) == ()
    unbanded = RecurrenceSettings(year_band=100)
    assert "seat connector" in {pattern.component for pattern in recurring(jobs, unbanded)}


def test_luck_alone_raises_hardly_any_alarm() -> None:
    """Twelve shops of 1,000 jobs where nothing is to be found."""
    alarms = sum(
        len(recurring(background(random.Random(seed), 1000), RecurrenceSettings()))
        for seed in range(12)
    )
    assert alarms <= 2


def test_growth_is_told_against_the_work_of_the_same_years() -> None:
    dice = random.Random(5)
    late = [job(6001 + n, MODELS[3], "seat connector", 1300 + 10 * n) for n in range(12)]
    assert only(background(dice, 400) + late).trend is Trend.RISING
    assert only(shop()).trend is Trend.UNCLEAR


def test_a_part_seen_on_one_model_only_is_said_to_be() -> None:
    dice = random.Random(6)
    jobs = background(dice, 300) + planted(8, MODELS[0], 1001)
    assert only(jobs).only_here
    assert not only(shop() + planted(8, MODELS[0], 4001)).only_here


def test_a_system_narrows_what_is_reported_not_what_it_is_compared_with() -> None:
    jobs = [
        *shop(),
        *planted(9, MODELS[2], 5001, system=System.RESTRAINTS, mode=FailureMode.SHORT_TO_GROUND),
    ]
    assert recurring(jobs, RecurrenceSettings(), system=System.COOLING) == ()
    everything = recurring(jobs, RecurrenceSettings())
    assert recurring(jobs, RecurrenceSettings(), system=System.RESTRAINTS)[0].expected in {
        pattern.expected for pattern in everything
    }


def test_nothing_from_nothing() -> None:
    assert recurring([], RecurrenceSettings()) == ()
    unknown = [job(n, MODELS[0], "relay", vehicle=Vehicle(), cause=None) for n in (1, 2, 3)]
    assert recurring(unknown, RecurrenceSettings()) == ()
    nameless = [job(n, MODELS[0], "relay", vehicle=Vehicle()) for n in (1, 2, 3)]
    assert recurring(nameless, RecurrenceSettings()) == ()


shops = st.lists(
    st.tuples(
        st.sampled_from(MODELS),
        st.sampled_from(PARTS[:2]),
        st.sampled_from(FailureMode),
        st.integers(1, 8),
        st.sampled_from([None, 2008, 2015, 2021]),
    ),
    max_size=40,
)


@given(shops)
def test_counts_fit_together(rows: list[Any]) -> None:
    jobs = [
        job(number, model, part, number, mode=mode, ref=f"{model[1]}{car}", year=year)
        for number, (model, part, mode, car, year) in enumerate(rows, start=1)
    ]
    loose = RecurrenceSettings(watch_level=-5, alert_level=0)
    for found in recurring(jobs, loose):
        assert 3 <= found.observed <= min(found.group_vehicles, found.fault_vehicles)
        assert max(found.group_vehicles, found.fault_vehicles) <= found.vehicles
        assert 0 < found.expected <= min(found.group_vehicles, found.fault_vehicles)
        assert 0 <= found.chance <= 1
        assert found.chance <= found.false_alarms + 1e-12
        assert len(found.jobs) >= found.observed
        assert sum(year.vehicles for year in found.years) == found.observed


def test_two_bad_models_do_not_hide_each_other() -> None:
    """Each alone, with the other among those it is compared with, would not even be watched."""
    dice = random.Random(7)
    jobs = background(dice, 160)
    jobs += planted(11, MODELS[0], 1001) + planted(11, MODELS[2], 2001)
    found = recurring(jobs, RecurrenceSettings())
    assert {pattern.group for pattern in found} == {"Corvane Lido", "Sunato Kiri"}
    assert recurring(jobs, RecurrenceSettings(suspect_level=9.0)) == ()
