"""Rows of values with the corners listed beside them. The words are common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.corner_rows import corner_rows
from kb.intake.reading_search import find_readings

_SPELT = {"fl": "left front", "rf": "right front", "lr": "left rear", "osr": "offside rear"}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "tread 5/5/2.1/1,6 mm fl fr rl rr",
            [
                ("left front", "5 mm"),
                ("right front", "5 mm"),
                ("left rear", "2.1 mm"),
                ("right rear", "1,6 mm"),
            ],
        ),
        (
            "tyre pressure lf rf lr rr 2.3 2.2 2.5 2.6 bar",
            [
                ("left front", "2.3 bar"),
                ("right front", "2.2 bar"),
                ("left rear", "2.5 bar"),
                ("right rear", "2.6 bar"),
            ],
        ),
        (
            "discs 21.8/21.6 mm osf/nsf",
            [("offside front", "21.8 mm"), ("nearside front", "21.6 mm")],
        ),
    ],
)
def test_values_are_of_the_corners_listed_beside_them(
    text: str, told: list[tuple[str, str]]
) -> None:
    found = find_readings(text)
    assert [(each.position, each.typed) for each in found.readings] == told
    assert not found.rest


@pytest.mark.parametrize(
    "text",
    ["tread 5/5/2 mm lf rf lr rr", "tread 5/5 mm lf lf", "tread 5/5 mm, fl tyre", "lf rf worn"],
)
def test_another_number_of_corners_places_nothing(text: str) -> None:
    assert not list(corner_rows(text))


@given(
    st.lists(st.sampled_from(sorted(_SPELT)), min_size=2, max_size=4, unique=True),
    st.data(),
    st.booleans(),
)
def test_each_number_has_the_corner_in_its_place(
    names: list[str], data: st.DataObject, ahead: bool
) -> None:
    numbers = [str(data.draw(st.integers(1, 99))) for _ in names]
    parts = [" ".join(names), "/".join(numbers)]
    (row,) = corner_rows(" ".join(parts if ahead else parts[::-1]))
    assert list(row.corners.values()) == [_SPELT[name] for name in names]
