"""What fix rates need of jobs comes back the same from plain rows, on both databases."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine

from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Outcome, System, Vehicle
from kb.rates.fixes import fix_rates
from kb.settings import RateSettings
from kb.store.mapping import cause_digest
from kb.store.repairs import _TODAY
from kb.store.unit_of_work import UnitOfWork
from tests.job_repairs import repairs_of_jobs

PLUG = Cause(component="seat connector", failure_mode=FailureMode.OPEN, position="left front")
SPRING = Cause(component="clock spring", failure_mode=FailureMode.OPEN)
DAY = date(2025, 3, 1)


def job(ref: str | None, opened: int, cause: Cause | None = PLUG, **more: object) -> Job:
    values = {
        "vehicle": Vehicle(ref=ref),
        "opened": DAY + timedelta(days=opened),
        "closed": DAY + timedelta(days=opened + 1),
        "complaint": "airbag lamp on",
        "system": System.RESTRAINTS,
        "cause": cause,
        "attempts": (Attempt(action=Action.CLEANED, component="Seat  connector", cured=True),),
    }
    return Job(**(values | more))  # type: ignore[arg-type]


def add(engine: Engine, *jobs: Job) -> None:
    with UnitOfWork(engine) as work:
        for each in jobs:
            work.jobs.add(each)
        work.commit()


def test_rows_tell_what_the_jobs_tell(engine: Engine) -> None:
    heard = Contact(on=DAY + timedelta(days=20), outcome=Outcome.HELD, odometer_km=81_000, job=7)
    tried = Attempt(
        action=Action.REPLACED,
        component="plug",
        words="new",
        minutes=5,
        parts_cost=2.5,
        cured=False,
    )
    first = job("K1", 0, odometer_km=80_000, contacts=(heard,), proved_by="seen", reproduced=False)
    add(
        engine,
        replace(first, attempts=(tried, *first.attempts)),
        job("K1", 40, SPRING, odometer_km=84_000),
        job(None, 0),
        job("K2", 5, None),
        job("K2", 5, closed=None),
    )
    with UnitOfWork(engine, read_only=True) as work:
        found = work.repairs.all()
        of_causes = work.repairs.of_causes([PLUG.key, SPRING.key, ("no", "such", "open")])
        causes = work.repairs.causes()
    assert [each.number for each in found] == [1, 2, 3]
    one = found[0]
    assert (one.position, one.odometer_km, one.system, one.proved_by) == (
        "left front",
        80_000,
        System.RESTRAINTS,
        "seen",
    )
    assert [each.fix for each in one.attempts] == [
        ("replaced", "plug"),
        ("cleaned", "seat connector"),
    ]
    assert (one.attempts[0].minutes, one.attempts[0].parts_cost, one.attempts[0].cured) == (
        5,
        2.5,
        False,
    )
    assert one.contacts[0] == (heard.on, heard.outcome, 81_000, 7, None)
    (later,) = one.visits
    assert (later.number, later.opened, later.odometer_km) == (2, DAY + timedelta(days=40), 84_000)
    assert (later.system, later.complaint) == (System.RESTRAINTS, "airbag lamp on")
    assert (later.cause, later.position, later.kin) == (cause_digest(SPRING.key), None, False)
    assert found[1].car == one.car
    assert found[2].car != one.car
    assert found[2].visits == ()
    assert [each.number for each in of_causes[cause_digest(PLUG.key)]] == [1, 3]
    assert of_causes[cause_digest(("no", "such", "open"))] == []
    assert [(cause.label, count) for cause, count in causes] == [
        ("seat connector: open", 2),
        ("clock spring: open", 1),
    ]


def test_what_was_tried_for_a_cause_is_found_on_jobs_of_another(engine: Engine) -> None:
    spelt = Cause(component="Clock  Spring", failure_mode=FailureMode.OPEN)
    elsewhere = Cause(component="clock spring", location="column", failure_mode=FailureMode.OPEN)
    tried = [
        Attempt(action=Action.REPLACED, component="clock spring", supposed=each, cured=True)
        for each in (spelt, elsewhere)
    ]
    add(engine, *(job(f"K{n}", n, attempts=(each,)) for n, each in enumerate(tried)))
    with UnitOfWork(engine, read_only=True) as work:
        (found,) = work.repairs.of_causes([SPRING.key]).values()
        cars = work.repairs.of_cars_with(SPRING.key)
    assert [each.number for each in found] == cars == [1]
    assert found[0].cause == cause_digest(PLUG.key)
    assert found[0].attempts[0].supposed == cause_digest(SPRING.key)


def test_jobs_without_a_tag_that_answers_join_are_one_cars(engine: Engine) -> None:
    """The first came back as the second, that as the third; the tagged ones stay two cars."""
    untagged = [replace(job(None, n), vehicle=Vehicle()) for n in range(4)]
    add(engine, *untagged, job("K1", 5), job("K2", 6))
    for number, later in ((1, 2), (2, 3), (5, 6)):
        with UnitOfWork(engine) as work:
            told = work.jobs.get(number)
            back = Contact(on=told.closed or told.opened, outcome=Outcome.COMEBACK, job=later)
            work.jobs.replace(replace(told, contacts=(back,)))
            work.commit()
    with UnitOfWork(engine, read_only=True) as work:
        cars = [each.car for each in work.repairs.all()]
        of_cars = work.repairs.of_cars_with(PLUG.key)
    assert cars[0] == cars[1] == cars[2]
    assert len(set(cars)) == 4
    assert sorted(of_cars) == [1, 2, 3, 4, 5, 6]


def test_a_store_of_final_fixes_only_is_known(engine: Engine) -> None:
    add(engine, *(job(f"K{n}", n) for n in range(9)))
    with UnitOfWork(engine) as work:
        assert not work.repairs.only_final_fixes()
        work.jobs.add(job("K10", 10))
        assert work.repairs.only_final_fixes()
        failed = Attempt(action=Action.CLEARED, component="code", cured=False)
        work.jobs.add(job("K11", 11, attempts=(failed,)))
        assert not work.repairs.only_final_fixes()


def test_an_empty_store_has_no_repairs(engine: Engine) -> None:
    with UnitOfWork(engine, read_only=True) as work:
        assert work.repairs.all() == []
        assert work.repairs.causes() == []
        assert work.repairs.of_causes([]) == {}
        assert not work.repairs.only_final_fixes()


attempts = st.builds(
    Attempt,
    action=st.sampled_from([Action.CLEANED, Action.REPLACED]),
    component=st.sampled_from(["plug", "Plug", "loom"]),
    minutes=st.none() | st.integers(0, 90),
    cured=st.none() | st.booleans(),
)
contacts = st.builds(
    Contact,
    on=st.dates(DAY - timedelta(days=20), DAY + timedelta(days=300)),
    outcome=st.sampled_from(Outcome),
)
shops = st.lists(
    st.tuples(
        st.integers(0, 3),
        st.integers(0, 200),
        st.lists(attempts, max_size=3),
        st.lists(contacts, max_size=2),
    ),
    max_size=6,
)


@settings(max_examples=25)
@given(shops)
def test_rates_by_rows_equal_rates_by_jobs(engine: Engine, shop: list[tuple[object, ...]]) -> None:
    jobs = [
        job(f"K{car}", opened, attempts=tuple(tried), contacts=tuple(heard))  # type: ignore[arg-type]
        for car, opened, tried, heard in shop
    ]
    with UnitOfWork(engine) as work:
        stored = [work.jobs.add(each) for each in jobs]
        (rows,) = work.repairs.of_causes([PLUG.key]).values()
    # nothing is committed: the next example finds the store empty
    by_jobs = repairs_of_jobs(stored)
    assert fix_rates(rows, RateSettings()) == fix_rates(by_jobs, RateSettings())


def test_what_is_told_of_an_earlier_job_is_a_later_visit_however_it_is_read(
    engine: Engine,
) -> None:
    on = DAY + timedelta(days=100)
    told = (
        Contact(on=on, outcome=Outcome.COMEBACK, odometer_km=90_000),
        Contact(on=on, outcome=Outcome.COMEBACK, job=3),
        Contact(on=on, outcome=Outcome.COMEBACK, job=4),
    )
    jobs = [job("K1", 0, contacts=told), job("K1", 40), job("K1", 90), job("K1", 95, void="twice")]
    add(engine, *jobs)
    with UnitOfWork(engine, read_only=True) as work:
        rows = work.repairs.all()
    stored = [replace(each, number=place) for place, each in enumerate(jobs, 1)]
    by_day = replace(told[2], job=None)  # its visit is void; that it came back was told
    stored[0] = replace(stored[0], contacts=(*told[:2], by_day))
    second = [(each.number, each.opened, each.told_of) for each in rows[1].visits]
    by_jobs = repairs_of_jobs(each for each in stored if not each.void)
    assert second == [(each.number, each.opened, each.told_of) for each in by_jobs[1].visits]
    assert second == [
        (3, DAY + timedelta(days=90), None),
        (3, DAY + timedelta(days=90), 1),
        (1, on, 1),
        (1, on, 1),
    ]
    assert rows[1].visits[2].odometer_km == 90_000
    assert [each.told_of for each in rows[2].visits] == [1, 1]


def test_one_tag_in_two_spellings_is_one_car(engine: Engine) -> None:
    add(engine, job("K-031", 0), job("k031", 40))
    with UnitOfWork(engine, read_only=True) as work:
        first, second = work.repairs.all()
        assert work.repairs.of_cars_with(PLUG.key) == [1, 2]
        assert [each.number for each in work.jobs.of_vehicle(Vehicle(ref="k031"))] == [1, 2]
    assert first.car == second.car
    assert [each.number for each in first.visits] == [2]
    (rate,) = fix_rates([first, second], RateSettings())
    assert len(rate.came_back) == 1


def test_many_tags_in_two_spellings_are_read_some_at_a_time(engine: Engine) -> None:
    add(
        engine,
        *(job(ref, 40 * back) for n in range(20) for back, ref in ((0, f"K-{n}"), (1, f"k{n}"))),
    )
    with UnitOfWork(engine, read_only=True) as work:
        rows = work.repairs.all()
    assert [len(each.visits) for each in rows] == [1, 0] * 20
    assert len({each.car for each in rows}) == 20


def test_a_comeback_as_the_job_of_another_car_proves_nothing(engine: Engine) -> None:
    first, own, strange = job("K1", 0), job("K1", 40, SPRING), job("K2", 45, SPRING)
    on = DAY + timedelta(days=50)
    told = tuple(Contact(on=on, outcome=Outcome.COMEBACK, job=number) for number in (2, 3))
    add(engine, replace(first, contacts=told), own, strange)
    with UnitOfWork(engine, read_only=True) as work:
        assert [(each.number, each.later) for each in work.repairs.came_back()] == [(1, 2)]


def test_one_tag_on_cars_that_differ_is_two_cars(engine: Engine) -> None:
    lido, kiri = (
        Vehicle(ref=ref, make="m", model=name) for ref, name in (("K-1", "l"), ("k1", "k"))
    )
    add(engine, job(None, 0, vehicle=lido), job(None, 40, vehicle=kiri))
    with UnitOfWork(engine, read_only=True) as work:
        first, second = work.repairs.all()
    assert first.car != second.car
    assert first.visits == ()


def test_the_day_is_asked_at_each_question(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    """The statement is made once, but what is told of a later day counts from that day on."""
    told = Contact(on=date.today() + timedelta(days=9), outcome=Outcome.HELD)
    add(engine, job("K1", 0, contacts=(told,)))

    def heard() -> int:
        with UnitOfWork(engine, read_only=True) as work:
            (repair,) = work.repairs.all()
        return len(repair.contacts)

    assert heard() == 0
    monkeypatch.setattr(_TODAY, "callable", lambda: told.on)
    assert heard() == 1
