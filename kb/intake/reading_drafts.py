"""A reading in the making, and what its number, its unit and its company tell of it."""

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple

from kb.case import Quantity, Stage
from kb.intake.company import Qualifier, Said
from kb.intake.company_words import REVOLUTIONS
from kb.intake.marks import Mark
from kb.intake.units import PLAIN_DEGREES, find_unit
from kb.intake.values import letter_unit
from kb.intake.wording import Wording
from kb.patterns import compiled

_REVS = compiled(
    r"(?:[4-9][0-9]{2}|[12][0-9]{3})(?: ?(?:-|to) ?(?:[4-9][0-9]{2}|[12][0-9]{3}))?"
    rf"(?: ?{REVOLUTIONS})?",
    re.IGNORECASE,
)
_CHARGING_LIKE = compiled(r"1[1-5][.,][0-9]{1,2}")
_RUNS = compiled(r"\b(?:idle|idling|running|revs|[0-9]+ ?rpm)\b", re.IGNORECASE)
_BATTERY_LIKE = compiled(r"(?:[5-9]|1[0-5])[.,][0-9]{1,2} ?(?:V|volts)?", re.IGNORECASE)
_NUMBER = compiled(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)")
DROPS = frozenset(["voltage drop", "volt drop", "v drop", "drop", "vd", "v/d"])
"""Names of a drop of voltage that stay as they were typed."""
_SIDE = r"(?:positive|negative|earth|ground|supply|feed|live|plus|minus)(?: side)?"
_POLE = compiled(_SIDE)
_DROP_OF_POLE = compiled(rf"(?P<drop>{'|'.join(sorted(DROPS))})(?: {_SIDE})?")
_VAGUE = frozenset(
    [
        "resistance",
        "voltage",
        "current",
        "sensor",
        "reading",
        "value",
        "circuit",
        "test",
        "tests",
        "high",
        "low",
        "ps",  # power steering, or the passenger's side
        "p/s",
        "res",  # resistance, resistor or reservoir
    ]
)
_CRANKING_REVS = range(60, 400)


@dataclass(slots=True)
class ToldOf:
    """What the words beside one mark tell of it."""

    mark: Mark
    lead: list[Qualifier]
    trail: list[Qualifier]
    shared: list[Qualifier]
    limit: int
    """Where the next mark begins, or the clause ends."""
    end: int
    """Where the clause ends."""
    free: int = 0
    ahead: Sequence["ToldOf"] = ()

    @property
    def start(self) -> int:
        """Where the mark begins with the qualifiers in front of it."""
        return self.lead[0].start if self.lead else self.mark.start


@dataclass(slots=True)
class ReadingDraft:
    """A reading in the making: what was measured, and the stretch it is told in."""

    item: str
    position: str | None
    own: Said
    begin: int
    stop: int
    qualified: bool
    linked: bool = False
    beside: "LastReading | None" = None
    stage: Stage | None = None
    assumed: bool = False

    @property
    def facts(self) -> dict[str, Any]:
        """Return what a reading is made of besides its value."""
        item, position = self.item, self.position
        if position and _POLE.fullmatch(position) and (drop := _DROP_OF_POLE.fullmatch(item)):
            item, position = f"{drop['drop']} {position}", None  # its path is part of a drop
        return {
            "item": item,
            "position": position,
            "condition": self.own.condition,
            "stage": self.own.stage,
        }


class LastReading(NamedTuple):
    """What was read, or offered, before."""

    item: str
    position: str | None
    unit: str | None
    quantity: Quantity | None
    end: int
    is_cranking: bool = False
    is_assumed: bool = False
    """Whether its item was only offered: what goes on from it is offered, too."""


@dataclass(slots=True)
class ReadBefore:
    """What was read, or offered, before a place of a line."""

    last: LastReading | None = None
    tail: LastReading | None = None
    """The item of a clause, where it is told once, behind its values."""
    row: list[tuple[str, str | None]] = field(default_factory=list)
    """Items and positions of the readings: those of a pair may be told once."""


def quantity_of(match: re.Match[str]) -> Quantity | None:
    """Return the quantity of a value; None where its unit has two meanings."""
    if match["rkm"]:
        return letter_unit(match["rkm"]).quantity
    unit = find_unit(match["unit"] or match["high_unit"] or "ohm")
    return unit.quantity if unit else None


def is_usual(match: re.Match[str], usual: Collection[Quantity]) -> bool:
    """Whether a value is of a quantity that its item is usually measured in."""
    warm = is_degrees(match) and Quantity.TEMPERATURE in usual
    return warm or quantity_of(match) in usual


def is_cranking(match: re.Match[str], last: LastReading | None, state: Sequence[str]) -> bool:
    """Whether so many turns are the starter's, of an engine whose cranking was just told of."""
    number = match["number"] or ""
    cranks = "cranking" in state or (last is not None and last.is_cranking)
    return cranks and number.isdigit() and int(number) in _CRANKING_REVS


def is_degrees(match: re.Match[str]) -> bool:
    """Whether a value is in degrees of no scale."""
    return bool(match["unit"]) and is_plain_degrees(match["unit"])


def is_plain_degrees(unit: str) -> bool:
    """Whether a unit is degrees, of an angle or of a scale that is not told."""
    return unit.lower().rstrip(".") in PLAIN_DEGREES


def idle_of(value: str, lead: Sequence[Qualifier]) -> Qualifier | None:
    """Return the ``idle`` in front of a value that is what was measured: ``idle now 780``."""
    if not _REVS.fullmatch(value):
        return None
    return next((each for each in lead if each.words.casefold().endswith("idle")), None)


def item_of_state(value: str, condition: str | None) -> str | None:
    """Return of what a value is that no item stands beside, by its size and its state.

    While cranking or at rest so many volts, with their unit or without, are the battery's; a number
    without its unit of a running engine is likely the charging's.

    Examples
    --------
    >>> item_of_state("9.2", "cranking"), item_of_state("12.3", "engine running")
    ('battery', 'charging')
    """
    state = {*(condition or "").split(", ")} & {"at rest", "cranking"}
    if state and _BATTERY_LIKE.fullmatch(value):
        return "battery"
    runs = _CHARGING_LIKE.fullmatch(value) and _RUNS.search(condition or "")
    return "charging" if runs else None


def uncounted(item: str) -> str:
    """Return an item without its number: ``cell 42`` and ``cell 43`` have one unit."""
    return re.sub(r"\s*[0-9]+$", "", item)


def first_number(text: str) -> float:
    """Return the first number of a text that has one: that at which a range begins."""
    found = _NUMBER.search(text)
    assert found is not None  # noqa: S101 - only texts of marks are asked for
    return float(found[0].replace(",", "."))


@lru_cache(maxsize=4096)
def is_vague(item: str, wording: Wording) -> bool:
    """Whether words tell how something was measured, not what: ``res``, ``snsr``."""
    words = item.casefold().split()
    return bool(words) and all(
        word in _VAGUE or _VAGUE.issuperset(wording.tokens(word)) for word in words
    )
