"""What an odometer shows, however it is typed."""

from contextlib import suppress
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Job, Vehicle
from kb.errors import InvalidField
from kb.intake.distances import (
    Distance,
    find_odometers,
    lift_odometer,
    lift_odometer_beside_car,
    parse_odometer,
)
from kb.intake.edits import edited
from kb.intake.shoptalk import understand

GAPS = st.sampled_from(["", ",", ".", " ", "'", "\u00a0", "\u202f"])
KM = st.sampled_from(["", "km", " km", " KM", "kms", " kilometres"])
MILES = st.sampled_from([" mi", "mi", " miles", " Miles", " mls"])


def grouped(number: int, gap: str) -> str:
    return f"{number:,}".replace(",", gap)


@given(st.integers(0, 2_000_000), GAPS, KM)
def test_thousands_may_be_parted(km: int, gap: str, unit: str) -> None:
    assert parse_odometer(grouped(km, gap) + unit) == Distance(km)


@given(st.integers(0, 1_860_000), GAPS, MILES)
def test_miles_become_km(miles: int, gap: str, unit: str) -> None:
    told = parse_odometer(grouped(miles, gap) + unit)
    assert told.miles == miles
    assert abs(told.km - miles * 1.609344) <= 0.5


@given(st.integers(0, 2_000), st.sampled_from(["k", " k", "K", "k km"]))
def test_a_k_is_a_thousand(thousands: int, unit: str) -> None:
    assert parse_odometer(f"{thousands}{unit}") == Distance(thousands * 1000)


@pytest.mark.parametrize("text", ["80.5", "80.00", "0,125", "1.234,567", "far", "", "-1", "80 0"])
def test_what_is_no_whole_distance_is_refused(text: str) -> None:
    with pytest.raises(InvalidField, match="is no distance"):
        parse_odometer(text)


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(InvalidField):
        assert parse_odometer(text).km >= 0


@given(st.integers(1_000, 900_000), GAPS, st.sampled_from([" km", "km"]))
def test_a_distance_with_its_unit_is_lifted_whole(km: int, gap: str, unit: str) -> None:
    told, rest = lift_odometer(f"came back at {grouped(km, gap)}{unit}, dead")
    assert (told, rest) == (Distance(km), "came back, dead")


@pytest.mark.parametrize("text", ["held", "as job 214", "12.6 V", "2026-05-02"])
def test_without_a_unit_nothing_is_lifted(text: str) -> None:
    assert lift_odometer(text) == (None, text)


def test_an_edit_reads_it_alike() -> None:
    job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="no crank")
    assert edited(job, ["odometer_km=80.000"], today=job.opened).odometer_km == 80_000
    assert edited(job, ["odometer_km=75000 mi"], today=job.opened).odometer_km == 120_701


@pytest.mark.parametrize(
    ("text", "km"),
    [
        ("80.000 km, cuts out", 80_000),
        ("rattles, 91k", 91_000),
        ("clonk, 141000", 141_000),
        ("mileage 112,406. needs a ride", 112_406),
        ("185 tkm", 185_000),
        ("it has done fifty one thousand", 51_000),
    ],
)
def test_an_odometer_is_found_among_words(text: str, km: int) -> None:
    ((distance, place),) = find_odometers(text, bare=True)
    assert distance.km == km
    assert text[slice(*place)].strip() == text[slice(*place)]


@pytest.mark.parametrize(
    "text",
    [
        "ran 4 miles then died",
        "15 mi road test",
        "every 5000 km",
        "gearbox serviced 10k ago",
        "above 2500 rpm",
        "no further problems, 12,000 km on",
        "2 l/1000 km",
        "phone 07700 900812",
    ],
)
def test_a_distance_driven_is_no_odometer(text: str) -> None:
    assert find_odometers(text, bare=True) == []


@pytest.mark.parametrize("told", ["84tkm", "84 tkm", "84k", "84.000 km", "84 000 km", "84,000km"])
def test_a_distance_beside_a_car_is_its_odometer(told: str) -> None:
    for text in (f"lido 2016, {told}", f"{told} lido 2016", f"lido {told} 2016"):
        found, car = lift_odometer_beside_car(text)
        assert found == Distance(84_000)
        assert car.replace(",", " ").split() == ["lido", "2016"]


@pytest.mark.parametrize("car", ["lido 2016 1.4", "K031", "dray 84", "corvane lido 14 2.0 diesel"])
def test_a_year_an_engine_or_a_tag_is_no_distance(car: str) -> None:
    assert lift_odometer_beside_car(car) == (None, car)


@given(st.integers(10, 400), st.sampled_from(["tys", " tys", " thou", " tsd"]))
def test_thousands_may_be_told_in_words(thousands: int, word: str) -> None:
    ((distance, _),) = find_odometers(f"rattles, {thousands}{word}", bare=True)
    assert distance.km == 1000 * thousands


@pytest.mark.parametrize(
    ("text", "km"),
    [
        ("smoke, 131,500 on clock", [131_500]),
        ("haunted. 3200 km, nearly new", [3_200]),
        ("mileage in 77,416 out 77,447", [77_416, 77_447]),
        ("res 12 k, ok", []),
        ("drove. 3000 km later", []),
    ],
)
def test_an_odometer_may_be_told_by_the_way(text: str, km: list[int]) -> None:
    assert [distance.km for distance, _ in find_odometers(text, bare=True)] == km


@pytest.mark.parametrize("text", ["belt replaced 2 yrs ago at 60k", "tyres 3 years ago 60 000 km"])
def test_a_distance_of_long_ago_is_not_shown_now(text: str) -> None:
    assert find_odometers(text, bare=True) == []


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("codes P0420, U0100/U0121, 16684", []),
        ("DTCs C0035, 16684, 17544", []),
        ("codes b 1212 - 1b, C-0035, po420, U0100/U0121, 16684", []),
        ("codes cleared, 84000", [84000]),
        ("no codes, 141000", [141000]),
        ("codes P0420, 91,400 km", [91400]),
        ("rattles, code P0420 cleared last week, 141000", [141000]),
    ],
)
def test_a_bare_number_in_a_list_of_codes_is_no_odometer(text: str, shown: list[int]) -> None:
    """Common practice, no source: makers' own codes are often five digits."""
    odometer = understand(text).odometer
    assert ([] if odometer is None else [odometer.km]) == shown


@pytest.mark.parametrize(
    "text", ["83.4tkm still ok", "still ok, 83,4 tkm", "came back at 83.4 tkm"]
)
def test_thousands_of_km_may_have_a_decimal(text: str) -> None:
    assert [told for told, _ in find_odometers(text)] == [Distance(83_400)]


@pytest.mark.parametrize(
    ("text", "km", "car"),
    [
        ("bramwick dray 2015 2,2 diesel 92500", 92500, "bramwick dray 2015 2,2 diesel"),
        ("dray 2015, 92.500", 92500, "dray 2015"),
        ("dray 2015 2.2", None, "dray 2015 2.2"),
        ("dray 2.2 2015", None, "dray 2.2 2015"),
        ("92500", None, "92500"),
    ],
)
def test_a_number_behind_a_car_that_is_no_year_is_its_odometer(
    text: str, km: int | None, car: str
) -> None:
    found, rest = lift_odometer_beside_car(text)
    assert (found and found.km, rest.strip(" ,")) == (km, car)


@given(st.sampled_from(["9", "0", "8.", "1,"]), st.sampled_from(["", "k", " km", " miles"]))
def test_a_distance_of_thousands_of_digits_is_refused_or_read(sign: str, unit: str) -> None:
    # Python reads no more than 4,300 digits unless told to (its documentation of int)
    for text in (sign * 5000 + unit, "9" * 400 + unit):
        with suppress(InvalidField):
            parse_odometer(text)
        find_odometers(f"battery dead, {text}")
