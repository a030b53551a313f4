"""Lifetimes from repairs, whatever was written down of them; see also test_fixes."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Outcome, Vehicle
from kb.rates.trials import Clock, Silence, Trial, trials
from kb.settings import RateSettings
from tests.job_repairs import repairs_of_jobs

DAY = date(2025, 3, 1)
TODAY = DAY + timedelta(days=400)
attempts = st.builds(
    Attempt,
    action=st.sampled_from([Action.CLEANED, Action.REPLACED]),
    component=st.just("plug"),
    cured=st.none() | st.booleans(),
)
contacts = st.builds(
    Contact,
    on=st.dates(DAY - timedelta(days=50), TODAY),
    outcome=st.sampled_from(Outcome),
    odometer_km=st.none() | st.integers(0, 200_000),
)


def visit(
    number: int,
    car: int,
    opened: int,
    km: int | None,
    tried: Sequence[Attempt] = (),
    heard: Sequence[Contact] = (),
    position: str | None = None,
) -> Job:
    day = DAY + timedelta(days=opened)
    return Job(
        number=number,
        vehicle=Vehicle(ref=f"K{car}"),
        opened=day,
        closed=day,
        complaint="lamp on",
        odometer_km=km,
        cause=Cause(component="plug", position=position, failure_mode=FailureMode.OPEN),
        attempts=tuple(tried),
        contacts=tuple(heard),
    )


def counted(
    jobs: Sequence[Job], clock: Clock = Clock.DAYS, silence: Silence | None = None
) -> list[Trial]:
    return list(trials(repairs_of_jobs(jobs), RateSettings(), clock, silence))


shops = st.lists(
    st.builds(
        visit,
        st.integers(1, 99),
        st.integers(1, 3),
        st.integers(0, 300),
        st.none() | st.integers(0, 200_000),
        st.lists(attempts, max_size=3),
        st.lists(contacts, max_size=3),
    ),
    max_size=8,
    unique_by=lambda each: each.number,
)


def lives(found: list[Trial]) -> list[tuple[float, bool] | None]:
    return [(each.life.time, each.life.failed) if each.life else None for each in found]


@given(shops)
def test_every_attempt_is_one_trial_on_either_clock(shop: list[Job]) -> None:
    days, km = counted(shop), counted(shop, Clock.KM)
    assert len(days) == len(km) == sum(len(each.attempts) for each in shop)
    overtaken = [
        any(later.cured is False for later in each.attempts[place:])
        for each in shop
        for place in range(1, len(each.attempts) + 1)
    ]
    for by_day, by_km, later in zip(days, km, overtaken, strict=True):
        cured = by_day.tried.cured
        assert (by_day.life is None) == (cured is None or (cured and later))
        assert (by_km.life is None) == (by_day.life is None)
        if by_day.life and by_km.life:
            assert by_day.life.failed == by_km.life.failed


@given(shops)
def test_silence_never_makes_a_failure_nor_shortens_a_life(shop: list[Job]) -> None:
    plain = lives(counted(shop))
    silent = lives(counted(shop, silence=Silence(100, TODAY)))
    for before, after in zip(plain, silent, strict=True):
        if before is None or after is None or before[1]:
            assert after == before
        else:
            assert after[0] >= before[0]
            assert not after[1]


@given(shops)
def test_a_contact_that_does_not_tell_counts_for_nothing(shop: list[Job]) -> None:
    def told(job: Job) -> Job:
        heard = [each for each in job.contacts if each.outcome is not Outcome.NOT_TOLD]
        return replace(job, contacts=tuple(heard))

    assert counted(shop) == counted([told(each) for each in shop])


@given(shops)
def test_the_order_of_repairs_changes_nothing(shop: list[Job]) -> None:
    def told(each: Trial) -> str:
        return repr((each.job, each.tried, each.life))

    assert sorted(map(told, counted(shop))) == sorted(map(told, counted(shop[::-1])))


@pytest.mark.parametrize(
    ("here", "there", "came_back"),
    [
        ("left front", "left front", True),
        ("left front", "right front", False),
        (None, "right front", True),
        ("left front", None, True),
        (None, None, True),
    ],
)
def test_the_same_cause_comes_back_unless_it_is_at_another_place(
    here: str | None, there: str | None, came_back: bool
) -> None:
    cured = Attempt(action=Action.CLEANED, component="plug", cured=True)
    pair = [
        visit(1, 1, 0, None, [cured], [], here),
        visit(2, 1, 30, None, [cured], [], there),
    ]
    first = counted(pair)[0]
    assert lives([first]) == [(30, came_back)]
    assert (first.back is None) is came_back  # at another place: like words, to be judged


def test_one_of_two_jobs_of_the_same_day_came_back_the_other_not() -> None:
    cured = Attempt(action=Action.CLEANED, component="plug", cured=True)
    pair = [visit(n, 1, 0, None, [cured]) for n in (1, 2)]
    assert lives(counted(pair)) == [(0, True), (0, False)]
