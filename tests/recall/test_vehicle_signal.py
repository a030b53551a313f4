"""Similarity of vehicles over what both sides know."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Vehicle, VehicleModel
from kb.recall import vehicle_signal as vehicle

LIDO = Vehicle(make="Corvane", model="Lido", year=2016, engine="1.4 petrol")


def similarity(asked: Vehicle, theirs: Vehicle) -> float:
    return float(vehicle.build([theirs]).similarities(asked)[0])


def test_the_same_car_is_fully_alike_however_it_is_written() -> None:
    assert similarity(Vehicle(make="CORVANE", model="lido "), LIDO) == pytest.approx(1.0)


def test_nearer_cars_are_more_alike() -> None:
    ladder = [
        similarity(LIDO, Vehicle(make="Corvane", model="Lido", year=2016, engine="1.4 petrol")),
        similarity(LIDO, Vehicle(make="Corvane", model="Lido", year=2012, engine="1.4 petrol")),
        similarity(LIDO, Vehicle(make="Corvane", model="Tessel", year=2016, engine="2.0 diesel")),
        similarity(LIDO, Vehicle(make="Sunato", model="Kiri", year=2016, engine="1.0 petrol")),
        similarity(LIDO, Vehicle(make="Sunato", model="Kiri", year=2001, engine="1.0 petrol")),
    ]
    assert ladder == sorted(set(ladder), reverse=True)


def test_unknown_facts_are_left_out_and_nothing_known_is_missing() -> None:
    assert similarity(LIDO, Vehicle(make="Corvane")) == pytest.approx(1.0)
    assert np.isnan(similarity(Vehicle(), LIDO))
    assert np.isnan(similarity(Vehicle(make="Corvane"), Vehicle(year=2016)))


names = st.none() | st.sampled_from(["Corvane", "Sunato", "Lido"])
vehicles = st.builds(
    Vehicle, make=names, model=names, engine=names, year=st.none() | st.integers(1990, 2026)
)


@given(vehicles, vehicles)
def test_similarity_is_symmetric_and_between_zero_and_one(one: Vehicle, other: Vehicle) -> None:
    forth, back = similarity(one, other), similarity(other, one)
    assert np.isnan(forth) == np.isnan(back)
    if not np.isnan(forth):
        assert forth == pytest.approx(back, abs=1e-6)
        assert 0 <= forth <= 1.0001


MODELS = [
    VehicleModel(make="Corvane", model="Lido", last_year=2016, platform="C1"),
    VehicleModel(make="Corvane", model="Lido", first_year=2017, platform="C1b"),
    VehicleModel(make="Sunato", model="Kiri", platform="c1"),
    VehicleModel(make="Sunato", model="Belo"),
]


def test_kin_are_the_other_models_on_the_platform_of_that_year() -> None:
    kiri = (Vehicle(make="Sunato", model="Kiri"),)
    assert vehicle.platform_cars(LIDO, MODELS) == kiri
    assert vehicle.platform_cars(Vehicle(make="Corvane", model="Lido", year=2019), MODELS) == ()
    assert vehicle.platform_cars(Vehicle(make="Sunato", model="Belo"), MODELS) == ()
    assert vehicle.platform_cars(Vehicle(), MODELS) == ()


def test_kin_are_more_alike_than_strangers_and_less_than_the_same_model() -> None:
    rows = [Vehicle(make="Sunato", model="Kiri"), Vehicle(make="Sunato", model="Belo"), LIDO]
    found = vehicle.build(rows).similarities(LIDO, vehicle.platform_cars(LIDO, MODELS))
    assert found[1] < found[0] < found[2]


def test_a_platform_is_worth_most_of_the_model_but_not_as_much_as_the_make() -> None:
    bare = Vehicle(model="Lido")
    kiri, lido = Vehicle(model="Kiri"), Vehicle(model="Lido")
    kin, same = vehicle.build([kiri, lido]).similarities(bare, [kiri])
    assert 0.5 * same < kin < same
    sister = Vehicle(make="Corvane", model="Tessel")
    cousin = Vehicle(make="Sunato", model="Kiri")
    of_make, of_platform = vehicle.build([sister, cousin]).similarities(
        Vehicle(make="Corvane", model="Lido"), [cousin]
    )
    assert of_platform < of_make
