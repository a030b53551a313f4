"""Readings: an item, where it sits, and the value measured, lifted out of what people write."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from itertools import pairwise

from kb.case import Quantity, Reading, Relation, Stage
from kb.errors import InvalidField
from kb.intake.lifting import Doubt, Lifted, cut
from kb.intake.positions import find_position, normal_position
from kb.intake.reading_words import (
    degrees_of,
    is_rating,
    item_and_position,
    lift_method,
    lift_stage,
    stage_at,
    trim,
)
from kb.intake.told import is_measured, objection
from kb.intake.units import find_unit
from kb.intake.values import VALUE, Value, parse_value, prepare, read_match

_WHEN = re.compile(r"\b(?:at|after|when|with|while)\s*$", re.IGNORECASE)


def parse_reading(text: str) -> Reading:
    """Read one reading: item, position, value, and condition, method and stage if said.

    Parameters
    ----------
    text : str
        As ``LF pretensioner 2.7 ohm``, ``motor feed: 4.1 V @ key on``,
        ``fuel pressure 2.1 bar after fix``, ``12.6 V at battery``.

    Returns
    -------
    Reading
        Item in lower case, position in canonical words, value in ``quantity.unit``.

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
    if not item and position is None:
        item, position, after = *item_and_position(after), ""
    if not item:
        raise InvalidField("reading", text, "names no item; write what was measured before it")
    further = _AFTER_ITEM.match(f" {after}")
    if further and _ONLY_MEASURED.fullmatch(item):
        item, position = _extended(item, position, further)
        after = after[further.end() - 1 :]
    elif position is None and find_position(after)[0]:
        position, after = find_position(after)
    said = (re.sub(r"^(?:at|when|with|while)\s+", "", after), condition.strip())
    value = read_match(match, plain[slice(*match.span())], degrees_of(match, item))
    return _reading(
        value,
        item=item,
        position=position,
        condition=" ".join(filter(None, said)) or None,
        stage=stage,
        method=method,
    )


def _extended(item: str, position: str | None, further: re.Match[str]) -> tuple[str, str | None]:
    """Add the place to an item that is only a quantity: ``volt drop`` ... ``on B+ lead``."""
    place, place_position = item_and_position(further["item"])
    return f"{item} {further['link']} {place}" if place else item, position or place_position


def _from_number(text: str) -> str:
    found = re.search(r"[+-]?[0-9].*$", text)
    return found[0] if found else text


def _reading(
    value: Value,
    *,
    item: str,
    position: str | None,
    condition: str | None,
    stage: Stage | None,
    method: str | None = None,
) -> Reading:
    return Reading(
        item=item,
        quantity=value.quantity,
        typed=value.typed,
        relation=value.relation,
        value=value.value,
        upper=value.upper,
        position=position,
        method=method,
        condition=condition,
        stage=stage or Stage.AS_FOUND,
    )


_FIELDS = {field.name: field for field in fields(Reading)}
_KINDS: dict[str, type[StrEnum]] = {"quantity": Quantity, "relation": Relation, "stage": Stage}


def complete_reading(record: Mapping[str, object]) -> Reading:
    """Make a reading of a record that may hold only the item and what was typed.

    Parameters
    ----------
    record : mapping
        Keys as the fields of `kb.case.Reading`. Where ``value`` is missing, quantity, relation,
        value, upper and condition are read from ``typed`` and the position is brought to
        canonical words; item and ``typed`` stay as they are. Otherwise nothing is changed.

    Returns
    -------
    Reading

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
    """Readings lifted out of a text, the text without them, and values that were not taken."""

    readings: tuple[Reading, ...]
    rest: str
    doubtful: tuple[Doubt, ...] = ()


_CLAUSE = re.compile(r"[;\n]+|,(?![0-9])|\.(?=\s|$)|\b(?:and|but|then)\b", re.IGNORECASE)
_MUST_HAVE_ITEM = {Quantity.RESISTANCE, Quantity.VOLTAGE, Quantity.CURRENT, Quantity.PRESSURE}
_MEASURED = re.compile(
    r"(?:voltage|volts|drop|resistance|current|draw|drain|pressure|temp|temperature|gap|play|runout)"
)
_CONDITION = re.compile(
    r"\s*(?:@\s*(?P<at>[^,;\n]{1,60})|\(?(?:at\s+|with\s+)?(?P<state>(?:hot |cold |warm )?idle"
    r"|(?:key|ignition|ign|engine|lights?) (?:on|off|running)|(?:under|no|off|on) load|cranking"
    r"|after [0-9]+ ?(?:s|sec|min|mins|minutes|h|hours)|cold|hot"
    r"|[0-9][0-9.,]*\s?(?:rpm|km/h|mph|°\s?C))\b\)?)",
    re.IGNORECASE,
)
_WORD = r"[^\W\d][\w/'+-]*"
_AFTER_ITEM = re.compile(
    rf"\s*(?P<link>at|on|across|of)\s+(?:the\s+)?(?P<item>{_WORD}(?: {_WORD}){{0,3}})",
    re.IGNORECASE,
)
_ONLY_MEASURED = re.compile(r"(?:(?:volts?|voltage|drop|resistance|current|draw|drain)\b ?)+")
_LINKS = frozenset(["on", "of", "across", "in", "at", "to", "from", "between"])
_ARTICLES = frozenset(["the", "a", "an"])
_OTHER_STOPS = """
says said found find has have had with got get gets measured measure measures checked check
customer then after before when while is was are were it there no not only just by for via goes
went drops dropped dropping rises rose rising falls falling gave gives seen saw shows showing reads
reading this that which still so also if as be been or i we he she they his her its my over above
under below against vs versus than like dead broken inop
"""
_STOP = _LINKS | _ARTICLES | frozenset(_OTHER_STOPS.split())
_BETWEEN = re.compile(r"[\s,;/&]*(?:against|vs\.?|versus|and)?\s*", re.IGNORECASE)
_MOST_WORDS = 6
_LONGEST_POSITION = 30


def find_readings(text: str) -> ReadingsFound:
    """Lift readings out of a line of shop talk.

    Parameters
    ----------
    text : str
        A complaint or note; codes should have been lifted before (`kb.intake.codes.find_codes`).

    Returns
    -------
    ReadingsFound
        The item of a reading is the words just before its value (or after it: ``4.1 V at motor
        feed``); a value with only a position takes the item of the reading before. Speeds,
        distances, times and the weather, told and not measured, stay in the text. Values with
        no item or with more than one meaning become doubts.

    Examples
    --------
    >>> found = find_readings("LR door lock dead after rain, motor feed 4.1 V")
    >>> found.rest, found.readings[0].item, found.readings[0].value
    ('LR door lock dead after rain', 'motor feed', 4.1)
    >>> [r.place for r in find_readings("pretensioner LF 2.7 ohm, RF 2.2 ohm").readings]
    ['pretensioner, left front', 'pretensioner, right front']
    >>> find_readings("shakes at 2000 rpm").readings
    ()
    """
    plain = prepare(text)
    readings: list[Reading] = []
    doubts: list[Doubt] = []
    lifted: list[Lifted] = []
    for start, end in _clauses(plain):
        free = start
        matches = [match for match in VALUE.finditer(plain, start, end) if not is_rating(match)]
        ends = [*(match.start() for match in matches[1:]), end]
        for match, limit in zip(matches, ends, strict=False):
            if match.start() < free:
                continue
            words, begin = _words_before(plain, free, match.start())
            free = match.end()
            typed = text[slice(*match.span())]
            try:
                last = readings[-1] if readings else None
                found = _reading_at(match, typed, words, last, limit=limit, end=end)
            except InvalidField as refused:
                doubts.append(Doubt(typed, refused.cure))
                continue
            if found is None:
                continue
            reading, free = found
            if readings and _BETWEEN.fullmatch(plain, lifted[-1].end, begin):
                begin = lifted[-1].end
            readings.append(reading)
            lifted.append(Lifted(begin, free))
    rest = cut(text, lifted) if lifted else text.strip()
    return ReadingsFound(tuple(readings), rest, tuple(doubts))


def _clauses(plain: str) -> list[tuple[int, int]]:
    cuts = [(0, 0), *(match.span() for match in _CLAUSE.finditer(plain)), (len(plain),) * 2]
    return [(end, start) for (_, end), (start, _) in pairwise(cuts) if start > end]


def _quantity_of(match: re.Match[str]) -> Quantity | None:
    unit = find_unit(match["unit"] or match["high_unit"] or "ohm")
    return unit.quantity if unit else None


def _words_before(plain: str, start: int, end: int) -> tuple[str, int]:
    """Take the words just before a value that name what was measured, and where they begin."""
    region = trim(plain[start:end])
    tokens = list(re.finditer(r"\S+", region))
    bare = [token[0].lower().strip(",;:()") for token in tokens]
    begin = len(tokens)
    for place in reversed(range(len(tokens))):
        links = bare[place] in _LINKS or (bare[place] in _ARTICLES and bare[place - 1] in _LINKS)
        measured = any(_MEASURED.fullmatch(word) for word in bare[max(0, place - 2) : place])
        named = sum(word not in _STOP for word in bare[place:])
        if (bare[place] in _STOP and not (links and measured)) or named > _MOST_WORDS:
            break
        begin = place
    if begin == len(tokens):
        return "", end
    first = tokens[begin].start()
    return region[first:], start + first


def _reading_at(
    match: re.Match[str], typed: str, words: str, last: Reading | None, *, limit: int, end: int
) -> tuple[Reading, int] | None:
    """Make the reading of one match and say where it stops; None if it is only told.

    `limit` is where the next value begins, `end` where the clause ends.

    Raises
    ------
    InvalidField
        If it was measured, but cannot be taken.
    """
    plain, stop = match.string, match.end()
    item, position = item_and_position(words)
    if position is None and limit - stop <= _LONGEST_POSITION:
        position, others = find_position(plain[stop:limit])
        if position == "left" or others.strip(" .,;:)"):
            position = None  # "7 mm left" is what remains
        stop = limit if position else stop
    if not item and position and last:
        item = last.item  # "LF pretensioner 2.7 ohm, RF 2.2 ohm"
    told = _CONDITION.match(plain, stop, end)
    after = None if told else _AFTER_ITEM.match(plain, stop, limit)
    if after and _ONLY_MEASURED.fullmatch(item):
        item, position = _extended(item, position, after)
        stop = after.end()
    elif after and not item:
        item, position = item_and_position(after["item"])
        stop = after.end()
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
    reading = _reading(
        value, item=item, position=position, condition=condition or None, stage=stage
    )
    return reading, stop
