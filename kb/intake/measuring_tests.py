"""Tests that measure, and their readings: ``compression test: cylinder 2 4 bar``."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from kb.case import Quantity
from kb.intake.items import trade_wording
from kb.intake.lifting import Place
from kb.intake.reading_search import ReadingsFound
from kb.intake.usual_units import usual_quantities
from kb.patterns import compiled

_TEST = compiled(
    r"^\s*(?P<item>\S.*?)(?P<test>\s+(?:test|check|measurement|under load))\s*$", re.IGNORECASE
)
_COLON = compiled(r"\s*:")


@dataclass(frozen=True, slots=True)
class MeasuringTest:
    """A test that is called by what it measures: its place, and what of it names no item.

    `quantities` are those in which the item is measured.
    """

    place: Place
    aside: Place
    quantities: frozenset[Quantity]

    @classmethod
    def of(cls, head: Place, place: Place, text: str) -> "MeasuringTest | None":
        """Make it of the name of a test, which stands at `head`; None if it measures nothing.

        Examples
        --------
        >>> line = "leak-off test: injector 3 90 ml, others 20 ml"
        >>> MeasuringTest.of(Place(0, 13), Place(0, len(line)), line).aside
        Place(start=8, end=14)
        >>> MeasuringTest.of(Place(0, 11), Place(0, 20), "wiggle test: jumps") is None
        True
        """
        named = _TEST.match(text[slice(*head)])
        if named is None:
            return None
        quantities = usual_quantities(named["item"].lower(), trade_wording())
        if not quantities:
            return None
        colon = _COLON.match(text, head.end)
        aside = Place(head.start + named.start("test"), colon.end() if colon else head.end)
        return cls(place, aside, quantities)


def of_tests(found: ReadingsFound, tests: Sequence[MeasuringTest]) -> ReadingsFound:
    """Leave out what a test told that is no value of what it measures, and ask about none of it."""

    def around(place: Place | None) -> MeasuringTest | None:
        if place is None:
            return None
        return next((each for each in tests if _holds(each.place, place)), None)

    kept = [
        (reading, place)
        for reading, place in zip(found.readings, found.places, strict=True)
        if (test := around(place)) is None or reading.quantity in test.quantities
    ]
    return replace(
        found,
        readings=tuple(reading for reading, _ in kept),
        places=tuple(place for _, place in kept),
        doubtful=tuple(each for each in found.doubtful if around(each.place) is None),
    )


def _holds(whole: Place, part: Place) -> bool:
    return whole.start <= part.start and part.end <= whole.end
