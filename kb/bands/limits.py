"""Pass/fail limits: the trade's in ``limits.toml``, and textbook figures the shop adds by hand."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any

import msgspec

from kb.bands.measured import item_words, kind_of
from kb.case import Quantity, Reading, Vehicle, same_text
from kb.errors import InvalidField, UnreadableFile
from kb.intake.values import parse_value
from kb.intake.wording import Wording

LIMITS_FILE = Path(__file__).with_name("limits.toml")


class Worse(StrEnum):
    """Which way from the middle is a fault."""

    HIGH = "high"
    LOW = "low"
    BOTH = "both"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One line of a table of limits; `least` and `most` in the unit of the quantity.

    `unless` are words of an item that the line is not for; `make` and `model` narrow a figure to
    vehicles of theirs; `own` is True for a line that the shop added.
    """

    items: tuple[str, ...]
    quantity: Quantity
    source: str
    worse: Worse = Worse.BOTH
    least: float | None = None
    most: float | None = None
    condition: str | None = None
    unless: tuple[str, ...] = ()
    make: str | None = None
    model: str | None = None
    own: bool = False

    @property
    def says_a_figure(self) -> bool:
        """Whether there is a limit at all, and not only the direction of a fault."""
        return self.least is not None or self.most is not None

    def side_of(self, value: float) -> Worse | None:
        """Return on which side a value fails; None if it passes."""
        if self.least is not None and value < self.least:
            return Worse.LOW
        if self.most is not None and value > self.most:
            return Worse.HIGH
        return None


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
        If a line lacks items, quantity or source, or holds something that cannot be read.
    """
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise UnreadableFile(f"limits: {path} cannot be read ({error}); mend the file") from error
    rows = table.get("limit", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InvalidField("limit", rows, "must be a list; begin each with [[limit]]")
    return tuple(_limit(row, own=own) for row in rows)


def find_limit(
    reading: Reading, vehicle: Vehicle, limits: Iterable[Limit], wording: Wording
) -> Limit | None:
    """Return the line for a reading: the shop's own first, then the one with most words."""
    words, _ = kind_of(reading, wording)
    found = [
        (limit.own, len(named), limit)
        for limit in limits
        if limit.quantity is reading.quantity and _fits(limit, vehicle)
        if not words.intersection(limit.unless)
        for named in (item_words(item, wording) for item in limit.items)
        if named <= words
    ]
    return max(found, key=lambda each: each[:2])[2] if found else None


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
    for name in ("least", "most"):
        if name in row:
            fields[name] = _value(name, row[name], str(row["quantity"]))
    try:
        return msgspec.convert(fields, Limit)
    except msgspec.ValidationError as error:
        said, _, where = str(error).partition(" - at `$.")
        name = where.partition("[")[0].rstrip("`")
        cures = {"quantity": f"must be one of: {', '.join(Quantity)}"}
        cures["worse"] = f"must be one of: {', '.join(Worse)}"
        raise InvalidField(name, row.get(name), cures.get(name, f"does not fit: {said}")) from None


def _value(field: str, given: object, quantity: str) -> float | None:
    kind = Quantity(quantity) if quantity in set(Quantity) else None
    try:
        return parse_value(str(given), kind).value
    except InvalidField as refused:
        raise InvalidField(field, given, refused.cure) from None
