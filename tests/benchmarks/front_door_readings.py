"""How a reading that was lifted, or offered, is held against the right understanding of a line.

The item is compared leniently: shorthand is written out, other names are brought to one by the
trade's table, and one word that says more than the quantity must be common to both. What is told of
position and condition is compared together, since people do not agree which is which: at least half
of the expected words must be there. Words of the answer that the line does not have (who answered
knew what was meant) are not asked for. A reading in a unit that no quantity is held in (ml, g, L)
is right if its number stays in the words, and so is the distance, which has a field of its own.
Near side counts as left, as the lines were answered so. The value must be the same in the unit of
its quantity, to a thousandth (degrees and minutes were answered rounded); so must relation and
stage. A line answered with no value and the condition *open circuit* is over the range.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from kb.case import Reading, Relation, Stage
from kb.errors import KbError
from kb.intake.items import item_key, trade_wording
from kb.intake.lifting import Place
from kb.intake.reading_search import ReadingsFound
from kb.intake.readings import parse_reading
from kb.intake.units import find_unit
from kb.intake.values import parse_value

_RELATIONS = {
    "=": Relation.EXACT,
    "<": Relation.BELOW,
    ">": Relation.ABOVE,
    "OL": Relation.OVER_RANGE,
    "open": Relation.OVER_RANGE,
}
_OPEN = "open circuit"
_SAME_UNITS = {"mi": "miles", "° BTDC": "°", "V AC": "V", "L/100 km": "?"}
_SAYS_LITTLE = """
voltage resistance current pressure temperature position sensor value test result side level speed
at the of in number before after on off actual supply circuit
"""
_GENERAL = set(_SAYS_LITTLE.split())
# Names of one thing in these lines that the trade's table does not bring together.
_SAME = {
    "cyl": "cylinder", "nearside": "left", "offside": "right", "leakdown": "leakage",
    "app": "pedal", "accelerator": "pedal", "squib": "airbag", "srs": "airbag", "inj": "injector",
    "batt": "battery", "oxygen": "o2", "lambda": "o2", "standing": "rest", "koeo": "key",
    "soll": "set", "ist": "actual", "des": "set", "cmd": "set", "catalyst": "cat",
    "others": "other", "retard": "timing", "warm": "hot",
}  # fmt: skip


def words(text: str) -> set[str]:
    """Words of a text, as compared."""
    plain = re.sub(r"(?<=[0-9])[,.](?=[0-9]{3}\b)", "", text.lower())
    plain = re.sub(r"\b([0-9])k\b", r"\g<1>000", plain)
    plain = re.sub(r"([0-9])(?=[a-z°])", r"\1 ", plain)
    plain = re.sub(r"\b([a-z]{3,})(?=[0-9])", r"\1 ", plain)
    wording = trade_wording()
    found = {*wording.tokens(plain), *item_key(plain, wording).split()}
    found |= {part for word in found for part in re.split(r"[-/]", word)}
    return {
        _SAME.get(word, _SAME.get(word.removesuffix("s"), word.removesuffix("s"))) for word in found
    }


def is_held(told: Mapping[str, Any]) -> bool:
    """Whether a case can hold a reading in the unit it was told in."""
    return told["item"] != "odometer" and (
        not told["unit"] or find_unit(_SAME_UNITS.get(told["unit"], told["unit"])) is not None
    )


def offered(found: ReadingsFound) -> Iterator[Reading]:
    """Readings that a doubt proposes to write."""
    for doubt in found.doubtful:
        for text in re.findall("write “(.+?)” if", doubt.why):
            yield parse_reading(text)


def is_right(line: str, told: Mapping[str, Any], reading: Reading) -> bool:
    """Whether a reading is what the line was meant to tell."""
    if told["value"] is None and told["condition"] == _OPEN:
        told = {**told, "relation": "OL", "condition": None}
    relation = Relation.RANGE if told["high"] is not None else _RELATIONS[told["relation"]]
    wanted = Stage.AFTER_FIX if told["stage"] == "after" else Stage.AS_FOUND
    if (relation, wanted) != (reading.relation, reading.stage) or not _same_value(told, reading):
        return False
    typed, own = words(line), words(reading.item)
    item = words(told["item"])
    item = (item - _GENERAL or item) & typed
    qualifiers = words(f"{told['position'] or ''} {told['condition'] or ''}") & typed
    qualifiers -= {"at", "on", "the"}
    said = words(f"{reading.position or ''} {reading.condition or ''}") | own
    known = not item or bool(item & said)
    return known and 2 * len(qualifiers & said) >= len(qualifiers)


def _same_value(told: Mapping[str, Any], reading: Reading) -> bool:
    if told["value"] is None:
        return reading.value is None
    unit = _SAME_UNITS.get(told["unit"], told["unit"]) or ""
    ends = (told["value"], told["high"])
    try:
        values = [each and parse_value(f"{each} {unit}", reading.quantity).value for each in ends]
    except KbError:
        return False
    mine = (reading.value, reading.upper)
    return all(
        (one is None) == (other is None)
        and abs((one or 0) - (other or 0)) <= 1e-3 * abs(other or 1)
        for one, other in zip(values, mine, strict=True)
    )


def unmatched(
    line: str, told: Sequence[Mapping[str, Any]], readings: Sequence[Reading]
) -> list[Reading]:
    """Readings that none of what is told accounts for, each of which may account for one."""
    open_ones, rest = list(told), []
    for reading in readings:
        mine = next((each for each in open_ones if is_right(line, each, reading)), None)
        if mine is None:
            rest.append(reading)
        else:
            open_ones.remove(mine)
    return rest


def is_lost(text: str, found: ReadingsFound, codes: Sequence[Place] = ()) -> bool:
    """Whether a number of a line is neither lifted, nor asked about, nor among the words left."""
    places = [*codes, *found.places, *(doubt.place for doubt in found.doubtful if doubt.place)]
    left = re.findall("[0-9]+", found.rest)
    for number in re.finditer("[0-9]+", text):
        if not any(start <= number.start() < end for start, end in places):
            if number[0] not in left:
                return True
            left.remove(number[0])
    return False


def is_wrong(line: str, told: Sequence[Mapping[str, Any]], reading: Reading) -> bool:
    """Whether a reading was not told at all, or has what was told of another one."""
    typed = words(line)
    own = words(f"{reading.position or ''} {reading.condition or ''}") & typed
    mine = [
        each
        for each in told
        if is_right(line, {**each, "position": None, "condition": _open_or_none(each)}, reading)
    ]
    for each in mine:
        others = [
            words(f"{other['position']} {other['condition']}")
            for other in told
            if other is not each
        ]
        if not own & set().union(*others) - words(f"{each['position']} {each['condition']}"):
            return False
    return True


def _open_or_none(told: Mapping[str, Any]) -> str | None:
    return _OPEN if told["value"] is None and told["condition"] == _OPEN else None
