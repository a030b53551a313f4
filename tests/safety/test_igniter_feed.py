"""What the control unit is fed with is no value of an igniter; what is put on one is."""

import pytest

from kb.intake.items import trade_wording
from kb.safety.igniter import Shown, judged
from kb.safety.igniter_clauses import clauses_of
from kb.safety.igniter_feed import caused_code, is_fed_itself, is_units_supply, lacks_power

UNITS = ["SRS box", "SRS module", "restraint unit", "airbag control unit"]


def is_shown(text: str) -> bool:
    return isinstance(judged(text, igniter_job=True), Shown)


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize(
    "told",
    [
        "{} fed 12.1 ign on",
        "{} gets 12.3 with ign on",
        "{} feed 12.4 V at fuse 9, earth drop 0.02",
        "{} powered, no comms though",
        "12.2 at the {} feed, earth good",
        "volt drop on {} earth 0.3 V, stud cleaned",
        "alternator 16.2 V set the over voltage code in the {}",
        "battery 11.8 gave the code in the {}, charged",
    ],
)
def test_the_units_supply_is_shown(unit: str, told: str) -> None:
    assert is_shown(told.format(unit))


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize(
    "told",
    [
        "{} fed 12.1 from my jump pack to the bag",
        "{} gets 12.3 through the squib wires",
        "{} has 2.1 ohm on the driver pins",
        "{} powered through the bag plug",
        "battery 12 V on the bag set the code in the {}",
        "charger 14 V to the bag plug logged in {}",
        "put 12 V in the {} plug pins",
    ],
)
def test_what_is_put_on_an_igniter_is_hidden(unit: str, told: str) -> None:
    assert not is_shown(told.format(unit))


@pytest.mark.parametrize(
    ("text", "judge"),
    [
        ("srs box fed 12.1", is_fed_itself),
        ("no power to airbag ecu", lacks_power),
        ("12 V at pin 7 of the unit", is_units_supply),
        ("overcharge 15.9 V logged in the srs box", caused_code),
    ],
)
def test_each_way_is_known_and_no_igniters(text: str, judge: object) -> None:
    assert callable(judge)
    (clause,) = clauses_of(text, trade_wording())
    assert judge(clause)
    (other,) = clauses_of("squib 2.2 ohm", trade_wording())
    assert not judge(other)
