"""Later visits: what may be the same complaint, who has judged it, what is known until then."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import (
    Action,
    Attempt,
    Cause,
    Contact,
    FailureMode,
    Job,
    Outcome,
    System,
    TroubleCode,
    Vehicle,
)
from kb.rates.fixes import FixRate, Revisit, fix_rates
from kb.rates.returns import alike, unjudged
from kb.rates.survival import Lifetime
from kb.rates.trials import trials
from kb.reports.fixes import counts, two_ends
from kb.settings import RateSettings
from tests.job_repairs import JobRepair, repairs_of_jobs

CLOSED = date(2025, 3, 1)
PLUG = Cause(component="seat connector", failure_mode=FailureMode.HIGH_RESISTANCE)
SPRING = Cause(component="clock spring", failure_mode=FailureMode.OPEN)
CLEANED = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
NO_LOW_SPEEDS, ONLY_FAST = "blower dead on speeds 1 to 3", "blower only works on top speed"
"""Of one fault in two customers' words, alike by their system alone."""
SAID = "airbag lamp on after the seat was moved"


def fixed(number: int, *contacts: Contact, **more: Any) -> Job:
    values: dict[str, Any] = {
        "complaint": SAID,
        "attempts": (CLEANED,),
        "cause": PLUG,
        "opened": CLOSED,
    }
    return Job(
        number=number,
        vehicle=Vehicle(ref=f"K{number % 10}"),
        closed=CLOSED,
        contacts=contacts,
        **(values | more),
    )


def later(number: int, day: int, **more: Any) -> Job:
    opened = CLOSED + timedelta(days=day)
    values: dict[str, Any] = {"complaint": SAID, "closed": opened, "cause": SPRING}
    return Job(
        number=number, vehicle=Vehicle(ref=f"K{number % 10}"), opened=opened, **(values | more)
    )


def tyres(number: int, day: int) -> Job:
    return later(number, day, complaint="worn tyres", cause=None, closed=None)


def heard(day: int, outcome: Outcome = Outcome.HELD, job: int | None = None) -> Contact:
    return Contact(on=CLOSED + timedelta(days=day), outcome=outcome, job=job)


def asked(*jobs: Job, would_tell: float = 0.9) -> FixRate:
    plugs = [each for each in repairs_of_jobs(jobs) if each.cause == PLUG.key]
    (found,) = fix_rates(plugs, RateSettings(would_tell=would_tell))
    return found


def returns(*jobs: Job) -> list[int]:
    return [visit.number for visit in unjudged(repairs_of_jobs(jobs)[0])]


FOUR = (
    *(fixed(number) for number in (1, 2, 3, 4)),
    *(later(10 + number, 10) for number in (1, 2, 3, 4)),
    *(tyres(20 + number, 97) for number in (1, 2, 3, 4)),
)


def test_four_cars_that_came_back_with_another_diagnosis_did_not_hold() -> None:
    found = asked(*FOUR)
    assert (found.tried, found.cured_at_handover) == (4, 4)
    assert found.unjudged == tuple(
        Revisit(number, 10 + number, CLOSED + timedelta(days=10)) for number in (1, 2, 3, 4)
    )
    first = found.first
    assert (first.held, first.unjudged, first.comebacks, first.rate) == (0, 4, 0, None)
    assert first.if_same is not None
    assert first.if_other is not None
    # Jeffreys' prior by hand, nothing lost: cured 4 of 4, then 0 of 4 held
    assert first.if_same.rate == pytest.approx((4.75 / 5) * 0.5 / 4.75)
    assert first.if_same.interval.high < 0.6
    assert first.if_other.rate is not None
    assert first.if_other.rate > 0.85


def test_the_two_ends_stand_beside_each_horizon_where_they_differ() -> None:
    held = [fixed(number, heard(400)) for number in (5, 6, 7)]
    told = two_ends(asked(*FOUR[:1], later(11, 10), fixed(2), later(12, 200), *held))
    assert re.fullmatch(
        r"if the one not judged was the same fault .*, for 90 days; "
        r"if the 2 not judged were the same fault .*, for 1 year",
        told,
    )


def test_an_answer_settles_what_they_were() -> None:
    judged = [heard(10, Outcome.COMEBACK, 11), heard(10, Outcome.COMEBACK, 12)]
    jobs = [fixed(1, judged[0]), fixed(2, judged[1]), *FOUR[2:]]
    found = asked(*jobs)
    assert [each.job for each in found.unjudged] == [3, 4]
    assert (found.came_back, found.first.comebacks, found.first.unjudged) == ((10, 10), 2, 2)
    for number in (3, 4):
        jobs[number - 1] = fixed(number, heard(10, Outcome.OTHER_REASON, 10 + number))
    done = asked(*jobs)
    assert (done.unjudged, done.first.held, done.first.comebacks) == ((), 0, 2)
    assert done.first.seen_only == 2  # for tyres on day 97, and nobody said that it was good
    assert done.first.if_same is None


@pytest.mark.parametrize(
    ("told", "held", "seen"),
    [
        ((), 0, 1),
        ((heard(78, Outcome.OTHER_REASON),), 0, 1),
        ((heard(80),), 0, 1),
        ((heard(95),), 1, 0),
    ],
)
def test_a_return_to_be_judged_after_the_horizon_is_no_word_that_it_held(
    told: tuple[Contact, ...], held: int, seen: int
) -> None:
    found = asked(fixed(1, *told), later(11, 160))
    first = found.first
    assert (first.held, first.back_unjudged) == (held, held)
    assert (first.seen_only, first.seen_unjudged) == (seen, seen)
    assert first.unjudged == found.unheard == 0
    assert first.if_same == first.if_other  # it was back after it, whatever it was


@pytest.mark.parametrize(
    ("contact", "settled"),
    [
        (heard(10, Outcome.COMEBACK, 11), True),
        (heard(10, Outcome.OTHER_REASON, 11), True),
        (heard(12, Outcome.OTHER_REASON, 11), True),
        (heard(10, Outcome.OTHER_REASON), True),
        (heard(12, Outcome.HELD, 11), True),
        (heard(12, Outcome.HELD), False),  # the same complaint was mended on day 10
        (heard(40, Outcome.COMEBACK), True),
        (heard(10, Outcome.NOT_TOLD, 11), False),
        (heard(5, Outcome.HELD), False),
        (heard(12, Outcome.OTHER_REASON), False),
    ],
)
def test_who_judges_a_return(contact: Contact, settled: bool) -> None:
    assert returns(fixed(1, contact), later(11, 10)) == ([] if settled else [11])


def test_a_later_held_judges_what_was_for_another_complaint() -> None:
    """Of a job for the same complaint it may speak of what was mended then, or not know of it."""
    other = later(11, 10, complaint="wipers smear and squeak", system=System.RESTRAINTS)
    first = fixed(1, heard(40), system=System.RESTRAINTS)
    assert returns(first, other) == []
    assert returns(first, replace(other, cause=None)) == [11]
    assert returns(replace(first, contacts=()), other) == [11]
    assert returns(first, replace(other, complaint=SAID)) == [11]
    assert returns(first, replace(other, complaint=SAID, cause=None)) == [11]


@pytest.mark.parametrize(
    "said",
    ["airbag lamp on", "the seat was moved", "airbag light, same as in March", "lamp back again"],
)
def test_a_later_held_judges_no_return_for_a_part_of_the_complaint(said: str) -> None:
    back = later(11, 10, complaint=said, cause=None, system=System.RESTRAINTS)
    assert returns(fixed(1, heard(40), system=System.RESTRAINTS), back) == [11]


def test_a_comeback_was_at_the_latest_when_its_own_job_was_opened() -> None:
    jobs = fixed(1, heard(401, Outcome.COMEBACK, 11)), later(11, 31)
    found = next(trials(repairs_of_jobs(jobs), RateSettings()))
    assert found.life is not None
    assert (found.life.time, found.life.failed) == (31, True)
    jobs = fixed(1, heard(20, Outcome.COMEBACK, 11)), later(11, 31)
    found = next(trials(repairs_of_jobs(jobs), RateSettings()))
    assert found.life is not None
    assert found.life.time == 20


def test_the_same_cause_proved_again_is_a_comeback_and_no_question() -> None:
    jobs = fixed(1), later(11, 10), later(21, 30, cause=PLUG)
    assert returns(*jobs) == []
    found = next(trials(repairs_of_jobs(jobs), RateSettings()))
    assert found.life is not None
    assert (found.life.time, found.life.failed) == (30, True)


@pytest.mark.parametrize(
    ("answers", "life"),
    [
        ([heard(30, Outcome.OTHER_REASON, 21)], Lifetime(30, failed=False)),
        ([heard(30, Outcome.HELD, 21)], Lifetime(30, failed=False)),
        ([heard(30, Outcome.OTHER_REASON)], Lifetime(30, failed=True)),
        ([heard(30, Outcome.OTHER_REASON, 31)], Lifetime(30, failed=True)),
        ([heard(31, Outcome.NOT_TOLD, 21)], Lifetime(30, failed=True)),
        (
            [heard(30, Outcome.OTHER_REASON, 21), heard(30, Outcome.COMEBACK, 21)],
            Lifetime(30, failed=True),
        ),
    ],
)
def test_the_same_cause_is_no_comeback_where_an_answer_says_so(
    answers: Sequence[Contact], life: Lifetime
) -> None:
    jobs = fixed(1, *answers), later(21, 30, cause=PLUG)
    found = next(trials(repairs_of_jobs(jobs), RateSettings(would_tell=1)))
    assert (found.life, found.back) == (life, None)


@pytest.mark.parametrize(
    ("here", "there", "same"),
    [
        ({"system": System.RESTRAINTS}, {"system": System.RESTRAINTS, "complaint": "horn"}, True),
        ({"system": System.OTHER}, {"system": System.OTHER, "complaint": "horn"}, False),
        ({}, {"complaint": "horn"}, False),
        ({"codes": ("B1234",)}, {"codes": ("B1299",), "complaint": "horn"}, True),
        ({"codes": ("B1234",)}, {"codes": ("B2234",), "complaint": "horn"}, False),
        ({}, {"complaint": "Airbag lamp on again after seat moved"}, True),
        ({"complaint": "brake lamp on"}, {"complaint": "airbag lamp on"}, False),
        ({"complaint": "noise from the front"}, {"complaint": "noise when cold"}, False),
        ({"complaint": "12 V"}, {"complaint": "12 V"}, False),
        (
            {"complaint": "petrol gauge reads empty with full tank at times"},
            {"complaint": "fuel gauge drops to empty again"},
            True,
        ),
        (
            {"complaint": "petrol gauge reads empty with full tank at times"},
            {"complaint": "fuel gauge drops to empty"},
            False,
        ),
        ({"complaint": "brake lamp on"}, {"complaint": "airbag lamp on again"}, False),
        ({"complaint": "petrol gauge empty"}, {"complaint": "fuel gauge empty"}, True),
        ({"complaint": "smells of diesel"}, {"complaint": "smells of fuel inside"}, True),
        ({"complaint": "gasoline smell"}, {"complaint": "smell of petrol"}, True),
        ({"complaint": "smells of oil"}, {"complaint": "smells of petrol"}, False),
        ({"complaint": NO_LOW_SPEEDS}, {"complaint": ONLY_FAST}, True),
        ({"complaint": NO_LOW_SPEEDS, "system": System.CLIMATE}, {"complaint": ONLY_FAST}, True),
        ({"complaint": NO_LOW_SPEEDS}, {"complaint": ONLY_FAST, "system": System.CLIMATE}, True),
        ({"complaint": NO_LOW_SPEEDS}, {"complaint": ONLY_FAST, "system": System.COOLING}, False),
        ({"complaint": NO_LOW_SPEEDS}, {"complaint": "fit two new front tyres"}, False),
        ({"complaint": "humming from rear, louder"}, {"complaint": "humming again"}, True),
        ({"complaint": "humming from rear, louder"}, {"complaint": "hum from the back"}, True),
        ({"complaint": "humming from rear, louder"}, {"complaint": "noise came back"}, True),
        ({"complaint": "humming from rear, louder"}, {"complaint": "same noise as before"}, True),
        ({"complaint": "knocking from front over bumps"}, {"complaint": "front knocks"}, True),
        ({"complaint": "knocking from front"}, {"complaint": "still clonks at the front"}, True),
        ({"complaint": "brakes squeal when cold"}, {"complaint": "squealing again"}, True),
        ({"complaint": "vibration at 110 km/h"}, {"complaint": "vibrates again"}, True),
        (
            {"complaint": "smells of petrol after filling"},
            {"complaint": "petrol smell again"},
            True,
        ),
        ({"complaint": "ticks"}, {"complaint": "seat connector loose"}, True),
        ({}, {"complaint": "lamp on again, dash"}, True),
        ({}, {"complaint": "Fehler wieder da"}, True),
        ({"complaint": "cuts out when hot"}, {"complaint": "still doing it"}, True),
        ({"complaint": "cuts out when hot"}, {"complaint": "same as in March"}, True),
        ({"complaint": "cuts out when hot"}, {"complaint": "second time now"}, True),
        ({"complaint": "humming from rear"}, {"complaint": "lamp on again"}, False),
        ({"complaint": "humming from rear"}, {"complaint": "annual service"}, False),
    ],
)
def test_what_is_alike(here: dict[str, Any], there: dict[str, Any], same: bool) -> None:
    def with_codes(more: dict[str, Any]) -> dict[str, Any]:
        return more | {"codes": tuple(TroubleCode(code=code) for code in more.get("codes", ()))}

    pair = fixed(1, **with_codes(here)), later(11, 10, **with_codes(there))
    (repair, *_) = repairs_of_jobs(pair)
    assert alike(repair, repair.visits[0]) is same
    assert returns(*pair) == ([11] if same else [])


def test_a_visit_for_something_else_counts_as_far_as_it_would_have_been_told() -> None:
    def lives(would_tell: float) -> list[tuple[float, float]]:
        repairs = repairs_of_jobs([fixed(1, heard(30)), tyres(11, 97)])
        (trial,) = trials(repairs, RateSettings(would_tell=would_tell))
        return [(life.time, life.weight) for life in trial.lives]

    assert lives(0.75) == [(97, 0.75), (30, 0.25)]
    assert lives(1) == [(97, 1)]
    assert lives(0) == [(30, 1)]


def test_a_car_seen_for_something_else_is_told_apart_from_one_asked_after() -> None:
    found = asked(fixed(1, heard(97)), fixed(2), tyres(12, 97), fixed(3), tyres(13, 97))
    assert (found.first.held, found.first.seen_only) == (1, 2)
    assert counts(found) == "cured 3 of 3, 1 held 90 days, 2 only seen after 90 days"
    told = asked(fixed(1, heard(97)), tyres(11, 120))
    assert (told.first.held, told.first.seen_only) == (1, 0)
    early = asked(fixed(1, heard(30)), fixed(2), tyres(12, 30), fixed(3, heard(20)), tyres(13, 40))
    assert (early.first.still_good, early.first.still_seen) == (3, 1)
    sure = asked(*(fixed(n, heard(97)) for n in (1, 2, 3)))
    assert found.first.interval.low < sure.first.interval.low


visits = st.lists(
    st.builds(
        later,
        st.integers(1, 9).map(lambda n: 10 * n + 1),
        st.integers(0, 400),
        complaint=st.sampled_from([SAID, "worn tyres"]),
        cause=st.sampled_from([SPRING, PLUG]),
    ),
    max_size=5,
    unique_by=lambda each: each.number,
)
contacts = st.lists(
    st.builds(
        heard,
        st.integers(0, 400),
        st.sampled_from(Outcome),
        st.none() | st.sampled_from([11, 21, 31]),
    ),
    max_size=3,
)


def first_of(jobs: Sequence[Job]) -> JobRepair:
    return next(each for each in repairs_of_jobs(jobs) if each.number == 1)


@given(visits, contacts)
def test_what_is_known_lies_between_the_two_ends(came: list[Job], told: list[Contact]) -> None:
    repair = first_of([fixed(1, *told), *came])
    (trial,) = trials([repair], RateSettings())
    for lives in (trial.lives, trial.if_same, trial.if_other):
        assert sum(life.weight for life in lives) == pytest.approx(1)
    if trial.back is None:
        assert trial.lives == trial.if_same == trial.if_other
        return
    known, (same,) = trial.lives[0], trial.if_same
    assert (known.failed, same.failed, same.time) == (False, True, known.time)
    assert not any(life.failed for life in trial.if_other)
    assert trial.if_other[0].time >= known.time


@given(visits, contacts, st.sampled_from([90, 365]))
def test_held_is_only_what_was_told_to_be_good(
    came: list[Job], told: list[Contact], horizon: int
) -> None:
    (trial,) = trials([first_of([fixed(1, *told), *came])], RateSettings())
    good = [(each.on - CLOSED).days for each in told if each.outcome is Outcome.HELD]
    if trial.life and not trial.life.failed and trial.surely_outlasts(horizon):
        assert max(good, default=0) >= horizon


@given(visits, contacts)
def test_judging_as_the_same_is_never_the_brighter_end(
    came: list[Job], told: list[Contact]
) -> None:
    jobs = [fixed(1, *told), *came, *(fixed(number) for number in (2, 3, 4))]
    plugs = [each for each in repairs_of_jobs(jobs) if each.cause == PLUG.key]
    for rate in fix_rates(plugs, RateSettings(least_known=1)):
        for at in rate.horizons:
            same, other = at.if_same, at.if_other
            if same and other and same.rate is not None and other.rate is not None:
                assert same.rate <= other.rate
                assert same.interval.low <= other.interval.high


@given(visits, contacts)
def test_judging_a_return_as_another_reason_leaves_the_bright_end(
    came: list[Job], told: list[Contact]
) -> None:
    repair = first_of([fixed(1, *told), *came])
    (trial,) = trials([repair], RateSettings())
    if trial.back is None:
        return
    answers = [
        Contact(on=visit.opened, outcome=Outcome.OTHER_REASON, job=visit.number)
        for visit in unjudged(repair)
    ]
    (after,) = trials([first_of([fixed(1, *told, *answers), *came])], RateSettings())
    assert after.back is None
    assert after.lives == trial.if_other


def test_a_return_on_the_day_of_the_handover_is_to_be_judged() -> None:
    again = later(11, 0, complaint="airbag lamp on again, seat moved")
    assert returns(fixed(1), again) == [11]
    assert returns(fixed(1, heard(0)), again) == []


def test_an_answer_against_the_cause_that_a_visit_proved_counts_and_is_said() -> None:
    came, other = later(11, 31, cause=PLUG), later(11, 31)
    for told in (heard(31, Outcome.OTHER_REASON, job=11), heard(31, Outcome.HELD, job=11)):
        found = asked(fixed(1, told), came)
        assert (found.came_back, found.denied) == ((), (Revisit(1, 11, came.opened),))
        assert not asked(fixed(1, told), other).denied
    assert not asked(fixed(1, heard(31, Outcome.COMEBACK, job=11)), came).denied
    far = later(11, 500, cause=PLUG)
    assert not asked(fixed(1, heard(500, Outcome.OTHER_REASON, job=11)), far).denied


@pytest.mark.parametrize(
    ("more", "back"),
    [
        ({}, True),
        ({"complaint": "horn dead", "cause": PLUG, "closed": CLOSED}, True),
        ({"cause": None}, True),
        ({"complaint": "horn dead", "codes": (TroubleCode(code="B0012"),)}, True),
        ({"complaint": "horn dead", "system": System.RESTRAINTS}, False),
    ],
)
def test_a_visit_before_a_late_handover_is_to_be_judged_as_back_at_once(
    more: dict[str, Any], back: bool
) -> None:
    """Never a comeback unasked, and no later "held" judges it."""
    first = fixed(
        1,
        heard(400),
        opened=CLOSED - timedelta(days=60),
        codes=(TroubleCode(code="B0011"),),
        system=System.RESTRAINTS,
    )
    came = later(11, -30, **more)
    assert returns(first, came) == [11] * back
    (trial,) = trials(repairs_of_jobs([first, came])[:1], RateSettings())
    assert trial.lives[0] == Lifetime(0 if back else 400, failed=False)
    assert trial.if_same == ((Lifetime(1, failed=True),) if back else trial.lives)


def test_a_visit_before_a_late_handover_is_judged_by_an_answer() -> None:
    opened, came = CLOSED - timedelta(days=60), later(11, -30)
    same = fixed(1, heard(0, Outcome.COMEBACK, job=11), opened=opened)
    another = fixed(1, heard(0, Outcome.OTHER_REASON, job=11), heard(400), opened=opened)
    lives = [
        next(trials(repairs_of_jobs([each, came]), RateSettings())) for each in (same, another)
    ]
    assert [each.life for each in lives] == [Lifetime(1, failed=True), Lifetime(400, failed=False)]


def test_jobs_booked_in_together_are_no_returns() -> None:
    assert returns(fixed(1), later(11, 0), later(21, 0)) == []
    assert returns(fixed(1), later(11, 0), later(21, 1)) == [21]


@pytest.mark.parametrize(
    ("day", "places", "sure"),
    [
        (365, (None, None), True),
        (366, (None, None), False),
        (90, ("left front", "left front"), True),
        (90, ("left front", None), False),
        (90, (None, "left front"), False),
    ],
)
def test_the_same_cause_again_is_a_comeback_unasked_only_where_that_is_sure(
    day: int, places: tuple[str | None, str | None], sure: bool
) -> None:
    """An inspection years later may prove the same cause of a part that wears."""
    first, again = (replace(PLUG, position=place) for place in places)
    jobs = [fixed(1, cause=first), later(11, day, complaint="inspection, found bad", cause=again)]
    found = next(trials(repairs_of_jobs(jobs), RateSettings()))
    assert found.life
    assert (found.life.time, found.life.failed) == (day, sure)
    assert (found.back is None) is sure


def test_a_comeback_told_of_an_earlier_job_leaves_the_later_fix_unjudged() -> None:
    told = heard(200, Outcome.COMEBACK)
    first, second = fixed(1, told), later(11, 50, attempts=(CLEANED,))
    _, found = trials(repairs_of_jobs([first, second]), RateSettings())
    assert found.back is not None
    assert (found.back.number, found.back.told_of, found.back.opened) == (1, 1, told.on)
    assert (found.lives, found.if_same) == (
        (Lifetime(150, failed=False, weight=0.9), Lifetime(0, failed=False, weight=1 - 0.9)),
        (Lifetime(150, failed=True),),
    )
    assert found.if_other[0] == Lifetime(150, failed=False, weight=0.9)


@pytest.mark.parametrize(
    ("second", "told"),
    [
        ({"complaint": "worn tyres"}, heard(200, Outcome.COMEBACK)),  # nothing alike
        ({}, heard(200)),  # no comeback
        ({}, heard(50, Outcome.COMEBACK)),  # the second job itself
        ({}, heard(200, Outcome.COMEBACK, job=11)),  # likewise
        ({"contacts": (heard(200, Outcome.OTHER_REASON),)}, heard(200, Outcome.COMEBACK)),
        ({"contacts": (heard(210),)}, heard(200, Outcome.COMEBACK)),
        ({"contacts": (heard(210, Outcome.COMEBACK),)}, heard(200, Outcome.COMEBACK)),
    ],
)
def test_what_is_told_of_an_earlier_job_is_no_return_or_is_judged(
    second: dict[str, Any], told: Contact
) -> None:
    jobs = [fixed(1, told), later(11, 50, **{"attempts": (CLEANED,)} | second)]
    assert list(unjudged(repairs_of_jobs(jobs)[1])) == []


def test_a_comeback_of_an_earlier_job_that_names_a_visit_makes_a_return_of_it() -> None:
    """The visit says nothing alike itself, and is one job, not two."""
    named = later(21, 150, complaint="clonk", cause=None, closed=None)
    jobs = [fixed(1, heard(160, Outcome.COMEBACK, job=21)), later(11, 50, attempts=(CLEANED,))]
    (found,) = unjudged(repairs_of_jobs([*jobs, named])[1])
    assert (found.number, found.told_of, found.opened) == (21, 1, named.opened)
    judged = replace(jobs[1], contacts=(heard(150, Outcome.OTHER_REASON, job=21),))
    assert list(unjudged(repairs_of_jobs([jobs[0], judged, named])[1])) == []


@pytest.mark.parametrize(
    ("words", "told", "settled"),
    [
        ("same as last year", {}, False),
        ("same again", {}, False),
        ("Back again please", {}, False),
        ("as before", {}, False),
        ("still not fixed", {}, False),
        ("car is like before", {}, False),
        ("same again", {"system": System.COOLING}, True),
        ("two tyres as last year", {}, True),
        ("two tyres again", {}, True),
        ("yearly service", {}, True),
    ],
)
def test_words_that_say_again_and_name_no_fault_are_a_return(
    words: str, told: dict[str, Any], settled: bool
) -> None:
    first = fixed(1, system=System.RESTRAINTS)
    repair = JobRepair.of(first, [later(11, 380, complaint=words, cause=None, **told)])
    assert repair is not None
    assert (list(unjudged(repair)) == []) is settled
