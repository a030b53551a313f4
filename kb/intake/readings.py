"""Readings: an item, where it sits, and the value measured, lifted out of what people write."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from enum import StrEnum
from typing import Any

import msgspec

from kb.case import Quantity, Reading, Relation, SaidAt, Stage
from kb.errors import InvalidField
from kb.intake.company import Company, Said, meaning, said
from kb.intake.company_words import Aspect
from kb.intake.improbable import doubt_of_nought
from kb.intake.insulation import voltage_beside
from kb.intake.items import trade_wording
from kb.intake.positions import find_position, normal_position
from kb.intake.reading_items import (
    NamedSpan,
    item_after,
)
from kb.intake.reading_words import (
    degrees_of,
    is_rating,
    item_and_position,
    lift_limit,
    lift_method,
    lift_stage,
    names_two,
)
from kb.intake.stated import objection
from kb.intake.units import find_unit
from kb.intake.usual_units import thousands_joined, usual_unit
from kb.intake.value_states import with_states_behind
from kb.intake.values import VALUE, Value, parse_value, prepare, read_match
from kb.intake.volt_drops import Drop, find_drops, lost
from kb.patterns import compiled

LINK = compiled(r"\s*(?P<link>at|on|across|of)\s+", re.IGNORECASE)
ONLY_MEASURED = compiled(r"(?:(?:volts?|voltage|v/?d|drop|resistance|current|draw|drain)\b ?)+")
_WHEN = compiled(r"\b(?:at|after|when|with|while)\s*$", re.IGNORECASE)

_TWO_VALUES = "holds two values; write each reading by itself"
_HEAT = compiled(r"[\s,]*(?:(?:hot|warm|cold)[\s,]*)?", re.IGNORECASE)


def parse_reading(text: str) -> Reading:
    """Read one reading: item, position, value, and condition, method and stage if said.

    As ``RF pretensioner 2.3 ohm``, ``motor feed: 4.1 V @ key on``, ``fuel pressure 2.1 bar after
    fix``, ``12.6 V at battery``. The item is in lower case, the position in canonical words, the
    value in ``quantity.unit``.

    What is told to be right beside it (``min 3``, ``should be 250``) is no part of it; see
    `kb.intake.reading_words.lift_limit`.

    Raises
    ------
    InvalidField
        If there is no item, no value, two values, or a value that can be read in two ways.

    Examples
    --------
    >>> reading = parse_reading("RF pretensioner 2.3 ohm")
    >>> reading.place, reading.value, reading.quantity.value
    ('pretensioner, right front', 2.3, 'resistance')
    >>> parse_reading("fuel pressure 2.1 bar after fix").stage.value
    'after the fix'
    """
    plain, stage = lift_stage(text.strip())
    first = VALUE.search(prepare(plain))
    plain, _ = lift_limit(plain, first.end() if first else len(plain))
    plain, method = lift_method(plain, first.end() if first else len(plain))
    head, _, condition = prepare(plain).partition("@")
    every = list(VALUE.finditer(head))
    values = [match for match in every if not is_rating(match)] or every[-1:]
    if not values:
        if offer := _offer_of(head):
            raise InvalidField(
                "reading", text, f"has no unit that is known; write it as “{offer}” if that is so"
            )
        parse_value(_from_number(head))
        raise InvalidField("reading", text, "holds no value; write a number with its unit")
    match = values[0]
    beside = voltage_beside(head[: match.start()], head, match.end())
    if len(values) > 1 and not (beside or _is_state(match, values[1])):
        if apart := with_states_behind(plain, [(each.span(), _quantity(each)) for each in values]):
            return replace(parse_reading(apart), stage=stage or Stage.AS_FOUND, method=method)
        raise InvalidField("reading", text, _TWO_VALUES)
    if drop := _drop_at(match, head, condition):
        value = lost(read_match(match, plain[slice(*match.span())]))
        states = _around(drop, head), _state(condition.strip())
        return reading_of(value, stage=stage, method=method, **_facts_of(drop, states))
    against = objection(match) or doubt_of_nought(match)
    if against:
        raise InvalidField("reading", text, against)
    company = Company(head, alone=True)
    own, front = _told_before(company, head, match)
    before, after = head[:front], head[match.end() :].strip(" ,;:()")
    if names_two(head[: match.start()]) or any(map(_tells_another, _PIECES.split(after))):
        raise InvalidField("reading", text, _TWO_VALUES)
    item, position = item_and_position(before)
    if not item:
        item, after_position, after = _item_behind(company, head, match.end())
        position = position or after_position
    if not item:
        raise InvalidField("reading", text, "names no item; write what was measured before it")
    linked = LINK.match(after)
    if linked and ONLY_MEASURED.fullmatch(item):
        place = item_after(after, linked.end(), len(after), trade_wording(), linked=True)
        if place:
            item, position = extended(item, position, linked, place)
            after = after[place.end :].strip()
    elif position is None and find_position(after)[0]:
        position, after = find_position(after)
    behind = re.sub(r"^(?:at|when|with|while|bei|im|à|au|przy)\s+", "", after)
    position = " ".join(filter(None, (own.position, position))) or None
    value = read_match(
        thousands_joined(match, item, trade_wording()),
        plain[slice(*match.span())],
        degrees_of(match, item),
    )
    conditions = own.condition, _state(behind), _state(condition.strip())
    when = ", ".join(filter(None, conditions)) or None
    return reading_of(
        value, stage=own.stage or stage, item=item, position=position, condition=when, method=method
    )


def _told_before(company: Company, head: str, value: re.Match[str]) -> tuple[Said, int]:
    """Return what is told of an item before its value, and where that begins.

    Where nothing else names an item it is the item: *idle 900 rpm*, *cranking 9.2 V*.
    """
    lead = company.before(0, value.start())
    front = lead[0].start if lead else value.start()
    named = item_after(head, value.end(), len(head), trade_wording())
    if named or item_and_position(head[:front])[0]:
        return said(lead), front
    return said([]), value.start()


def _item_behind(company: Company, head: str, start: int) -> tuple[str, str | None, str]:
    """Return the item behind its value, its position, and the rest: from the first state on."""
    told = (each.start for each in company.within(start, len(head)))
    stop = next((at for at in told if head[start:at].strip(" ,;:()")), len(head))
    return *item_and_position(head[start:stop]), head[stop:].strip(" ,;:()")


def _drop_at(value: re.Match[str], head: str, condition: str) -> Drop | None:
    """Return the drop of voltage that a value tells; None if it tells something else."""
    drops = find_drops(head, trade_wording(), condition)
    return next((each for each in drops if each.match.span() == value.span()), None)


def _facts_of(drop: Drop, states: Sequence[str]) -> dict[str, str | None]:
    condition = ", ".join(filter(None, states)) or None
    return {"item": drop.item, "position": drop.position, "condition": condition}


def _around(drop: Drop, head: str) -> str:
    """Return what is told of a drop beside its path and its value: the state it was measured in."""
    rest = head[: drop.place.start], drop.condition or "", head[drop.place.end :]
    return ", ".join(filter(None, (each.strip(" ,;:()") for each in rest)))


def _state(words: str) -> str:
    """Return a state in the word that the shop keeps it by: *cold* of *kalt*."""
    kind, meant = meaning(words.casefold()) or (None, None)
    return meant if meant and kind in _STATES else words


_STATES = frozenset((Aspect.WARMTH, Aspect.WETNESS, Aspect.OPENING))


def limit_in(text: str) -> str | None:
    """Return what is told to be right beside the value of a reading; None if nothing is.

    Examples
    --------
    >>> limit_in("rail pressure 180 bar cranking should be 250")
    'should be 250'
    """
    value = VALUE.search(prepare(text))
    return lift_limit(text, value.end())[1] if value else None


_PIECES = compiled(r"[,;]\s|[/|]|\s(?:and|und|et|i)\s", re.IGNORECASE)
_ELSEWHERE = compiled(r"\s*(?P<where>[^\W\d][^,;]*?)\s*[:=]?\s*[+-]?[0-9]+(?:[.,][0-9]+)?\s*")
_GERMAN_CORNER = compiled(r"[vh][lr]", re.IGNORECASE)
_ANOTHER_STATE = compiled(r"\s*[+-]?[0-9]+[.,][0-9]+\s+(?:at\s+)?[^\W\d]{3}")


def _tells_another(piece: str) -> bool:
    """Whether words behind a value tell a second one without its unit, at another place or state.

    Examples
    --------
    >>> _tells_another("LR 1150"), _tells_another("2.8 idle"), _tells_another("bank 1")
    (True, True, False)
    >>> _tells_another("hot 3000")
    False
    """
    elsewhere = _ELSEWHERE.fullmatch(piece)
    if elsewhere:
        where = elsewhere["where"]
        position, rest = find_position(where)
        return (position is not None and not rest) or _GERMAN_CORNER.fullmatch(where) is not None
    return _ANOTHER_STATE.match(piece) is not None


def _is_state(value: re.Match[str], behind: re.Match[str]) -> bool:
    """Whether a second value only tells when the first was read: ``3.5 bar hot 3000 rpm``.

    A time behind another value tells how long it stood or ran: ``12.6 V rested 8 hours``; a
    temperature how warm it was: ``3 bar at rest 20 C``.
    """
    between = behind.string[value.end() : behind.start()]
    if _has_unit_of(behind, Quantity.TEMPERATURE) and Company(value.string).holds(*behind.span()):
        return not _has_unit_of(value, Quantity.TEMPERATURE)
    if _WHEN.search(between):
        return True
    if _has_unit_of(behind, Quantity.TIME) and not _has_unit_of(value, Quantity.TIME):
        return True
    speed = _has_unit_of(behind, Quantity.ROTATION) and not _has_unit_of(value, Quantity.ROTATION)
    return speed and _HEAT.fullmatch(between) is not None


def _has_unit_of(value: re.Match[str], quantity: Quantity) -> bool:
    return _quantity(value) is quantity


def _quantity(value: re.Match[str]) -> Quantity | None:
    unit = find_unit(value["unit"]) if value["unit"] else None
    return unit.quantity if unit else None


def extended(
    item: str, position: str | None, link: re.Match[str], place: NamedSpan
) -> tuple[str, str | None]:
    """Add the place to an item that is only a quantity: ``volt drop`` ... ``on B+ lead``."""
    words, place_position = item_and_position(place.words)
    return f"{item} {link['link'].lower()} {words}" if words else item, position or place_position


_NUMBER_ALONE = compiled(r"(?<![\w.,])[+-]?[0-9]+(?:[.,][0-9]+)?(?![\w.,]*\w)")


def _from_number(text: str) -> str:
    """Return a text from its number on; a digit within a word is none: "O2 sensor"."""
    found = re.search(r"(?<![\w.,])[+-]?[0-9].*$", text)
    return found[0] if found else text


def _offer_of(head: str) -> str | None:
    """Return how a number without a unit may be written, in the unit that its item usually has."""
    number = _NUMBER_ALONE.search(head)
    item = item_and_position(head[: number.start()])[0] if number else None
    if not (number and item):
        return None
    unit = usual_unit(item, float(number[0].replace(",", ".")), trade_wording())
    return f"{head[: number.end()].strip()} {unit}" if unit else None


def reading_of(value: Value, *, stage: Stage | None, **told: Any) -> Reading:
    """Make a reading of its value and of what else was told, by the names of its fields."""
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
            return msgspec.convert(given, SaidAt)
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


def written(reading: Reading) -> str:
    """Write a reading as `parse_reading` reads it back.

    Examples
    --------
    >>> written(parse_reading("LF pad 3 mm @ cold"))
    'pad left front 3 mm @ cold'
    """
    told = " ".join(filter(None, (reading.item, reading.position, reading.typed)))
    after = " after the fix" if reading.stage is Stage.AFTER_FIX else ""
    return f"{told} @ {reading.condition}{after}" if reading.condition else told + after
