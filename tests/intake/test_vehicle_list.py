"""Which line of the shop's list a car belongs to."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Vehicle, VehicleModel
from kb.errors import InvalidField
from kb.intake.vehicle import parse_vehicle
from kb.intake.vehicle_list import lines_of, parse_years

FIRST = VehicleModel(
    make="Corvane", model="Lido", generation="first", first_year=2011, last_year=2016,
    engines=("1.2 petrol", "1.4 petrol"),
)  # fmt: skip
SECOND = VehicleModel(
    make="Corvane", model="Lido", generation="mk 2", first_year=2017, engines=("1.2 petrol",)
)
KIRI = VehicleModel(make="Sunato", model="Kiri")
SHOP = [FIRST, SECOND, KIRI]


@pytest.mark.parametrize(
    ("text", "label", "lines", "said"),
    [
        ("corvne lido 14", "Corvane Lido 2014", [FIRST], ["was read as"]),
        ("lido 2019", "Corvane Lido 2019", [SECOND], []),
        ("lido", "Corvane Lido", [FIRST, SECOND], []),
        ("lido MK 2", "Corvane Lido", [SECOND], []),
        ("lido first 1.4", "Corvane Lido 1.4 petrol", [FIRST], []),
        ("lido 2005", "Corvane Lido 2005", [], ["is no year of it"]),
        ("kiri 2005", "Sunato Kiri 2005", [KIRI], []),
        ("Zephyra Nova", "Zephyra Nova", [], ["is not on the shop's list"]),
    ],
)
def test_the_list_is_known_before_any_car_came(
    text: str, label: str, lines: list[VehicleModel], said: list[str]
) -> None:
    match = parse_vehicle(text, (), SHOP)
    assert (match.vehicle.label, list(match.lines)) == (label, lines)
    assert len(match.doubts) == len(said)
    assert all(words in str(doubt) for words, doubt in zip(said, match.doubts, strict=True))


def test_of_the_two_years_of_a_vin_the_listed_one_is_taken() -> None:
    vin = "1M8GDM9AXKP042788"  # 49 CFR 565's worked example: 1989, or 2019
    assert parse_vehicle(f"{vin} lido", (), SHOP).vehicle.year == 2019
    assert parse_vehicle(f"{vin} lido 2018", (), SHOP).vehicle.year == 2018
    assert parse_vehicle(vin, (), SHOP).vehicle.year == 1989


def test_a_car_of_the_shop_belongs_to_a_line() -> None:
    car = Vehicle(make="corvane", model="LIDO", year=2018, ref="K031")
    assert parse_vehicle("k031", [car], SHOP).lines == (SECOND,)


@given(st.integers(1900, 2100))
def test_each_year_belongs_to_the_lines_built_then(year: int) -> None:
    car = Vehicle(make="Corvane", model="Lido", year=year)
    expected = (FIRST,) if 2011 <= year <= 2016 else (SECOND,) if year >= 2017 else ()
    assert lines_of(car, SHOP) == expected


@pytest.mark.parametrize("text", ["", "-", "2011 2016", "soon", "11-16", "2011-2016-2020"])
def test_years_that_cannot_be_read(text: str) -> None:
    with pytest.raises(InvalidField, match="cannot be read"):
        parse_years(text)


@given(st.integers(1000, 9999), st.integers(1000, 9999), st.sampled_from(["-", " - ", "–", " to "]))
def test_printed_years_are_read_back(first: int, last: int, between: str) -> None:
    assert parse_years(f"{first}{between}{last}") == (first, last)
    assert parse_years(f"{first}{between}") == (first, None)
    assert parse_years(f"{between}{last}") == (None, last)


@given(st.text(max_size=40) | st.text("lidoMK 2 first 0123456789", max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(InvalidField):
        match = parse_vehicle(text, (), SHOP)
        assert set(match.lines) <= set(SHOP)
    with suppress(InvalidField):
        parse_years(text)
