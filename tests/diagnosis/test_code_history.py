"""Counting what a code turned out to be. The jobs are invented; the counts are done by hand."""

from dataclasses import replace
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from kb.case import CodeStatus, Job, TroubleCode, Vehicle
from kb.diagnosis.code_history import code_history
from tests.recall.shop import CLOCK_SPRING, KIRI, LIDO, SEAT_CONNECTOR

HIGH = TroubleCode(code="B1234", failure_type="1B", status=CodeStatus.STORED)
LOOSE = TroubleCode(code="B1234", failure_type="1F", status=CodeStatus.CURRENT)
BARE = TroubleCode(code="B1234")
OTHER = TroubleCode(code="B1310")


def job(number: int, vehicle: Vehicle, *codes: TroubleCode, closed: bool = True) -> Job:
    cause = CLOCK_SPRING if OTHER in codes else SEAT_CONNECTOR
    return Job(
        number=number,
        vehicle=vehicle,
        opened=date(2024, 1, 1),
        closed=date(2024, 1, 2) if closed else None,
        complaint="lamp",
        cause=cause if closed else None,
        codes=codes,
    )


JOBS = [
    job(5, replace(LIDO, ref="K001"), HIGH),
    job(4, replace(LIDO, ref="K001"), HIGH, HIGH),
    job(3, KIRI, LOOSE, OTHER),
    job(2, LIDO, BARE, closed=False),
    job(1, LIDO, OTHER),
]


def test_jobs_models_causes_and_companions() -> None:
    history = code_history([BARE], JOBS)
    assert (history.jobs, history.cases) == ((2, 3, 4, 5), 3)
    assert [(m.label, m.jobs, m.cars) for m in history.models] == [
        ("Corvane Lido", 3, 2),
        ("Sunato Kiri", 1, 1),
    ]
    assert [(c.cause, c.jobs) for c in history.causes] == [
        (SEAT_CONNECTOR, (4, 5)),
        (CLOCK_SPRING, (3,)),
    ]
    assert history.companions == (("B1310", 1),)
    assert history.failure_types == (("1B", 2), ("1F", 1))
    assert history.statuses == ((CodeStatus.STORED, 2), (CodeStatus.CURRENT, 1))


def test_a_failure_type_is_asked_for_exactly() -> None:
    assert code_history([LOOSE], JOBS).jobs == (3,)


def test_several_codes_are_those_on_one_job() -> None:
    history = code_history([BARE, OTHER], JOBS)
    assert (history.jobs, history.companions) == ((3,), ())


some_jobs = st.builds(
    Job,
    vehicle=st.sampled_from([LIDO, KIRI, Vehicle()]),
    opened=st.just(date(2024, 5, 1)),
    closed=st.just(date(2024, 5, 2)),
    complaint=st.just("lamp on"),
    codes=st.lists(st.sampled_from([HIGH, LOOSE, OTHER]), max_size=3).map(tuple),
    cause=st.sampled_from([None, SEAT_CONNECTOR, CLOCK_SPRING]),
)


@given(st.lists(some_jobs, max_size=6), st.sampled_from([BARE, HIGH, TroubleCode(code="P0301")]))
def test_the_cases_of_all_causes_are_the_cases(jobs: list[Job], code: TroubleCode) -> None:
    numbered = [replace(each, number=place) for place, each in enumerate(jobs, 1)]
    history = code_history([code], numbered)
    assert sum(len(each.jobs) for each in history.causes) == history.cases <= len(history.jobs)
    assert sum(model.jobs for model in history.models) == len(history.jobs)
