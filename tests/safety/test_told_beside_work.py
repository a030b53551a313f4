"""What is told beside work on a restraint; common practice, no source."""

import pytest

from kb.safety.igniter import Shown, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_steps import dangerous_step

NAMED = {
    Reason.LIVE: (
        "supply off and waited, battery back on, then unplugged",
        "battery off, waited, battery on, unplugged",
        "replaced side bag, isolated it after that",
        "new bag in, key on while I did it",
        "replaced the bag, ignition was on, cured",
        "side bag exchanged and the current still on",
        "Gurtstraffer erneuert, Zündung war an",
        "live value by scan tool while pulling the yellow plug",
        "scan tool live, opened and closed the seat plug, value jumps",
        "cleaned the pins while the value ran on the scan tool",
    ),
    Reason.METER: (
        "live value by scan tool 2.3, then by hand at both pins the same",
        "scan tool 2.2, agrees with the other instrument",
        "known load in its place: H7 bulb",
    ),
    Reason.WAIT: (
        "battery off, waited not at all, plug off",
        "isolated and waited, two seconds",
        "supply off, no wait at all",
    ),
    Reason.DEFEAT: (
        "airbag lamp swapped for a blank",
        "cluster lamp pin cut",
    ),
    Reason.BEFORE: ("looking at the bag while a colleague keys on",),
}


@pytest.mark.parametrize(
    ("reason", "text"), [(reason, text) for reason, texts in NAMED.items() for text in texts]
)
def test_what_is_dangerous_beside_work_is_named_with_its_reason(reason: Reason, text: str) -> None:
    danger = dangerous_step(text, igniter_job=True)
    assert danger is not None
    assert not isinstance(judged(text, igniter_job=True), Shown)
    assert danger.reason == reason


@pytest.mark.parametrize(
    "text",
    [
        "replaced bag, battery back on, lamp out",
        "battery off and waited, new bag in, key on, lamp out",
        "replaced seat motor, battery off after that",
        "replaced the bag, then ignition on: lamp out",
        "side bag renewed, supply reconnected afterwards",
        "live value by scan tool 2.3, same with the other scan tool",
        "battery off, waited, unplugged, battery back on, lamp out",
        "live value by scan tool: 2.3 ohm both sides",
        "scan tool: 2.4 ohm both",
        "live value by scan tool while moving the seat",
        "live value by scan tool 2.3, then battery off, waited, plug opened",
        "battery off, waited the full time, bag unplugged",
        "isolated and waited by the book, plug off, no crust",
        "known load in its place, lamp out",
        "cluster lamp pin corroded",
        "lamp watched while a colleague keys on",
        "ground at the engine block 0.02 V drop cranking",
        "voltage drop engine block to negative post 0.03 V",
        "Masse am Motorblock 0,02 V Spannungsfall beim Starten",
    ],
)
def test_what_is_harmless_beside_work_is_shown(text: str) -> None:
    assert isinstance(judged(text, igniter_job=True), Shown)


@pytest.mark.parametrize(
    "text",
    ["ground at the bag plug 0.02 V drop", "ground 0.02 V drop", "earth of the yellow plug 0.01 V"],
)
def test_what_is_lost_at_an_igniters_plug_is_not_the_cars_earth(text: str) -> None:
    assert not isinstance(judged(text, igniter_job=True), Shown)


@pytest.mark.parametrize(
    "text",
    [
        "Airbag getauscht, Batterie wieder angeklemmt, Lampe aus",
        "put in a new driver bag, connected the battery, lamp out",
        "side bag fitted, then connected the battery, no codes",
        "battery off, waited, plug off in two seconds",
        "waited no less than ten minutes, battery off, plug out",
    ],
)
def test_an_order_of_work_that_is_right_is_not_named(text: str) -> None:
    assert dangerous_step(text, igniter_job=True) is None


@pytest.mark.parametrize(
    "text",
    [
        "Airbag getauscht, Batterie noch angeklemmt, Lampe aus",
        "put the new bag in with the battery connected, lamp out",
        "replaced bag, connected the battery, plugged the bag in",
        "battery off, waited two seconds, plug off",
    ],
)
def test_an_order_of_work_that_is_wrong_is_named(text: str) -> None:
    assert dangerous_step(text, igniter_job=True) is not None
