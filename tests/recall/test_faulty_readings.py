"""A reading that the trade's limits call a fault counts for the causes it mostly proves.

That a drop on the earth side of a starter condemns its earth path, and one on the feed the cable,
is what a starter circuit's drop is measured for: US Navy training manual 14050 and US Army TM
9-2320-211-20, starter circuit tests, the sources of the limits themselves.
"""

from dataclasses import replace

import pytest

from kb.bands.limits import Worse, trade_limits
from kb.case import Complaint, Quantity, Reading, Vehicle
from kb.diagnosis.causes import rank
from kb.intake.readings import parse_reading
from kb.intake.wording import Wording
from kb.recall.faulty_readings import speak_for
from kb.recall.features import Query
from kb.recall.index import Index
from kb.recall.recall import recall
from kb.settings import Settings
from tests.recall.shop import CASES

WORDING, SETTINGS = Wording.default(), Settings()


def drop(item: str, value: float, condition: str | None = None) -> Reading:
    return Reading(
        item=item,
        quantity=Quantity.VOLTAGE,
        typed=f"{value} V",
        value=value,
        condition=condition,
    )


@pytest.mark.parametrize(
    ("reading", "part"),
    [
        (parse_reading("voltage drop, earth side 0.9 V"), "earth strap"),
        (drop("voltage drop, engine to battery negative", 1.9, "cranking"), "earth strap"),
        (drop("voltage drop, battery positive to starter", 2.3, "cranking"), "battery cable"),
        (parse_reading("voltage drop engine to battery negative 1.3 V cranking"), "earth strap"),
        (parse_reading("losing 1.1 V from battery negative to engine cranking"), "earth strap"),
        (parse_reading("from block to battery negative -1.3 V cranking"), "earth strap"),
        (parse_reading("positive side drop 0.9 V cranking"), "battery cable"),
        (parse_reading("1.2 V drop across the fan relay"), "relay"),
        (parse_reading("fuel pump volt drop earth side 0.9 V pump running"), "earth point"),
        (parse_reading("fuel pump feed drop 2.4 V pump running"), "connector"),
        (parse_reading("drop across fuse 12 0.4 V"), "fuse"),
        (parse_reading("alternator case to battery negative 0.5 V drop lights on"), "earth strap"),
        (parse_reading("positive side drop 0.2 V cranking"), None),
        (parse_reading("voltage drop lamp earth 2.4 V"), "earth point"),
        (parse_reading("voltage drop connector 1.2 V"), "connector"),
        (parse_reading("voltage drop, earth side 0.05 V"), None),
        (drop("voltage drop, battery positive to starter", 0.2, "cranking"), None),
        (parse_reading("battery voltage 12.1 V"), None),
    ],
)
def test_a_faulty_drop_speaks_for_its_side_and_a_good_one_for_none(
    reading: Reading, part: str | None
) -> None:
    told = list(speak_for([reading], Vehicle(), WORDING))
    assert any(part in words for each in told for words in each) if part else not told


def test_only_lines_that_tell_one_fault_from_the_other_side_speak() -> None:
    """High or low is two faults: a line for both would name the cause of either."""
    assert all(each.worse is not Worse.BOTH for each in trade_limits() if each.speaks_for)


def chances(*readings: str) -> dict[str, float]:
    """Ask a shop that mostly found batteries worn for the chances of each part."""
    worn = [replace(CASES[3], number=number) for number in range(7, 11)]
    shop = {each.number: each for each in (*CASES, *worn)}
    index = Index.fit(list(shop.values()), WORDING, SETTINGS)
    asked = Complaint(text="slow crank, clicks", readings=tuple(map(parse_reading, readings)))
    found = recall(Query(complaint=asked), index, WORDING, SETTINGS.recall)
    return {
        cause.component: each.chance
        for each in rank(found, SETTINGS.diagnosis).causes
        if (cause := shop[each.example].cause)
    }


def test_a_fault_that_was_read_outweighs_what_is_merely_usual() -> None:
    """0.9 V lost on the earth side is no battery's fault; a good drop changes nothing so."""
    usual, read = chances(), chances("voltage drop, earth side 0.9 V")
    assert max(usual, key=lambda part: usual[part]) == "battery"
    assert max(read, key=lambda part: read[part]) == "earth strap"
    plain = chances("voltage drop engine to battery negative 1.3 V cranking")
    assert max(plain, key=lambda part: plain[part]) == "earth strap"
    good = chances("voltage drop, earth side 0.05 V")
    assert max(good, key=lambda part: good[part]) == "battery"
