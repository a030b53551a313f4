"""Readings lifted out of what people write: which words are the item, the state, the place."""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import pairwise

from kb.case import Quantity, Reading
from kb.errors import InvalidField
from kb.intake.company import Aspect, Company, Said, kinds, said
from kb.intake.items import is_item, trade_wording
from kb.intake.lifting import Doubt, Lifted, Place, blanked, cut, merged
from kb.intake.marks import Mark, marks_in
from kb.intake.positions import find_position
from kb.intake.reading_drafts import (
    LastReading,
    ReadingDraft,
    ToldOf,
    first_number,
    is_cranking,
    is_degrees,
    is_idle,
    is_plain_degrees,
    is_usual,
    is_vague,
    of_battery,
    quantity_of,
    uncounted,
    whose,
)
from kb.intake.reading_items import (
    NamedSpan,
    item_after,
    item_before,
    position_after,
    without_unit,
)
from kb.intake.reading_words import degrees_of, item_and_position, lift_stage, stage_at
from kb.intake.readings import LINK, ONLY_MEASURED, extended, parse_reading, reading_of, written
from kb.intake.stated import is_measured, objection_at, runs_down
from kb.intake.units import find_unit
from kb.intake.usual_units import thousands_joined, usual_quantities, usual_unit
from kb.intake.values import UNIT, parse_value, prepare, read_match
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


_CLAUSE = compiled(r"[;\n]+|,(?![0-9])|\.(?=\s|$)|\b(?:and|but|then)\b", re.IGNORECASE)
# A unit of two meanings has no quantity yet.
_MUST_HAVE_ITEM = {
    Quantity.RESISTANCE,
    Quantity.VOLTAGE,
    Quantity.CURRENT,
    Quantity.PRESSURE,
    None,
}
_AT_SIGN = compiled(r"\s*@\s*(?P<at>[^,;\n]{1,60})")
_DROP = compiled(r"\s*(?:volts? |voltage )?drop\b", re.IGNORECASE)
_GOES_ON = compiled(
    r"(?:(?:and|but|then|now|only|it|that|drop(?:s|ped)?|falls?|fell|holds?|rises?|goes|went|out"
    r"|against|vs|versus|got|gets|act|actual|reads|measured|→|->|=>)"
    r"(?![\w])[\s,]*)*(?:to)?",
    re.IGNORECASE,
)
_OPEN_IN_WORDS = compiled(r"open[ -]?circuit|o/c|infinit[ey]|infinity|no continuity", re.IGNORECASE)
_IGNITER = compiled(r"\b(?:air ?bags?|bag|pretens\w*|squibs?|igniters?|srs)\b")
"""What nobody should be asked to measure."""
_SOUND = compiled(
    r"\b(?:noise|vibration|whine|whistle|hum|drone|boom|shake|shudder|knock|rattle|tick\w*"
    r"|buzz)\s*$",
    re.IGNORECASE,
)
_WORKED_ON = compiled(
    r"\b(?:pulled|pulling|unplugged|disconnected|removed|fitted|replaced|swapped|renewed|changed"
    r"|ordered)\s+(?:(?:the|a|an|new|another)\s+)*$",
    re.IGNORECASE,
)
_FAR_WORK = 28
_CORNERS = frozenset(
    f"{side} {end}"
    for side in ("left", "right", "nearside", "offside")
    for end in ("front", "rear")
)
_TO_EARTH = compiled(
    r"\s+(?P<to>to (?:the )?(?:body|earth|ground|chassis|frame|shield|screen|case))\b",
    re.IGNORECASE,
)
_SUB_PARTS = {"sec": {"prim", "pri"}, "secondary": {"primary"}, "outlet": {"inlet"}}
"""What names a part of the same thing as the word before did: ``coil prim 0.6 sec 6k1``."""
_SLASH = compiled(r"\s?/\s?")
_TABLE = compiled(r"(?<![\w.,])(?:[+-]?[0-9][0-9.,/]{0,9}[\s;]{1,3}){32,}+")
"""A pasted table of numbers: of nothing that is known, so it stays as it is."""
_UNIT_ALONE = compiled(rf"\s{{1,3}}(?P<unit>{UNIT})", re.IGNORECASE)
_NO_UNIT_ALONE = frozenset(["min", "in", "r", "k", "m", "h", "s", "mi"])
"""Spellings of units that are something else where no number stands just before them."""
_LETTER = compiled(r"[^\W\d_]")
_FAR = 200
_LONGEST_NAME = 40
_LOOSE = " \t\n,;:/&()="
_NEAR_BY = 16
_AHEAD = 8
"""Marks behind a number among which its unit is sought."""
_NEVER_SHARED = {Aspect.STAGE, Aspect.ROLE, Aspect.SIDE}
_BETWEEN = compiled(r"[\s,;/&]*+(?:(?:against|vs\.?|versus|and)\s*+)?", re.IGNORECASE)


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
    search = _Search(text, wording or trade_wording(), taken)
    for start, end in search.clauses:
        search.read_clause(start, end)
    return search.found(taken)


def _clauses(plain: str, whole: Sequence[Place]) -> list[Place]:
    """Stretches in which values and their items stand together; rows of numbers stay whole."""
    starts = [place.start for place in whole]

    def parts(start: int) -> bool:
        row = bisect_right(starts, start) - 1
        return row < 0 or start >= whole[row].end

    spans = (match.span() for match in _CLAUSE.finditer(plain))
    cuts = [(0, 0), *(span for span in spans if parts(span[0])), (len(plain),) * 2]
    return [Place(end, start) for (_, end), (start, _) in pairwise(cuts) if start > end]


def _is_name(words: str, wording: Wording) -> bool:
    """Whether words are the name of one item and no more."""
    if not 0 < len(words) <= _LONGEST_NAME or any(map(str.isdigit, words)):
        return False
    return is_item(words.lower().split(), wording) or bool(usual_quantities(words.lower(), wording))


def _apart_from(taken: Sequence[Place], marks: Sequence[Mark]) -> list[Mark]:
    """Leave out marks that what was taken stands within: a number and a unit that met by it."""
    starts = sorted(place.start for place in taken)
    return [
        mark for mark in marks if bisect_left(starts, mark.start) == bisect_left(starts, mark.end)
    ]


def _items_follow(matches: list[re.Match[str]], start: int, end: int, wording: Wording) -> bool:
    """Whether the values of a clause stand before their items: ``2k1 coil 12.6 V battery``."""
    plain = matches[0].string
    named_before = item_before(plain, start, matches[0].start(), wording).words
    return not named_before and item_after(plain, matches[-1].end(), end, wording) is not None


class _Search:
    """What was found in a line up to a place."""

    def __init__(self, text: str, wording: Wording, taken: Sequence[Place]) -> None:
        self._text, self._wording = text, wording
        plain = prepare(blanked(text, taken))
        tables = (Place(*match.span()) for match in _TABLE.finditer(plain))
        self._plain = blanked(plain, tables)
        self._company = Company(self._plain)
        self._marks = _apart_from(taken, marks_in(self._plain, self._company))
        self._starts = [mark.start for mark in self._marks]
        self._readings: list[Reading] = []
        self._places: list[Place] = []
        self._lifted: list[Place] = []
        self._doubts: list[Doubt] = []
        self._asked: list[Place] = []
        self._last: LastReading | None = None
        self._clause = 0
        self._tail: LastReading | None = None
        self._row: list[tuple[str, str | None]] = []
        """Items and positions of the readings before: those of a pair may be told once."""
        rows = [mark for mark in self._marks if mark.row]
        self._tails: dict[int, LastReading] = {}
        clauses = _clauses(
            self._plain, merged((mark.row.start, mark.row.end) for mark in rows if mark.row)
        )
        self.clauses = self._with_items_behind(clauses)

    def found(self, taken: Sequence[Place]) -> ReadingsFound:
        """Return what was found, and ask about numbers left over that belong to an item."""
        left = blanked(self._plain, [*self._lifted, *self._asked])
        taken_out = merged([*self._lifted, *self._asked])
        asked = without_unit(left, self._wording, taken_out, beside=bool(self._readings))
        rest = cut(self._text, [Lifted(*span) for span in merged([*taken, *self._lifted])])
        doubts = sorted((*self._doubts, *asked), key=lambda doubt: doubt.place or ())
        return ReadingsFound(tuple(self._readings), rest, tuple(doubts), tuple(self._places))

    def read_clause(self, start: int, end: int) -> None:
        """Read the values of one clause."""
        marks = self._marks_within(start, end)
        if not marks:
            self._share(start, end)
            return
        self._clause = len(self._readings)
        values = [mark.match for mark in marks if mark.match]
        follow = bool(values) and _items_follow(values, start, end, self._wording)
        free = start
        told = self._told(marks, start, end)
        self._tail = self._tails.get(start) or self._named_behind(told, start, end)
        for place, each in enumerate(told):
            if each.mark.start < free:
                continue
            each.free, each.ahead = free, told[place + 1 : place + 1 + _AHEAD]
            try:
                free = self._read(each, end, follow=follow or place == len(told) - 1)
            except InvalidField as refused:
                self._doubt(Place(each.mark.start, each.mark.end), refused.cure)
                free = each.mark.end

    def _named_behind(self, told: Sequence[ToldOf], start: int, end: int) -> LastReading | None:
        """Find the item told once, behind the last of several values of a clause."""
        if len(told) == 1 and told[0].mark.match:
            return None
        last = told[-1]
        stop = max([last.mark.end, *(each.end for each in last.trail)])
        behind = item_after(self._plain, stop, end, self._wording)
        item = item_and_position(behind.words)[0] if behind else ""
        before = item_before(self._plain, start, self._front(told[0]), self._wording)
        if not behind or not item or item_and_position(before.words)[0]:
            return None
        trail = [] if last.trail else self._company.after(behind.end, end)
        for one in told[:-1]:
            told_apart = kinds(one.lead) | kinds(one.trail) | _NEVER_SHARED
            one.shared = one.shared or [each for each in trail if each.kind not in told_apart]
        return LastReading(item, None, None, None, behind.end)

    def _with_items_behind(self, clauses: Sequence[Place]) -> list[Place]:
        """Join a clause that names no item with one that is nothing else: ``hot 0.7 bar, oil``."""
        joined: list[Place] = []
        for start, end in clauses:
            words = self._plain[start:end].strip(_LOOSE + ".")
            before = joined[-1] if joined else None
            if not (before and self._is_open(before, start)):
                joined.append(Place(start, end))
            elif self._lacks_item(Place(start, end)) and self._are_alike(before.start, end):
                joined[-1] = Place(before.start, end)
            elif not self._marks_within(start, end) and _is_name(words, self._wording):
                joined[-1] = Place(before.start, end)
                stop = start + self._plain[start:end].index(words) + len(words)
                self._tails[before.start] = LastReading(words.lower(), None, None, None, stop)
            else:
                joined.append(Place(start, end))
        return joined

    def _marks_within(self, start: int, end: int) -> list[Mark]:
        return self._marks[bisect_left(self._starts, start) : bisect_left(self._starts, end)]

    def _are_alike(self, start: int, end: int) -> bool:
        """Whether several values of one quantity at most stand before the item of the last one."""
        marks = self._marks_within(start, end)
        quantities = {quantity_of(mark.match) for mark in marks if mark.match}
        return len(quantities) <= 1 and self._names_behind(marks[-1], end)

    def _names_behind(self, mark: Mark, end: int) -> bool:
        """Whether the item of a mark is named behind it."""
        trail = self._company.after(mark.end, end)
        stop = max([mark.end, *(each.end for each in trail)])
        return item_after(self._plain, stop, end, self._wording) is not None

    def _is_open(self, clause: Place, after: int) -> bool:
        """Whether the item of the values of a clause may be told in the one behind its comma."""
        is_parted = self._plain[clause.end : after].strip() == ","
        return (
            is_parted
            and self._lacks_item(clause)
            and not self._names_behind(self._marks_within(*clause)[-1], clause.end)
        )

    def _lacks_item(self, clause: Place) -> bool:
        """Whether a clause has values, and names no item in front of any."""
        marks = self._marks_within(*clause)
        named = (
            item_before(self._plain, clause.start, mark.start, self._wording) for mark in marks
        )
        return bool(marks) and not any(item_and_position(each.words)[0] for each in named)

    def _share(self, start: int, end: int) -> None:
        """Tell the values of the clause before what a clause of nothing else says of them."""
        chain = self._company.after(start, end)
        if not chain or self._plain[chain[-1].end : end].strip(_LOOSE) or not self._readings:
            return
        if self._plain[self._lifted[-1].end : start].strip(_LOOSE):
            return
        condition = said(chain).condition
        for place in range(self._clause, len(self._readings)):
            if condition and self._readings[place].condition is None:
                self._readings[place] = replace(self._readings[place], condition=condition)
                self._lifted[-1] = Place(self._lifted[-1].start, chain[-1].end)

    def _doubt(self, place: Place, why: str) -> None:
        self._doubts.append(Doubt(self._text[slice(*place)], why, place))
        self._asked.append(place)

    def _told(self, marks: Sequence[Mark], start: int, end: int) -> list[ToldOf]:
        """Give each mark the qualifiers beside it; one between two marks belongs to one of them."""
        told: list[ToldOf] = []
        for place, mark in enumerate(marks):
            floor = marks[place - 1].end if place else start
            limit = marks[place + 1].start if place + 1 < len(marks) else end
            lead = self._company.before(floor, mark.start)
            told.append(ToldOf(mark, lead, self._company.after(mark.end, limit), [], limit))
        if len(told) > 1:
            of_first, of_last = kinds(told[0].lead), kinds(told[-1].trail)
            for one, other in pairwise(told):
                both = [each for each in one.trail if each in other.lead]
                if both and not kinds(both) & of_first and kinds(both) & of_last:
                    other.lead = [each for each in other.lead if each not in both]
                else:
                    one.trail = [each for each in one.trail if each not in both]
            told[-1].trail = [each for each in told[-1].trail if each.words != "both"]
            own = {kind for each in told[:-1] for kind in kinds(each.lead) | kinds(each.trail)}
            own |= kinds(told[-1].lead)
            own |= _NEVER_SHARED
            common = [each for each in told[-1].trail if not kinds([each]) & own]
            for each in told[:-1]:
                each.shared = common
        return told

    def _read(self, told: ToldOf, end: int, *, follow: bool) -> int:
        """Read one mark and say where it stops.

        Raises
        ------
        InvalidField
            If it was measured, but cannot be taken.
        """
        match = told.mark.match
        if not (self._last or self._tail or self._says(told)):
            if not match:
                return told.free
            if not follow and self._stands_alone(told):
                return self._ask_of(match)
        draft = self._around(told, follow=follow)
        self._complete(told, draft, end)
        usual = usual_quantities(draft.item, self._wording)
        if match and self._has_unit_of_another(match, draft.item, usual):
            match = None
        if match and not self._is_measured(match, draft.item, usual):
            return told.mark.end
        against = self._objection(told, draft, match)
        if against:
            self._pass_by(told.mark, match, draft)
        if match and (against or not draft.item):
            if not match["over"] and not against and quantity_of(match) not in _MUST_HAVE_ITEM:
                return told.mark.end
            raise InvalidField("reading", match[0], against or whose(match, draft.own.condition))
        self._conclude(draft, end)
        if match:
            plain = thousands_joined(match, draft.item, self._wording)
            value = read_match(plain, self._text[slice(*match.span())])
            exact = not (match["above"] or match["below"])
            unit = match["unit"] or match["high_unit"] if exact else None
            self._take(reading_of(value, **draft.facts), Place(draft.begin, draft.stop), unit)
            return draft.stop
        return self._number(told, draft, against)

    def _around(self, told: ToldOf, *, follow: bool) -> ReadingDraft:
        """Bring together what the words in front of a mark and behind it name."""
        mark, plain, limit = told.mark, self._plain, told.limit
        named = self._named(told)
        stop = mark.end
        item, position = item_and_position(named.words)
        dropped = _DROP.match(plain, stop, limit)
        if dropped and item and "drop" not in item:
            item, stop = f"{item} drop", dropped.end()
        has_side = told.trail or Aspect.SIDE in kinds(told.lead)
        behind = None if has_side else position_after(plain, stop, limit, self._wording)
        if position is None and behind:
            position, stop = find_position(behind.words)[0], behind.end
        follows = None
        if mark.match and follow and not told.trail and self._names_only_a_stranger(named, item):
            follows = item_after(plain, stop, limit, self._wording)
        if follows:
            item, after_position = item_and_position(follows.words)
            position, stop = position or after_position, follows.end
        where = None
        link = None if told.trail else LINK.match(plain, stop, limit)
        place = self._linked(
            link, told.ahead[0].start if told.ahead else limit, is_number=not mark.match
        )
        if link and place and ONLY_MEASURED.fullmatch(item):
            item, position = extended(item, position, link, place)
            stop = place.end
        elif place and not item:
            item, position = item_and_position(place.words)
            stop = place.end
        elif link and place and stop == mark.end and self._ends_clause(link, place, limit):
            where, behind_position = item_and_position(place.words)
            position, stop = position or behind_position, place.end
        trail = told.trail if stop == mark.end else self._company.after(stop, limit)
        own = said([*told.lead, *trail, *told.shared])
        own = own._replace(condition=", ".join(filter(None, (where, own.condition))) or None)
        position = " ".join(filter(None, (own.position, position))) or None
        item = "" if is_vague(item, self._wording) else item
        stop = max([stop, *(each.end for each in trail)])
        draft = ReadingDraft(item, position, own, named.start, stop, bool(told.lead or trail))
        draft.stage = mark.stage
        return draft

    def _linked(
        self, link: re.Match[str] | None, limit: int, *, is_number: bool
    ) -> NamedSpan | None:
        """Find what a link behind a value leads to; behind a number without a unit only *at*."""
        if link is None or (is_number and link["link"].lower() != "at"):
            return None
        return item_after(self._plain, link.end(), limit, self._wording, linked=True)

    def _ends_clause(self, link: re.Match[str], place: NamedSpan, limit: int) -> bool:
        """Whether a value is told at a place, and nothing more: ``25 mm at rim``."""
        is_at = link["link"].lower() == "at"
        return is_at and not self._plain[place.end : limit].strip(_LOOSE + ".")

    def _names_only_a_stranger(self, named: NamedSpan, item: str) -> bool:
        """Whether nothing is named in front, or what no table knows: ``lpg at 1.1 bar reducer``."""
        at = self._plain[named.start + len(named.words) : named.end].strip()
        return not item or (at == "at" and usual_unit(item, 1.0, self._wording) is None)

    def _complete(self, told: ToldOf, draft: ReadingDraft, end: int) -> None:
        """Find the item that is not named beside a mark: that of its company, or of its state."""
        mark, number = told.mark, self._plain[told.mark.start : told.mark.end]
        draft.beside = self._beside(told, draft)
        if not draft.item and draft.beside:
            pair = self._in_pair(told)
            draft.item = pair[0] if pair else draft.beside.item
            if draft.position == "others":
                draft.item = uncounted(draft.item)
            counted = mark.position(draft.item) or (pair[1] if pair else None)
            draft.position = draft.position or counted or draft.beside.position
            draft.begin = min(draft.begin, told.start)
        elif not draft.item and self._tail:
            draft.item = self._tail.item
            draft.begin = min(draft.begin, told.start)
        if self._tail and draft.item == self._tail.item and told.limit == end:
            draft.stop = max(draft.stop, self._tail.end)
        draft.position = draft.position or mark.position(draft.item)
        if draft.item in {"", "o2"} and draft.position and "sensor" in draft.position.split():
            draft.item = f"{draft.item or 'lambda'} sensor"  # only those are counted so
        elif draft.item in _SUB_PARTS and self._last:
            *whole, part = self._last.item.split()
            is_other = whole and part in _SUB_PARTS[draft.item]
            draft.item = " ".join((*whole, draft.item)) if is_other else draft.item
        elif draft.item:
            return
        elif told.lead and is_idle(number, told.lead):
            draft.item, draft.begin = "idle", told.lead[-1].start
            draft.own = said([*told.lead[:-1], *told.trail, *told.shared])
        elif not mark.match and of_battery(number, draft.own.condition):
            draft.item, draft.begin = "battery", told.start
        else:
            matches = (one.mark.match for one in (told, *told.ahead) if one.mark.match)
            with_unit = mark.match or next(matches, None)
            if with_unit:
                self._complete_by_unit(told, with_unit, draft)

    def _complete_by_unit(self, told: ToldOf, match: re.Match[str], draft: ReadingDraft) -> None:
        """Find the item of a value whose unit, or the unit ahead, tells it in its company."""
        unit = find_unit(match["unit"] or match["high_unit"] or "ohm")
        quantity = unit.quantity if unit else None
        state = (draft.own.condition or "").split(", ")
        before = self._plain[max(draft.begin - _NEAR_BY, 0) : match.start()]
        sound = _SOUND.search(before)
        if quantity is Quantity.SPEED and draft.position in _CORNERS:
            draft.item = "wheel speed"
        elif not told.mark.match:
            return
        elif quantity is Quantity.CURRENT and {"sleeping", "sleep"} & set(state):
            draft.item = "parasitic current"
        elif unit and unit.symbol == "MΩ" and match["above"]:
            draft.item = "insulation"
            earth = _TO_EARTH.match(self._plain, draft.stop, told.limit)
            if earth and not draft.own.condition:
                draft.own, draft.stop = draft.own._replace(condition=earth["to"]), earth.end()
        elif quantity is Quantity.FREQUENCY and sound:
            draft.item = sound[0].strip().lower()
            draft.begin = match.start() - len(sound[0])
        elif quantity is Quantity.ROTATION and is_cranking(match, self._last, state):
            draft.item = "cranking speed"

    def _pass_by(self, mark: Mark, match: re.Match[str] | None, draft: ReadingDraft) -> None:
        """Keep in mind the item of a value that is no reading: ``spec 55 psi, got 40``."""
        last = self._last
        quantity = quantity_of(match) if match else last and last.quantity
        if draft.item:
            unit = match["unit"] or match["high_unit"] if match else None
            self._last = LastReading(draft.item, draft.position, unit, quantity, mark.end)
        elif last:
            self._last = last._replace(end=mark.end) if quantity is last.quantity else None

    def _is_measured(self, match: re.Match[str], item: str, usual: Collection[Quantity]) -> bool:
        """Whether a value was measured; asks where words tell so: ``open circuit on pin 7``."""
        in_words = match["over"] and _OPEN_IN_WORDS.fullmatch(match["over"])
        at_a_place = in_words and item and LINK.match(self._plain, match.end())
        if at_a_place and not _IGNITER.search(item):
            why = f"may be a reading; write “{item} OL” if that was measured"
            raise InvalidField("reading", match[0], why)
        return is_measured(match, item, usual=is_usual(match, usual))

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
        floor = self._end_before(mark)
        if self._plain[floor : mark.start].strip():
            floor = 0
        if self._is_one_of_two(mark):
            if not (draft.position or (draft.beside and self._in_pair(told))):
                return "is one of several values; write each by itself, with its position"
            floor = mark.start
        end = told.trail[-1].end if told.trail else mark.end
        against = objection_at(self._plain, mark.start, end, floor)
        return against or (runs_down(match) if match else None)

    def _conclude(self, draft: ReadingDraft, end: int) -> None:
        """Read what stands at the end of a reading: free words behind @, and its stage."""
        condition, stage = draft.own.condition, draft.own.stage
        at = _AT_SIGN.match(self._plain, draft.stop, end)
        if at:
            words, told = lift_stage(at["at"].strip())
            condition, stage, draft.stop = words or condition, stage or told, at.end()
        told, draft.stop = stage_at(self._plain, draft.stop, end)
        draft.own = Said(condition, stage or told or draft.stage, None)

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

    def _ask_of(self, match: re.Match[str]) -> int:
        """Ask of what a value is that nothing stands beside."""
        if is_measured(match, "") and (match["over"] or quantity_of(match) in _MUST_HAVE_ITEM):
            raise InvalidField("reading", match[0], runs_down(match) or whose(match, None))
        return match.end()

    def _named(self, told: ToldOf) -> NamedSpan:
        """Find the item in front of a mark, its qualifiers and its number aside."""
        named = item_before(self._plain, told.free, self._front(told), self._wording)
        firm = kinds(told.lead) & {Aspect.ROLE, Aspect.STAGE}
        if (
            told.lead
            and not firm
            and not named.words
            and self._plain[told.free : told.start].strip(_LOOSE)
        ):
            told.lead = []  # "misfire cold 2k1": cold belongs to the complaint
            named = item_before(self._plain, told.free, self._front(told), self._wording)
        if named.words and self._is_of_work(named.start, told.free):
            return NamedSpan("", named.end, named.end)
        return named

    def _is_of_work(self, start: int, floor: int) -> bool:
        """Whether words at a place name what was taken off or fitted, not what was measured."""
        return _WORKED_ON.search(self._plain, max(floor, start - _FAR_WORK), start) is not None

    def _front(self, told: ToldOf) -> int:
        return (
            told.mark.index_start
            if told.mark.index_start is not None and not told.lead
            else told.start
        )

    def _beside(self, told: ToldOf, draft: ReadingDraft) -> LastReading | None:
        """Return the reading before, if a mark that names no item can be of its item."""
        last, mark = self._last, told.mark
        if last is None:
            return None
        between = self._plain[last.end : min(draft.begin, self._front(told))]
        if mark.match and not mark.match["over"]:
            degrees = last.quantity is Quantity.TEMPERATURE and is_degrees(mark.match)
            if quantity_of(mark.match) is not last.quantity and not degrees:
                also = quantity_of(mark.match) in usual_quantities(last.item, self._wording)
                if not also or (last.quantity and not between.isspace()):
                    return None
                if last.quantity:
                    return last
        linked = _GOES_ON.fullmatch(between.strip(_LOOSE + "."))
        counted = mark.number is not None or mark.stage or between.strip() == "/"
        in_pair = told.shared and self._in_pair(told)
        told_apart = draft.position or draft.qualified or counted or in_pair
        return last if linked and (told_apart or linked[0]) else None

    def _in_pair(self, told: ToldOf) -> tuple[str, str | None] | None:
        """Return item and position of either of ``2.0 / 14`` behind two values that have theirs.

        For the second of them it is the second, the first having been read meanwhile.
        """
        is_paired = self._is_one_of_two(told.mark) and len(self._row) > 1
        return self._row[-2] if is_paired else None

    def _number(self, told: ToldOf, draft: ReadingDraft, against: str | None) -> int:
        """Read a number that has no unit of its own: take its company's, or offer the usual one."""
        match, last, item = told.mark.match, self._last, draft.item
        end = match.end("number") if match else told.mark.end
        number = self._plain[told.mark.start : end]
        unit = self._unit_ahead(told, item) if item else None
        is_last = last and uncounted(item) == uncounted(last.item)
        if not unit and last and is_last and (draft.beside or draft.position):
            unit = last.unit
        usual = usual_unit(item, first_number(number), self._wording) if item else None
        if unit and usual == "°C" and is_plain_degrees(unit):
            unit = None
        if not (unit or usual or match):
            return told.free
        if against or not (unit or usual):
            raise InvalidField("reading", number, against or "has no scale; write °C or °F")
        behind = self._unit_behind(told)
        draft.stop = behind.end() if behind and unit else draft.stop
        value = parse_value(f"{number} {unit or usual}")
        reading, place = reading_of(value, **draft.facts), Place(draft.begin, draft.stop)
        if unit:
            self._take(reading, place, unit)
        else:
            self._doubt(place, f"has no unit; write {_offer(reading, number)}")
            self._row.append((item, reading.position))
            self._last = LastReading(item, reading.position, None, value.quantity, place.end)
        return place.end

    def _is_one_of_two(self, mark: Mark) -> bool:
        """Whether a slash parts a mark from the one before it or behind it."""
        place = bisect_left(self._starts, mark.start)
        beside = pairwise(self._marks[max(0, place - 1) : place + 2])
        return any(_SLASH.fullmatch(self._plain, one.end, other.start) for one, other in beside)

    def _end_before(self, mark: Mark) -> int:
        """Where the mark before one ends; 0 if there is none."""
        place = bisect_left(self._starts, mark.start)
        return self._marks[place - 1].end if place else 0

    def _unit_ahead(self, told: ToldOf, item: str) -> str | None:
        """Return the unit that is told once, behind the last of several values of one item."""
        behind = self._unit_behind(told)
        for one in told.ahead:
            if behind:
                break
            floor = self._end_before(one.mark)
            floor = max([floor, *(each.end for each in self._company.after(floor, one.start))])
            between = self._plain[floor : self._front(one)].strip(_LOOSE)
            if between not in {"", "of", "to", "→", "->", "=>"} and (
                find_position(between)[0] is None or find_position(between)[1]
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

    def _unit_behind(self, told: ToldOf) -> re.Match[str] | None:
        """Find the unit that stands behind what qualifies a number: ``90 dry 150 wet psi``."""
        if told.mark.match or not told.trail:
            return None
        found = _UNIT_ALONE.match(self._plain, told.trail[-1].end, told.limit)
        return found if found and found["unit"].lower() not in _NO_UNIT_ALONE else None

    def _take(self, reading: Reading, place: Place, unit: str | None) -> None:
        begin = place.start
        if self._lifted and _BETWEEN.fullmatch(self._plain, self._lifted[-1].end, begin):
            begin = self._lifted[-1].end
        self._readings.append(reading)
        self._places.append(place)
        self._row.append((reading.item, reading.position))
        self._lifted.append(Place(begin, place.end))
        if not unit and self._last and self._last.item == reading.item:
            self._last = self._last._replace(position=reading.position, end=place.end)
        else:
            cranking = "cranking" in (reading.condition or "").split(", ")
            self._last = LastReading(
                reading.item, reading.position, unit, reading.quantity, place.end, cranking
            )


def _offer(reading: Reading, number: str) -> str:
    """Write a reading out for whoever typed a number alone, where it can be read back."""
    offer = written(reading)
    with suppress(InvalidField):
        again = parse_reading(offer)
        if (again.item, again.value, again.upper) == (reading.item, reading.value, reading.upper):
            return f"“{offer}” if that was measured"
    return f"{number} ohm, {number} V ... if it was measured"
