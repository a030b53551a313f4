"""Placeholders: repeated extremes, and what is none."""

from dataclasses import replace
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from kb.bands.bands import Band, BandLevel, ReadingSample, learn, scale_for
from kb.bands.measured import Taken
from kb.bands.placeholders import Placeholder, find_placeholder, is_told_missing
from kb.case import Vehicle
from tests.bands.circuits import GOOD_VALUES, KIRI, LIDO, READINGS, WORDS, reading

BAND = learn(
    ReadingSample(values=GOOD_VALUES),
    BandLevel.ALL,
    scale_for(reading(1.0).quantity, GOOD_VALUES),
    READINGS,
)


def seen(times: int, value: float = 12.7, vehicle: Vehicle = LIDO, **more: Any) -> list[Taken]:
    return [
        Taken(
            reading=reading(value, **more),
            vehicle=Vehicle(make=vehicle.make, ref=f"K{number}"),
            job=number,
        )
        for number in range(1, times + 1)
    ]


def found(
    history: list[Taken], value: float | None = 12.7, band: Band = BAND
) -> Placeholder | None:
    asked = Taken(reading=reading(value), vehicle=LIDO)
    return find_placeholder(asked, [*history, asked], band, WORDS, READINGS)


def test_a_single_extreme_is_none() -> None:
    assert found([]) is None
    assert found(seen(1)) is None


def test_the_same_extreme_on_several_cars_of_a_make() -> None:
    holder = found(seen(4))
    assert holder is not None
    assert (holder.value, holder.circuits, holder.cars, holder.same_make) == (12.7, 5, 5, True)
    assert holder.jobs == (1, 2, 3, 4)


def test_other_makes_count_where_this_make_has_too_few() -> None:
    holder = found(seen(4, vehicle=KIRI))
    assert holder is not None
    assert not holder.same_make


def test_the_same_extreme_on_two_circuits_of_this_car() -> None:
    beside = Taken(reading=reading(12.7, "right front"), vehicle=LIDO)
    holder = found([beside])
    assert holder is not None
    assert (holder.circuits, holder.cars, holder.jobs) == (2, 1, ())


def test_one_circuit_read_twice_is_one() -> None:
    again = Taken(reading=reading(12.7), vehicle=LIDO)
    assert found([again, again]) is None


def test_circuits_proved_bad_or_good_do_not_count() -> None:
    assert found(seen(9, proved_good=False)) is None
    assert found(seen(9, proved_good=True)) is None


def test_another_value_or_item_does_not_count() -> None:
    assert found(seen(9, value=12.5)) is None
    assert found(seen(9, item="horn feed")) is None


def test_a_repeated_value_inside_the_band_is_a_measurement() -> None:
    assert found(seen(9, value=2.2), value=2.2) is None


def test_without_a_band_somebody_must_have_told() -> None:
    silent = Band(level=BandLevel.ALL)
    assert found(seen(9), band=silent) is None
    holder = found(seen(9, condition="not fitted on this car"), band=silent)
    assert holder is not None
    assert holder.told == 9


def test_open_readings_need_to_be_told_as_well() -> None:
    def opens(condition: str | None) -> list[Taken]:
        return [replace(each, reading=reading(None, condition=condition)) for each in seen(4)]

    assert found(opens("n/f"), value=None) is not None
    assert found(opens(None), value=None) is None


def test_new_parts_are_not_missing() -> None:
    assert not is_told_missing(reading(2.2, condition="new pretensioner fitted"))
    assert is_told_missing(reading(2.2, condition="Not fitted on this car"))


@given(st.lists(st.floats(0, 1e6), max_size=12, unique=True))
def test_values_that_all_differ_are_never_placeholders(values: list[float]) -> None:
    history = [each for value in values for each in seen(1, value=value)]
    apart = [
        each for each in history if each.reading.value and abs(each.reading.value - 12.7) > 0.1
    ]
    assert found(apart) is None
