"""A number and nothing else, a car and nothing else."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Vehicle, VehicleModel
from kb.errors import InvalidField
from kb.intake.bare import seen_as_told, what_is_missing
from kb.intake.items import trade_wording

WORDING = trade_wording()
CARS = [
    Vehicle(make="Corvane", model="Lido", year=2013, engine="1.4 petrol", ref="K031"),
    Vehicle(make="Bramwick", model="Dray", year=2015, engine="2.2 diesel", ref="K025"),
]
MODELS = [VehicleModel(make="Sunato", model="Kiri", generation="mk2", first_year=2017)]


def missing(text: str) -> str | None:
    return what_is_missing(text, lambda: CARS, MODELS, WORDING)


@given(
    st.floats(-1e6, 1e6).map("{:g}".format) | st.integers(0, 10**6).map(str),
    st.sampled_from(["", "V", " V", " ohm", "A", " bar", "%", " psi"]),
)
def test_a_number_is_no_complaint(number: str, unit: str) -> None:
    if "e" not in number:
        assert "is a number and nothing else" in str(missing(f"{number}{unit}"))


@pytest.mark.parametrize("text", ["12.6 / 8.9 V", "12,6", "~5 ohm, 7 ohm", "+6", "8.9V."])
def test_nor_are_several(text: str) -> None:
    assert "is a number and nothing else" in str(missing(text))


@pytest.mark.parametrize(
    "text",
    [
        "K031",
        "corvane lido",
        "corvne lido 14",
        "Bramwick Dray 2.2 diesel",
        "lido",
        "sunato kiri mk2",
    ],
)
def test_nor_is_a_car(text: str) -> None:
    assert "names a car and nothing else" in str(missing(text))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "no start",
        "K031 no start",
        "lido dead",
        "cranks at 8.9 V",
        "9.2 cranking",
        "drips",
        "corvane lido smells",
        "abs",
        "P0171",
        "4wd",
        "Zephyra 2014",
    ],
)
def test_everything_else_says_something(text: str) -> None:
    assert missing(text) is None


def test_the_shop_s_cars_are_asked_for_only_where_no_word_is_the_trade_s() -> None:
    def never() -> list[Vehicle]:
        raise AssertionError

    assert what_is_missing("airbag lamp on", never, (), WORDING) is None


@pytest.mark.parametrize("text", ["y", "N", "yes", "ok.", "K991", "AB-207"])
def test_nor_is_an_answer_or_a_tag_that_no_car_has(text: str) -> None:
    assert "say what it does or does not do" in str(missing(text))


@pytest.mark.parametrize("text", ["P0335", "b1234", "P017", "ABS", "lamp", "K991 dead"])
def test_a_code_or_a_word_of_the_trade_is_more(text: str) -> None:
    assert missing(text) is None


@pytest.mark.parametrize("text", ["corvane lido 2016", "bramwick dray 2014."])
def test_a_car_that_nobody_knows_is_no_complaint(text: str) -> None:
    assert "names a car and nothing else" in str(what_is_missing(text, list, (), WORDING))


@pytest.mark.parametrize("text", ["no crank 2016", "ruckelt 2016", "noise since 2019"])
def test_trouble_of_a_year_is_one(text: str) -> None:
    assert what_is_missing(text, list, (), WORDING) is None


@pytest.mark.parametrize(
    "text",
    [
        "varnholt dreel 2014 2.2 diesel",
        "varnholt dreel 2.2 diesel",
        "2014 varnholt dreel petrol",
        "varnholt dreel 1.4l petrol 2016",
    ],
)
def test_nor_is_a_car_that_nobody_knows_with_its_engine(text: str) -> None:
    assert "names a car and nothing else" in str(what_is_missing(text, list, (), WORDING))


@pytest.mark.parametrize("text", ["varnholt wont run 2.2 diesel", "smells of diesel 2014 dreel"])
def test_a_car_that_does_something_is_one(text: str) -> None:
    assert what_is_missing(text, list, (), WORDING) is None


@pytest.mark.parametrize("text", ["2", "12.5", "?", "y", "no"])
def test_a_bare_number_tells_of_nothing_seen(text: str) -> None:
    with pytest.raises(InvalidField):
        seen_as_told(text)


@pytest.mark.parametrize("text", ["2.3 ohm", "lamp out", "drop of 2 V gone"])
def test_a_value_or_words_tell_something(text: str) -> None:
    assert seen_as_told(text) == text
