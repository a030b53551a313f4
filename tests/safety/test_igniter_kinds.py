"""Kinds that were judged wrongly: no wait, the middle of the wheel, known loads."""

from itertools import product

import pytest

from kb.safety.igniter import Shown, judged
from kb.safety.igniter_steps import dangerous_step

AT_ONCE = ["straight away", "right away", "at once", "immediately"]
BEGINS = ["got stuck in", "went at it", "dived in", "got to work"]
OFF = ["pulled fuse 14", "fuse out", "key off", "battery off", "ignition off"]


def is_shown(text: str, *, igniter_job: bool = True) -> bool:
    return isinstance(judged(text, igniter_job=igniter_job), Shown)


def test_work_begun_as_the_supply_is_off_is_named() -> None:
    every = [f"{off} and {begins} {once}" for off, begins, once in product(OFF, BEGINS, AT_ONCE)]
    assert every
    assert [text for text in every if is_shown(text)] == []
    assert [text for text in every if dangerous_step(text, igniter_job=True) is None] == []


@pytest.mark.parametrize(
    "text",
    [
        "battery off, radio went dead at once",
        "pulled fuse 14, lamp came on",
        "fuse 14 out, horn stopped immediately",
        "battery off, waited ten minutes, then got to work",
        "car came at once after the call, battery off",
    ],
)
def test_what_happens_at_once_is_no_work(text: str) -> None:
    assert is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "took the wheel middle off with the ignition on",
        "battery on while I got the thing out of the wheel",
        "centre of the wheel levered out, key in pos 2",
        "fed 12 v to the wheel module",
        "wheel boss probed with the test lamp",
    ],
)
def test_the_wheels_middle_names_what_is_in_it(text: str) -> None:
    assert not is_shown(text, igniter_job=False)


@pytest.mark.parametrize(
    "text",
    [
        "wheel centre cap missing, fed 12 v to the cap lamp",
        "steering wheel off centre, tracking set",
        "alloy wheel centre cracked, heated with the torch",
        "hub and wheel centre rusty, hammered off",
        "wheel boss bearing hot, metered the abs sensor",
    ],
)
def test_another_wheels_middle_is_none(text: str) -> None:
    assert is_shown(text, igniter_job=False)


@pytest.mark.parametrize(
    "text",
    [
        "2.2 Ohm Ersatzwiderstand gesteckt nach Wartezeit, Fehler weg, also nicht der Kabelbaum.",
        "Ersatzlast nach Wartezeit statt Airbag gesteckt, Fehler bleibt, also Leitung",
        "key out, minus off, waited a quarter hour, bag out and laid pad upwards",
        "Akumulator odpiety, 20 minut przerwy, nowa poduszka z serwisu zalozona wedlug instrukcji.",
        "scan tool reads left side airbag: 6.8 ohm with engine off",
        "live data: side bag 2.2 with the engine running",
        "remplacé le contact tournant, voyant éteint",
        "module ground strap tight, 0.02 V drop from body to battery negative",
        "drop from engine to battery negative 0.05 V",
    ],
)
def test_what_is_allowed_in_other_words_is_shown(text: str) -> None:
    assert is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "Ersatzwiderstand bleibt drin, Lampe aus",
        "remplacé le contact tournant contact mis",
        "Erhaltungsladung blieb dran, danach Lenkradairbag raus",
        "scan tool: side airbag 6.8 ohm with the meter, engine off",
        "0.1 V from airbag pin to battery negative",
        "memory keeper in, bag out",
    ],
)
def test_near_to_it_is_not(text: str) -> None:
    assert not is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "SRS fuse out of its holder, refitted, lamp off",
        "fuse for the SRS unit had fallen out, put back, no codes",
        "fuse holder spread, fuse out, new holder, lamp goes out after 6 s",
        "driver airbag 1, clock spring 1",
        "parts: curtain airbag 1, bolts 2, clips 4",
        "side bag new fitted by 11",
        "courtesy car out till Friday, SRS job",
        "crash car: bags deployed, all replaced new",
        "deployed knee bag out, new in",
        "replaced the driver bag with a new sealed part, battery disconnected fifteen minutes",
        "page with splice S41 of the SRS drawing missing",
        "loom between SRS box plug and driver bag connector 0.2 ohm, both ends off",
        "squib and SRS ECU both disconnected, loom to earth no continuity",
    ],
)
def test_ordinary_words_of_a_job_card_are_shown(text: str) -> None:
    assert is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "SRS fuse out of its holder, bag refitted, lamp off",
        "SRS fuse pulled, lamp goes out",
        "fuse out, car back on the road, lamp off",
        "Sicherung raus, Airbaglampe aus",
        "driver airbag 2, passenger airbag 2",
        "driver airbag 2.1, clock spring 1",
        "side bag metered by 11",
        "bag off the courtesy car fitted",
        "bag from a crash car: fitted",
        "coded the LF belt tensioner out, lamp off",
        "told the SRS box it has no buckle pretensioner",
        "side bag open at its own plug",
        "knee high drop, seat airbag refitted",
        "driver bag rolled off the trolley, no mark so gone back in",
        "tap on the restraint unit and lamp came on",
        "reconnected the battery while leaning in over the wheel",
        "loom between SRS box plug and bag 2.2 ohm, box off",
        "loom to earth with the bag on, no continuity",
    ],
)
def test_what_is_dangerous_beside_them_is_hidden(text: str) -> None:
    assert not is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "occupancy mat measured at its connector away from bag",
        "seat heater measured at its plug away from the side bag",
        "squib track 0.5 ohm measured with nothing on either end",
        "clock spring squib track 0.4 ohm with both ends free",
        "supply of the unit: 12.4 V at its plug",
        "earth of the SRS unit: 0.02 V at its plug",
        "Dummy removed, bag plugged in, battery on",
        "load taken out, bag plugged in, battery on",
        "battery 12.6 with meter, charges at 14.3",
        "stand clear of the bag when battery goes back on",
    ],
)
def test_a_part_apart_a_free_track_a_headed_supply_and_the_way_back_are_shown(text: str) -> None:
    assert is_shown(text)
    assert dangerous_step(text, igniter_job=True) is None


@pytest.mark.parametrize(
    "text",
    [
        "measured away from the bag",
        "squib measured at its connector away from the mat",
        "mat measured at the bag connector away from the seat",
        "squib track 0.5 ohm measured with one end off",
        "squib track 0.5 ohm measured",
        "squib track 2.5 ohm measured with bag on",
        "squib track measured, nothing on the wheel end",
        "squib 2.2 ohm measured with nothing on either end",
        "supply of the unit: 12.4 V at the bag plug",
        "supply of the bag: 12.4 V at its plug",
        "bag plugged in, battery on",
        "bag charges at 14.3 from battery",
        "both charges at 14 V",
        "dummy removed, bag plugged in with battery on",
        "dummy removed with battery on, bag plugged in",
        "dummy removed, battery on, bag plugged in",
        "stand by the bag when battery goes back on",
        "stood clear of the bag and put the battery on it",
        "keep clear of the bag, battery across the pins",
    ],
)
def test_their_dangerous_like_is_hidden(text: str) -> None:
    assert not is_shown(text)
