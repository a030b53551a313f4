"""Which visits are one car's, and what an edit of a car does."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine

from kb.case import Job, Vehicle
from kb.errors import Conflict
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

VIN, OTHER_VIN = "AAAAAAAAAAAAAAAA1", "AAAAAAAAAAAAAAAA2"


def job(**vehicle: object) -> Job:
    known = Vehicle(**vehicle)  # type: ignore[arg-type]
    return Job(vehicle=known, opened=date(2026, 3, 2), complaint="no crank, clicks once")


def add(engine: Engine, *jobs: Job) -> None:
    with UnitOfWork(engine) as work:
        for each in jobs:
            work.jobs.add(each)
        work.commit()


def cars(engine: Engine) -> list[Vehicle]:
    with UnitOfWork(engine, read_only=True) as work:
        return [each.vehicle for each in work.jobs.all()]


def edit(engine: Engine, number: int, **details: object) -> None:
    with UnitOfWork(engine, who="BT") as work:
        stored = work.jobs.get(number)
        vehicle = replace(stored.vehicle, **details)  # type: ignore[arg-type]
        work.jobs.replace(replace(stored, vehicle=vehicle))
        work.commit()


def visits(engine: Engine, vehicle: Vehicle) -> list[int | None]:
    with UnitOfWork(engine, read_only=True) as work:
        return [each.number for each in work.jobs.of_vehicle(vehicle)]


def test_a_later_visit_fills_gaps_for_all_visits_and_they_count_as_changed(engine: Engine) -> None:
    add(engine, job(ref="K001", make="Corvane"), job(ref="K002"))
    with UnitOfWork(engine, who="BT") as work:
        before = work.changes.last()
        stored = work.jobs.add(job(ref="K001", model="Lido"))
        assert stored.vehicle == Vehicle(ref="K001", make="Corvane", model="Lido")
        assert work.changes.since(before) == [1, 3]
        last = work.changes.of(1)[-1]
        assert (last.field, last.old, last.new, last.who) == ("vehicle.model", None, "Lido", "BT")
        work.commit()
    assert cars(engine)[0] == stored.vehicle


def test_a_contradiction_names_the_field_and_both_values(engine: Engine) -> None:
    add(engine, job(ref="K001", make="Corvane"))
    with pytest.raises(Conflict, match=r"vehicle\.make: 'Sunato' contradicts 'Corvane'.*K001"):
        add(engine, job(ref="K001", make="Sunato"))


def test_without_ref_and_vin_every_visit_has_a_car_of_its_own(engine: Engine) -> None:
    add(engine, job(make="Corvane"), job(make="Corvane", model="Lido"), job())
    assert cars(engine) == [
        Vehicle(make="Corvane"),
        Vehicle(make="Corvane", model="Lido"),
        Vehicle(),
    ]
    assert visits(engine, Vehicle(make="Corvane")) == []


def test_a_vin_makes_visits_one_cars(engine: Engine) -> None:
    add(engine, job(vin=VIN, year=2015), job(vin=VIN), job(vin=OTHER_VIN))
    assert visits(engine, Vehicle(vin=VIN)) == [1, 2]
    assert cars(engine)[1] == Vehicle(vin=VIN, year=2015)


def test_a_visit_that_tells_ref_and_vin_unites_two_cars(engine: Engine) -> None:
    add(engine, job(ref="K001", make="Corvane"), job(vin=VIN, year=2015))
    add(engine, job(ref="K001", vin=VIN))
    whole = Vehicle(ref="K001", vin=VIN, make="Corvane", year=2015)
    assert cars(engine) == [whole] * 3
    assert visits(engine, Vehicle(ref="K001")) == [1, 2, 3]


def test_two_refs_cannot_share_a_vin(engine: Engine) -> None:
    add(engine, job(ref="K001", vin=VIN))
    with pytest.raises(Conflict, match=r"vehicle\.ref: 'K002' contradicts 'K001'"):
        add(engine, job(ref="K002", vin=VIN))


def test_an_edited_detail_is_corrected_on_all_visits_of_the_car(engine: Engine) -> None:
    add(engine, job(ref="K001", make="Corvone"), job(ref="K001"))
    edit(engine, 2, make="Corvane")
    assert cars(engine) == [Vehicle(ref="K001", make="Corvane")] * 2
    with UnitOfWork(engine, read_only=True) as work:
        for number in (1, 2):
            last = work.changes.of(number)[-1]
            assert (last.field, last.old, last.new) == ("vehicle.make", "Corvone", "Corvane")


def test_an_edited_ref_moves_one_visit_of_several_to_the_other_car(engine: Engine) -> None:
    add(engine, job(ref="K001"), job(ref="K001"), job(ref="K002", make="Sunato"))
    edit(engine, 2, ref="K002")
    assert visits(engine, Vehicle(ref="K001")) == [1]
    assert visits(engine, Vehicle(ref="K002")) == [2, 3]
    assert cars(engine)[1].make == "Sunato"


def test_an_edited_ref_of_an_only_visit_renames_the_car(engine: Engine) -> None:
    add(engine, job(ref="K01", vin=VIN))
    edit(engine, 1, ref="K001")
    assert cars(engine) == [Vehicle(ref="K001", vin=VIN)]
    with UnitOfWork(engine, read_only=True) as work:
        assert work.jobs.vehicles() == [Vehicle(ref="K001", vin=VIN)]


def test_a_ref_given_later_joins_the_visit_to_the_car(engine: Engine) -> None:
    add(engine, job(ref="K001", make="Corvane"), job(model="Lido"))
    edit(engine, 2, ref="K001")
    assert cars(engine) == [Vehicle(ref="K001", make="Corvane", model="Lido")] * 2


def test_a_ref_that_contradicts_is_refused_and_nothing_is_changed(engine: Engine) -> None:
    add(engine, job(ref="K001", make="Corvane"), job(make="Sunato"))
    with pytest.raises(Conflict, match=r"vehicle\.make"):
        edit(engine, 2, ref="K001")
    assert cars(engine) == [Vehicle(ref="K001", make="Corvane"), Vehicle(make="Sunato")]


def test_a_visit_can_be_taken_off_a_car(engine: Engine) -> None:
    add(engine, job(ref="K001", make="Corvane"), job(ref="K001"))
    edit(engine, 2, ref=None)
    assert cars(engine) == [Vehicle(ref="K001", make="Corvane"), Vehicle(make="Corvane")]
    edit(engine, 2, make="Sunato")
    assert cars(engine)[0].make == "Corvane"


VEHICLES = st.builds(
    Vehicle,
    ref=st.sampled_from([None, "K1", "K2"]),
    vin=st.sampled_from([None, VIN, OTHER_VIN]),
    make=st.sampled_from([None, "Corvane", "Sunato"]),
    year=st.sampled_from([None, 2014]),
)


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(told=st.lists(st.tuples(VEHICLES, st.sampled_from([None, 1, 2, 3, 9])), max_size=8))
def test_looking_ahead_changes_nothing_but_the_statements(
    sqlite_address: str, told: list[tuple[Vehicle, int | None]]
) -> None:
    engine = open_store(sqlite_address)
    jobs = [
        Job(vehicle=car, opened=date(2026, 3, 2), complaint="x", number=number, uid=f"u{place % 5}")
        for place, (car, number) in enumerate(told)
    ]
    ahead, singly = (_told(engine, jobs, look_ahead=way) for way in (True, False))
    assert ahead == singly


def _told(engine: Engine, jobs: list[Job], *, look_ahead: bool) -> list[object]:
    """What was said of each job, and all that the store held then; nothing is kept."""
    said: list[object] = []
    with UnitOfWork(engine) as work:
        for batch in (jobs[:5], jobs[5:]):
            if look_ahead:
                work.jobs.look_ahead(batch)
            for job in batch:
                try:
                    said.append(work.jobs.add(job))
                except Conflict as error:
                    said.append(str(error))
        changes = [work.changes.of(number) for number in range(1, work.jobs.last_number() + 1)]
        told = [(each.job, each.field, each.old, each.new) for some in changes for each in some]
        return [*said, *work.jobs.all(), *told]
