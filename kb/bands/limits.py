"""Pass/fail limits: the trade's in ``limits.toml``, and textbook figures the shop adds by hand."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from kb.bands.measured import item_words, kind_of
from kb.case import Quantity, Reading, Vehicle, same_text
from kb.errors import InvalidField, UnreadableFile
from kb.intake.values import parse_value
from kb.intake.wording import Wording

LIMITS_FILE = Path(__file__).with_name("limits.toml")
Kind = TypeVar("Kind", bound=StrEnum)


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
    strange = sorted(set(row) - _KEYS)
    if strange:
        raise InvalidField(strange[0], row[strange[0]], f"is not known; use {sorted(_KEYS)}")
    items = _texts("items", row.get("items"))
    if not items:
        raise InvalidField("items", None, 'must name what is measured, as ["charging voltage"]')
    if not str(row.get("source", "")).strip():
        raise InvalidField("source", row.get("source"), "is missing; say where the figure stands")
    quantity = _word("quantity", row.get("quantity"), Quantity)
    return Limit(
        items=items,
        quantity=quantity,
        source=str(row["source"]),
        worse=_word("worse", row.get("worse", Worse.BOTH), Worse),
        least=_value("least", row.get("least"), quantity),
        most=_value("most", row.get("most"), quantity),
        condition=_text("condition", row.get("condition")),
        unless=_texts("unless", row.get("unless", [])),
        make=_text("make", row.get("make")),
        model=_text("model", row.get("model")),
        own=own,
    )


def _text(field: str, given: object) -> str | None:
    if given is None or isinstance(given, str):
        return given
    raise InvalidField(field, given, "must be a text in quotes")


def _texts(field: str, given: object) -> tuple[str, ...]:
    if isinstance(given, list) and all(isinstance(each, str) for each in given):
        return tuple(given)
    raise InvalidField(field, given, 'must be a list of texts, as ["charging voltage"]')


def _word(field: str, given: object, kind: type[Kind]) -> Kind:
    try:
        return kind(str(given))
    except ValueError:
        raise InvalidField(field, given, f"must be one of: {', '.join(kind)}") from None


def _value(field: str, given: object, quantity: Quantity) -> float | None:
    if given is None:
        return None
    try:
        return parse_value(str(given), quantity).value
    except InvalidField as refused:
        raise InvalidField(field, given, refused.cure) from None
