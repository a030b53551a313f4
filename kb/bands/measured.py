"""Past readings as the judgement wants them: what was measured, on what car, and what it was."""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kb.case import Job, Quantity, Reading, Relation, Vehicle
from kb.intake.items import is_item, item_key
from kb.intake.wording import Wording
from kb.patterns import compiled

Kind = tuple[frozenset[str], Quantity]
"""What was measured: the words of the item's key, and the quantity. Its position is left out."""

LIKE_ENOUGH = 0.4
"""Share of words in common from which another item's name may be meant: one of two words is."""
MOST_OTHERS = 3
"""Names that are proposed beside the one taken, as many as one line holds."""
_SUPPLY = frozenset({"positive", "plus", "supply", "feed", "live"})
_SAY_LITTLE = frozenset(["pressure", "sensor", "voltage", "supply", "signal", "temperature"])
"""Words that items of different parts have in common: alone they make none another's name."""
_EARTH = frozenset({"ground", "earth", "negative", "minus", "masse"})


_PARTS = compiled(r",|\bat\b|@", re.IGNORECASE)
"""What parts a condition of several."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """One past reading with what the judgement needs of its job."""

    reading: Reading
    vehicle: Vehicle
    job: int | None = None
    cause: str | None = None

    @property
    def good_number(self) -> float | None:
        """Value of an item that proved good, if it is an exact number."""
        reading = self.reading
        good = reading.proved_good is True and reading.relation is Relation.EXACT
        return reading.value if good and reading.value is not None else None

    @property
    def car(self) -> object:
        """What tells one car from another: its key, else its job."""
        return self.vehicle.key or ("job", self.job)


def taken_on(jobs: Iterable[Job]) -> list[Taken]:
    """List every reading of some jobs, with what the job turned out to be."""
    return [
        Taken(
            reading=reading,
            vehicle=job.vehicle,
            job=job.number,
            cause=job.cause.label if job.is_case and job.cause else None,
        )
        for job in jobs
        for reading in job.readings
    ]


def item_words(item: str, wording: Wording) -> frozenset[str]:
    """Return the words by which items are compared, other names brought to the first."""
    return frozenset(item_key(item, wording).split())


def kind_of(reading: Reading, wording: Wording) -> Kind:
    """Return what was measured; a battery's volts while cranking are an item of their own.

    Examples
    --------
    >>> told = {"quantity": Quantity.VOLTAGE, "typed": "10.2 V", "value": 10.2}
    >>> cranked = Reading(item="battery voltage", condition="cranking at 5 C", **told)
    >>> kind_of(cranked, Wording.default())[0]
    frozenset({'cranking'})
    """
    parts = _PARTS.split(reading.condition or "")
    item = item_key(reading.item, wording)
    told = (f"{item} {part}" for part in parts if part.strip())
    named = next((each for each in told if is_item(each.split(), wording)), reading.item)
    return item_words(named, wording), reading.quantity


def ends_of(reading: Reading) -> tuple[float, float]:
    """Return between which values the true one lies, for a reading within its instrument."""
    assert reading.value is not None  # noqa: S101 - only a reading beyond range has none
    if reading.relation is Relation.ABOVE:
        return reading.value, math.inf
    if reading.relation is Relation.BELOW:
        return -math.inf, reading.value
    return reading.value, reading.value if reading.upper is None else reading.upper


def goods(taken: Iterable[Taken]) -> list[tuple[Taken, float]]:
    """Return the readings that count as good numbers, with them."""
    return [(each, value) for each in taken if (value := each.good_number) is not None]


def numbers_of(taken: Iterable[Taken]) -> tuple[int, ...]:
    """Return the job numbers, each once, in order."""
    return tuple(sorted({each.job for each in taken if each.job is not None}))


def condition_words(reading: Reading, wording: Wording) -> frozenset[str]:
    """Return the words that tell in which condition a reading was taken."""
    return frozenset(wording.tokens(reading.condition or ""))


def same_condition(one: Reading, other: Reading, wording: Wording) -> bool:
    """Whether two readings were taken in the same condition, as far as was told."""
    return condition_words(one, wording) == condition_words(other, wording)


@dataclass(frozen=True, slots=True)
class SameItem:
    """The names under which the shop recorded an item.

    `exact` is False where another item's name was the nearest; `others` are names that share
    words with it, the nearest first.
    """

    names: tuple[str, ...]
    exact: bool = True
    others: tuple[str, ...] = ()


def same_item(asked: Reading, recorded: Mapping[str, int], wording: Wording) -> SameItem:
    """Find the names under which the shop recorded what was measured; none if none is like it.

    The item asked may be shorter than the recorded name, and its position part of it (``driver
    airbag``). `recorded` has the item names of readings of the same quantity, with how many there
    are.

    Examples
    --------
    >>> asked = Reading(item="pretensioner", quantity=Quantity.RESISTANCE, typed="6 ohm", value=6.0)
    >>> same_item(asked, {"pretensioner circuit": 9, "abs sensor": 4}, Wording.default()).names
    ('pretensioner circuit',)
    """
    item, _ = kind_of(asked, wording)
    placed = item_words(f"{asked.position or ''} {asked.item}", wording)
    words = {
        name: own for name in recorded if not _is_other_pole(item, own := item_words(name, wording))
    }
    likeness = {
        name: max(_overlap(item, own), _overlap(placed, own) - 1e-6) for name, own in words.items()
    }
    ranked = sorted(words, key=lambda name: (-likeness[name], -recorded[name], name))
    close = [
        name
        for name in ranked
        if likeness[name] >= LIKE_ENOUGH and ((item | placed) & words[name]) - _SAY_LITTLE
    ]
    meant = words[close[0]] if close else None
    names = tuple(name for name in close if words[name] == meant)
    others = [name for name in ranked if likeness[name] > 0 and name not in names]
    return SameItem(names, meant in (item, placed), tuple(others[:MOST_OTHERS]))


def _is_other_pole(one: frozenset[str], other: frozenset[str]) -> bool:
    """Whether of two items one lies on the side of the supply, and the other on that of earth."""

    def poles(words: frozenset[str]) -> tuple[bool, bool]:
        return not words.isdisjoint(_SUPPLY), not words.isdisjoint(_EARTH)

    mine, theirs = poles(one), poles(other)
    return mine != theirs and any(mine) and any(theirs) and not (all(mine) or all(theirs))


def _overlap(one: frozenset[str], other: frozenset[str]) -> float:
    return len(one & other) / len(one | other) if one | other else 0.0


def near(one: float, other: float, ratio: float) -> bool:
    """Whether two values are the same for a technician: within a ratio of one another."""
    if one == other or not one or not other or (one > 0) is not (other > 0):
        return one == other
    return abs(math.log(abs(one)) - math.log(abs(other))) <= math.log1p(ratio)
