"""Whether a sentence is about another part of the car; all common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety.igniter import Shown, judged

PARTS = ["seat motor", "seat heater", "window motor", "blower", "buckle switch", "speaker"]
DEEDS = [
    "put 12 volts straight on it",
    "meter read 2.2 ohm",
    "bridged it",
    "bleeped it out",
    "patched",
    "2.2 ohm",
]
IGNITER_NAMED = [
    "meter on the squib 2.2",
    "bridged the yellow plug",
    "9 V across the two pins",
    "test lamp on the bag plug, lit",
    "jumped the other wires out",
    "unplugged the bag with the key on",
]


def is_shown(text: str) -> bool:
    return isinstance(judged(text, igniter_job=True), Shown)


@given(*map(st.sampled_from, (PARTS, ["dead", "slow", "out"], DEEDS)))
def test_what_is_done_to_another_part_is_shown(part: str, state: str, deed: str) -> None:
    assert is_shown(f"{part} {state}, {deed}")


@given(*map(st.sampled_from, (PARTS, ["dead", "slow", "out"], DEEDS, IGNITER_NAMED)))
def test_another_part_releases_nothing_done_to_an_igniter(
    part: str, state: str, deed: str, named: str
) -> None:
    assert not is_shown(f"{part} {state}, {deed}, {named}")


@pytest.mark.parametrize(
    "text",
    [
        "used the horn relay to fire it",
        "with the radio plug I bridged it",
        "drain found, bag fuse out, bridged it",
        "window up, battery on, unplugged the seat",
        "seat motor plug off, bridged the pins next to it",
        "blower resistor put in place of the bag",
    ],
)
def test_another_part_may_be_the_means_or_beside_the_point(text: str) -> None:
    assert not is_shown(text)


def test_a_question_is_no_deed_only_if_the_answer_is_no() -> None:
    assert is_shown("Meter the bag? No. Read it on the scanner.")
    assert not is_shown("Meter the bag? No problem, quick as you like.")
    assert not is_shown("Any harm in a meter on the bag? No.")
