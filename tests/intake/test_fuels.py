"""The fuel of a car that nobody told."""

import pytest

from kb.case import Vehicle, VehicleModel
from kb.intake.fuels import supposed_fuel

CAR = Vehicle(make="Corvane", model="Lido", year=2016)


def listed(*engines: str, first: int | None = None, last: int | None = None) -> VehicleModel:
    return VehicleModel(
        make="Corvane",
        model="Lido",
        generation=f"{first}-{last}",
        engines=engines,
        first_year=first,
        last_year=last,
    )


def driven(engine: str | None, year: int = 2016) -> Vehicle:
    return Vehicle(make="corvane", model="LIDO", year=year, engine=engine)


@pytest.mark.parametrize(
    ("models", "past", "fuel"),
    [
        ([listed("1.2 petrol", "1.4 petrol")], [], "petrol"),
        ([listed("1.2 petrol", "1.6 diesel")], [], None),
        ([listed("1.2 petrol", "1.6")], [], None),
        ([listed("1.2 petrol", last=2016), listed("1.6 diesel", first=2017)], [], "petrol"),
        ([listed("1.2 petrol")], [driven("1.6 diesel")], None),
        ([listed("1.2 petrol")], [driven("1.6 diesel", 2004)], "petrol"),
        ([listed("1.2 petrol")], [driven("1.6"), driven(None)], "petrol"),
        ([], [driven("1.2 petrol")] * 3, "petrol"),
        ([], [driven("1.2 petrol")] * 2, None),
        ([listed()], [], None),
        ([], [], None),
    ],
)
def test_a_fuel_is_supposed_only_where_all_agree(
    models: list[VehicleModel], past: list[Vehicle], fuel: str | None
) -> None:
    found = supposed_fuel(CAR, models, past)
    assert (found and found.fuel) == fuel


def test_a_car_that_tells_its_fuel_or_no_model_is_left_as_it_is() -> None:
    told = Vehicle(make="Corvane", model="Lido", engine="1.6 diesel")
    assert supposed_fuel(told, [listed("1.2 petrol")], []) is None
    assert supposed_fuel(Vehicle(make="Corvane"), [listed("1.2 petrol")], []) is None
