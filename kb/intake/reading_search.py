"""Readings lifted out of what people write: which words are the item, the state, the place."""

import re
from bisect import bisect_left
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from kb.case import Quantity, Reading
from kb.errors import InvalidField
from kb.intake.circuit_pressures import of_the_circuit
from kb.intake.clause_shapes import ClauseShapes, Shape
from kb.intake.company import Company, Said, kinds, said
from kb.intake.company_words import Aspect
from kb.intake.corner_rows import corner_rows
from kb.intake.improbable import doubt_of_value, slip_of_point
from kb.intake.insulation import voltage_beside
from kb.intake.items import trade_wording
from kb.intake.lifting import Doubt, Lifted, Place, blanked, cut, merged
from kb.intake.list_conditions import kinds_told, told_for_all
from kb.intake.listed_values import without_head_states, without_list_commas
from kb.intake.marks import Mark, at_corners, marks_in
from kb.intake.placed_values import without_place_commas
from kb.intake.plain_readings import PlainItem, plain_item, plain_reading
from kb.intake.positions import find_position
from kb.intake.reading_beside import Beside, of_the_same
from kb.intake.reading_clauses import LOOSE, Clauses
from kb.intake.reading_drafts import (
    LastReading,
    ReadBefore,
    ReadingDraft,
    ToldOf,
    first_number,
    is_degrees,
    is_plain_degrees,
    is_usual,
    quantity_of,
    uncounted,
)
from kb.intake.reading_items import (
    COUNTED,
    item_after,
    item_before,
    without_unit,
)
from kb.intake.reading_proposals import (
    begins_clause,
    free_words,
    goes_with,
    is_likely_value,
    item_of_unit,
    offer,
    tells_when,
    volts_complained_of,
)
from kb.intake.reading_words import (
    OF_A_FLOW,
    are_counterparts,
    degrees_of,
    item_and_position,
    lift_stage,
    points_in_words,
    spelt_out,
    stage_at,
)
from kb.intake.readings import LINK, reading_of
from kb.intake.stated import (
    IS_LIMITED,
    ONE_OF_SEVERAL,
    SHOULD_BE,
    is_measured,
    objection_at,
    objection_behind,
    runs_down,
)
from kb.intake.units import find_unit
from kb.intake.usual_units import is_far_off, thousands_joined, usual_quantities, usual_unit
from kb.intake.values import UNIT, parse_value, prepare, read_match
from kb.intake.volt_drops import find_drops, lost
from kb.intake.wording import Wording
from kb.patterns import compiled


@dataclass(frozen=True, slots=True)
class ReadingsFound:
    """Readings lifted out of a text, the text without them, and values that were not taken.

    `places` tell where each reading stands, its item and condition included.
    """

    readings: tuple[Reading, ...]
    rest: str
    doubtful: tuple[Doubt, ...] = ()
    places: tuple[Place, ...] = ()


# A unit of two meanings has no quantity yet.
NO_ITEM = "names no item; write what was measured"
_MUST_HAVE_ITEM = {
    Quantity.RESISTANCE,
    Quantity.VOLTAGE,
    Quantity.CURRENT,
    Quantity.PRESSURE,
    None,
}
_ELECTRICAL = {Quantity.RESISTANCE, Quantity.VOLTAGE, Quantity.CURRENT}
_AT_SIGN = compiled(r"\s*@\s*(?P<at>[^,;\n]{1,60})")
_OPEN_IN_WORDS = compiled(
    r"open[ -]?(?:circuit|cct)|o/c|infinit[ey]|infinity|no continuity", re.IGNORECASE
)
_BETWEEN_ENDS = compiled(
    r"\s(?:between|from)\s+(?:the )?(?P<one>[^,;.\n]{1,40}?)\s+(?:and|to)\s+(?:the )?"
    r"(?P<other>(?:[^\s,;.\n]{1,20}\s){1,2}[0-9]{1,3}\b|[^\s,;.\n]{1,20})",
    re.IGNORECASE,
)
"""The ends of the wire that is open: ``open circuit between pin 4 and pin 7``."""
_IGNITER = compiled(r"\b(?:air ?bags?|bag|pretens\w*|squibs?|igniters?|srs)\b")
"""What nobody should be asked to measure."""
_WIRE_OF_BUS = compiled(r"can[ -](?:h|l|hi|lo|high|low)")
_SWINGS = compiled(
    r"\s*(?:flick|swing|jump|bounc|fluctuat|hunt|wander|surg|vary|puls|cycl|dip)\w*"
    r"\s+(?:(?:down|up|back|between|from) )?(?:to|and)\s+",
    re.IGNORECASE,
)
_CELL = r"[+-]?[0-9][0-9.,/]{0,9}(?:\s?[A-Za-zΩµ°%/]{1,5})?+"
_TABLE = compiled(rf"(?<![\w.,])(?:{_CELL}(?:[\s;]|,\s){{1,3}}){{31,}}+(?:{_CELL})?")
"""A pasted table of numbers, with units or without: of nothing that is known, so it stays."""
_UNIT_ALONE = compiled(
    rf"\s{{1,3}}(?:(?P<so>steady|stuck|constant)\s)?(?P<unit>{UNIT})", re.IGNORECASE
)
_NO_UNIT_ALONE = frozenset(["min", "in", "r", "k", "m", "h", "s", "mi"])
"""Spellings of units that are something else where no number stands just before them."""
_SO_MANY_MINUTES = compiled(r"(?<![.,0-9])[0-9]{1,3} ?min\s*$", re.IGNORECASE)
_FAR_OFF = "is far above what that has; if it was measured, add it as a reading: kb job add reading"
_LETTER = compiled(r"[^\W\d_]")
_TWO = 2
_MANY = 64
"""So many values are a long list, in which words come again with other numbers."""
_MOST_SIDES = 16
"""So many values of one item a car has at the most: four at each of its wheels."""
_WHICH = compiled("[1-9]|1[0-2]")
_HALVES = frozenset(["inner", "outer", "top", "bottom", "upper", "lower"])
_SIDES_OF_CAR = frozenset(["left", "right", "nearside", "offside"])
_PLACE_OF_ALL = compiled(
    r"[\s,;(]*(?:(?:at|on|of|all|both) )*"
    r"(?P<place>[^\W\d_][\w/]*(?: [^\W\d_][\w/]*)??)(?: (?:axle|side|wheel))?[\s.)]*",
    re.IGNORECASE,
)
"""What stands alone behind values that were all taken there."""
_FAR = 200
_AHEAD = 8
"""Marks behind a number among which its unit is sought."""
_BETWEEN = compiled(r"[\s,;/&]*+(?:(?:against|vs\.?|versus|and|to|→)\s*+)?", re.IGNORECASE)


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
    >>> [r.place for r in find_readings("pretensioner RF 2.3 ohm, LF 2.2 ohm").readings]
    ['pretensioner, right front', 'pretensioner, left front']
    >>> found = find_readings("abs lite on wen brakng lf wss 0.9k ohm")
    >>> found.rest, found.readings[0].place
    ('abs lite on wen brakng', 'wss, left front')
    >>> find_readings("shakes at 2000 rpm").readings
    ()
    """
    search = _Search(text, wording or trade_wording(), taken)
    for start, end in search.clauses:
        search.read_clause(start, end)
    return search.found(taken)


def _apart_from(taken: Sequence[Place], marks: Sequence[Mark]) -> list[Mark]:
    """Leave out marks that what was taken stands within: a number and a unit that met by it."""
    starts = sorted(place.start for place in taken)
    return [
        mark for mark in marks if bisect_left(starts, mark.start) == bisect_left(starts, mark.end)
    ]


def _is_position(words: str) -> bool:
    position, rest = find_position(words)
    return position is not None and not rest


def _items_follow(matches: list[re.Match[str]], start: int, end: int, wording: Wording) -> bool:
    """Whether the values of a clause stand before their items: ``2k1 coil 12.6 V battery``."""
    first, plain = matches[0], matches[0].string
    named = item_before(plain, start, first.start(), wording).words
    item = item_and_position(named)[0]
    is_of_first = named and is_measured(
        first, item, usual=is_usual(first, usual_quantities(item, wording))
    )
    return not is_of_first and item_after(plain, matches[-1].end(), end, wording) is not None


def _side_and_place(position: str | None) -> tuple[str | None, str | None]:
    """Part a position into the side of a part, or of the car, and the place that it was at.

    Examples
    --------
    >>> _side_and_place("inner right rear"), _side_and_place("left"), _side_and_place("bank 1")
    (('inner', 'right rear'), ('left', None), (None, None))
    """
    first, _, place = (position or "").partition(" ")
    if first in _HALVES and (not place or find_position(place) == (place, "")):
        return first, place or None
    return (first, None) if first in _SIDES_OF_CAR and not place else (None, None)


def _tells_which(item: str, number: str) -> bool:
    """Whether a number tells which of several is meant, and no value: ``injector 2``."""
    counted = item.split()[-1:]
    return (
        bool(counted)
        and counted[0] in {*COUNTED, "lambda"}
        and _WHICH.fullmatch(number) is not None
    )


def _is_of_another_time(told: ToldOf) -> bool:
    """Whether a value is told to be of before or after: ``was 1.1``, ``18.5 after``."""
    return Aspect.STAGE in kinds(told.lead) | kinds(told.trail)


def _is_other_unit(before: str | None, ahead: str) -> bool:
    """Whether two values of one quantity stand around a number, each in a unit of its own."""
    one, other = find_unit(before) if before else None, find_unit(ahead)
    if one is None or other is None:
        return False
    return one != other and one.quantity is other.quantity


def _is_open(condition: str | None, behind: set[Aspect]) -> bool:
    """Whether a value may yet be told a state of some kinds: ``260 bar cranking, hot``."""
    if condition is None:
        return True
    own = kinds_told(condition)
    return own is not None and own.isdisjoint(behind)


def _likely_limit(number: str, unit: str | None) -> str:
    """Say that a number tells what should be, with the unit it most likely has."""
    return SHOULD_BE.replace(";", f", {number} {unit} most likely;")


class _Search:
    """What was found in a line up to a place."""

    def __init__(self, text: str, wording: Wording, taken: Sequence[Place]) -> None:
        self._text, self._wording = text, wording
        self._prepared = prepare(blanked(text, taken))
        self._dictated = points_in_words(self._prepared)
        plain = spelt_out(self._prepared)
        tables = (Place(*match.span()) for match in _TABLE.finditer(plain))
        plain = blanked(plain, tables)
        plain = without_place_commas(without_list_commas(plain), self._wording)
        plain = without_head_states(plain)
        self._drops = find_drops(plain, wording)
        plain = blanked(plain, [each.place for each in self._drops])
        rows = list(corner_rows(plain))
        self._plain = blanked(plain, [row.names for row in rows])
        self._company = Company(self._plain)
        marks = at_corners(_apart_from(taken, marks_in(self._plain, self._company)), rows)
        self._clauses = Clauses(self._plain, marks, self._company, wording)
        self.clauses = self._clauses.spans
        self._before = ReadBefore()
        self._beside = Beside(self._plain, self._company, self._clauses, wording, self._before)
        self._readings: list[Reading] = []
        self._places: list[Place] = []
        self._lifted: list[Place] = []
        self._doubts: list[Doubt] = []
        self._asked: list[Place] = []
        self._clause = 0
        is_long = len(marks) >= _MANY and not self._dictated
        self._shapes = ClauseShapes(self._plain, self._company, wording) if is_long else None

    def found(self, taken: Sequence[Place]) -> ReadingsFound:
        """Return what was found, and ask about numbers left over that belong to an item."""
        self._take_drops(len(self._text))
        self._ask_of_slips()
        left = blanked(self._plain, [*self._lifted, *self._asked])
        taken_out = merged([*self._lifted, *self._asked])
        asked = without_unit(left, self._wording, taken_out, beside=bool(self._readings))
        rest = cut(self._text, [Lifted(*span) for span in merged([*taken, *self._lifted])])
        doubts = sorted((*self._doubts, *asked), key=lambda doubt: doubt.place or ())
        readings = told_for_all(self._readings, self._places, self._prepared)
        readings = [of_the_circuit(each, self._plain, self._plain) for each in readings]
        return ReadingsFound(tuple(readings), rest, tuple(doubts), tuple(self._places))

    def _take_drops(self, until: int) -> None:
        """Take the drops of voltage that stand before a place, so that what follows is theirs."""
        while self._drops and self._drops[0].place.start < until:
            drop = self._drops.pop(0)
            stage, stop = stage_at(self._prepared, drop.place.end, len(self._prepared))
            value = lost(read_match(drop.match, self._typed(drop.match)))
            facts = {"item": drop.item, "position": drop.position, "condition": drop.condition}
            reading = reading_of(value, stage=stage, **facts)
            self._take(reading, Place(drop.place.start, stop), drop.match["unit"])

    def _ask_of_slips(self) -> None:
        """Ask about values whose point slipped, as their state tells, which may be told last."""
        for place, reading in reversed(list(zip(self._places, self._readings, strict=True))):
            if why := slip_of_point(reading):
                self._readings.remove(reading)
                self._places.remove(place)
                self._lifted = [each for each in self._lifted if each.end != place.end]
                self._doubt(place, why)

    def read_clause(self, start: int, end: int) -> None:
        """Read the values of one clause."""
        marks = self._clauses.marks_within(start, end)
        self._take_drops(marks[0].start if marks else start)
        if not marks:
            self._share(start, end)
            return
        if len(marks) == 1 and self._read_plain(marks[0], start, end):
            return
        shape = self._shape(marks, start, end)
        if shape and self._read_as_before(shape, marks, end):
            return
        before, doubts = len(self._readings), len(self._doubts)
        values = [mark.match for mark in marks if mark.match]
        follow = (
            bool(values) and len(marks) > 1 and _items_follow(values, start, end, self._wording)
        )
        free = start
        told = self._beside.told_of(marks, start, end)
        self._before.tail = self._clauses.tails.get(start) or self._beside.named_behind(
            told, start, end
        )
        for place, each in enumerate(told):
            if each.mark.start < max([free, *(place.end for place in self._lifted[-1:])]):
                continue
            self._take_drops(each.mark.start)
            if self._read_plain_among(each, free):
                free = each.mark.end
                continue
            each.free, each.ahead = free, told[place + 1 : place + 1 + _AHEAD]
            try:
                free = self._read(each, follow=follow or place == len(told) - 1)
            except InvalidField as refused:
                self._doubt(Place(each.mark.start, each.mark.end), refused.cure)
                free = each.mark.end
        if len(self._readings) > before:
            self._clause = before
            if shape and self._shapes and len(self._doubts) == doubts:
                found, places = self._readings[before:], self._places[before:]
                self._shapes.learn(shape, marks, found, places)
            self._place_all(max(free, self._lifted[-1].end), end)

    def _shape(self, marks: Sequence[Mark], start: int, end: int) -> Shape | None:
        """Return the shape of a clause of a long list that holds nothing but plain values."""
        if self._shapes is None or start in self._clauses.tails:
            return None
        return self._shapes.shape(marks, start, end)

    def _read_as_before(self, shape: Shape, marks: Sequence[Mark], end: int) -> bool:
        """Read a clause as one of the same words was read; say whether it could be."""
        last = self._before.last
        taken = self._shapes.taken(shape, marks, last, self._typed) if self._shapes else None
        if not taken:
            return False
        self._before.tail, self._clause = None, len(self._readings)
        for each in taken:
            self._take(*each)
        self._place_all(self._lifted[-1].end, end)
        return True

    def _place_all(self, start: int, end: int) -> None:
        """Tell all values of a clause, each of a side, where they were taken: told once.

        It stands behind the last (``pads 3 mm inner 7 mm outer RR``), or with the first.
        """
        several, sides = self._of_one_item()
        if len(sides) < _TWO:
            return
        told = _PLACE_OF_ALL.fullmatch(self._plain, start, end)
        behind, rest = find_position(told["place"]) if told else (None, "")
        where = behind if behind and not rest else sides[0][1]
        if not where or any(place not in (None, where) for _, place in sides):
            return
        for place, (side, _) in zip(several, sides, strict=True):
            whole = f"{side} {where}" if side in _HALVES else find_position(f"{side} {where}")[0]
            self._readings[place] = replace(self._readings[place], position=whole)
        if told and where == behind:
            stop = len(self._plain[: told.end()].rstrip(" .)"))
            self._places[-1] = Place(self._places[-1].start, stop)
            self._lifted.append(Place(start, stop))

    def _of_one_item(self) -> tuple[range, list[tuple[str, str | None]]]:
        """Return the last values of one item, each of a side, with its side and place."""
        end = first = len(self._readings)
        sides: list[tuple[str, str | None]] = []
        while first and self._readings[first - 1].item == self._readings[-1].item:
            first -= 1
            side, place = _side_and_place(self._readings[first].position)
            if side is None or len(sides) == _MOST_SIDES:
                return range(end, end), []
            sides.insert(0, (side, place))
            if place:
                break
        return range(first, end), sides

    def _read_plain(self, mark: Mark, start: int, end: int) -> bool:
        """Read the one value of a clause if it is told plainly; say whether it was."""
        if not (
            mark.match
            and self._company.is_silent(start, end)
            and start not in self._clauses.tails
            and self._clauses.end_before(mark) <= start
        ):
            return False
        before = len(self._readings)
        item = plain_item(self._plain, mark, start, end, self._wording)
        if item is None or objection_behind(self._plain, mark.end):
            return False
        if not self._take_plain(mark.match, item, start):
            return False
        self._before.tail = None
        self._clause = before
        return True

    def _read_plain_among(self, told: ToldOf, free: int) -> bool:
        """Read one of several values of a clause if it is told plainly; say whether it was."""
        mark, limit = told.mark, told.limit
        if not mark.match or told.lead or told.trail or told.shared or self._before.tail:
            return False
        is_last = limit == told.end
        item = plain_item(self._plain, mark, free, limit, self._wording, is_last=is_last)
        if item is None or (is_last and objection_behind(self._plain, mark.end)):
            return False
        if not self._company.is_silent(free, mark.start):
            return False
        return self._take_plain(mark.match, item, free)

    def _take_plain(self, match: re.Match[str], told: PlainItem, start: int) -> bool:
        """Take a value whose item was found in the words from `start` on, unless it is doubted."""
        if self._is_of_the_last(told):
            return False
        reading = plain_reading(match, told, self._wording, self._typed(match))
        if reading is None:
            return False
        self._take(reading, Place(start + told.begin, match.end()), match["unit"])
        return True

    def _is_of_the_last(self, told: PlainItem) -> bool:
        """Whether an item is told as a part of what was read before: ``lp`` behind ``a/c hp``."""
        last = self._before.last
        return (
            told.may_be_of_another
            and last is not None
            and of_the_same(last.item, told.item) != told.item
        )

    def _share(self, start: int, end: int) -> None:
        """Tell the values of the clause before what a clause of nothing else says of them."""
        if self._readings and not self._plain[self._lifted[-1].end : start].strip(LOOSE):
            self._place_all(start, end)
        chain = self._company.after(start, end)
        if not chain or self._plain[chain[-1].end : end].strip(LOOSE) or not self._readings:
            return
        done = max(place.end for place in (self._lifted[-1], *self._asked[-1:]))
        if self._plain[done:start].strip(LOOSE):
            return
        condition = said(chain).condition
        open_ones = [
            place
            for place in range(self._clause, len(self._readings))
            if condition and _is_open(self._readings[place].condition, kinds(chain))
        ]
        for place in open_ones:
            own = self._readings[place].condition
            both = ", ".join(filter(None, (own, condition)))
            self._readings[place] = replace(self._readings[place], condition=both)
        if open_ones:
            self._lifted.append(Place(chain[0].start, chain[-1].end))

    def _doubt(self, place: Place, why: str) -> None:
        place = self._whole(place)
        self._doubts.append(Doubt(self._text[slice(*place)], why, place))
        self._asked.append(place)

    def _read(self, told: ToldOf, *, follow: bool) -> int:
        """Read one mark and say where it stops.

        Raises
        ------
        InvalidField
            If it was measured, but cannot be taken.
        """
        match = told.mark.match
        if not (self._before.last or self._before.tail or self._says(told)):
            if not match:
                return told.free
            if not follow and self._stands_alone(told):
                return self._ask_alone(told, match)
        draft = self._beside.draft(told, follow=follow)
        self._beside.complete(told, draft)
        self._beside.take_head(told, draft)
        usual = usual_quantities(draft.item, self._wording)
        if draft.beside and draft.beside.quantity:
            usual |= {draft.beside.quantity}
        if match and self._has_unit_of_another(match, draft.item, usual):
            match = None
        if match and not self._is_measured(match, draft, usual):
            return told.mark.end
        against = self._objection(told, draft, match)
        if against == SHOULD_BE and not match and not draft.item:
            return self._limit_alone(told)
        if against:
            self._pass_by(told.mark, match, draft)
        swing = self._swing(told, draft) if draft.item else None
        if swing or not match:
            return swing or self._number(told, draft, against)
        return self._value(told, draft, match, against)

    def _value(
        self, told: ToldOf, draft: ReadingDraft, match: re.Match[str], against: str | None
    ) -> int:
        """Read a value that has its unit, or ask about it."""
        several = against == ONE_OF_SEVERAL and draft.item and not draft.assumed
        if against and not several:
            raise InvalidField("reading", match[0], against)
        if not draft.item or draft.assumed:
            return self._ask_of(told, draft, match)
        self._conclude(told, draft)
        plain = thousands_joined(match, draft.item, self._wording)
        try:
            value = read_match(plain, self._typed(match))
        except InvalidField as refused:
            self._doubt(Place(draft.begin, draft.stop), refused.cure)
            return draft.stop
        if several:
            return self._ask_which(draft, reading_of(value, **draft.facts), match[0])
        exact = not (match["above"] or match["below"])
        unit = match["unit"] or match["high_unit"] if exact else None
        reading, place = reading_of(value, **draft.facts), Place(draft.begin, draft.stop)
        if is_far_off(reading, self._wording):
            self._doubt(place, _FAR_OFF)
            self._remember(reading, unit, place.end)
        else:
            self._take(reading, place, unit)
        return draft.stop

    def _ask_which(self, draft: ReadingDraft, reading: Reading, number: str) -> int:
        """Offer one of several values without a position: ``disc 21.4/21.0 mm``."""
        place = Place(draft.begin, draft.stop)
        self._doubt(place, f"is one of several values; write {offer(reading, number)}")
        self._remember(reading, None, place.end, is_assumed=draft.assumed)
        self._before.row.clear()
        return place.end

    def _pass_by(self, mark: Mark, match: re.Match[str] | None, draft: ReadingDraft) -> None:
        """Keep in mind the item of a value that is no reading: ``spec 55 psi, got 40``."""
        last = self._before.last
        quantity = quantity_of(match) if match else last and last.quantity
        if draft.item:
            unit = match["unit"] or match["high_unit"] if match else None
            self._before.last = LastReading(draft.item, draft.position, unit, quantity, mark.end)
        elif last:
            self._before.last = last._replace(end=mark.end) if quantity is last.quantity else None

    def _is_measured(
        self, match: re.Match[str], draft: ReadingDraft, usual: Collection[Quantity]
    ) -> bool:
        """Whether a value was measured; asks where words tell so: ``open circuit on pin 7``."""
        item = draft.item
        in_words = match["over"] and _OPEN_IN_WORDS.fullmatch(match["over"])
        ends = in_words and _BETWEEN_ENDS.match(self._plain, match.end())
        if ends and not item:
            item = f"{ends['one']} to {ends['other']}"
        at_a_place = ends or draft.beside or LINK.match(self._plain, match.end())
        if in_words and item and at_a_place and not _IGNITER.search(item):
            told = " ".join(filter(None, (item, draft.position)))
            why = f"may be a reading; write “{told} OL” if that was measured"
            raise InvalidField("reading", match[0], why)
        likely = item or item_of_unit(match, draft) or ""
        staged = draft.beside is not None and draft.own.stage is not None
        return is_measured(match, likely, usual=is_usual(match, usual), staged=staged)

    def _has_unit_of_another(
        self, match: re.Match[str], item: str, usual: Collection[Quantity]
    ) -> bool:
        """Whether degrees are told without their scale, or inches of mercury without it."""
        if degrees_of(match, item) or (is_degrees(match) and Quantity.TEMPERATURE in usual):
            return True
        inches = match["unit"] in {"in", '"'}
        number = first_number(match["number"]) if inches else 0.0
        return inches and usual_unit(item, number, self._wording) == "inHg"

    def _objection(
        self, told: ToldOf, draft: ReadingDraft, match: re.Match[str] | None
    ) -> str | None:
        mark = told.mark
        if mark.row or kinds(told.lead) & {Aspect.ROLE, Aspect.STAGE}:
            return None
        floor = self._clauses.end_before(mark)
        if self._plain[floor : mark.start].strip():
            floor = 0
        if self._beside.is_one_of_two(mark):
            if not (draft.position or (draft.beside and self._beside.in_pair(told))):
                return ONE_OF_SEVERAL
            floor = mark.start
        end = told.trail[-1].end if told.trail else mark.end
        against = objection_at(self._plain, mark.start, end, floor)
        if against or match is None:
            return against
        return runs_down(match) or doubt_of_value(match, draft.item, self._wording)

    def _conclude(self, told: ToldOf, draft: ReadingDraft) -> None:
        """Read what stands at the end of a reading: free words behind @, and its stage."""
        condition, stage = draft.own.condition, draft.own.stage
        begins = _AT_SIGN.match(self._plain, draft.stop, told.limit)
        is_whole = begins and _LETTER.search(begins["at"])
        at = begins if is_whole else _AT_SIGN.match(self._plain, draft.stop, told.end)
        if at:
            words, at_stage = lift_stage(at["at"].strip())
            condition, stage, draft.stop = words or condition, stage or at_stage, at.end()
        ahead = [each.start for each in told.ahead[0].lead[:1]] if told.ahead else []
        last_stage, draft.stop = stage_at(self._plain, draft.stop, min([told.end, *ahead]))
        draft.own = Said(condition, stage or last_stage or draft.stage, None)

    def _says(self, told: ToldOf) -> bool:
        """Whether there are words in front of a mark at all."""
        return (
            bool(told.lead or told.trail)
            or _LETTER.search(self._plain, max(told.free, told.mark.start - _FAR), told.mark.start)
            is not None
        )

    def _stands_alone(self, told: ToldOf) -> bool:
        """Whether there are blanks alone between a value, its neighbours and the clause's ends."""
        mark, plain = told.mark, self._plain
        between = plain[told.free : mark.start], plain[mark.end : told.limit]
        return not (any(map(str.strip, between)) or (mark.match and mark.match["above"]))

    def _ask_alone(self, told: ToldOf, match: re.Match[str]) -> int:
        """Ask of what a value is that nothing stands beside."""
        if is_measured(match, "") and (match["over"] or quantity_of(match) in _MUST_HAVE_ITEM):
            against = runs_down(match)
            if against:
                raise InvalidField("reading", match[0], against)
            nothing = ReadingDraft("", None, said([]), match.start(), match.end(), qualified=False)
            return self._ask_of(told, nothing, match)
        return match.end()

    def _ask_of(self, told: ToldOf, draft: ReadingDraft, match: re.Match[str]) -> int:
        """Ask of what a value is; offer the item of the reading before, or what its unit tells."""
        last, quantity = self._before.last, quantity_of(match)
        later = _is_of_another_time(told)
        if not goes_with(last, self._plain, told.start, later=later) or (
            last and last.quantity is not quantity
        ):
            last = None
        if last is None and not match["over"] and quantity not in _MUST_HAVE_ITEM:
            return told.mark.end
        of_bus = self._before.last if quantity is Quantity.RESISTANCE else None
        if of_bus and _WIRE_OF_BUS.fullmatch(of_bus.item):
            draft.item = draft.item or "can"  # "CAN H 2.6 V, L 2.4 V, 60 ohm across"
        known = None if last else volts_complained_of(match, draft.own.condition, self._plain)
        if known and not draft.item:
            draft.item = known
            reading = reading_of(read_match(match, self._typed(match)), **draft.facts)
            begin = min(draft.begin, match.start())
            self._take(reading, Place(begin, max(match.end(), draft.stop)), match["unit"])
            return self._places[-1].end
        draft.item = draft.item or (last.item if last else item_of_unit(match, draft)) or ""
        if not draft.item:
            raise InvalidField("reading", match[0], NO_ITEM)
        value = read_match(match, self._typed(match))
        self._offer_words(told, draft, last)
        reading = reading_of(value, **draft.facts)
        begin = draft.begin if draft.position else match.start()
        place = Place(min(begin, match.start()), max(match.end(), draft.stop))
        self._doubt(place, f"names no item; write {offer(reading, match[0])}")
        self._remember(reading, match["unit"] or match["high_unit"], place.end, is_assumed=True)
        return place.end

    def _offer_words(self, told: ToldOf, draft: ReadingDraft, last: LastReading | None) -> None:
        """Take the words beside a value of an item told before for its condition, if few."""
        if last is None or draft.own.condition:
            return
        stop = min(draft.begin, told.start) if draft.position else told.start
        before = free_words(self._plain[max(told.free, last.end) : stop])
        behind = free_words(self._plain[max(told.mark.end, draft.stop) : told.limit])
        draft.own = draft.own._replace(condition=before or behind)

    def _swing(self, told: ToldOf, draft: ReadingDraft) -> int | None:
        """Ask about a value that goes to and fro: ``15 inHg flicking to 11``; say where it ends."""
        mark, other = told.mark, told.ahead[0].mark if told.ahead else None
        if not other or not _SWINGS.fullmatch(self._plain, mark.end, other.start):
            return None
        units = (each.match["unit"] for each in (mark, other) if each.match and each.match["unit"])
        texts = [self._plain[each.start : each.end] for each in (mark, other)]
        unit = next(units, None)
        unit = unit or usual_unit(draft.item, first_number(texts[0]), self._wording)
        if not unit:
            return None
        number = " - ".join(f"{each:g}" for each in sorted(map(first_number, texts)))
        reading = reading_of(parse_value(f"{number} {unit}"), **draft.facts)
        place = Place(draft.begin, other.end)
        self._doubt(place, f"goes to and fro; write {offer(reading, number)}")
        self._remember(reading, unit, other.end)
        return other.end

    def _typed(self, match: re.Match[str]) -> str:
        """Return a value as it was typed, but for what is told in words: ``minus 14 %``."""
        as_typed = self._prepared[slice(*match.span())] == match[0]
        return self._text[slice(*match.span())] if as_typed else match[0]

    def _whole(self, place: Place) -> Place:
        """Return a place with all of the dictated number it begins in: ``12 point 4 volts``."""
        for start, end in self._dictated:
            if start < place.start < end:
                return Place(start, place.end)
        return place

    def _remember(
        self, reading: Reading, unit: str | None, end: int, *, is_assumed: bool = False
    ) -> None:
        cranking = "cranking" in (reading.condition or "").split(", ")
        self._before.last = LastReading(
            reading.item, reading.position, unit, reading.quantity, end, cranking, is_assumed
        )

    def _number(self, told: ToldOf, draft: ReadingDraft, against: str | None) -> int:
        """Read a number that has no unit of its own: take its company's, or offer the usual one."""
        match, last, item = told.mark.match, self._before.last, draft.item
        end = match.end("number") if match else told.mark.end
        number = self._plain[told.mark.start : end]
        unit = self._unit_ahead(told, item) if item else None
        is_last = last and uncounted(item) == uncounted(last.item)
        if not unit and last and is_last and (draft.beside or draft.position):
            unit = last.unit
        elif unit and last and is_last and _is_other_unit(last.unit, unit):
            unit = last.unit  # "LF 32 psi RF 31 LR 2.2 bar"
        usual = usual_unit(item, first_number(number), self._wording) if item else None
        if draft.linked and last and last.quantity in _ELECTRICAL:
            usual = last.unit or last.quantity.unit  # "12.4 V at battery, 9.1 at starter"
        if unit and usual == "°C" and is_plain_degrees(unit):
            unit = None
        if not (unit or match) and _tells_which(item, number):
            return told.free
        if against == SHOULD_BE and (unit or usual):
            raise InvalidField("reading", number, _likely_limit(number, unit or usual))
        if not (unit or usual or match):
            other = item and not (last and item == last.item)
            return told.free if other or against else self._ask_of_number(told, draft, number)
        several = against == ONE_OF_SEVERAL and bool(unit or usual)
        if (against and not several) or not (unit or usual):
            raise InvalidField("reading", number, against or "has no scale; write °C or °F")
        behind = self._unit_behind(told)
        if behind and unit:
            self._go_on(draft, behind.end(), told.limit)
        value = parse_value(f"{number} {unit or usual}")
        reading, place = reading_of(value, **draft.facts), Place(draft.begin, draft.stop)
        if several:
            return self._ask_which(draft, reading, number)
        if unit and not draft.assumed:
            self._take(reading, place, unit)
        else:
            self._doubt(place, f"has no unit; write {offer(reading, number)}")
            self._before.row.append((reading.item, reading.position))
            self._before.last = LastReading(
                reading.item,
                reading.position,
                None,
                value.quantity,
                place.end,
                is_assumed=draft.assumed,
            )
        return place.end

    def _limit_alone(self, told: ToldOf) -> int:
        """Ask about a limit of the reading before, with its unit: ``21.4 mm, min 22``."""
        last, number = self._before.last, self._plain[told.mark.start : told.mark.end]
        counts = _LETTER.match(self._plain[told.mark.end : told.limit].lstrip())
        if last is None or not goes_with(last, self._plain, told.start, later=False):
            return told.free
        minutes = _SO_MANY_MINUTES.search(self._plain, max(0, told.start - _FAR), told.start)
        if minutes or (counts and not told.trail):
            return told.free  # "35 min 18 euro", "wants 2 new tyres"
        unit = last.unit or usual_unit(last.item, first_number(number), self._wording)
        if unit is None:
            return told.free
        self._before.last = last._replace(end=told.mark.end)
        raise InvalidField("reading", number, _likely_limit(number, unit))

    def _ask_of_number(self, told: ToldOf, draft: ReadingDraft, number: str) -> int:
        """Offer a number that begins a clause as one more of the reading before: ``14,1 ohne``."""
        last, mark = self._before.last, told.mark
        free = max(told.free, last.end if last else 0)
        begins = begins_clause(self._plain, free, told.start)
        begins = begins or tells_when(free_words(self._plain[free : told.start]))
        behind = self._plain[mark.end : told.limit]
        usual = usual_quantities(last.item, self._wording) if last else set()
        in_a_state = not usual and Aspect.POWER in kinds((*told.lead, *told.trail))
        likely = in_a_state or is_likely_value(number, behind)
        if not (last and begins and likely) or mark.row:
            return told.free
        unit = last.unit or usual_unit(last.item, first_number(number), self._wording)
        if in_a_state and last.quantity is Quantity.RESISTANCE:
            unit = unit or last.quantity.unit  # "mat 1k2 empty, 400 occupied"
        if not unit or not (in_a_state or last.quantity in usual):
            return told.free
        if not goes_with(last, self._plain, told.start, later=_is_of_another_time(told)):
            return told.free
        draft.item, draft.stop = last.item, max(draft.stop, mark.end)
        self._offer_words(told, draft, last)
        reading = reading_of(parse_value(f"{number} {unit}"), **draft.facts)
        place = Place(mark.start, draft.stop)
        self._doubt(place, f"has no unit; write {offer(reading, number)}")
        self._remember(reading, None, place.end, is_assumed=True)
        return place.end

    def _go_on(self, draft: ReadingDraft, stop: int, limit: int) -> None:
        """Take what stands behind a unit that stood apart: ``17-18 steady in/hg idle``."""
        trail = self._company.after(stop, limit)
        draft.stop = max([stop, *(each.end for each in trail)])
        told = (draft.own.condition, said(trail).condition)
        draft.own = draft.own._replace(condition=", ".join(filter(None, told)) or None)

    def _unit_ahead(self, told: ToldOf, item: str) -> str | None:
        """Return the unit that is told once, behind the last of several values of one item."""
        behind = self._unit_behind(told)
        for one in told.ahead:
            if behind:
                break
            floor = self._clauses.end_before(one.mark)
            floor = max([floor, *(each.end for each in self._company.after(floor, one.start))])
            between = self._plain[floor : self._beside.front(one)].strip(LOOSE)
            if IS_LIMITED.fullmatch(between):
                return self._unit_of_limit(told, item, one.mark)
            if not (
                between in {"", "of", "to", "→", "->", "=>"}
                or self._are_alike(item, between.lower(), one.mark)
                or _is_position(between)
            ):
                return None
            match = one.mark.match
            if match and not match["over"]:
                usual = is_usual(match, usual_quantities(item, self._wording))
                told_of_all = not (match["above"] or match["below"] or match["rkm"])
                if not (told_of_all and is_measured(match, item, usual=usual)):
                    return None
                return match["unit"] or match["high_unit"]
            behind = self._unit_behind(one)
        return behind["unit"] if behind else None

    def _unit_of_limit(self, told: ToldOf, item: str, limit: Mark) -> str | None:
        """Return the unit of what should be, if a number has it, too: ``2.1 should be 3.5 bar``."""
        match = limit.match
        unit = match and (match["unit"] or match["high_unit"])
        if not unit:
            return None
        number = first_number(self._plain[told.mark.start : told.mark.end])
        usual = usual_unit(item, number, self._wording)
        return unit if usual and find_unit(usual) == find_unit(unit) else None

    def _are_alike(self, item: str, other: str, mark: Mark) -> bool:
        """Whether items are counterparts with one unit: not ``coil prim 0.6 sec 6.1 kohm``."""
        if not (are_counterparts(item, other) and mark.match):
            return False
        usual, unit = usual_unit(item, 1.0, self._wording), mark.match["unit"]
        if other in OF_A_FLOW and quantity_of(mark.match) is Quantity.PRESSURE:
            return True  # "supply 12 return 3 bar" is of no voltage
        return usual is None or (bool(unit) and find_unit(usual) == find_unit(unit))

    def _unit_behind(self, told: ToldOf) -> re.Match[str] | None:
        """Find the unit that stands behind what qualifies a number: ``90 dry 150 wet psi``."""
        if told.mark.match:
            return None
        end = told.trail[-1].end if told.trail else told.mark.end
        found = _UNIT_ALONE.match(self._plain, end, told.limit)
        if not found or not (told.trail or found["so"]):
            return None
        return found if found["unit"].lower() not in _NO_UNIT_ALONE else None

    def _take(self, reading: Reading, place: Place, unit: str | None) -> None:
        place = self._whole(place)
        beside = voltage_beside(reading.item, self._plain, place.end)
        if beside and not reading.condition:
            reading = replace(reading, condition=beside["voltage"])
            place = Place(place.start, beside.end())
        begin = place.start
        if self._lifted and _BETWEEN.fullmatch(self._plain, self._lifted[-1].end, begin):
            begin = self._lifted[-1].end
        self._readings.append(reading)
        self._places.append(place)
        self._before.row.append((reading.item, reading.position))
        self._lifted.append(Place(begin, place.end))
        if not unit and self._before.last and self._before.last.item == reading.item:
            self._before.last = self._before.last._replace(position=reading.position, end=place.end)
        else:
            self._remember(reading, unit, place.end)
