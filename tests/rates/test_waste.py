"""What came back or was in vain: counts that must fit together."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Outcome, Vehicle
from kb.rates.trials import trials
from kb.rates.waste import MAKER_NOT_TOLD, Waste, apart_by_maker, maker_of, wasted
from kb.settings import RateSettings
from tests.job_repairs import repairs_of_jobs

DAY = date(2024, 1, 10)
CAUSE = Cause(component="plug", failure_mode=FailureMode.CONTAMINATED)


def job(number: int, *attempts: Attempt, back: int | None = None, held: int | None = None) -> Job:
    told = [(back, Outcome.COMEBACK), (held, Outcome.HELD)]
    contacts = [
        Contact(on=DAY + timedelta(days=days), outcome=outcome)
        for days, outcome in told
        if days is not None
    ]
    return Job(
        number=number,
        vehicle=Vehicle(ref=f"K{number}"),
        opened=DAY,
        closed=DAY,
        complaint="lamp",
        cause=CAUSE,
        attempts=attempts,
        contacts=tuple(contacts),
    )


def tried(cured: bool | None, action: Action = Action.CLEANED, **more: Any) -> Attempt:
    return Attempt(action=action, component="plug", cured=cured, **more)


def counted(*jobs: Job) -> dict[str, Waste]:
    known = list(trials(repairs_of_jobs(jobs), RateSettings()))
    return {each.what: each for each in wasted(known, lambda trial: str(trial.tried.action))}


def test_comebacks_vain_attempts_and_silence_are_counted_apart() -> None:
    vain = tried(False, Action.CLEANED, minutes=20, parts_cost=4)
    found = counted(
        job(1, tried(True, minutes=30), back=20),
        job(2, tried(True, minutes=30), held=200),
        job(3, tried(True, minutes=30)),
        job(4, vain, tried(True, Action.REPLACED, minutes=60, parts_cost=35), held=400),
    )
    cleaned, replaced = found["cleaned"], found["replaced"]
    assert (cleaned.cured, cleaned.came_back, cleaned.unheard, cleaned.in_vain) == (3, 1, 1, 1)
    assert (cleaned.minutes, cleaned.parts_cost, cleaned.jobs) == (50, 4, (1, 4))
    assert (replaced.cured, replaced.lost, replaced.jobs) == (1, 0, ())
    assert list(found) == ["cleaned", "replaced"]


def test_what_cured_only_when_it_was_tried_again_was_in_vain_at_first() -> None:
    first, again = tried(False, minutes=75, parts_cost=30), tried(True, minutes=60, parts_cost=104)
    held = counted(job(1, first, again, held=200))["cleaned"]
    assert (held.cured, held.came_back, held.in_vain, held.at_last) == (1, 0, 1, 1)
    assert (held.minutes, held.parts_cost, held.jobs, held.may_be_lost) == (75, 30, (1,), True)
    back = counted(job(1, first, again, back=20))["cleaned"]
    assert (back.cured, back.came_back, back.in_vain, back.at_last) == (1, 1, 1, 1)
    assert (back.minutes, back.parts_cost) == (135, 134)  # each try once
    twice = counted(job(1, first, first))["cleaned"]
    assert (twice.in_vain, twice.at_last, twice.minutes) == (1, 0, 150)
    untold = counted(job(1, tried(None, minutes=75), again, held=200))["cleaned"]
    assert (untold.in_vain, untold.at_last, untold.minutes) == (0, 0, 0)


def test_a_return_that_proved_another_cause_is_told_apart() -> None:
    again = Cause(component="lamp", failure_mode=FailureMode.OPEN)
    found = []
    for cause in (again, None):
        late = replace(
            job(2, tried(True)),
            vehicle=Vehicle(ref="K1"),
            opened=DAY + timedelta(days=9),
            closed=DAY + timedelta(days=9),
            cause=cause,
        )
        (cleaned,) = counted(job(1, tried(True)), late).values()
        found.append((cleaned.not_judged, cleaned.proved_other))
        assert cleaned.may_be_lost
        assert (cleaned.lost, cleaned.jobs, cleaned.to_judge) == (0, (), (1,))
    assert found == [(1, 1), (1, 0)]


def test_what_one_car_alone_tells_is_told_to_be_so() -> None:
    def of(car: str, number: int) -> Job:
        return replace(job(number, tried(False)), vehicle=Vehicle(ref=car))

    one = counted(of("K1", 1), of("K1", 2), of("K1", 3))["cleaned"]
    two = counted(of("K1", 1), of("K1", 2), of("K2", 3))["cleaned"]
    once = counted(of("K1", 1))["cleaned"]
    assert [each.cars for each in (one, two, once)] == [1, 2, 1]
    assert [each.of_one_car for each in (one, two, once)] == [True, False, False]


def test_what_nobody_wrote_down_counts_nowhere() -> None:
    assert counted(job(1, tried(None)))["cleaned"].cured == 0


attempts = st.builds(
    tried,
    st.sampled_from([True, False, None]),
    st.sampled_from([Action.CLEANED, Action.REPLACED]),
    minutes=st.none() | st.integers(0, 90),
)
days = st.none() | st.integers(0, 500)


def _is_cured_again(one: Job) -> bool:
    told = [each.cured for each in one.attempts if each.cured is not None]
    return len(told) > 1 and any(told) and not all(told)


@given(st.lists(st.tuples(st.lists(attempts, max_size=3), days, days), max_size=8))
def test_counts_fit_together(rows: list[Any]) -> None:
    jobs = [
        job(number, *each, back=back, held=held)
        for number, (each, back, held) in enumerate(rows, start=1)
    ]
    for each in counted(*jobs).values():
        assert each.came_back + each.not_judged + each.unheard <= each.cured
        assert each.lost >= len(each.jobs) >= (1 if each.lost else 0)
        assert bool(each.cars) is each.may_be_lost
        assert each.cars <= len({*each.jobs, *each.to_judge})
        assert each.at_last <= min(each.in_vain, sum(map(_is_cured_again, jobs)))
        assert (each.minutes == 0 and each.parts_cost == 0) or each.lost


def test_what_was_in_vain_for_another_cause_is_told_apart() -> None:
    other = Cause(component="loom", failure_mode=FailureMode.OPEN)
    new = tried(True, Action.REPLACED)
    found = counted(job(1, tried(False, supposed=other), new), job(2, tried(False), new))
    assert (found["cleaned"].in_vain, found["cleaned"].for_another) == (2, 1)
    left = counted(job(3, tried(False, supposed=other)))["cleaned"]  # counts for the loom itself
    assert (left.in_vain, left.for_another) == (1, 0)


def by_maker(*jobs: Job) -> dict[str, Waste]:
    known = list(trials(apart_by_maker(repairs_of_jobs(jobs)), RateSettings()))
    return {each.what: each for each in wasted(known, maker_of)}


def fitted(cured: bool | None, maker: str | None, **more: Any) -> Attempt:
    return tried(cured, Action.REPLACED, part_maker=maker, **more)


def test_parts_are_told_apart_by_who_made_them_and_work_without_a_part_counts_nowhere() -> None:
    found = by_maker(
        job(1, fitted(True, "Norvik", minutes=30), back=20),
        job(2, fitted(True, "norvik "), held=200),
        job(3, fitted(True, None, parts_cost=9), back=30),
        job(4, tried(False, Action.CLEANED), fitted(True, "Zelto")),
    )
    counts = {what: (each.cured, each.came_back, each.in_vain) for what, each in found.items()}
    assert counts == {"Norvik": (2, 1, 0), MAKER_NOT_TOLD: (1, 1, 0), "Zelto": (1, 0, 0)}
    assert (found["Norvik"].minutes, found[MAKER_NOT_TOLD].parts_cost) == (30, 9)


def test_the_same_part_of_two_makers_on_one_job_counts_for_each() -> None:
    one = job(1, fitted(False, "Norvik", minutes=30), fitted(True, "Zelto"), held=300)
    found = by_maker(one)
    assert (found["Norvik"].in_vain, found["Norvik"].minutes, found["Zelto"].cured) == (1, 30, 1)
    rated = [*trials(repairs_of_jobs([one]), RateSettings())]
    assert [(each.times, each.tried.cured) for each in rated] == [(2, True)]  # one fix, as rated


def test_makers_change_no_count_by_fix() -> None:
    jobs = [job(n, fitted(n % 2 > 0, maker), back=9) for n, maker in enumerate("NZNN", start=1)]
    plain = [
        replace(each, attempts=tuple(replace(a, part_maker=None) for a in each.attempts))
        for each in jobs
    ]
    assert counted(*jobs) == counted(*plain)
