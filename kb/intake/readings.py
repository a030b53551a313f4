"""Readings: an item, where it sits, and the value measured, lifted out of what people write."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from enum import StrEnum
from itertools import pairwise
from typing import Any

import msgspec

from kb.case import Quantity, Reading, Relation, Said, Stage
from kb.errors import InvalidField
from kb.intake.items import trade_wording
from kb.intake.lifting import Doubt, Lifted, Place, blanked, cut, merged
from kb.intake.positions import find_position, normal_position
from kb.intake.reading_items import (
    NamedSpan,
    item_after,
    item_before,
    position_after,
    without_unit,
)
from kb.intake.reading_words import (
    degrees_of,
    is_rating,
    item_and_position,
    lift_method,
    lift_stage,
    stage_at,
)
from kb.intake.stated import is_measured, objection
from kb.intake.units import find_unit
from kb.intake.values import VALUE, Value, parse_value, prepare, read_match
from kb.intake.wording import Wording

_WHEN = re.compile(r"\b(?:at|after|when|with|while)\s*$", re.IGNORECASE)


def parse_reading(text: str) -> Reading:
    """Read one reading: item, position, value, and condition, method and stage if said.

    As ``LF pretensioner 2.7 ohm``, ``motor feed: 4.1 V @ key on``, ``fuel pressure 2.1 bar after
    fix``, ``12.6 V at battery``. The item is in lower case, the position in canonical words, the
    value in ``quantity.unit``.

    Raises
    ------
    InvalidField
        If there is no item, no value, two values, or a value that can be read in two ways.

    Examples
    --------
    >>> reading = parse_reading("LF pretensioner 2.7 ohm")
    >>> reading.place, reading.value, reading.quantity.value
    ('pretensioner, left front', 2.7, 'resistance')
    >>> parse_reading("fuel pressure 2.1 bar after fix").stage.value
    'after the fix'
    """
    plain, stage = lift_stage(text.strip())
    first = VALUE.search(prepare(plain))
    plain, method = lift_method(plain, first.end() if first else len(plain))
    head, _, condition = prepare(plain).partition("@")
    every = list(VALUE.finditer(head))
    values = [match for match in every if not is_rating(match)] or every[-1:]
    if not values:
        parse_value(_from_number(head))
        raise InvalidField("reading", text, "holds no value; write a number with its unit")
    match = values[0]
    if len(values) > 1 and not _WHEN.search(head[match.end() : values[1].start()]):
        raise InvalidField("reading", text, "holds two values; write each reading by itself")
    against = objection(match)
    if against:
        raise InvalidField("reading", text, against)
    before, after = head[: match.start()], head[match.end() :].strip(" ,;:()")
    item, position = item_and_position(before)
    if not item:
        item, after_position, after = *item_and_position(after), ""
        position = position or after_position
    if not item:
        raise InvalidField("reading", text, "names no item; write what was measured before it")
    linked = _LINK.match(after)
    if linked and _ONLY_MEASURED.fullmatch(item):
        place = item_after(after, linked.end(), len(after), trade_wording(), linked=True)
        if place:
            item, position = _extended(item, position, linked, place)
            after = after[place.end :].strip()
    elif position is None and find_position(after)[0]:
        position, after = find_position(after)
    said = (re.sub(r"^(?:at|when|with|while)\s+", "", after), condition.strip())
    value = read_match(match, plain[slice(*match.span())], degrees_of(match, item))
    when = " ".join(filter(None, said)) or None
    return _reading(value, stage, item=item, position=position, condition=when, method=method)


def _extended(
    item: str, position: str | None, link: re.Match[str], place: NamedSpan
) -> tuple[str, str | None]:
    """Add the place to an item that is only a quantity: ``volt drop`` ... ``on B+ lead``."""
    words, place_position = item_and_position(place.words)
    return f"{item} {link['link'].lower()} {words}" if words else item, position or place_position


def _from_number(text: str) -> str:
    found = re.search(r"[+-]?[0-9].*$", text)
    return found[0] if found else text


def _reading(value: Value, stage: Stage | None, **told: Any) -> Reading:
    return Reading(
        quantity=value.quantity,
        typed=value.typed,
        relation=value.relation,
        value=value.value,
        upper=value.upper,
        stage=stage or Stage.AS_FOUND,
        **told,
    )


_FIELDS = {field.name: field for field in fields(Reading)}
_KINDS: dict[str, type[StrEnum]] = {"quantity": Quantity, "relation": Relation, "stage": Stage}


def complete_reading(record: Mapping[str, object]) -> Reading:
    """Make a reading of a record that may hold only the item and what was typed.

    Its keys are the fields of `kb.case.Reading`. Where ``value`` is missing, quantity, relation,
    value, upper and condition are read from ``typed`` and the position is brought to canonical
    words; item and ``typed`` stay as they are. Otherwise nothing is changed.

    Raises
    ------
    InvalidField
        If a key is unknown, a content is of the wrong kind, or ``typed`` cannot be read.

    Examples
    --------
    >>> complete_reading({"item": "crank sensor", "typed": "2k1"}).value
    2100.0
    >>> complete_reading({"item": "charging", "typed": "14.2V @ 2000 rpm"}).condition
    '2000 rpm'
    """
    content = {name: _checked(name, given) for name, given in record.items() if given is not None}
    for name in ("item", "typed"):
        if not isinstance(content.get(name), str):
            raise InvalidField(name, content.get(name), "is missing; a reading needs it")
    if "value" not in content and content.get("relation") is not Relation.OVER_RANGE:
        quantity = content.get("quantity")
        value = parse_value(
            str(content["typed"]), quantity if isinstance(quantity, Quantity) else None
        )
        content |= {"quantity": value.quantity, "relation": value.relation}
        content |= {"value": value.value, "upper": value.upper}
        content.setdefault("condition", value.condition)
        if isinstance(content.get("position"), str):
            content["position"] = normal_position(str(content["position"])) or None
    elif "quantity" not in content:
        raise InvalidField("quantity", None, "is missing; a value needs it")
    return Reading(**content)  # type: ignore[arg-type]


def _checked(name: str, given: object) -> object:
    if name not in _FIELDS:
        raise InvalidField(name, given, f"is no field of a reading; use {', '.join(_FIELDS)}")
    if name in _KINDS:
        try:
            return _KINDS[name](str(given))
        except ValueError:
            choices = ", ".join(_KINDS[name])
            raise InvalidField(name, given, f"must be one of: {choices}") from None
    if name == "said":
        try:
            return msgspec.convert(given, Said)
        except msgspec.ValidationError as error:
            raise InvalidField(name, given, f"does not fit: {error}") from error
    if name == "proved_good":
        wanted: tuple[type, ...] = (bool,)
    elif name in ("value", "upper"):
        wanted = (int, float)
    else:
        wanted = (str,)
    if not isinstance(given, wanted) or (isinstance(given, bool) and name != "proved_good"):
        raise InvalidField(name, given, f"must be a {wanted[-1].__name__}")
    return float(given) if name in ("value", "upper") else given  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class ReadingsFound:
    """Readings lifted out of a text, the text without them, and values that were not taken.

    `places` tell where each reading stands, its item and condition included.
    """

    readings: tuple[Reading, ...]
    rest: str
    doubtful: tuple[Doubt, ...] = ()
    places: tuple[Place, ...] = ()


_CLAUSE = re.compile(r"[;\n]+|,(?![0-9])|\.(?=\s|$)|\b(?:and|but|then)\b", re.IGNORECASE)
# A unit of two meanings has no quantity yet.
_MUST_HAVE_ITEM = {
    Quantity.RESISTANCE,
    Quantity.VOLTAGE,
    Quantity.CURRENT,
    Quantity.PRESSURE,
    None,
}
_CONDITION = re.compile(
    r"\s*(?:@\s*(?P<at>[^,;\n]{1,60})|\(?(?:at\s+|with\s+)?(?P<state>(?:hot |cold |warm )?idle"
    r"|(?:key|ignition|ign|engine|lights?) (?:on|off|running)"
    r"|(?:under|no|off|on|full|part) load|cranking"
    r"|after [0-9]+ ?(?:s|sec|min|mins|minutes|h|hours)|cold|hot"
    r"|[0-9][0-9.,]*\s?(?:rpm|km/h|mph|°\s?C))\b\)?)",
    re.IGNORECASE,
)
_LINK = re.compile(r"\s*(?P<link>at|on|across|of)\s+", re.IGNORECASE)
_DROP = re.compile(r"\s*(?:volts? |voltage )?drop\b", re.IGNORECASE)
_ONLY_MEASURED = re.compile(r"(?:(?:volts?|voltage|v/?d|drop|resistance|current|draw|drain)\b ?)+")
_BETWEEN = re.compile(r"[\s,;/&]*+(?:(?:against|vs\.?|versus|and)\s*+)?", re.IGNORECASE)


def find_readings(
    text: str, wording: Wording | None = None, taken: Sequence[Place] = ()
) -> ReadingsFound:
    """Lift readings out of a line of shop talk.

    The item of a reading is what the words just before its value name (or after it: ``4.1 V at
    motor feed``, ``2k1 ohm coil``); see `kb.intake.reading_items`. Words that are not of the item
    stay in the text. A value with only a position takes the item of the reading before. Speeds,
    distances, times and the weather, told and not measured, stay in the text, and so do values with
    no item or with more than one meaning, which become doubts.

    Codes should have been lifted before: what they took (`kb.intake.codes.CodesFound.lifted`) is
    looked through and is not in the rest, either. The wording knows the shop's own words for items;
    without it there are the trade's alone.

    Examples
    --------
    >>> found = find_readings("LR door lock dead after rain, motor feed 4.1 V")
    >>> found.rest, found.readings[0].item, found.readings[0].value
    ('LR door lock dead after rain', 'motor feed', 4.1)
    >>> [r.place for r in find_readings("pretensioner LF 2.7 ohm, RF 2.2 ohm").readings]
    ['pretensioner, left front', 'pretensioner, right front']
    >>> found = find_readings("abs lite on wen brakng lf wss 0.9k ohm")
    >>> found.rest, found.readings[0].place
    ('abs lite on wen brakng', 'wss, left front')
    >>> find_readings("shakes at 2000 rpm").readings
    ()
    """
    known = wording or trade_wording()
    plain = prepare(blanked(text, taken))
    readings: list[Reading] = []
    doubts: list[Doubt] = []
    places: list[Place] = []
    lifted: list[Place] = []
    for start, end in _clauses(plain):
        free = start
        matches = [match for match in VALUE.finditer(plain, start, end) if not is_rating(match)]
        ends = [*(match.start() for match in matches[1:]), end]
        items_follow = bool(matches) and _items_follow(matches, start, end, known)
        for match, limit in zip(matches, ends, strict=False):
            if match.start() < free:
                continue
            named = item_before(plain, free, match.start(), known)
            begin, free = named.start, match.end()
            is_next = limit == end or items_follow
            told = _CONDITION.match(plain, match.end(), end)
            follows = item_after(plain, match.end(), limit, known) if is_next and not told else None
            typed = text[slice(*match.span())]
            try:
                last = readings[-1] if readings else None
                found = _reading_at(
                    match, typed, named.words, follows, last, known, limit=limit, end=end
                )
            except InvalidField as refused:
                doubts.append(Doubt(typed, refused.cure, Place(*match.span())))
                continue
            if found is None:
                continue
            reading, free = found
            places.append(Place(begin, free))
            if readings and _BETWEEN.fullmatch(plain, lifted[-1].end, begin):
                begin = lifted[-1].end
            readings.append(reading)
            lifted.append(Place(begin, free))
    rest = cut(text, [Lifted(*span) for span in merged([*taken, *lifted])])
    asked = without_unit(blanked(text, [*taken, *lifted]), known, beside=bool(readings))
    return ReadingsFound(tuple(readings), rest, (*doubts, *asked), tuple(places))


def _clauses(plain: str) -> list[tuple[int, int]]:
    cuts = [(0, 0), *(match.span() for match in _CLAUSE.finditer(plain)), (len(plain),) * 2]
    return [(end, start) for (_, end), (start, _) in pairwise(cuts) if start > end]


def _items_follow(matches: list[re.Match[str]], start: int, end: int, wording: Wording) -> bool:
    """Whether the values of a clause stand before their items: ``2k1 coil 12.6 V battery``."""
    plain = matches[0].string
    named_before = item_before(plain, start, matches[0].start(), wording).words
    return not named_before and item_after(plain, matches[-1].end(), end, wording) is not None


def _quantity_of(match: re.Match[str]) -> Quantity | None:
    unit = find_unit(match["unit"] or match["high_unit"] or "ohm")
    return unit.quantity if unit else None


def _reading_at(
    match: re.Match[str],
    typed: str,
    words: str,
    follows: NamedSpan | None,
    last: Reading | None,
    wording: Wording,
    *,
    limit: int,
    end: int,
) -> tuple[Reading, int] | None:
    """Make the reading of one match and say where it stops; None if it is only told.

    `words` stand before it, and `follows` after it if that may be an item; `limit` is where the
    next value begins, `end` where the clause ends.

    Raises
    ------
    InvalidField
        If it was measured, but cannot be taken.
    """
    plain, stop = match.string, match.end()
    item, position = item_and_position(words)
    dropped = _DROP.match(plain, stop, limit)
    if dropped and item and "drop" not in item:
        item, stop = f"{item} drop", dropped.end()
    behind = position_after(plain, stop, limit, wording) if position is None else None
    if behind:
        position, stop = find_position(behind.words)[0], behind.end
    if not item and follows:
        item, after_position = item_and_position(follows.words)
        position, stop = position or after_position, follows.end
    if not item and position and last:
        item = last.item  # "LF pretensioner 2.7 ohm, RF 2.2 ohm"
    told = _CONDITION.match(plain, stop, end)
    link = None if told else _LINK.match(plain, stop, limit)
    place = item_after(plain, link.end(), limit, wording, linked=True) if link else None
    if link and place and _ONLY_MEASURED.fullmatch(item):
        item, position = _extended(item, position, link, place)
        stop = place.end
    elif place and not item:
        item, position = item_and_position(place.words)
        stop = place.end
    if not is_measured(match, item):
        return None
    against = objection(match)
    if against or not item:
        if not match["over"] and not against and _quantity_of(match) not in _MUST_HAVE_ITEM:
            return None
        raise InvalidField("reading", typed, against or "names no item; write what was measured")
    value = read_match(match, typed, degrees_of(match, item))
    stage, stop = stage_at(plain, stop, end)
    told = _CONDITION.match(plain, stop, end)
    condition = None
    if told:
        condition, said = lift_stage((told["at"] or told["state"]).strip())
        stage, stop = stage or said, told.end()
    if stage is None:
        stage, stop = stage_at(plain, stop, end)
    told_of = {"item": item, "position": position, "condition": condition or None}
    return _reading(value, stage, **told_of), stop
