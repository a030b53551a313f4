"""Parts that were fitted, from a store."""

from collections import Counter
from datetime import date, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, FailureMode, Job, Vehicle, even
from kb.errors import Notice
from kb.services.stock import LATEST_QUARTERS, SPAN_DAYS, Drift, PartUse, _drift, stock
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

LATEST = date(2026, 10, 31)
"""Some days after the last job of the demonstration shop."""


def fitting(part: str, cured: bool | None, **more: Any) -> Attempt:
    return Attempt(action=Action.REPLACED, component=part, cured=cured, **more)


def job(number: int, days_ago: int | None, *attempts: Attempt, **more: Any) -> Job:
    """Return a job without a cause, closed so long before the day that is asked of."""
    closed = None if days_ago is None else LATEST - timedelta(days=days_ago)
    return Job(
        number=number,
        vehicle=Vehicle(ref=f"K{number}"),
        opened=LATEST - timedelta(days=900),
        closed=closed,
        complaint="service",
        attempts=attempts,
        **more,
    )


def told(store: str, *jobs: Job) -> dict[str, PartUse]:
    with UnitOfWork(open_store(store)) as work:
        for each in jobs:
            work.jobs.add(each)
        work.commit()
    return {even(each.part): each for each in stock(store, until=LATEST).parts}


def test_parts_of_jobs_without_a_cause_are_counted(empty_store: str) -> None:
    """A shop that closes its filters without a cause has to order them all the same."""
    proved = Cause(component="air filter", failure_mode=FailureMode.BLOCKED)
    found = told(
        empty_store,
        job(1, 800, fitting("battery", True)),
        job(2, 100, fitting("air filter", True), cause=proved),
        *(job(n, 10, fitting("Air  filter", True), fitting("pads", True)) for n in (3, 4)),
    )
    assert found["air filter"].counts[-2:] == (1, 2)
    assert found["pads"].counts[-1] == 2
    assert found["air filter"].ahead.mean > found["pads"].ahead.mean


def test_void_and_open_jobs_and_other_work_count_nowhere(empty_store: str) -> None:
    twice = fitting("belt", True), fitting("belt", True)
    cleaned = Attempt(action=Action.CLEANED, component="belt", cured=True)
    assert not told(
        empty_store,
        job(1, 800, fitting("battery", True)),
        job(2, 20, *twice, void="recorded twice"),
        job(3, None, *twice),
        job(4, 20, cleaned, cleaned),
    )


def test_every_part_of_a_job_is_counted_and_how_it_ended_apart(empty_store: str) -> None:
    found = told(
        empty_store,
        job(1, 800, fitting("battery", True)),
        job(2, 120, fitting("mat", False), fitting("mat", True, parts_cost=30)),
        job(3, 20, fitting("mat", None), fitting("mat", True, parts_cost=20)),
        job(4, 20, fitting("coil", False), fitting("lead", False), fitting("lead", False)),
    )
    mat, lead = found["mat"], found["lead"]
    assert (mat.counts[-2:], mat.in_vain[-2:], mat.untold[-2:]) == ((1, 2), (1, 0), (0, 1))
    assert mat.parts_cost == 25
    assert (sum(lead.counts), lead.in_vain[-1], lead.ahead.high) == (0, 2, 0)
    assert "coil" not in found  # used once may be chance


def test_what_was_in_vain_changes_no_forecast(empty_store: str) -> None:
    kept = [job(n, 91 * n, fitting("mat", True)) for n in range(1, 8)]
    vain = [job(n, 20, fitting("mat", False), fitting("lead", False)) for n in range(8, 14)]
    before = told(empty_store, *kept)["mat"]
    after = told(empty_store, *vain)
    assert after["mat"].ahead == before.ahead
    assert (before.in_vain[-1], after["mat"].in_vain[-1]) == (0, 6)
    assert after["lead"].ahead.mean < before.ahead.mean


def test_counts_are_those_of_all_closed_jobs(demo_store: str) -> None:
    found = stock(demo_store, until=LATEST)
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        jobs = list(work.jobs.all())
    since = LATEST - timedelta(days=8 * SPAN_DAYS)
    fitted: Counter[tuple[str, bool | None]] = Counter(
        (even(each.component), each.cured)
        for one in jobs
        if one.closed and since < one.closed <= LATEST and not one.void
        for each in one.attempts
        if each.action is Action.REPLACED
    )
    for each in found.parts:
        counts = [fitted[even(each.part), cured] for cured in (True, False, None)]
        assert sum(each.counts[-8:]) == counts[0] + counts[2]
        assert sum(each.in_vain[-8:]) == counts[1]
        assert sum(each.untold[-8:]) == counts[2]
        assert each.ahead.low <= each.ahead.mean <= each.ahead.high + 1
    used: Counter[str] = Counter()
    for (part, _), count in fitted.items():
        used[part] += count
    assert {even(each.part) for each in found.parts} == {p for p, n in used.items() if n >= 2}


def test_the_most_used_come_first_and_the_past_is_told(demo_store: str) -> None:
    found = stock(demo_store, until=LATEST)
    means = [each.ahead.mean for each in found.parts]
    assert means == sorted(means, reverse=True)
    assert found.past is not None
    assert found.past.held / found.past.made >= found.coverage


def test_an_empty_store_and_a_short_past_say_so(empty_store: str, small_store: str) -> None:
    nothing = stock(empty_store, until=LATEST)
    assert nothing.notices == (Notice.NOTHING_CLOSED,)
    assert nothing.last is None
    short = stock(small_store, until=LATEST)
    assert isinstance(short.last, date)
    assert set(short.notices) <= {Notice.SHORT_PAST, Notice.NOTHING_LATELY}


def test_quarters_are_counted_back_from_the_day_that_is_told(demo_store: str) -> None:
    """Two empty quarters after the last job are two quarters without use."""
    now, later = (stock(demo_store, until=LATEST + timedelta(days)) for days in (0, 2 * SPAN_DAYS))
    assert now.notices == ()
    assert later.notices == (Notice.NOTHING_LATELY,)
    assert later.last == now.last
    before = {each.part: each for each in now.parts}
    assert {each.part for each in later.parts} < set(before)
    for each in later.parts:
        assert each.counts[-2:] == (0, 0)
        assert each.counts[-4:-2] == before[each.part].counts[-2:]
        assert each.ahead.mean < before[each.part].ahead.mean


def test_a_part_last_fitted_two_years_ago_is_not_told(demo_store: str) -> None:
    assert stock(demo_store, until=LATEST + timedelta(8 * SPAN_DAYS)).parts == ()


def test_what_was_closed_after_the_day_counts_in_no_quarter(demo_store: str) -> None:
    day = date(2024, 12, 31)
    found = stock(demo_store, until=day)
    assert found.last is not None
    assert found.last <= day
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        jobs = list(work.jobs.all())
    (battery,) = (each for each in found.parts if each.part == "battery")
    by_hand = sum(
        each.action is Action.REPLACED and each.cured is True and even(each.component) == "battery"
        for one in jobs
        if one.closed and 0 <= (day - one.closed).days < SPAN_DAYS
        for each in one.attempts
    )
    assert battery.counts[-1] == by_hand > 0


@given(st.lists(st.integers(0, 30), max_size=6), st.floats(0, 30))
def test_a_drift_is_told_where_all_of_four_lie_on_one_side(row: list[int], mean: float) -> None:
    told = _drift(row[-LATEST_QUARTERS:], mean)
    sides = {(count > mean) - (count < mean) for count in row[-LATEST_QUARTERS:]}
    if len(row) < LATEST_QUARTERS or mean < 1 or len(sides) > 1 or sides == {0}:
        assert told is None
    else:
        assert told is (Drift.ABOVE if sides == {1} else Drift.BELOW)
