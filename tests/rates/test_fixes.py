"""Fix rates from jobs: what counts as held, as a comeback, as nothing known."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Outcome, Vehicle
from kb.errors import Notice
from kb.rates.fixes import FixCurve, FixRate, chance_better, fix_rates, fixes, standing
from kb.rates.shrinkage import Posterior
from kb.rates.survival import Lifetime, product_limit
from kb.rates.trials import Clock, Silence
from kb.settings import RateSettings
from tests.job_repairs import JobRepair, repairs_of_jobs

HORIZON, YEAR = RateSettings().horizons_days
CLOSED = date(2025, 3, 1)
PLUG = Cause(
    component="seat connector", location="under seat", failure_mode=FailureMode.HIGH_RESISTANCE
)


def attempt(cured: bool | None = True, action: Action = Action.CLEANED, **more: Any) -> Attempt:
    return Attempt(action=action, component="seat connector", cured=cured, **more)


def contact(day: int, outcome: Outcome = Outcome.HELD) -> Contact:
    return Contact(on=CLOSED + timedelta(days=day), outcome=outcome)


def job(number: int, *attempts: Attempt, contacts: tuple[Contact, ...] = (), **more: Any) -> Job:
    values: dict[str, Any] = {
        "vehicle": Vehicle(make="Corvane", model="Lido", ref=f"K{number:03}"),
        "opened": CLOSED - timedelta(days=1),
        "complaint": "airbag lamp on",
        "closed": CLOSED,
        "cause": PLUG,
    }
    return Job(number=number, attempts=attempts, contacts=contacts, **(values | more))


def tyres(number: int, day: int) -> Job:
    """A later visit of the car of job `number` for something else."""
    return Job(
        number=number + 100,
        vehicle=Vehicle(ref=f"K{number:03}"),
        opened=CLOSED + timedelta(days=day),
        complaint="worn tyres",
    )


def rated(*jobs: Job) -> tuple[FixRate, ...]:
    return fix_rates(repairs_of_jobs(jobs), RateSettings())


def only(*jobs: Job) -> FixRate:
    (found,) = rated(*jobs)
    return found


def test_three_of_three_never_heard_of_again() -> None:
    fix = only(*(job(n, attempt()) for n in (1, 2, 3)))
    assert (fix.tried, fix.cured_at_handover, fix.unheard, fix.first.held) == (3, 3, 3, 0)
    assert fix.first.rate is None
    assert (fix.first.interval.low, fix.first.interval.high) == (0, 1)
    assert fix.notices == (Notice.NO_FOLLOW_UP,)


def test_all_followed_to_the_horizon_rest_on_the_plain_counts() -> None:
    held = [job(n, attempt(), contacts=(contact(HORIZON),)) for n in (1, 2, 3)]
    fix = only(*held, job(4, attempt(cured=False)))
    assert (fix.tried, fix.first.held) == (4, 3)
    # Jeffreys' prior: half a success and half a failure more
    assert fix.first.rate == pytest.approx(3.5 / 5)
    assert fix.first.interval.low < 0.3 < 0.95 < fix.first.interval.high
    assert fix.notices == ()


def test_a_fault_that_was_never_reproduced_is_counted_apart() -> None:
    seen = [job(n, attempt(), contacts=(contact(HORIZON),)) for n in (1, 2, 3)]
    guessed = [job(n, attempt(), reproduced=False) for n in (4, 5)]
    plain, apart = rated(*guessed, *seen)
    assert (plain.label, plain.tried, plain.first.held) == ("cleaned seat connector", 3, 3)
    assert apart.label == "cleaned seat connector (fault never reproduced)"
    assert (apart.never_reproduced, apart.tried, apart.jobs) == (True, 2, (4, 5))


def test_a_comeback_counts_on_its_day() -> None:
    back = job(1, attempt(), contacts=(contact(20), contact(40, Outcome.COMEBACK)))
    late = job(2, attempt(), contacts=(contact(HORIZON + 1, Outcome.COMEBACK),))
    fix = only(back, late, job(3, attempt(), contacts=(contact(30),)))
    assert (fix.first.comebacks, fix.first.held, fix.first.still_good) == (1, 1, 1)
    assert fix.first.rate is None  # two fates of three are known at the horizon
    assert fix.notices == (Notice.FEW_FOLLOWED,)


def test_one_late_failure_does_not_speak_for_all_that_were_watched_less_long() -> None:
    held = [job(n, attempt(), contacts=(contact(HORIZON - 5),)) for n in range(1, 7)]
    late = job(7, attempt(), contacts=(contact(HORIZON - 1, Outcome.COMEBACK),))
    assert only(*held, late).first.rate is None
    back = [job(n, attempt(), contacts=(contact(9, Outcome.COMEBACK),)) for n in range(1, 5)]
    assert only(*back).first.rate is not None
    assert only(*back, job(5, attempt()), job(6, attempt())).first.rate is not None


def test_what_was_overtaken_in_vain_on_its_job_is_not_told_to_have_cured() -> None:
    fix, failed = rated(job(1, attempt(), attempt(False, Action.REPLACED)))
    if fix.action is Action.REPLACED:
        fix, failed = failed, fix
    assert (fix.tried, fix.unknown) == (0, 1)
    assert (failed.tried, failed.cured_at_handover) == (1, 0)


def test_a_job_reopened_the_same_day_is_a_comeback() -> None:
    fix = only(job(1, attempt(), contacts=(contact(0, Outcome.COMEBACK),)))
    assert (fix.cured_at_handover, fix.first.comebacks, fix.unheard) == (1, 1, 0)


def test_good_news_dated_before_the_handover_tells_nothing() -> None:
    assert only(job(1, attempt(), contacts=(contact(-5),))).unheard == 1


def test_any_later_visit_means_heard_of() -> None:
    fix = only(job(1, attempt()), tyres(1, HORIZON))
    assert (fix.first.held, fix.first.seen_only, fix.unheard) == (0, 1, 0)


def test_the_same_fault_of_the_same_car_is_a_comeback_though_not_linked() -> None:
    car = Vehicle(ref="K001")
    day = CLOSED + timedelta(days=30)
    first = job(1, attempt(), vehicle=car)
    again = job(2, attempt(), vehicle=car, opened=day, closed=day)
    fix = only(first, again)
    assert (fix.first.comebacks, fix.unheard, fix.again) == (1, 0, 1)


def test_the_same_fault_on_the_other_side_is_no_comeback() -> None:
    car = Vehicle(ref="K001")
    day = CLOSED + timedelta(days=30)
    left, right = (
        Cause(component=PLUG.component, failure_mode=PLUG.failure_mode, position=side)
        for side in ("left front", "right front")
    )
    first = job(1, attempt(), vehicle=car, cause=left)
    other = job(2, attempt(), vehicle=car, cause=right, opened=day, closed=day)
    assert only(first, other).first.comebacks == 0


def test_two_cars_without_ref_or_vin_are_two_cars() -> None:
    day = CLOSED + timedelta(days=30)
    first = job(1, attempt(), vehicle=Vehicle(make="Corvane"))
    other = job(2, attempt(), vehicle=Vehicle(make="Corvane"), opened=day, closed=day)
    assert only(first, other).first.comebacks == 0


def test_what_came_later_is_the_doing_of_the_last_attempt() -> None:
    tried = (attempt(action=Action.RESEATED), attempt(action=Action.CLEANED))
    found = rated(job(1, *tried, contacts=(contact(30, Outcome.COMEBACK),)))
    comebacks = {fix.action: fix.first.comebacks for fix in found}
    assert comebacks == {Action.CLEANED: 1, Action.RESEATED: 0}


def test_a_car_counts_once_by_the_first_of_its_jobs() -> None:
    """Twelve jobs of one car are no twelve proofs: rate and bracket are those of one."""
    car = Vehicle(ref="K001")
    days = [CLOSED + timedelta(days=100 * n) for n in range(12)]
    jobs = [job(n, attempt(), vehicle=car, opened=day, closed=day) for n, day in enumerate(days, 1)]
    every, first = only(*jobs), only(*jobs[:2])
    assert (every.tried, every.again, every.came_back) == (1, 11, (100,))
    assert every.jobs == tuple(range(1, 13))
    assert every.horizons == first.horizons
    strange = [replace(each, vehicle=Vehicle(make="Corvane")) for each in jobs]
    assert (only(*strange).tried, only(*strange).again) == (12, 0)


def test_of_two_fixes_that_cured_one_job_the_earlier_is_not_told() -> None:
    tried = (attempt(action=Action.CLEANED), attempt(action=Action.REPLACED))
    found = rated(*(job(n, *tried, contacts=(contact(400),)) for n in range(1, 13)))
    counts = {fix.action: (fix.tried, fix.unknown, fix.first.held) for fix in found}
    assert counts == {Action.REPLACED: (12, 0, 12), Action.CLEANED: (0, 12, 0)}


def test_what_was_tried_more_than_once_on_a_job_is_told() -> None:
    twice = job(1, attempt(False), attempt(), contacts=(contact(HORIZON),))
    fix = only(twice, job(2, attempt()))
    assert (fix.tried, fix.cured_at_handover, fix.repeated, fix.jobs) == (2, 2, 1, (1, 2))


def test_a_wrong_diagnosis_counts_against_the_fix_as_it_was_tried() -> None:
    supposed = Cause(component="clock spring", failure_mode=FailureMode.OPEN)
    wrong = Attempt(action=Action.REPLACED, component="clock spring", cured=True, supposed=supposed)
    rewritten = job(1, wrong, contacts=(contact(9, Outcome.COMEBACK),))
    found_out = job(2, replace(wrong, cured=False), attempt())
    right = job(3, replace(wrong, supposed=None), cause=supposed)
    repairs = repairs_of_jobs([rewritten, found_out, right])
    (fix,) = fix_rates(repairs, RateSettings(), cause=supposed.key)
    assert (fix.tried, fix.first.comebacks, fix.mistaken) == (2, 1, 1)
    plugs = {each.label: each for each in fix_rates(repairs, RateSettings(), cause=PLUG.key)}
    assert plugs["replaced clock spring"].jobs == (2,)


def test_an_unwritten_handover_is_left_out_and_counted() -> None:
    fix = only(job(1, attempt(cured=None)))
    assert (fix.tried, fix.unknown, fix.untold, fix.first.rate) == (0, 1, 1, None)
    assert fix.notices == (Notice.HANDOVER_UNKNOWN,)


def test_a_comeback_or_a_hold_tells_what_nobody_wrote_down() -> None:
    back = job(1, attempt(cured=None), contacts=(contact(30, Outcome.COMEBACK),))
    held = job(2, attempt(cured=None), contacts=(contact(HORIZON),))
    fix = only(back, held, job(3, attempt(cured=None)), tyres(3, 40), job(4, attempt(False)))
    assert (fix.tried, fix.cured_at_handover, fix.told_later) == (3, 2, 2)
    assert (fix.unknown, fix.untold, fix.came_back) == (1, 1, (30,))
    assert (fix.first.held, fix.first.comebacks) == (1, 1)
    written = only(
        *(replace(each, attempts=(attempt(),)) for each in (back, held)), job(4, attempt(False))
    )
    assert fix.first.rate == written.first.rate
    assert fix.first.interval == written.first.interval


def test_cars_of_which_nobody_wrote_it_down_may_have_fared_either_way() -> None:
    """Only what came back is heard of: the outer ends count those that would not be."""
    back = [
        job(n, attempt(cured=None), contacts=(contact(9 + n, Outcome.COMEBACK),)) for n in (1, 2, 3)
    ]
    silent = [job(n, attempt(cured=None)) for n in range(4, 10)]
    fix = only(*back, *silent)
    assert (fix.tried, fix.untold, fix.first.lost) == (3, 6, 6)
    assert fix.first.interval.high < 0.7 < 0.85 < fix.first.ends.high


def test_a_return_after_an_unwritten_cure_has_two_ends() -> None:
    held = [job(n, attempt(), contacts=(contact(HORIZON),)) for n in (1, 2, 3)]
    untold, back = job(4, attempt(cured=None)), replace(tyres(4, 20), complaint="airbag lamp on")
    fix = only(*held, untold, back)
    assert (fix.unknown, fix.untold_back, len(fix.unjudged)) == (1, 1, 1)
    assert (fix.first.unjudged, fix.first.untold_unjudged, fix.tried) == (0, 1, 3)
    told = contact(20, Outcome.COMEBACK), contact(20, Outcome.OTHER_REASON)
    same, other = (only(*held, replace(untold, contacts=(each,)), back) for each in told)
    assert fix.first.if_same is not None
    assert fix.first.if_other is not None
    assert fix.first.if_same.rate == same.first.rate
    assert fix.first.if_other.rate == other.first.rate == fix.first.rate


def test_one_repair_is_said_to_be_one() -> None:
    assert Notice.ONE_REPAIR in only(job(1, attempt(), contacts=(contact(200),))).notices


def test_proved_fixes_come_before_lucky_ones() -> None:
    followed = [
        job(n, attempt(action=Action.REPLACED), contacts=(contact(120),)) for n in range(1, 9)
    ]
    failed = job(9, attempt(cured=False, action=Action.REPLACED))
    lucky = job(10, attempt(action=Action.RESEATED), contacts=(contact(120),))
    useless = job(11, attempt(cured=False, action=Action.CLEARED))
    found = rated(*followed, failed, lucky, useless)
    order = [fix.action for fix in found]
    assert order == [Action.REPLACED, Action.RESEATED, Action.CLEARED]


def test_of_two_as_likely_to_hold_the_better_proved_is_first() -> None:
    assert standing(Posterior(90, 10)) > standing(Posterior(9, 1))


def test_a_fix_that_never_cured_is_behind_one_of_which_nothing_is_told() -> None:
    untold = job(1, attempt(cured=None))
    vain = job(2, attempt(cured=False, action=Action.REPLACED))
    assert [fix.action for fix in rated(untold, vain)] == [Action.CLEANED, Action.REPLACED]


def test_words_times_and_costs_are_the_usual_ones() -> None:
    fix = only(
        job(1, attempt(words="cleaned pins", minutes=30, parts_cost=2.0)),
        job(2, attempt(words="contact cleaner", minutes=40)),
        job(3, attempt(words="contact cleaner", minutes=80)),
    )
    assert (fix.label, fix.words) == ("cleaned seat connector", "contact cleaner")
    assert (fix.minutes, fix.parts_cost, fix.jobs) == (40, 2.0, (1, 2, 3))


def test_no_jobs_have_no_fixes_and_open_jobs_do_not_count() -> None:
    assert fix_rates([], RateSettings()) == ()
    assert JobRepair.of(job(1, attempt(), closed=None)) is None
    assert JobRepair.of(job(1, attempt(), cause=None)) is None


def test_a_job_opened_again_on_the_day_of_handover_is_a_comeback() -> None:
    car = Vehicle(ref="K001")
    first = job(1, attempt(), vehicle=car)
    again = job(2, attempt(), vehicle=car, opened=CLOSED, closed=CLOSED)
    assert only(first, again).first.comebacks == 0  # booked in together
    back = replace(again, complaint="airbag lamp on again")
    assert only(first, back).first.comebacks == 1


def on_km(*jobs: Job) -> FixRate:
    (found,) = fixes(repairs_of_jobs(jobs), RateSettings(), clock=Clock.KM)
    return found.rate


def test_kilometres_may_be_the_clock() -> None:
    far = Contact(on=CLOSED + timedelta(days=10), outcome=Outcome.HELD, odometer_km=84_000)
    near = Contact(on=CLOSED + timedelta(days=500), outcome=Outcome.HELD, odometer_km=80_500)
    jobs = [
        job(1, attempt(), odometer_km=80_000, contacts=(far,)),
        job(2, attempt(), odometer_km=80_000, contacts=(near,)),
    ]
    assert (on_km(*jobs).first.held, on_km(*jobs).first.still_good) == (1, 1)


def test_an_odometer_that_ran_backwards_is_reckoned_from_days() -> None:
    """At 40 km a day, about 15,000 km a year: common practice, no source."""
    back = Contact(on=CLOSED + timedelta(days=101), outcome=Outcome.HELD, odometer_km=8_000)
    assert on_km(job(1, attempt(), odometer_km=80_000, contacts=(back,))).first.held == 1
    soon = Contact(on=CLOSED + timedelta(days=99), outcome=Outcome.HELD, odometer_km=8_000)
    assert on_km(job(1, attempt(), odometer_km=80_000, contacts=(soon,))).first.still_good == 1


def test_silence_counts_only_where_the_shop_wants_it() -> None:
    jobs = [job(n, attempt()) for n in range(1, 5)]
    silence = Silence(days=180, today=CLOSED + timedelta(days=180))
    early = Silence(days=180, today=CLOSED + timedelta(days=179))
    (counted,) = fixes(repairs_of_jobs(jobs), RateSettings(), silence=silence)
    (not_yet,) = fixes(repairs_of_jobs(jobs), RateSettings(), silence=early)
    assert (counted.rate.first.held, not_yet.rate.first.held, only(*jobs).first.held) == (4, 0, 0)


def test_times_and_costs_of_what_held_stand_apart() -> None:
    fix = only(
        job(1, attempt(minutes=30, parts_cost=2.0), contacts=(contact(HORIZON),)),
        job(2, attempt(minutes=90, parts_cost=8.0, cured=False)),
    )
    assert (fix.minutes, fix.minutes_held) == (60, 30)
    assert (fix.parts_cost, fix.parts_cost_held) == (5.0, 2.0)


def test_the_curve_tells_what_is_left_and_how_many_are_watched() -> None:
    shop = repairs_of_jobs(
        [
            job(1, attempt(cured=False)),
            job(2, attempt(), contacts=(contact(20, Outcome.COMEBACK),)),
            job(3, attempt(), contacts=(contact(30),)),
            job(4, attempt(), contacts=(contact(120),)),
        ]
    )
    (fix,) = fixes(shop, RateSettings())
    assert [fix.curve.at(day) for day in (0, 19, 20, 120)] == pytest.approx(
        [3 / 4, 3 / 4, 1 / 2, 1 / 2]
    )
    assert [fix.curve.at_risk(day) for day in (0, 20, 30, 31)] == [4, 3, 2, 1]
    assert fix.curve.end == 120
    assert (fix.curve.known(120), fix.curve.known(121)) == (True, False)


def test_the_chance_to_be_better_is_even_for_equals_and_sums_to_one() -> None:
    good = only(*(job(n, attempt(), contacts=(contact(HORIZON),)) for n in range(1, 9)))
    bad = only(*(job(n, attempt(cured=False)) for n in range(1, 9)))
    assert chance_better(good.first.belief, good.first.belief) == pytest.approx(0.5, abs=1e-6)
    assert chance_better(good.first.belief, bad.first.belief) > 0.99
    assert chance_better(good.first.belief, bad.first.belief) + chance_better(
        bad.first.belief, good.first.belief
    ) == pytest.approx(1)
    assert (good.first.belief.a, good.first.belief.b) == pytest.approx((8.5, 0.5))


outcomes = st.builds(contact, st.integers(-20, 300), st.sampled_from(Outcome))
attempts = st.builds(
    attempt,
    st.sampled_from([True, False, None]),
    st.sampled_from([Action.CLEANED, Action.REPLACED]),
)
shops = st.lists(
    st.tuples(st.lists(attempts, max_size=3), st.lists(outcomes, max_size=3), st.integers(1, 5)),
    max_size=12,
)


@given(shops)
def test_every_fix_of_a_job_is_counted_once(shop: list[Any]) -> None:
    jobs = [
        job(number, *tried, contacts=tuple(heard), vehicle=Vehicle(ref=f"K{car}"))
        for number, (tried, heard, car) in enumerate(shop, start=1)
    ]
    found = rated(*jobs)
    for fix in found:
        failed = fix.tried - fix.cured_at_handover
        for at in fix.horizons:
            seen = at.held + at.seen_only + at.still_good
            told = at.comebacks + seen + at.unjudged + fix.unheard
            assert failed + told == fix.tried
            assert at.back_later <= at.held
            assert fix.told_later <= fix.cured_at_handover
            assert at.seen_only <= at.lost
            assert at.still_seen <= at.still_good
            assert at.comebacks + at.back_later == len(fix.came_back)
            back = at.unjudged + at.back_unjudged + at.seen_unjudged
            assert back + fix.untold_back == len(fix.unjudged)
            assert at.untold_unjudged <= fix.untold_back <= fix.untold <= fix.unknown
            assert fix.untold <= at.lost
            assert 0 <= at.interval.low <= at.interval.high <= 1
            if at.rate is not None:
                assert 0 < at.rate < 1
    counted = sum(fix.tried + fix.unknown + fix.again for fix in found)
    assert counted == sum(len({tried.fix for tried in each.attempts}) for each in jobs)


@given(st.floats(0.5, 200))
def test_fixes_are_ranked_by_what_they_reach_with_odds_of_two_to_one(held: float) -> None:
    """Beta(a, 1) is at most x with chance x**a, so it reaches (1/3)**(1/a) with chance 2/3."""
    assert standing(Posterior(held, 1.0)) == pytest.approx((1 / 3) ** (1 / held), abs=1e-9)


def test_a_car_heard_of_on_the_next_day_is_still_good() -> None:
    found = only(job(1, attempt(), contacts=(contact(1),)))
    assert (found.first.still_good, found.unheard) == (1, 0)


def test_what_held_is_what_was_heard_of_to_the_horizon() -> None:
    found = only(
        job(1, attempt(minutes=20), contacts=(contact(20),)),
        job(2, attempt(minutes=60), contacts=(contact(HORIZON),)),
        job(3, attempt(minutes=30), contacts=(contact(HORIZON, Outcome.COMEBACK),)),
    )
    assert (found.first.held, found.first.still_good, found.first.comebacks) == (1, 1, 1)
    assert found.minutes_held == 60


def test_a_curve_on_which_none_is_left_is_known_for_ever() -> None:
    life = Lifetime(5, True)
    none_left = FixCurve(lives=(life,), steps=product_limit([life]), lost=(), end=5)
    assert (none_left.at(6), none_left.known(6)) == (0, True)


@given(st.floats(1, 2000), st.floats(1, 2000))
def test_a_uniform_number_is_greater_as_often_as_the_other_falls_short_of_one(
    a: float, b: float
) -> None:
    """The chance that a uniform number exceeds x is 1 - x; on average 1 - a / (a + b)."""
    assert chance_better(Posterior(1, 1), Posterior(a, b)) == pytest.approx(b / (a + b), abs=1e-5)
    assert chance_better(Posterior(a, b), Posterior(1, 1)) == pytest.approx(a / (a + b), abs=1e-5)


def test_a_comeback_dated_before_the_handover_counts_for_nothing() -> None:
    found = only(job(1, attempt(), contacts=(contact(-5, Outcome.COMEBACK),)))
    assert (found.came_back, found.unheard) == ((), 1)


def test_of_two_alike_at_the_first_horizon_the_one_that_lasts_is_first() -> None:
    back = [
        job(n, attempt(), contacts=(contact(day, Outcome.COMEBACK),))
        for n, day in enumerate((202, 210, 222, 230), 1)
    ]
    kept = [job(n, attempt(), contacts=(contact(400),)) for n in (5, 6)]
    new = [
        job(n, attempt(action=Action.REPLACED), contacts=(contact(HORIZON + 20),))
        for n in range(10, 15)
    ]
    first, other = rated(*back, *kept, *new)
    assert (first.action, other.action) == (Action.REPLACED, Action.CLEANED)
    assert first.horizons[1].rate is None  # compared at the first, where both held alike


def _followed(back: tuple[int, ...], held: int, unheard: int) -> FixRate:
    """One fix: comebacks on some days, so many that held 400 days, so many never heard of."""
    told = [contact(day, Outcome.COMEBACK) for day in back] + [contact(400)] * held
    heard = [job(n, attempt(), contacts=(each,)) for n, each in enumerate(told, 1)]
    return only(*heard, *(job(50 + n, attempt()) for n in range(unheard)))


@pytest.mark.parametrize("horizon", [HORIZON, YEAR])
def test_cars_never_heard_of_do_not_dilute_a_comeback_of_no_told_day(horizon: int) -> None:
    """Five cars were watched and two held: 2/5 by the product limit, of twelve cured or of five."""
    repairs = repairs_of_jobs(
        [job(n, attempt(), contacts=(contact(0, Outcome.COMEBACK),)) for n in (1, 2, 3)]
        + [job(n, attempt(), contacts=(contact(400),)) for n in (4, 5)]
        + [job(n, attempt()) for n in range(6, 13)]
    )
    (found,) = fixes(repairs, RateSettings())
    assert found.curve.at(horizon) == pytest.approx(0.4)
    assert [step.at_risk for step in found.curve.steps] == [5]
    assert (found.rate.came_back, found.rate.undated) == ((1, 1, 1), (1, 1, 1))


@given(st.integers(0, 4), st.integers(0, 4), st.integers(0, 8), st.integers(1, 3))
def test_a_comeback_on_the_day_it_left_counts_as_one_a_day_later(
    back: int, held: int, unheard: int, moved: int
) -> None:
    """No rate, no bracket and no end differs, so that a day nobody told gives no credit."""
    later, at_once = (
        _followed((day,) * moved + (30,) * back, held, unheard).horizons for day in (1, 0)
    )
    assert at_once == later


@given(st.integers(0, 3), st.integers(0, 4), st.integers(0, 6), st.sampled_from([0, 1, 40, 90]))
def test_a_comeback_never_raises_a_rate_or_an_end(
    back: int, held: int, unheard: int, day: int
) -> None:
    """Against the same car never heard of; the lower bracket but for how it is reckoned.

    Its beta variables are fitted by two moments: by trial that is off by less than 0.002.
    """
    before = _followed((30,) * back, held, unheard + 1)
    after = _followed((30,) * back + (day,), held, unheard)
    for one, other in zip(before.horizons, after.horizons, strict=True):
        assert other.belief.mean <= one.belief.mean + 1e-12
        assert other.interval.high <= one.interval.high + 1e-9
        assert other.interval.low <= one.interval.low + 0.002
        assert other.ends.low <= one.ends.low + 1e-9
        assert other.ends.high <= one.ends.high + 1e-9


@given(st.integers(0, 3), st.integers(0, 4), st.integers(0, 6))
def test_a_car_never_heard_of_narrows_no_bracket(back: int, held: int, unheard: int) -> None:
    if back + held:
        before, after = (_followed((30,) * back, held, each) for each in (unheard, unheard + 1))
        for one, other in zip(before.horizons, after.horizons, strict=True):
            assert other.interval == one.interval
            assert other.ends.low <= one.ends.low + 1e-9


def test_three_comebacks_of_thirteen_cars_are_no_rate_while_ten_were_never_heard_of() -> None:
    assert [each.rate for each in _followed((30,) * 3, 0, 10).horizons] == [None, None]
    assert [each.supported for each in _followed((30,) * 3, 0, 3).horizons] == [True, True]
