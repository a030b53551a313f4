"""What is told of supply and wait where a plug is touched; common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety.igniter import Shown, Withheld, judged
from kb.safety.igniter_acts import Reason

DEEDS = [
    "unplugged the side bag",
    "swapped the seat plug",
    "did the clock spring",
    "pulled the bag",
]
ON = ["with the battery on", "with power on", "battery still on", "a minute after battery off"]
ENOUGH = ["battery off and waited 15 minutes", "isolated and waited by the book"]


def is_shown(text: str) -> bool:
    return isinstance(judged(text, igniter_job=True), Shown)


@given(*map(st.sampled_from, (DEEDS, ON, ["", ", quicker so", ", no harm done"])))
def test_a_supply_that_is_on_or_was_off_shortly_is_not_enough(
    deed: str, on: str, rest: str
) -> None:
    assert not is_shown(f"{deed} {on}{rest}")


@given(*map(st.sampled_from, (DEEDS, ENOUGH)))
def test_the_battery_off_and_minutes_waited_are(deed: str, enough: str) -> None:
    assert is_shown(f"{enough}, {deed}")


@pytest.mark.parametrize(
    "text",
    [
        "never mind the maker wait, two minutes do", "half a minute is enough for the bag",
        "ECU keeps no charge once the key is out so you can unplug at once",
        "just pull the fuse and unplug the seat", "key out is enough, then unplug the bag",
        "bag plug live, key on", "batt off, counted to ten, then unplugged curtain, no drama",
        "key off, counted to 20 and pulled the yellow plug",
    ],
)  # fmt: skip
def test_less_than_the_makers_wait_is_not_talked_down(text: str) -> None:
    assert not is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "bag replaced, lamp goes out after 6 sec",
        "unit holds its charge, wait the full ten minutes",
        "battery off, waited 15 minutes, counted to 4 plugs, all home",
        "left the battery connected for the clock, then battery off, waited, bag out",
        "fitted new driver bag, both clips home, battery on, codes cleared, lamp out after 6 sec",
        "with ignition on scan tool reads 2.3 on driver bag",
    ],
)  # fmt: skip
def test_the_lamps_time_and_the_supply_on_again_are_shown(text: str) -> None:
    assert is_shown(text), judged(text, igniter_job=True)


WORK = ["greased the seat plug", "air blown through the yellow plug", "slid the side bag out"]
STILL_ON = [
    "while the van was ticking over", "power had been left live", "ignition was still on",
    "never touched the battery", "didn't bother with the battery",
]  # fmt: skip


@given(*map(st.sampled_from, (WORK, STILL_ON)))
def test_with_the_supply_on_nothing_is_done_to_a_part_but_reading_and_looking(
    work: str, on: str
) -> None:
    joint = " " if on.startswith("while") else ", "
    assert not is_shown(f"{work}{joint}{on}")


@pytest.mark.parametrize(
    "text",
    [
        "looked at the seat plug with the ignition on", "battery charger on while coding the unit",
        "lamp on with ignition on, plug under the seat looks green",
        "took the memory saver off before starting on the belts",
        "put battery on charge overnight, code low volt gone",
        "never unplug a bag without taking the battery off",
    ],
)  # fmt: skip
def test_what_is_read_or_seen_with_the_supply_on_is_shown(text: str) -> None:
    assert is_shown(text), judged(text, igniter_job=True)


@pytest.mark.parametrize(
    "text",
    [
        "replaced driver airbag, left batt on as radio code missing",
        "new bag in, batt was still on",
        "new bag in, key still on",
        "neuer Airbag rein, Batterie war noch dran",
        "Stecker gesteckt, Zündung war noch an",
        "airbag neuf monté, batterie encore branchée",
    ],
)
def test_a_supply_that_was_left_on_is_told_as_that(text: str) -> None:
    """Common practice, no source."""
    verdict = judged(text, igniter_job=True)
    assert isinstance(verdict, Withheld)
    assert verdict.reason is Reason.LIVE


@pytest.mark.parametrize(
    "text",
    [
        "new bag in, battery on afterwards, lamp off",
        "new bag in, battery off 15 min, lamp still on",
        "new bag fitted, scanner plugged in with key on, no codes",
        "airbag lamp still on, radio code missing",
        "replaced clock spring, key on, light went out",
    ],
)
def test_a_lamp_or_a_supply_that_is_on_again_is_no_supply_left_on(text: str) -> None:
    assert judged(text, igniter_job=True) == Shown()


@pytest.mark.parametrize(
    "text",
    [
        "checked fuse 14 for SRS module, 12.4 V both sides",
        "fuse 14 of airbag module 12.1 V",
        "fuse 14 for the airbag module blown, new fuse",
    ],
)
def test_a_units_supply_is_measured_at_its_fuse(text: str) -> None:
    assert judged(text, igniter_job=True) == Shown()


@pytest.mark.parametrize(
    "text",
    [
        "put 12 V from fuse 14 to airbag module",
        "fuse 14 fed to the airbag connector",
        "12.4 V through the fuse to the airbag",
        "checked fuse 14 for SRS module, then 12 V at the bag plug",
        "ran a wire from fuse 14 to the squib",
    ],
)
def test_a_fuse_is_no_leave_for_a_voltage_on_an_igniter(text: str) -> None:
    assert isinstance(judged(text, igniter_job=True), Withheld)


SUPPLY = ["key", "ignition", "battery"]
NOT_OFF = ["was never switched off", "not off", "wasn't turned off", "was forgotten on"]
PARTED = ["yellow plug off", "squib plug parted", "pulled the clock spring plug"]


@given(*map(st.sampled_from, (SUPPLY, NOT_OFF, PARTED)), st.booleans())
def test_a_supply_that_nobody_took_off_is_on_in_either_order(
    supply: str, how: str, parted: str, first: bool
) -> None:
    told = [f"the {supply} {how}", parted]
    assert not is_shown(", ".join(told if first else reversed(told)))


@pytest.mark.parametrize(
    "text",
    ["battery was not charged, lamp on", "ignition not switched off yet, codes cleared",
     "key was not found, bag job waits"],
)  # fmt: skip
def test_where_nothing_is_parted_it_is_told(text: str) -> None:
    assert is_shown(text)
