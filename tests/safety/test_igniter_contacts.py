"""Contact spray in a plug of an igniter's circuit is named; of other plugs and denied it is not."""

import pytest

from kb.safety.igniter_contacts import sprayed_in

SPRAYED = [
    "cleaned airbag connector with contact cleaner, bag still plugged",
    "seat connector pins cleaned with contact spray, battery off 10 min",
    "seat plug cleaned with contact cleaner, lamp out",
    "sprayed contact cleaner in the seat connector",
    "contact spray into the yellow plug, refitted",
    "Sitzstecker mit Kontaktspray gereinigt, Lampe aus",
    "Stecker unterm Sitz mit Kontaktspray eingesprüht",
    "prise sous siège nettoyée au nettoyant contact",
    "bombe contact sur la prise du siège",
    "wtyczka fotela oczyszczona sprayem do styków",
    "connector under seat cleaned with electrical contact cleaner",
    "squirted contact spray in the plug under the seat",
    "WD40 in the seat plug",
]
OTHERWISE = [
    "cleaned seat connector",
    "cleaned connector under the seat, lamp out",
    "Stecker unter Sitz gereinigt",
    "seat connector cleaned, 9 months ok",
    "window switch connector cleaned with contact spray",
    "window switch plug cleaned with contact spray",
    "cleaned the earth point of the unit with contact spray",
    "contact cleaner not used, plug renewed",
    "horn contact cleaned with contact spray",
    "no contact spray in the plug",
    "found contact spray in the plug, renewed",
]


@pytest.mark.parametrize("text", SPRAYED)
def test_contact_spray_in_a_plug_is_named(text: str) -> None:
    assert list(sprayed_in([text])) == [text]


@pytest.mark.parametrize("text", OTHERWISE)
def test_other_plugs_and_what_was_not_done_are_not(text: str) -> None:
    assert list(sprayed_in([text])) == []
