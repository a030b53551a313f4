"""Who reads is told once, and holds for the values behind it.

What is dangerous and what is allowed is common practice of the trade, no source.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety.igniter import Shown, judged

SOURCES = [
    "read live data with the scan tool",
    "values read with the scan tool",
    "Valeurs lues à la valise",
    "read all igniters by the control unit",
]
VALUES = [
    "driver squib 1 shows 2.2 ohm",
    "passenger bag 2.1",
    "only the curtain LH out at 5.8",
    "left side bag is low, 1.2",
]
ENDS = [
    "then with the multimeter",
    "plug off",
    "unplugged it",
    "metered the rest",
    "Fluke on",
    "pulled the yellow plug",
]
DIRECT = [
    "2.2 at the squib",
    "driver squib itself 2.2",
    "driver squib 2.2 by hand",
    "driver squib got 2.2",
    "driver squib 2.2 across its pins",
]


def is_shown(text: str) -> bool:
    return isinstance(judged(text, igniter_job=True), Shown)


@given(st.sampled_from(SOURCES), st.lists(st.sampled_from(VALUES), min_size=1, max_size=3))
def test_its_values_are_shown(source: str, values: list[str]) -> None:
    assert is_shown(", ".join([source, *values, "within the maker's limits"]))


@given(st.sampled_from(SOURCES), st.sampled_from(ENDS), st.sampled_from(VALUES))
def test_another_means_or_a_deed_ends_it(source: str, ends: str, value: str) -> None:
    assert not is_shown(f"{source}, {ends}, {value}")


@given(st.sampled_from(SOURCES), st.sampled_from(DIRECT))
def test_a_value_taken_at_the_igniter_is_none_of_its(source: str, direct: str) -> None:
    assert not is_shown(f"{source}, {direct}")


@pytest.mark.parametrize("joiner", [". ", ", but ", ", then "])
def test_it_holds_for_its_sentence_alone(joiner: str) -> None:
    assert not is_shown(f"no data list found{joiner}driver squib 1 is 2.2 ohm")
    assert not is_shown(f"read with the scan tool{joiner}driver squib 1 is 2.2 ohm")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Would not let the other lad wire a lamp to the yellow plug", True),
        ("told the lad off for reaching for the meter", True),
        ("stopped the lad before he got the meter near it", True),
        ("Would not let him put a lamp on the yellow plug, did it myself", False),
        ("would not let him put a meter on the squib until the key was off", False),
        ("stopped the lad and put a meter on the squib", False),
        ("would not let go of the probe on the squib", False),
        ("told the lad off for putting the meter down too soon, squib 2.2", False),
    ],
)
def test_who_was_kept_from_it_did_nothing(text: str, shown: bool) -> None:
    assert is_shown(text) is shown
