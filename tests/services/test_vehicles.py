"""The shop's list of vehicles, and one vehicle, from a store."""

from datetime import date

import pytest

from kb.case import Handedness, Job, Vehicle, VehicleModel
from kb.errors import InvalidField
from kb.services.new_job import Opening, open_job
from kb.services.vehicles import add_model, list_models, remove_model, show_vehicle
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


def test_the_list_is_added_to_shown_and_taken_from(empty_store: str) -> None:
    told = VehicleModel(
        make="Corvane",
        model="Lido",
        generation="second",
        first_year=2017,
        engines=("1.2 petrol",),
        handedness=Handedness.RIGHT,
    )
    assert add_model(empty_store, told, who="BT") == told
    assert list_models(empty_store) == [told]
    with pytest.raises(InvalidField, match="not on the shop's list"):
        remove_model(empty_store, "corvane", "lido")
    remove_model(empty_store, "corvane", "lido", "SECOND")
    assert list_models(empty_store) == []


def test_the_list_is_used_for_the_first_job_of_a_model(empty_store: str) -> None:
    add_model(empty_store, VehicleModel(make="Corvane", model="Lido", engines=("1.4 petrol",)))
    told = Opening(text="airbag lamp on", vehicle="corvne lido 14 1.4")
    draft = open_job(empty_store, told, today=date(2026, 3, 2))
    assert draft.job.vehicle.label == "Corvane Lido 2014 1.4 petrol"


def test_a_car_of_the_shop(demo_store: str) -> None:
    sheet = show_vehicle(demo_store, "k031")
    assert (sheet.vehicle.ref, sheet.vehicle.model) == ("K031", "Ostra")
    assert [line.generation for line in sheet.lines] == ["first"]
    assert sheet.is_one_car
    assert {job.vehicle.ref for job in sheet.jobs} == {"K031"}


def test_of_a_car_that_came_often_the_last_jobs_are_told(empty_store: str) -> None:
    car = Vehicle(make="Corvane", model="Lido", ref="K9")
    with UnitOfWork(open_store(empty_store)) as work:
        for day in (3, 1, 2, *range(4, 14)):
            work.jobs.add(Job(vehicle=car, opened=date(2026, 3, day), complaint="lamp on"))
        work.commit()
    sheet = show_vehicle(empty_store, "K9")
    assert sheet.all_jobs == 13
    assert [job.opened.day for job in sheet.jobs] == list(range(13, 3, -1))


def test_a_kind_of_car(demo_store: str) -> None:
    sheet = show_vehicle(demo_store, "corvne lido 14")
    assert not sheet.is_one_car
    assert {job.vehicle.model for job in sheet.jobs} == {"Lido"}
    assert all(2011 <= (job.vehicle.year or 2011) <= 2016 for job in sheet.jobs)
    assert [job.opened for job in sheet.jobs] == sorted(
        (job.opened for job in sheet.jobs), reverse=True
    )
    assert any("was read as Corvane Lido" in notice for notice in sheet.notices)


def test_a_vin_alone(demo_store: str) -> None:
    # 49 CFR 565's worked example of a check digit
    sheet = show_vehicle(demo_store, "1M8GDM9AXKP042788")
    assert sheet.vin is not None
    assert (sheet.vin.region, sheet.vin.years, sheet.vin.check_digit_right) == (
        "North America",
        (1989, 2019),
        True,
    )
    wrong = show_vehicle(demo_store, "1M8GDM9AXKP042789")
    assert any("check digit" in notice for notice in wrong.notices)


@pytest.mark.parametrize("text", ["", "12345", "???"])
def test_no_vehicle_at_all_is_refused(demo_store: str, text: str) -> None:
    with pytest.raises(InvalidField, match="tells no vehicle"):
        show_vehicle(demo_store, text)


def test_the_demonstration_shop_has_its_list(demo_store: str) -> None:
    models = list_models(demo_store)
    assert {model.model for model in models} == {
        "Lido", "Tessel", "Ostra", "Fjell", "Kiri", "Haru", "Dray", "Tuuli",
    }  # fmt: skip
    assert {model.handedness for model in models} == {Handedness.RIGHT}
