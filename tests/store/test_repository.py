"""What is stored comes back, on both databases."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from sqlalchemy import Engine

from kb.bounds import LARGEST_INTEGER, LONGEST_TEXT
from kb.case import (
    Action,
    Attempt,
    Cause,
    DiagnosticTest,
    FailureMode,
    Job,
    Quantity,
    Reading,
    Relation,
    SaidAt,
    System,
    TroubleCode,
    Vehicle,
)
from kb.errors import Conflict, InvalidField, NoSuchJob
from kb.store import repository
from kb.store.mapping import cause_digest
from kb.store.unit_of_work import UnitOfWork
from tests import strategies

LIDO = Vehicle(make="Corvane", model="Lido", year=2015, ref="K001")
CAUSE = Cause(
    component="seat connector", location="under seat", failure_mode=FailureMode.HIGH_RESISTANCE
)
JOB = Job(vehicle=LIDO, opened=date(2026, 3, 2), complaint="airbag lamp on after seat was moved")
CASE = replace(JOB, closed=date(2026, 3, 3), cause=CAUSE)


def store(engine: Engine, *jobs: Job) -> list[Job]:
    with UnitOfWork(engine, who="BT") as work:
        stored = [work.jobs.add(job) for job in jobs]
        work.commit()
    return stored


@settings(max_examples=30)
@given(job=strategies.jobs())
def test_any_job_is_stored_and_comes_back_equal(engine: Engine, job: Job) -> None:
    with UnitOfWork(engine) as work:
        stored = work.jobs.add(job)
        assert stored == replace(job, number=stored.number, uid=stored.uid)
        assert job.number in {None, stored.number}
        assert job.uid in {None, stored.uid}
        assert stored.number is not None
        assert work.jobs.get(stored.number) == stored
        assert list(work.jobs.all()) == [stored]


@settings(max_examples=15)
@given(before=strategies.jobs(), after=strategies.jobs())
def test_any_job_can_be_edited_into_any_other(engine: Engine, before: Job, after: Job) -> None:
    with UnitOfWork(engine) as work:
        stored = work.jobs.add(before)
        edited = work.jobs.replace(replace(after, number=stored.number, uid=stored.uid))
        assert edited == replace(after, number=stored.number, uid=stored.uid)
        assert list(work.jobs.all()) == [edited]
        assert work.jobs.vehicles() == [edited.vehicle]


@pytest.mark.parametrize("value", [5e-324, 1.7976931348623157e308, 0.1, -0.0, 1 / 3, 1e22])
def test_floats_are_kept_to_the_last_bit(engine: Engine, value: float) -> None:
    reading = Reading(item="feed", quantity=Quantity.VOLTAGE, typed="x", value=value)
    (stored,) = store(engine, replace(JOB, readings=(reading,)))
    with UnitOfWork(engine, read_only=True) as work:
        assert work.jobs.get(1).readings[0].value == value
        assert work.jobs.get(1) == stored


def test_the_longest_texts_are_stored_and_found(engine: Engine) -> None:
    longest = "Ω" * LONGEST_TEXT
    cause = Cause(component=longest, failure_mode=FailureMode.OPEN, location=longest)
    job = replace(CASE, complaint=longest, cause=cause, vehicle=Vehicle(make=longest))
    store(engine, job)
    with UnitOfWork(engine, read_only=True) as work:
        assert work.jobs.get(1).complaint == longest
        assert work.repairs.of_causes([cause.key])[cause_digest(cause.key)][0].number == 1
        assert len(work.jobs.select(vehicle=longest)) == 1


def test_nothing_is_kept_unless_committed(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        work.jobs.add(JOB)
    with UnitOfWork(engine, read_only=True) as work:
        assert work.jobs.count() == 0


def test_an_error_inside_keeps_nothing(engine: Engine) -> None:
    def fail() -> None:
        with UnitOfWork(engine) as work:
            work.jobs.add(JOB)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    with UnitOfWork(engine, read_only=True) as work:
        assert work.jobs.count() == 0


def test_the_last_number_there_is_does_not_end_the_recording(engine: Engine) -> None:
    held = [replace(JOB, number=number, uid=None) for number in (1, 2, 7, LARGEST_INTEGER)]
    store(engine, *held)
    (third,) = store(engine, replace(JOB, number=None, uid=None))
    (fourth,) = store(engine, replace(JOB, number=None, uid=None))
    assert (third.number, fourth.number) == (3, 4)


def test_jobs_are_numbered_on_from_the_highest(engine: Engine) -> None:
    numbers = [job.number for job in store(engine, JOB, replace(JOB, number=41), JOB)]
    assert numbers == [1, 41, 42]


def test_a_taken_number_is_refused_also_within_one_work(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        work.jobs.add(replace(JOB, number=7))
        with pytest.raises(Conflict, match="number: 7 is taken"):
            work.jobs.add(replace(JOB, number=7))


def test_a_taken_uid_names_the_job_that_has_it(engine: Engine) -> None:
    store(engine, replace(JOB, uid="u1"))
    with UnitOfWork(engine) as work, pytest.raises(Conflict, match="uid: 'u1' is job 1 already"):
        work.jobs.add(replace(JOB, uid="u1", number=9))


def test_a_job_that_is_not_there_is_answered_with_the_nearest(engine: Engine) -> None:
    with UnitOfWork(engine, read_only=True) as work, pytest.raises(NoSuchJob, match="holds no job"):
        work.jobs.get(1)
    store(engine, replace(JOB, number=3), replace(JOB, number=9))
    with UnitOfWork(engine, read_only=True) as work:
        with pytest.raises(NoSuchJob, match="no job 5 among the 2; the nearest is 3 and 9"):
            work.jobs.get(5)
        with pytest.raises(NoSuchJob, match="the nearest is 9"):
            work.jobs.get(10**30)
        with pytest.raises(NoSuchJob, match="the nearest is 3"):
            work.jobs.get(-(10**30))


def test_jobs_come_in_the_order_asked_for(engine: Engine) -> None:
    store(engine, *[JOB] * 5)
    with UnitOfWork(engine, read_only=True) as work:
        assert [job.number for job in work.jobs.get_many([4, 1, 4])] == [4, 1, 4]
        assert work.jobs.get_many([]) == []
        with pytest.raises(NoSuchJob, match="no job 6"):
            work.jobs.get_many([1, 6])


def test_all_reads_over_the_ends_of_batches(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(repository, "BATCH", 2)
    store(engine, JOB, CASE, JOB, CASE, replace(CASE, number=50))
    with UnitOfWork(engine, read_only=True) as work:
        assert [job.number for job in work.jobs.all()] == [1, 2, 3, 4, 50]
        assert [job.number for job in work.jobs.all(cases_only=True)] == [2, 4, 50]
        assert (work.jobs.count(), work.jobs.count_cases()) == (5, 3)
        assert len(work.jobs.get_many([1, 2, 3, 4, 50])) == 5


def test_tests_are_found_by_the_cause_of_their_case_whatever_its_spelling(engine: Engine) -> None:
    loud = replace(CAUSE, component="SEAT  Connector", position="left front", words="loose")
    other = replace(CAUSE, failure_mode=FailureMode.OPEN)
    said = SaidAt(entry=0, start=0, end=4)
    tests = (
        DiagnosticTest(name="look", seen="green", points_to=("plug", "loom"), said=said),
        DiagnosticTest(name="drag test", seen="tight", minutes=9, clears=("plug",)),
    )
    case = replace(CASE, tests=tests)
    store(engine, case, replace(case, cause=loud), replace(case, cause=other), JOB)
    store(engine, replace(case, closed=None), replace(case, void="told twice"))
    store(engine, replace(CASE, tests=()))
    with UnitOfWork(engine, read_only=True) as work:
        found = work.jobs.tests_of_causes([CAUSE.key])
        assert [(each.number, each.cause, tuple(each.tests)) for each in found] == [
            (1, CAUSE, tests),
            (2, loud, tests),
        ]
        both = work.jobs.tests_of_causes([CAUSE.key, other.key])
        assert [each.number for each in both] == [1, 2, 3]
        assert work.jobs.tests_of_causes([]) == []


def test_jobs_are_found_by_uid(engine: Engine) -> None:
    store(engine, JOB, replace(JOB, uid="u2"))
    with UnitOfWork(engine, read_only=True) as work:
        assert work.jobs.numbers_of(["u2", "u3"]) == {"u2": 2}


def test_jobs_are_selected_by_what_is_known_of_them(engine: Engine) -> None:
    kiri = Vehicle(make="Sunato", model="Kiri", engine="1.0 petrol", ref="K%02")
    code = TroubleCode(code="B1234", failure_type="1B")
    store(
        engine,
        replace(JOB, codes=(code,), system=System.RESTRAINTS),
        replace(CASE, vehicle=kiri, opened=date(2025, 1, 1), closed=date(2025, 1, 2)),
        replace(JOB, vehicle=kiri, closed=date(2026, 4, 1)),
    )

    def numbers(**wanted: object) -> list[int | None]:
        return [job.number for job in work.jobs.select(**wanted)]  # type: ignore[arg-type]

    with UnitOfWork(engine, read_only=True) as work:
        assert numbers() == [3, 1, 2]
        assert numbers(limit=1) == [3]
        assert numbers(state="open") == [1]
        assert numbers(state="closed") == [2]
        assert numbers(state="closed without a cause") == [3]
        assert numbers(vehicle="kiri SUNATO") == [3, 2]
        assert numbers(vehicle="k%") == [3, 2]
        assert numbers(vehicle="lido 1.0") == []
        assert numbers(system=System.RESTRAINTS) == [1]
        assert numbers(code=TroubleCode(code="B1234")) == [1]
        assert numbers(code=code) == [1]
        assert numbers(code=replace(code, failure_type="13")) == []
        assert numbers(since=date(2026, 1, 1)) == [3, 1]
        with pytest.raises(InvalidField, match="vehicle"):
            work.jobs.select(vehicle="\udcff")


def test_case_of_letters_beyond_ascii_does_not_count(engine: Engine) -> None:
    store(engine, replace(JOB, vehicle=Vehicle(make="Älmaro")))
    with UnitOfWork(engine, read_only=True) as work:
        assert len(work.jobs.select(vehicle="ÄLMARO")) == 1


def test_the_sequence_of_changes_only_grows(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        assert work.changes.last() == 0
        work.jobs.add(JOB)
        first = work.changes.last()
        work.jobs.add(replace(JOB, vehicle=Vehicle()))
        second = work.changes.last()
        work.jobs.replace(replace(work.jobs.get(1), complaint="lamp stays on"))
        third = work.changes.last()
        assert 0 < first < second < third
        assert work.changes.since(0) == [1, 2]
        assert work.changes.since(first) == [1, 2]
        assert work.changes.since(second) == [1]
        assert work.changes.since(third) == []


def test_an_edit_is_written_down_field_by_field(engine: Engine) -> None:
    (job,) = store(engine, JOB)
    attempt = Attempt(action=Action.CLEANED, component="seat connector")
    with UnitOfWork(engine, who="MK") as work:
        work.jobs.replace(replace(job, odometer_km=81_000, attempts=(attempt,)))
        work.commit()
    with UnitOfWork(engine, who="JO") as work:
        better = replace(attempt, cured=True)
        work.jobs.replace(replace(job, odometer_km=81_000, attempts=(better,), uid=None))
        work.commit()
    with UnitOfWork(engine, read_only=True) as work:
        added, km, cleaned, cured = work.changes.of(1)
        assert work.jobs.get(1) == replace(job, odometer_km=81_000, attempts=(better,))
    assert (added.who, added.field, added.old, added.new) == ("BT", "added", None, None)
    assert (km.who, km.field, km.old, km.new) == ("MK", "odometer_km", None, 81_000)
    assert (cleaned.field, cleaned.old) == ("attempts[0]", None)
    assert cleaned.new["action"] == "cleaned"
    assert (cured.who, cured.field, cured.old, cured.new) == (
        "JO",
        "attempts[0].cured",
        None,
        True,
    )
    assert added.at <= km.at <= cured.at
    assert cured.at.tzinfo is not None


def test_an_edit_that_changes_nothing_leaves_no_trace(engine: Engine) -> None:
    (job,) = store(engine, CASE)
    with UnitOfWork(engine) as work:
        assert work.jobs.replace(job) == job
        assert len(work.changes.of(1)) == 1


def test_a_job_keeps_its_uid_and_must_exist_to_be_edited(engine: Engine) -> None:
    (job,) = store(engine, JOB)
    with UnitOfWork(engine) as work:
        with pytest.raises(Conflict, match="keeps its uid"):
            work.jobs.replace(replace(job, uid="another"))
        with pytest.raises(NoSuchJob):
            work.jobs.replace(replace(job, number=2))
        with pytest.raises(NoSuchJob):
            work.jobs.replace(replace(job, number=None))


def test_edited_codes_are_found_at_once(engine: Engine) -> None:
    (job,) = store(engine, JOB)
    code = TroubleCode(code="U0100")
    with UnitOfWork(engine) as work:
        work.jobs.replace(replace(job, codes=(code,)))
        assert [found.number for found in work.jobs.select(code=code)] == [1]


def test_numbers_and_uids_of_many_jobs(engine: Engine) -> None:
    store(engine, replace(JOB, number=7, uid="a"), replace(JOB, number=9, uid="b"))
    with UnitOfWork(engine) as work:
        assert work.jobs.numbers_of(["b", "c", "a"]) == {"a": 7, "b": 9}
        assert work.jobs.uids_of([8, 9]) == {9: "b"}
        assert work.jobs.numbers_of([]) == {}
        assert work.jobs.last_number() == 9


def test_an_empty_store_has_no_last_number(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        assert work.jobs.last_number() == 0


def test_codes_of_a_family_are_counted_by_job(engine: Engine) -> None:
    lean, rich = TroubleCode(code="P0171"), TroubleCode(code="P0172")
    store(
        engine,
        replace(JOB, codes=(lean, lean, rich)),
        replace(JOB, codes=(lean, TroubleCode(code="P0301"))),
    )
    with UnitOfWork(engine, read_only=True) as work:
        assert work.jobs.codes_like("P01") == [("P0171", 2), ("P0172", 1)]
        assert work.jobs.codes_like("U01") == []


def volts(value: float | None, item: str, **more: Quantity) -> Reading:
    relation = Relation.EXACT if value is not None else Relation.OVER_RANGE
    quantity = more.get("quantity", Quantity.VOLTAGE)
    return Reading(item=item, quantity=quantity, typed="typed", value=value, relation=relation)


def test_readings_are_counted_by_item_and_found_by_item_or_value(engine: Engine) -> None:
    feed, charge = volts(12.1, "motor feed"), volts(14.2, "charging")
    jobs = [
        replace(JOB, readings=(feed, charge)),
        replace(JOB, readings=(volts(None, "motor feed"),)),
        replace(JOB, readings=(volts(14.2001, "horn"),)),
        replace(JOB, readings=(volts(14.2, "horn", quantity=Quantity.CURRENT),)),
        JOB,
    ]
    first, second, third, *_ = (job.number for job in store(engine, *jobs))
    with UnitOfWork(engine, read_only=True) as work:
        assert work.jobs.measured(Quantity.VOLTAGE) == {"motor feed": 2, "charging": 1, "horn": 1}
        assert work.jobs.measured(Quantity.TORQUE) == {}

        def found(*items: str, value: float | None = None) -> list[int | None]:
            return [job.number for job in work.jobs.with_readings(items, Quantity.VOLTAGE, value)]

        assert found("motor feed") == [first, second]
        assert found("charging", value=14.2) == [first, third]
        assert found(value=-14.2) == []
        assert found() == []
