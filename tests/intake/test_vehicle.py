from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Vehicle
from kb.errors import InvalidField
from kb.intake.vehicle import parse_vehicle

SHOP = [
    Vehicle(make="Corvane", model="Lido", year=2014, engine="1.4 petrol", ref="K031"),
    Vehicle(make="Corvane", model="Lido", year=2012, engine="1.2 petrol", ref="K032"),
    Vehicle(make="Corvane", model="Tessel", year=2016, engine="2.0 diesel", ref="K033"),
    Vehicle(make="Halbrecht", model="Ostra", year=2015, engine="2.0 diesel", ref="K034"),
    Vehicle(make="Halbrecht", model="Fjell", year=2019, engine="2.0 diesel", ref="K035"),
    Vehicle(make="Sunato", model="Kiri", year=2018, engine="1.0 petrol", ref="K036"),
    Vehicle(make="Sunato", model="Haru", year=2020, engine="1.8 hybrid", ref="K037"),
    Vehicle(make="Bramwick", model="Dray", year=2017, engine="2.2 diesel", ref="K038"),
    Vehicle(make="Ilmaro", model="Tuuli", year=2021, engine="1.5 hybrid", ref="K039",
            vin="ZZZTU15AXM0000007"),
]  # fmt: skip


@pytest.mark.parametrize("car", SHOP)
def test_tag_and_vin_give_the_very_car(car: Vehicle) -> None:
    assert car.ref is not None
    assert parse_vehicle(car.ref.lower(), SHOP).vehicle == car
    assert parse_vehicle(f"{car.ref} {car.model}", SHOP).doubts == ()
    if car.vin:
        assert parse_vehicle(car.vin.lower(), SHOP).vehicle == car


@pytest.mark.parametrize("car", SHOP)
@pytest.mark.parametrize("change", [str, str.lower, str.upper])
def test_a_full_label_gives_the_kind_of_car_and_no_doubt(car: Vehicle, change: type[str]) -> None:
    match = parse_vehicle(change(car.label), SHOP)
    assert match.vehicle == replace(car, ref=None, vin=None)
    assert match.doubts == ()


@pytest.mark.parametrize(
    ("text", "label", "said"),
    [
        ("corvne lido 14", "Corvane Lido 2014", ["was read as Corvane Lido"]),
        ("lido", "Corvane Lido", []),
        ("14 lido", "Corvane Lido 2014", []),
        ("lido '15", "Corvane Lido 2015", []),
        # plates from 51 on were given out in autumn: common practice, no source
        ("lido 64 plate", "Corvane Lido 2014", []),
        ("lido 99", "Corvane Lido 1999", []),
        ("lido corvane", "Corvane Lido", []),
        ("corvane", "Corvane", []),
        ("halbrect fjel 19", "Halbrecht Fjell 2019", ["was read as Halbrecht Fjell"]),
        ("haro", "Sunato Haru", ["was read as Sunato Haru"]),
        ("ostra 2.0d", "Halbrecht Ostra 2.0 diesel", []),
        ("haru hybrid", "Sunato Haru 1.8 hybrid", []),
        ("dray 2,2", "Bramwick Dray 2.2 diesel", []),
        ("lido 1.6", "Corvane Lido 1.6", ["is not one engine of the Corvane Lido"]),
        ("lido silver", "Corvane Lido", ["was not understood"]),
        ("Sunato Lido", "Sunato Lido", ["is a Corvane on the shop's list"]),
        ("Zephyra Nova 2019", "Zephyra Nova 2019", ["is not on the shop's list; taken as typed"]),
        ("12345", "unknown vehicle", ["was not understood"]),
        ("", "unknown vehicle", []),
    ],
)
def test_rough_entries(text: str, label: str, said: list[str]) -> None:
    match = parse_vehicle(text, SHOP)
    assert match.vehicle.label == label
    assert match.vehicle.ref is None
    assert len(match.doubts) == len(said)
    assert all(words in str(doubt) for words, doubt in zip(said, match.doubts, strict=True))


def test_two_names_equally_alike_are_both_named_and_neither_is_taken() -> None:
    shop = [Vehicle(make="Corvane", model="Lida"), Vehicle(make="Sunato", model="Lidu")]
    match = parse_vehicle("lido", shop)
    assert match.vehicle.model is None
    assert "may be" in str(match.doubts[0])
    assert "Corvane Lida" in str(match.doubts[0])
    assert "Sunato Lidu" in str(match.doubts[0])


def test_a_tag_that_contradicts_the_words_is_said() -> None:
    match = parse_vehicle("K031 tessel", SHOP)
    assert match.vehicle == SHOP[0]
    assert str(match.doubts[0]).startswith("“tessel” does not fit K031")


def test_a_new_tag_is_taken_and_said() -> None:
    match = parse_vehicle("K199 kiri 18", SHOP)
    assert (match.vehicle.ref, match.vehicle.label) == ("K199", "Sunato Kiri 2018")
    assert "new key tag" in str(match.doubts[0])


def test_a_new_vin_gives_its_year_with_a_doubt_and_the_typed_year_wins() -> None:
    alone = parse_vehicle("1M8GDM9AXKP042788 dray", SHOP)
    assert (alone.vehicle.vin, alone.vehicle.year) == ("1M8GDM9AXKP042788", 1989)
    assert any("model year 1989" in doubt.why for doubt in alone.doubts)
    assert parse_vehicle("1M8GDM9AXKP042788 dray 2019", SHOP).vehicle.year == 2019


def test_a_vin_with_a_letter_that_none_has_is_refused() -> None:
    with pytest.raises(InvalidField, match="holds O"):
        parse_vehicle("1M8GDM9AXKPO42788", SHOP)


@given(st.text(max_size=60) | st.text("corvaneLIDO 0123456789.,'k", max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(InvalidField):
        match = parse_vehicle(text, SHOP)
        assert match.vehicle == Vehicle() or match.vehicle.label or match.doubts
