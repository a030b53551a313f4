"""Lists of values that have their unit once: how they are written is common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.listed_values import without_head_states, without_list_commas
from kb.intake.reading_search import find_readings


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("warm: cyl 1 12.4, cyl 2 11.9 bar",
         [("cylinder 1", "12.4 bar", "warm"), ("cylinder 2", "11.9 bar", "warm")]),
        ("comp hot: 1 12.4, 2 11.9 bar",
         [("cylinder 1", "12.4 bar", "hot"), ("cylinder 2", "11.9 bar", "hot")]),
        ("zyl 1 12,4, zyl 2 11,9 bar",
         [("cylinder 1", "12,4 bar", None), ("cylinder 2", "11,9 bar", None)]),
        ("tyres LF 32, RF 31 psi",
         [("left front", "32 psi", None), ("right front", "31 psi", None)]),
        ("cyl 3: dry 8, wet 11 bar",
         [("cylinder 3", "8 bar", "dry"), ("cylinder 3", "11 bar", "wet")]),
        ("oil hot 0.8, cold 3.2 bar", [(None, "0.8 bar", "hot"), (None, "3.2 bar", "cold")]),
    ],
)  # fmt: skip
def test_a_unit_behind_the_last_is_of_all(
    line: str, told: list[tuple[str | None, str, str | None]]
) -> None:
    readings = find_readings(line).readings
    assert [(each.position, each.typed, each.condition) for each in readings] == told


@pytest.mark.parametrize("line", ["battery 12.4, rail 300 bar", "cyl 1 12.4, lamp on", "LF, RF 3"])
def test_other_commas_stay(line: str) -> None:
    assert without_list_commas(line) == line


@given(st.text(alphabet="cyl 1234,.:barhot\n", max_size=80))
def test_what_is_left_is_as_long_and_blank_where_it_differs(text: str) -> None:
    for read in (without_list_commas(text), without_head_states(text)):
        assert len(read) == len(text)
        assert all(one in (other, " ") for one, other in zip(read, text, strict=True))


def test_minutes_are_no_minimum() -> None:
    readings = find_readings("draw 450 mA, after 20 min 22 mA").readings
    assert [each.typed for each in readings] == ["450 mA", "22 mA"]
    assert [each.typed for each in find_readings("disc 21 mm, min 22 mm").readings] == ["21 mm"]
