"""Where a fitted bag, tensioner or seat comes from; common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety.igniter import Shown, Withheld, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_steps import dangerous_step

PARTS = ["driver bag", "curtain airbag", "pretensioner", "side airbag", "buckle tensioner"]
DEEDS = ["replaced the {} with one", "fitted a {}", "swapped the {} for one", "{} replaced, one"]
SOURCES = [
    "from a scrapped dray", "out of the courtesy car", "off my own old car", "from a donor car",
    "taken from another car", "off a written-off Corvane", "from the breakers", "out of a wreck",
    "from my brother's van", "from an auction site", "of a car being stripped",
]  # fmt: skip
OWN = ["from the maker", "from the dealer", "by its part number", "new from the factory"]
ADJECTIVES = ["second hand", "refurbished", "reconditioned", "pre-owned", "donor", "rebuilt"]


def is_shown(text: str) -> bool:
    return isinstance(judged(text, igniter_job=True), Shown)


@given(*map(st.sampled_from, (DEEDS, PARTS, SOURCES, ["", ", no codes", ", battery off, waited"])))
def test_another_car_is_no_source(deed: str, part: str, source: str, rest: str) -> None:
    text = f"{deed.format(part)} {source}{rest}"
    verdict = judged(text, igniter_job=True)
    assert isinstance(verdict, Withheld)
    danger = dangerous_step(text, igniter_job=True)
    assert danger is not None
    assert danger.reason is verdict.reason


@given(*map(st.sampled_from, (ADJECTIVES, PARTS)))
def test_what_was_made_up_anew_is_not_fitted(adjective: str, part: str) -> None:
    assert not is_shown(f"fitted a {adjective} {part}, lamp off")


@given(*map(st.sampled_from, (DEEDS, PARTS, OWN)))
def test_a_new_part_of_the_makers_is_shown(deed: str, part: str, source: str) -> None:
    assert is_shown(f"{deed.format(part)} {source}")


@pytest.mark.parametrize(
    "text",
    [
        "airbag lamp on since a used instrument cluster was fitted",
        "replaced passenger airbag off switch",
        "second hand bag refused, new one ordered", "we never fit second hand tensioners",
        "customer asks whether a used bag can be fitted: no",
        "previous owner fitted a scrap bag, replaced with new one from the maker",
        "rattle from behind the dash, loose bracket on passenger bag",
        "car came from another garage with lamp on", "seat out of the car for carpet",
    ],
)  # fmt: skip
def test_what_is_refused_or_comes_from_elsewhere_is_shown(text: str) -> None:
    assert is_shown(text), judged(text, igniter_job=True)


def test_it_says_why_and_what_instead() -> None:
    danger = dangerous_step("replaced driver bag, one off a scrapped dray", igniter_job=True)
    assert danger is not None
    assert danger.reason is Reason.SOURCE
    assert "new part" in danger.instead
