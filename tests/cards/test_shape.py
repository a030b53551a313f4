from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from kb.cards.shape import (
    contradictions,
    duplicates,
    is_proved,
    names_used_once,
    tells_own_diagnosis,
)
from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Vehicle

DAY = date(2026, 3, 2)
PLUG = Cause(component="seat connector", failure_mode=FailureMode.HIGH_RESISTANCE)
SPRING = Cause(component="clock spring", failure_mode=FailureMode.OPEN)


def case(
    number: int = 1,
    complaint: str = "airbag lamp on after the seat was moved",
    cause: Cause = PLUG,
    *,
    on: date = DAY,
    ref: str | None = None,
    proved_by: str | None = None,
    attempts: tuple[Attempt, ...] = (),
    contacts: tuple[Contact, ...] = (),
) -> Job:
    return Job(
        number=number,
        vehicle=Vehicle(ref=ref, make="Corvane", model="Lido"),
        opened=on,
        closed=on,
        complaint=complaint,
        cause=cause,
        proved_by=proved_by,
        attempts=attempts,
        contacts=contacts,
    )


def test_a_case_whose_like_agree_on_another_cause_contradicts_them() -> None:
    alike = [case(number) for number in (1, 2, 3)]
    other = case(4, cause=SPRING)
    apart = case(5, "grinds when braking hard", SPRING)
    (found,) = contradictions([*alike, other, apart])
    assert found.case == other
    assert {job.number for job in found.like} == {1, 2, 3}


def test_where_the_like_do_not_agree_nothing_is_said() -> None:
    assert not list(contradictions([case(1), case(2), case(3, cause=SPRING)]))
    assert not list(contradictions([case(n, "?", SPRING if n < 2 else PLUG) for n in range(1, 7)]))


@given(st.lists(st.tuples(st.sampled_from(["lamp on", "noise", ""]), st.booleans()), max_size=8))
def test_cases_of_one_cause_never_contradict(told: list[tuple[str, bool]]) -> None:
    cases = [case(n, f"{text} x") for n, (text, _) in enumerate(told, 1)]
    assert not list(contradictions(cases))
    mixed = [case(n, f"{t} x", SPRING if s else PLUG) for n, (t, s) in enumerate(told, 1)]
    for found in contradictions(mixed):
        assert {job.cause for job in found.like}.isdisjoint({found.case.cause})


def test_proof_is_told_or_was_seen_after_the_repair() -> None:
    done = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
    seen = Attempt(action=Action.CLEANED, component="seat connector", cured=True, verified="driven")
    assert not is_proved(case(attempts=(done,)))
    assert is_proved(case(attempts=(seen,)))
    assert is_proved(case(proved_by="code gone"))


def test_a_complaint_holds_its_diagnosis_where_it_tells_part_and_failure_or_the_work() -> None:
    assert tells_own_diagnosis(case(complaint="lamp on, seat connector high resistance"))
    assert tells_own_diagnosis(case(complaint="lamp on, cleaned seat connector"))
    assert not tells_own_diagnosis(case(complaint="lamp on since the seat connector was off"))
    assert not tells_own_diagnosis(case())


def test_jobs_of_one_day_car_and_complaint_may_be_one() -> None:
    twice = [case(1, ref="K7"), case(2, "Airbag lamp  on after the seat was moved", ref="K7")]
    others = [case(3, ref="K8"), case(4, ref="K7", on=DAY + timedelta(1)), case(5, "noise")]
    assert duplicates([*twice, *others]) == [tuple(twice)]


def test_a_name_that_one_job_alone_says_is_told_however_often_it_does() -> None:
    again = Attempt(action=Action.CLEANED, component="Seat  connector")
    jobs = [case(1, attempts=(again,)), case(2, cause=SPRING), case(3, cause=SPRING)]
    assert names_used_once(jobs) == [("seat connector", jobs[0])]
