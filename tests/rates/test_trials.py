"""Lifetimes from repairs, whatever was written down of them; see also test_fixes."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

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
def test_every_fix_of_a_job_is_one_trial_on_either_clock(shop: list[Job]) -> None:
    days, km = counted(shop), counted(shop, Clock.KM)
    assert len(days) == len(km) == sum(len({t.fix for t in job.attempts}) for job in shop)
    assert sum(each.times for each in days) == sum(len(job.attempts) for job in shop)
    assert sum(each.left for each in days) == sum(bool(job.attempts) for job in shop)
    of_job = {job.number: job.attempts for job in shop}
    for by_day, by_km in zip(days, km, strict=True):
        fix, attempts = by_day.tried.fix, of_job[by_day.job]
        told = [n for n, t in enumerate(attempts) if t.fix == fix and t.cured is not None]
        cured = attempts[told[-1]].cured if told else None
        assert by_day.tried.cured is (True if by_day.told_later else cured)
        assert not by_day.told_later or (cured is None and by_day.left and by_day.life)
        overtaken = any(t.cured is not None for t in attempts[told[-1] + 1 :]) if told else False
        by_what_was_written = not (cured is None or (cured and overtaken))
        if by_what_was_written or attempts[-1].cured is not None or not by_day.left:
            assert (by_day.life is not None) == by_what_was_written
        assert (by_km.life is None) == (by_day.life is None)
        assert not by_day.reckoned
        if by_day.life and by_km.life:
            assert by_day.life.failed == by_km.life.failed


def tried(cured: bool | None, action: Action = Action.CLEANED, **more: Any) -> Attempt:
    return Attempt(action=action, component="plug", cured=cured, **more)


HELD = Contact(on=DAY + timedelta(days=200), outcome=Outcome.HELD)


@pytest.mark.parametrize(
    ("cured", "life"),
    [
        ((False, True), (200, False)),
        ((True, False), (0, True)),
        ((False, None), (0, True)),
        ((True, None), (200, False)),
        ((None, True), (200, False)),
        ((None, None), (200, False)),
    ],
)
def test_a_fix_tried_twice_on_one_car_is_one_car(
    cured: tuple[bool | None, ...], life: tuple[float, bool] | None
) -> None:
    (found,) = counted([visit(1, 1, 0, None, [tried(each) for each in cured], [HELD])])
    assert (found.times, found.left) == (2, True)
    assert lives([found]) == [life]


BACK = replace(HELD, on=DAY + timedelta(days=30), outcome=Outcome.COMEBACK)
SEEN = replace(HELD, outcome=Outcome.OTHER_REASON)
AT_ONCE = replace(HELD, on=DAY)


@pytest.mark.parametrize(
    ("cured", "heard", "life"),
    [
        ((None,), BACK, (30, True)),
        ((None,), replace(BACK, on=DAY), (1, True)),
        ((None,), HELD, (200, False)),
        ((None,), SEEN, None),  # that it ran tells not that it ever cured
        ((None,), AT_ONCE, None),  # too soon to tell
        ((None,), replace(HELD, outcome=Outcome.NOT_TOLD), None),
        ((None,), replace(BACK, on=DAY - timedelta(days=1)), None),
        ((True, None), BACK, (30, True)),
        ((True, None), SEEN, (0, False)),  # good at handover; whether it was left so is not told
        ((False, None), HELD, (0, True)),  # told not to have cured
        ((False, None), BACK, (0, True)),
    ],
)
def test_what_was_heard_tells_of_a_fix_that_nobody_wrote_down_to_have_cured(
    cured: tuple[bool | None, ...], heard: Contact, life: tuple[float, bool] | None
) -> None:
    (found,) = counted([visit(1, 1, 0, None, [tried(each) for each in cured], [heard])])
    assert lives([found]) == [life]
    assert found.told_later == (cured == (None,) and life is not None)
    assert found.may_be_told == (life is None)


@pytest.mark.parametrize(
    ("first", "last", "heard", "both"),
    [
        (None, None, BACK, [None, (30, True)]),
        (None, None, HELD, [None, (200, False)]),
        (None, True, BACK, [None, (30, True)]),
        (None, False, HELD, [None, (0, True)]),
        (True, None, BACK, [(0, False), (30, True)]),
        (True, None, HELD, [(0, False), (200, False)]),
        (False, None, HELD, [(0, True), (200, False)]),
    ],
)
def test_what_was_heard_is_told_of_the_last_fix_of_a_job(
    first: bool | None,
    last: bool | None,
    heard: Contact,
    both: list[tuple[float, bool] | None],
) -> None:
    attempts = [tried(first), tried(last, Action.REPLACED)]
    found = counted([visit(1, 1, 0, None, attempts, [heard])])
    assert lives(found) == both
    assert not found[0].told_later
    assert not found[0].may_be_told


def test_silence_tells_nothing_of_what_nobody_wrote_down() -> None:
    job = visit(1, 1, 0, None, [tried(None)])
    assert lives(counted([job], silence=Silence(100, TODAY))) == [None]
    held = replace(job, contacts=(HELD,))
    assert lives(counted([held], silence=Silence(100, TODAY))) == [(400, False)]


def test_a_return_after_an_unwritten_cure_is_to_be_judged_and_not_counted() -> None:
    other = Cause(component="loom", failure_mode=FailureMode.OPEN)
    first = visit(1, 1, 0, None, [tried(None)])
    back = replace(visit(2, 1, 30, None), cause=other)
    (found,) = counted([first, back])
    assert found.back is not None
    assert (found.back.number, lives([found])) == (2, [None])
    failed = [(each.time, each.failed) for each in found.if_same]
    assert (failed, found.if_other) == ([(30, True)], ())
    later = replace(first, contacts=(HELD,))
    (found,) = counted([later, back])  # it may be of what was mended on the second job
    assert (found.back is None, lives([found])) == (False, [None])
    assert [each.time for each in found.if_other] == [200]
    before = replace(first, contacts=(replace(HELD, on=DAY + timedelta(days=20)),))
    assert lives(counted([before, back])) == [(30, False)]


def test_the_same_cause_proved_again_tells_of_an_unwritten_cure() -> None:
    first, again = visit(1, 1, 0, None, [tried(None)]), visit(2, 1, 30, None, [tried(True)])
    found, other = counted([first, again])
    assert (lives([found]), found.told_later) == ([(30, True)], True)
    assert other.again


def test_what_several_tries_took_is_added_up() -> None:
    attempts = [
        tried(False, minutes=20, parts_cost=3),
        tried(None),
        tried(True, minutes=15, words="again"),
    ]
    (found,) = counted([visit(1, 1, 0, None, attempts)])
    assert (found.tried.minutes, found.tried.parts_cost) == (35, 3)
    assert found.tried.words == "again"


def test_a_last_fix_counts_for_what_it_was_tried_for() -> None:
    """Its cause was found to be wrong when the car came back, and written anew on the job."""
    supposed = Cause(component="coil", failure_mode=FailureMode.OPEN)
    back = Contact(on=DAY + timedelta(days=9), outcome=Outcome.COMEBACK)
    wrong = tried(True, Action.REPLACED, supposed=supposed)
    (found,) = counted([visit(1, 1, 0, None, [wrong], [back])])
    assert found.cause == supposed.key
    assert lives([found]) == [(9, True)]
    before, last = counted([visit(1, 1, 0, None, [wrong, tried(True)])])
    assert before.cause == last.cause == ("plug", "", "open")


def test_kilometres_that_no_odometer_tells_are_said_to_be_reckoned() -> None:
    far = replace(HELD, odometer_km=84_000)
    jobs = [
        visit(1, 1, 0, 80_000, [tried(True)], [far]),
        visit(2, 2, 0, 80_000, [tried(True)], [HELD]),
        visit(3, 3, 0, None, [tried(True)], [far]),
        visit(4, 4, 0, None, [tried(True)]),  # never heard of: nothing is reckoned
    ]
    assert [each.reckoned for each in counted(jobs, Clock.KM)] == [False, True, True, False]


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
        (None, "right front", False),
        ("left front", None, False),
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


def test_jobs_of_one_car_on_one_day_are_no_comebacks_of_one_another() -> None:
    three = [visit(n, 1, 0, None, [tried(True)]) for n in (1, 2, 3)]
    assert lives(counted(three)) == [(0, False)] * 3
    assert all(each.back is None for each in counted(three))


def test_one_return_is_not_told_of_every_job_of_the_day() -> None:
    """The last number of the day has the fix that was on the car."""
    day = [visit(n, 1, 0, None, [tried(True)]) for n in (1, 2, 3)]
    back = visit(4, 1, 30, None, [tried(True)])
    assert lives(counted([*day, back])) == [(0, False), (0, False), (30, True), (0, False)]
    left, right = (
        visit(n, 1, 0, None, [tried(True)], [], f"{s} front")
        for n, s in ((1, "left"), (2, "right"))
    )
    again = visit(3, 1, 30, None, [tried(True)], [], "left front")
    assert lives(counted([left, right, again]))[0] == (30, True)


@pytest.mark.parametrize("said", ["lamp on again", "lamp back on", "lamp still on", "not fixed"])
def test_on_the_day_of_the_handover_words_make_a_return(said: str) -> None:
    first, second = (visit(n, 1, 0, None, [tried(True)]) for n in (1, 2))
    found = counted([first, replace(second, complaint=said)])
    assert lives(found) == [(1, True), (0, False)]
    assert not any(each.undated for each in found)


@pytest.mark.parametrize(
    ("held", "back", "life", "undated"),
    [
        ((), 0, 1, True),
        ((), 1, 1, False),
        ((50,), 0, 1, True),
        ((50,), 50, 51, True),
        ((50,), 51, 51, False),
        ((30, 90), 90, 91, True),
        ((30, 90), 60, 60, False),
    ],
)
def test_what_came_back_on_no_told_day_did_so_after_it_was_last_known_to_be_good(
    held: tuple[int, ...], back: int, life: int, undated: bool
) -> None:
    def on(day: int, outcome: Outcome) -> Contact:
        return replace(HELD, on=DAY + timedelta(days=day), outcome=outcome)

    told = [*(on(day, Outcome.HELD) for day in held), on(back, Outcome.COMEBACK)]
    (found,) = counted([visit(1, 1, 0, None, [tried(True)], told)])
    assert (lives([found]), found.undated) == ([(life, True)], undated)


@pytest.mark.parametrize(
    ("back", "km", "life"),
    [(0, None, 40), (1, None, 40), (0, 50_000, 1), (1, 50_000, 1), (0, 50_007, 7)],
)
def test_what_came_back_on_no_told_day_has_driven_for_one(
    back: int, km: int | None, life: float
) -> None:
    told = replace(BACK, on=DAY + timedelta(days=back), odometer_km=km)
    (found,) = counted([visit(1, 1, 0, 50_000, [tried(True)], [told])], Clock.KM)
    assert lives([found]) == [(life, True)]
    assert found.reckoned is (km is None)


def test_what_came_back_had_driven_further_than_when_it_held() -> None:
    held = replace(HELD, odometer_km=55_000)
    for back in (held.on, held.on + timedelta(days=1)):
        told = Contact(on=back, outcome=Outcome.COMEBACK)
        (found,) = counted([visit(1, 1, 0, 50_000, [tried(True)], [held, told])], Clock.KM)
        assert found.life
        assert found.life.time == 5_000 + 5_000 / 200
    reckoned = replace(told, odometer_km=51_000)
    (found,) = counted([visit(1, 1, 0, 50_000, [tried(True)], [HELD, reckoned])], Clock.KM)
    assert lives([found]) == [(1_000, True)]


@pytest.mark.parametrize(("gained", "reckoned"), [(2_000, False), (2_001, True), (-1, True)])
def test_kilometres_that_no_car_drives_are_reckoned_from_days(gained: int, reckoned: bool) -> None:
    """One day later: two days may have been driven, of `MOST_KM_PER_DAY` each."""
    told = Contact(on=DAY + timedelta(days=1), outcome=Outcome.HELD, odometer_km=50_000 + gained)
    (found,) = counted([visit(1, 1, 0, 50_000, [tried(True)], [told])], Clock.KM)
    assert found.reckoned is reckoned
    assert found.life is not None
    assert found.life.time == (40 if reckoned else gained)
