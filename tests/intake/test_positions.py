import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Handedness
from kb.intake.positions import find_position, normal_position, resolve

CANONICAL = [
    "left front", "right front", "left rear", "right rear", "left", "right", "front", "rear",
    "driver", "passenger", "nearside", "offside", "nearside front", "offside rear", "second row",
    "left second row", "driver rear", "bank 1", "bank 2 sensor 1", "cylinder 3",
]  # fmt: skip


@pytest.mark.parametrize("position", CANONICAL)
def test_canonical_words_stay(position: str) -> None:
    assert normal_position(position) == position
    assert normal_position(position.upper()) == position


# Spellings: common practice, no source.
@pytest.mark.parametrize(
    ("text", "position"),
    [
        ("LF", "left front"),
        ("LHF", "left front"),
        ("FL", "left front"),
        ("Front left", "left front"),
        ("right-hand rear", "right rear"),
        ("RR", "right rear"),
        ("R/H", "right"),
        ("N/S/F", "nearside front"),
        ("n/s front", "nearside front"),
        ("O/S/R", "offside rear"),
        ("offside", "offside"),
        ("driver's side", "driver"),
        ("passenger rear", "passenger rear"),
        ("2nd row", "second row"),
        ("row 3", "third row"),
        ("B1S2", "bank 1 sensor 2"),
        ("bank1", "bank 1"),
        ("cyl 3", "cylinder 3"),
        ("No. 2 cyl", "cylinder 2"),
        ("upper front", "front upper"),
        # one spelling, two meanings: left as typed
        ("L/R", "l/r"),
        ("R/R", "r/r"),
    ],
)
def test_what_people_write(text: str, position: str) -> None:
    assert normal_position(text) == position


@pytest.mark.parametrize("text", ["driver", "passenger", "N/S/F", "O/S"])
def test_sides_by_seat_or_kerb_never_become_left_or_right(text: str) -> None:
    """Which is which depends on the market and the car."""
    assert not {"left", "right"} & set(normal_position(text).split())


@pytest.mark.parametrize(
    ("text", "position", "rest"),
    [
        ("LF pretensioner", "left front", "pretensioner"),
        ("wheel speed sensor N/S/R", "nearside rear", "wheel speed sensor"),
        ("RF side airbag", "right front", "side airbag"),
        ("driver side door", "driver", "door"),
        ("left and right lamps", None, "left and right lamps"),
        ("battery", None, "battery"),
    ],
)
def test_position_and_item_come_apart(text: str, position: str | None, rest: str) -> None:
    assert find_position(text) == (position, rest)


@given(st.text(max_size=40) | st.lists(st.sampled_from(" ".join(CANONICAL).split())).map(" ".join))
def test_normal_position_is_idempotent(text: str) -> None:
    once = normal_position(text)
    assert normal_position(once) == once


# Common practice, no source: the offside is the driver's side.
@pytest.mark.parametrize(
    ("position", "right", "left"),
    [
        ("driver", "right", "left"),
        ("passenger", "left", "right"),
        ("nearside front", "left front", "right front"),
        ("offside rear", "right rear", "left rear"),
        ("driver rear", "right rear", "left rear"),
        ("left front", "left front", "left front"),
        ("cylinder 3", "cylinder 3", "cylinder 3"),
        ("passenger rear", "passenger rear", "passenger rear"),
        ("passenger second row", "passenger second row", "passenger second row"),
    ],
)
def test_a_side_is_told_once_the_drivers_is_known(position: str, right: str, left: str) -> None:
    assert resolve(position, Handedness.RIGHT) == right
    assert resolve(position, Handedness.LEFT) == left
    assert resolve(position, None) == position


def test_a_side_that_contradicts_the_position_is_not_told() -> None:
    assert resolve("driver left", Handedness.RIGHT) == "driver left"
    assert resolve("driver right", Handedness.RIGHT) == "right"


@given(st.sampled_from(CANONICAL), st.sampled_from(Handedness))
def test_a_told_side_stays(position: str, side: Handedness) -> None:
    once = resolve(position, side)
    assert resolve(once, side) == once
    assert normal_position(once) == once


@pytest.mark.parametrize(
    ("told", "position", "item"),
    [
        ("Gurtstraffer VR", "right front", "gurtstraffer"),
        ("Türschloss hl", "left rear", "türschloss"),
        ("Sensor rechts vorne", "right front", "sensor"),
        ("Türschloss links hinten", "left rear", "türschloss"),
        ("capteur avant gauche", "left front", "capteur"),
        ("serrure arrière droite", "right rear", "serrure"),
        ("VR sensor", None, "vr sensor"),
        ("runs 1 hr", None, "runs 1 hr"),
        ("drop links", None, "drop links"),
    ],
)
def test_positions_of_other_languages(told: str, position: str | None, item: str) -> None:
    """As workshops there write; from memory."""
    assert find_position(told) == (position, item)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("capteur ABS AVG", ("left front", "capteur abs")),
        ("roue AVD", ("right front", "roue")),
        ("étrier ARG", ("left rear", "étrier")),
        ("pneu ARD", ("right rear", "pneu")),
        ("avg fuel trim", (None, "avg fuel trim")),
    ],
)
def test_french_corners(text: str, found: tuple[str | None, str]) -> None:
    assert find_position(text) == found  # from memory, no source
