"""Pass/fail limits: the trade's in ``limits.toml``, and textbook figures the shop adds by hand."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import msgspec

from kb.bands.conditions import (
    ALWAYS_MATTER,
    conditions,
    exclude,
    kinds_of,
    told_of,
)
from kb.bands.measured import ends_of, item_words, kind_of
from kb.case import Quantity, Reading, Vehicle, same_text
from kb.errors import InvalidField, UnreadableFile
from kb.intake.files import load_toml
from kb.intake.insulation import voltage_told
from kb.intake.values import parse_value
from kb.intake.wording import Wording

LIMITS_FILE = Path(__file__).with_name("limits.toml")


class Worse(StrEnum):
    """Which way from the middle is a fault."""

    HIGH = "high"
    LOW = "low"
    BOTH = "both"


class Reach(StrEnum):
    """Whose good readings say whether another is good."""

    ALL = "all makes"
    MAKE = "this make"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One line of a table of limits; its figures are in the unit of the quantity.

    Attributes
    ----------
    least, most : float or None
        Between them a value is good.
    bad_below, bad_above : float or None
        Beyond them it is a fault; between a good value and a fault nobody can tell. Where they
        are missing the good values' limits take their place.
    fault_per_volt : float or None
        Below so much for each volt of the system, where that is told, a value is a fault, and none
        below it is good; it takes the place of `bad_below`.
    when : tuple of str
        Names of `kb.bands.conditions`: the line holds only where all are told.
    never_when : tuple of str
        Such names: the line does not hold where one is told.
    unless : tuple of str
        Words of an item that the line is not for.
    reach : Reach
        Whose good readings say anything about the item.
    twin_first : bool
        What is like its twin is good where no readings of the model speak.
    make, model : str or None
        The line is only for vehicles of these.
    condition : str or None
        What else must hold, for the reader.
    speaks_for : tuple of str
        Causes, part and way of failing, one of which a faulty value mostly proves.
    own : bool
        The shop added the line.
    """

    items: tuple[str, ...]
    quantity: Quantity
    source: str
    worse: Worse = Worse.BOTH
    least: float | None = None
    most: float | None = None
    bad_below: float | None = None
    bad_above: float | None = None
    fault_per_volt: float | None = None
    when: tuple[str, ...] = ()
    never_when: tuple[str, ...] = ()
    reach: Reach = Reach.ALL
    twin_first: bool = False
    condition: str | None = None
    unless: tuple[str, ...] = ()
    make: str | None = None
    model: str | None = None
    speaks_for: tuple[str, ...] = ()
    own: bool = False

    @property
    def says_a_figure(self) -> bool:
        """Whether there is a limit at all, and not only the direction of a fault."""
        return any(each is not None for each in (*self.good, self.bad_below, self.bad_above))

    @property
    def good(self) -> tuple[float | None, float | None]:
        """Between which values the item is good; (None, None) if the line cannot say so."""
        return self.least, self.most

    def side_of(self, value: float) -> Worse | None:
        """Return on which side a value is a fault; None if it is not."""
        low = self.least if self.bad_below is None else self.bad_below
        high = self.most if self.bad_above is None else self.bad_above
        if low is not None and value < low:
            return Worse.LOW
        if high is not None and value > high:
            return Worse.HIGH
        return None

    def passes(self, value: float) -> bool:
        """Whether a value is good by this line."""
        if self.good == (None, None):
            return False
        return (self.least is None or value >= self.least) and (
            self.most is None or value <= self.most
        )


@dataclass(frozen=True, slots=True)
class LimitsFound:
    """The line that holds for a reading, and the states in which other lines of it would.

    `line` is None where no line's state was told; `needs` are names of `kb.bands.conditions`,
    `kinds` those kinds of state in which readings of the item differ. They are `certain` where the
    table says so.
    """

    line: Limit | None = None
    needs: tuple[str, ...] = ()
    kinds: frozenset[str] = ALWAYS_MATTER
    certain: bool = False


_PATHS = frozenset(["drop", "ripple"])
_ENDS = frozenset(["ground", "supply", "reference"])
"""Words that make of a part's name the name of what carries its current (`kb.intake.items`)."""
_FIGURES = ("least", "most", "bad_below", "bad_above", "fault_per_volt")
_IN_ORDER = ("bad_below", "least", "most", "bad_above")
_KEYS = {field.name for field in fields(Limit)} - {"own"}


@cache
def trade_limits() -> tuple[Limit, ...]:
    """Return the table that comes with the program."""
    return read_limits(LIMITS_FILE)


def read_limits(path: Path, *, own: bool = False) -> tuple[Limit, ...]:
    """Read a table of limits, as ``limits.toml`` beside this module explains it.

    Raises
    ------
    UnreadableFile
        If the file cannot be read as TOML.
    InvalidField
        If a line lacks items, quantity or source, or holds something that cannot be read; or if
        anything stands outside of the lines.
    """
    try:
        document = load_toml(path)
    except UnreadableFile as error:
        raise UnreadableFile(f"limits: {error}") from error
    rows = document.pop("limit", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InvalidField(f"{path}: limit", rows, "must be a list; begin each with [[limit]]")
    for name, value in document.items():
        cure = "belongs to no line; begin each with [[limit]]"
        raise InvalidField(f"{path}: {name}", value, cure)
    return tuple(_limit_of(path, number, row, own=own) for number, row in enumerate(rows, 1))


def _limit_of(path: Path, number: int, row: Mapping[str, Any], *, own: bool) -> Limit:
    """Make a line of what is written; a refusal tells its file and how many lines stand before."""
    try:
        return _limit(row, own=own)
    except InvalidField as error:
        place = f"{path}: limit {number}: {error.field}"
        raise InvalidField(place, error.value, error.cure) from None


def find_limit(
    reading: Reading, vehicle: Vehicle, limits: Iterable[Limit], wording: Wording
) -> LimitsFound:
    """Find the line for a reading: the shop's own first, then the one with most words.

    Of lines for the same item, the one that asks for most of the states told is taken.
    """
    words, _ = kind_of(reading, wording)
    words |= set(wording.tokens(reading.position or ""))
    found = [
        (limit.own, len(named), limit)
        for limit in limits
        if limit.quantity is reading.quantity and _fits(limit, vehicle)
        if not words.intersection(limit.unless)
        for named in (item_words(item, wording) for item in limit.items)
        if named <= words and _is_of_circuit(named, words, reading.quantity)
    ]
    nearest = max((each[:2] for each in found), default=None)
    lines = [_for_voltage(limit, reading) for *rank, limit in found if tuple(rank) == nearest]
    told = told_of(reading, vehicle)
    lines = [limit for limit in lines if not told.intersection(limit.never_when)]
    held = [limit for limit in lines if told.issuperset(limit.when)]
    line = max(held, key=lambda limit: len(limit.when), default=None)
    settled = line is not None and bool(line.when) and line.good != (None, None)
    open_to = [] if settled else [each for each in lines if not exclude(told, each.when)]
    figures = [each for each in open_to if each.says_a_figure]
    if line and not line.never_when and _are_agreed([line, *figures], reading):
        open_to = []  # the same in whichever of these states it was taken
    needs = {name: None for limit in open_to for name in limit.when if name not in told}
    certain = any(each.says_a_figure for each in lines)
    kinds = kinds_of(name for each in lines for name in each.when) if certain else ALWAYS_MATTER
    return LimitsFound(line, tuple(needs), kinds, certain)


def _for_voltage(limit: Limit, reading: Reading) -> Limit:
    """Reckon what a line says of each volt for the voltage of the system, where that is told."""
    volts = voltage_told(reading.condition)
    if limit.fault_per_volt is None or volts is None:
        return limit
    fault = limit.fault_per_volt * volts
    least = fault if limit.least is None else max(fault, limit.least)
    return replace(limit, bad_below=fault, least=least)


def _are_agreed(lines: Sequence[Limit], reading: Reading) -> bool:
    """Whether a reading is good by each of some lines, or by each neither good nor a fault."""
    if reading.value is None:
        return False
    ends = ends_of(reading)
    good = [all(limit.passes(end) for end in ends) for limit in lines]
    between = [
        limit.good != (None, None)
        and not any(limit.passes(end) or limit.side_of(end) for end in ends)
        for limit in lines
    ]
    return all(good) or all(between)


def _is_of_circuit(named: frozenset[str], words: frozenset[str], quantity: Quantity) -> bool:
    """Whether a line is for the part of a circuit measured: a sensor's earth is no sensor."""
    if quantity not in (Quantity.VOLTAGE, Quantity.RESISTANCE):
        return True
    parts = words & _PATHS or words & _ENDS
    return not parts or bool(named & parts)


def _fits(limit: Limit, vehicle: Vehicle) -> bool:
    pairs = ((limit.make, vehicle.make), (limit.model, vehicle.model))
    return all(wanted is None or same_text(wanted, known) for wanted, known in pairs)


def _limit(row: Mapping[str, Any], *, own: bool) -> Limit:
    """Make a line of what is written: its fields' kinds, and values with their unit."""
    if strange := sorted(set(row) - _KEYS):
        raise InvalidField(strange[0], row[strange[0]], f"is not known; use {sorted(_KEYS)}")
    for name in ("items", "quantity", "source"):
        if not row.get(name) or not str(row[name]).strip():
            raise InvalidField(name, row.get(name), "is missing; a line needs it")
    fields: dict[str, Any] = {"own": own, **row}
    for name in ("when", "never_when"):
        states = row[name] if isinstance(row.get(name), list) else []
        if unknown := [each for each in states if str(each) not in conditions()]:
            raise InvalidField(name, unknown[0], f"must be one of: {', '.join(conditions())}")
    for name in _FIGURES:
        if name in row:
            fields[name] = _value(name, row[name], str(row["quantity"]))
    try:
        limit = msgspec.convert(fields, Limit)
    except msgspec.ValidationError as error:
        said, _, where = str(error).partition(" - at `$.")
        name = where.partition("[")[0].rstrip("`")
        cures = {"quantity": f"must be one of: {', '.join(Quantity)}"}
        cures["worse"] = f"must be one of: {', '.join(Worse)}"
        cures["reach"] = f"must be one of: {', '.join(Reach)}"
        raise InvalidField(name, row.get(name), cures.get(name, f"does not fit: {said}")) from None
    _refuse_turned_ends(limit, row)
    return limit


def _refuse_turned_ends(limit: Limit, row: Mapping[str, Any]) -> None:
    """Refuse figures by which nothing is good, or the same value is both good and a fault."""
    told = [name for name in _IN_ORDER if getattr(limit, name) is not None]
    for name, following in pairwise(told):
        if getattr(limit, name) > getattr(limit, following):
            cure = f"is more than {following} = {row[following]!r}; turn them round"
            raise InvalidField(name, row[name], cure)


def _value(field: str, given: object, quantity: str) -> float:
    kind = Quantity(quantity) if quantity in set(Quantity) else None
    try:
        value = parse_value(str(given), kind).value
    except InvalidField as refused:
        raise InvalidField(field, given, refused.cure) from None
    if value is None:
        raise InvalidField(field, given, "is no figure; write a number with its unit, as 2.3 ohm")
    return value
