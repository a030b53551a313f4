"""What stands beside a value: the words that name its item, and the item of its company."""

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from kb.case import Quantity
from kb.intake.circuit_pressures import SIDES_OF_A_SYSTEM, tells_cooler
from kb.intake.company import Company, Qualifier, kinds, said
from kb.intake.company_words import Aspect
from kb.intake.marks import Mark
from kb.intake.positions import find_position, is_corner
from kb.intake.reading_clauses import LOOSE, Clauses
from kb.intake.reading_drafts import (
    LastReading,
    ReadBefore,
    ReadingDraft,
    ToldOf,
    first_number,
    idle_of,
    is_cranking,
    is_degrees,
    is_vague,
    item_of_state,
    quantity_of,
    uncounted,
)
from kb.intake.reading_items import COUNTED, NamedSpan, item_after, item_before, position_after
from kb.intake.reading_words import SUB_PARTS, are_counterparts, item_and_position
from kb.intake.readings import LINK, ONLY_MEASURED, extended
from kb.intake.units import find_unit
from kb.intake.usual_units import usual_quantities, usual_unit
from kb.intake.wording import Wording
from kb.patterns import compiled

_BEHIND = {
    Quantity.VOLTAGE: "(?:volts? |voltage )?(?P<word>drop|ripple)",
    Quantity.LENGTH: "(?P<word>play|run ?out|wear|tread|lift)",
    Quantity.PROPORTION: "(?P<word>soot|ash|water|moisture|duty)",
    Quantity.ROTATION: "(?P<word>slip)",
    Quantity.RESISTANCE: r"(?P<word>sec(?:ondary)?|prim?(?:ary)?)(?=\s*(?:$|[,;.)]))",
}
"""Words behind a value that say what of an item was measured: ``earth strap 0.6 V drop``."""
_MEASURED_BEHIND = {
    quantity: compiled(rf"\s*{words}\b", re.IGNORECASE) for quantity, words in _BEHIND.items()
}
_SYSTEM = compiled(
    r"\s*(?:(?:on|at|of|in) )?(?:the )?(?P<word>(?:fuel )?rail|fuel|a/?c|air ?con)"
    r"(?=\s*(?:$|[,;.)]))",
    re.IGNORECASE,
)
"""Of what high or low pressure was measured, told behind: ``hp 12 bar ac``."""
_GOES_ON = compiled(
    r"(?:(?:and|but|then|now|only|it|that|is|was|are|found|sits?|sat|sees|saw|shows?|showing|drop(?:s|ped)?|falls?|fell|holds?|rises?|goes|went|out"
    r"|settle[sd]?|against|vs|versus|got|gets|act|actual|reads|measured|→|->|=>)"
    r"(?![\w])[\s,]*)*(?:to)?",
    re.IGNORECASE,
)
_SOUND = compiled(
    r"\b(?:noise|vibration|whine|whistle|hum|drone|boom|shake|shudder|knock|rattle|tick\w*"
    r"|buzz)\s*$",
    re.IGNORECASE,
)
WORKED_ON = compiled(
    r"\b(?:pulled|pulling|unplugged|disconnected|removed|fitted|replaced|swapped|renewed|changed"
    r"|ordered)\s+(?:(?:the|a|an|new|another)\s+)*$",
    re.IGNORECASE,
)
_FAR_WORK = 28
_AT_PINS = compiled(
    r"\b(?:pins?|terminals?|ohmed|broches?|klemmen?|styki?|stykach)\b[^;\n]*$"
    r"|\b[0-9]{1,2}[-/](?:[0-9]{1,2}|gnd|ground|earth|masse?|chassis)[\s:=]*$",
    re.IGNORECASE,
)
"""What was measured is named, if not as an item: it was not the insulation of all."""
_TO_EARTH = compiled(
    r"\s+(?P<to>to (?:the )?(?:body|earth|ground|chassis|frame|shield|screen|case))\b",
    re.IGNORECASE,
)
_ENDS = {"inlet", "outlet"}
_SENSOR = compiled(
    r"\b(?:sensor|sender|probe|ntc|injector|actuator|motor|valve|switch|pot|coil|wss|ect|iat|tps)s?\b"
)
_END_OF_LEAD = compiled(r"(?:multi-?)?(?:plug|connector|socket|terminal|pin)s?")
"""Where something is measured from its lead; behind a reading of it, no item by itself."""
_CHANGED = compiled(
    r"\b(?:settle|drop|f[ae]ll|r[io]se|went|goes|climb|s[ia]nk|then|now|but|until)", re.IGNORECASE
)
"""What parts two values in time: the condition told behind the second is not of the first."""
_COUNTED_PART = compiled(r"\b(?P<part>track|pin|cell|terminal|stage) [0-9]{1,3}$")
_STATE = compiled(r"\b(?:charging|idling|driving|running|off|standing|rest)$", re.IGNORECASE)
_INTO = compiled(r"\s*(?:→|to|-)\s*", re.IGNORECASE)
"""Between two values: the second is what the first came to."""
_AT = compiled(r"\bat\b|@", re.IGNORECASE)
_NUMBER_BEHIND = compiled(r"[ #.]{1,2}(?P<number>[0-9]{1,2})(?=\s*(?:$|[,;)]|\.(?![0-9])))")
"""Which of several the item is that is named behind its value: ``0.6 ohm coil 3``."""
_AT_BEFORE = compiled(r"(?:^|\s)at (?:the )?$", re.IGNORECASE)
_SLASH = compiled(r"\s?/\s?")
_SLASHED = len("/ ")
_NEAR_BY = 16
_OF_A_COOLER = {"low side", "high side"}
SIDES_OF_A_CIRCUIT = {
    *("earth side", "ground side", "gnd side"),
    *("supply side", "feed side", "live side", "positive", "negative"),
}
_A_DROP = compiled(r"\b(?:drop|v/?d)\b", re.IGNORECASE)
_NOT_OF_A_SIDE = {"", "batt", "bat", "battery"}
_MOST_OF_A_DROP = 5.0
"""Volts; a circuit of 12 V that loses more is open rather than bad (common practice, no source)."""
_OWN_STATES = {Aspect.WARMTH, Aspect.WETNESS, Aspect.OPENING}
_STATES = _OWN_STATES | {Aspect.POWER}
"""Behind each of several values: ``4 bar cold 0.7 hot idle``, ``0.6 V closed 4.3 V WOT``."""
_STATE_FIRST = compiled(
    r"(?P<state>idle|cranking) (?P<item>(?:batt?(?:ery)?|battery voltage|charging|charge voltage"
    r"|alternator|oil|oil pressure|fuel pressure|rail pressure|rail|boost|vacuum|map|maf|coolant"
    r"|feed|voltage))"
)
"""A state and an item that no part is called by: ``cranking battery``."""
_HEADING = {Aspect.POWER, Aspect.LOAD, Aspect.SPEED, Aspect.GEAR}
"""What may stand at the head of a clause and be of the first value in it."""
_NEVER_SHARED = {Aspect.STAGE, Aspect.ROLE, Aspect.SIDE}
_PAIR = 2


def is_of_another(item: str) -> bool:
    """Whether words name a part of a thing that may be told once, before: ``sec``, ``track 2``."""
    return item in SUB_PARTS or _COUNTED_PART.fullmatch(item) is not None


def of_the_same(before: str, item: str) -> str:
    """Tell of what a part is, if its counterpart of the same thing was told before it."""
    told = _COUNTED_PART.search(before)
    if told and _COUNTED_PART.fullmatch(item):
        return f"{before[: told.start()]}{item}" if told["part"] in item.split() else item
    *whole, part = before.split()
    return " ".join((*whole, item)) if whole and part in SUB_PARTS.get(item, ()) else item


def _complete_part(draft: ReadingDraft, last: LastReading) -> None:
    """Tell of what a part is, and where: as its counterpart was told before it."""
    part, draft.item = draft.item, of_the_same(last.item, draft.item)
    if draft.item != part:
        draft.position = draft.position or last.position


def _state_throughout(each: Qualifier) -> Iterator[Qualifier]:
    """Yield the state that a time was spent in, ``off`` in ``in 5 min off``: it is of both ends."""
    state = _STATE.search(each.words)
    if each.kind is Aspect.TIME and state:
        yield each._replace(words=state[0])


def _is_drop(told: ToldOf, item: str, number: str) -> bool:
    """Whether a voltage is the drop of one side, and not of what was measured before it.

    ``batt 12.1 V, earth side 0.9 V cranking``: so little is no voltage of a battery.
    """
    match = told.mark.match
    if match and (match["over"] or quantity_of(match) is not Quantity.VOLTAGE):
        return False
    sided = any(each.words in SIDES_OF_A_CIRCUIT for each in (*told.lead, *told.trail))
    return sided and item in _NOT_OF_A_SIDE and first_number(number) < _MOST_OF_A_DROP


def names_more(behind: str) -> bool:
    """Whether words behind a value say more of what was measured: ``drop`` in ``0.6 V drop``."""
    return any(words.match(behind) for words in (_SYSTEM, *_MEASURED_BEHIND.values()))


class Beside:
    """Finds what the words of a line tell of its values, in the light of what was read before."""

    def __init__(
        self,
        plain: str,
        company: Company,
        clauses: Clauses,
        wording: Wording,
        before: ReadBefore,
    ) -> None:
        self._plain, self._company, self._clauses = plain, company, clauses
        self._wording, self._before = wording, before

    def told_of(self, marks: Sequence[Mark], start: int, end: int) -> list[ToldOf]:
        """Give each mark the qualifiers beside it; one between two marks belongs to one of them."""
        limits = [*(mark.start for mark in marks[1:]), end]
        if self._company.is_silent(start, end):
            pairs = zip(marks, limits, strict=True)
            return [ToldOf(mark, [], [], [], limit, end) for mark, limit in pairs]
        told: list[ToldOf] = []
        for place, (mark, limit) in enumerate(zip(marks, limits, strict=True)):
            floor = marks[place - 1].end if place else start
            lead = self._company.before(floor, mark.start)
            told.append(ToldOf(mark, lead, self._company.after(mark.end, limit), [], limit, end))
        if len(told) > 1:
            of_first, of_last = kinds(told[0].lead), kinds(told[-1].trail)
            of_before: set[Aspect] = set()
            for one, other in pairwise(told):
                both = [each for each in one.trail if each in other.lead]
                alike = kinds(both) & (of_last | kinds(other.trail) | of_before) or (
                    kinds(both) <= _OWN_STATES and of_last & _STATES
                )
                if both and not kinds(both) & of_first and alike:
                    other.lead = [each for each in other.lead if each not in both]
                else:
                    one.trail = [each for each in one.trail if each not in both]
                of_before = kinds(one.trail)
            told[-1].trail = [each for each in told[-1].trail if each.words != "both"]
            own = {kind for each in told[:-1] for kind in kinds(each.lead) | kinds(each.trail)}
            own |= kinds(told[-1].lead)
            own |= _NEVER_SHARED
            if any(kinds(each.trail) & _STATES for each in told[:-1]):
                own |= _STATES
            common = [each for each in told[-1].trail if not kinds([each]) & own]
            for one, other in reversed(list(pairwise(told))):
                between = one.mark.end, other.mark.start
                if _CHANGED.search(self._plain, *between):
                    break
                if _INTO.fullmatch(self._plain, *between) and not one.mark.stage:
                    one.shared = [state for each in common for state in _state_throughout(each)]
                    break
                one.shared = common
        return told

    def named_behind(self, told: Sequence[ToldOf], start: int, end: int) -> LastReading | None:
        """Find the item told once, behind the last of several values of a clause."""
        if len(told) == 1 and told[0].mark.match:
            return None
        last = told[-1]
        stop = max([last.mark.end, *(each.end for each in last.trail)])
        behind = item_after(self._plain, stop, end, self._wording)
        item = item_and_position(behind.words)[0] if behind else ""
        if not behind or not item:
            return None
        before = item_before(self._plain, start, self.front(told[0]), self._wording)
        if item_and_position(before.words)[0]:
            return None
        trail = [] if last.trail else self._company.after(behind.end, end)
        for one in told[:-1]:
            told_apart = kinds(one.lead) | kinds(one.trail) | _NEVER_SHARED
            one.shared = one.shared or [each for each in trail if each.kind not in told_apart]
        return LastReading(item, None, None, None, behind.end)

    def draft(self, told: ToldOf, *, follow: bool) -> ReadingDraft:
        """Bring together what the words in front of a mark and behind it name."""
        mark, plain, limit = told.mark, self._plain, told.limit
        named = self._named(told)
        stop = mark.end
        item, position = item_and_position(named.words)
        quantity = quantity_of(mark.match) if mark.match else None
        item = self._at_another_place(item, named, quantity)
        item, stop = self._with_words_behind(item, quantity, stop, told.end)
        has_side = told.trail or Aspect.SIDE in kinds(told.lead)
        behind = None if has_side else position_after(plain, stop, limit, self._wording)
        if position is None and behind:
            position, stop = find_position(behind.words)[0], behind.end
        follows = None
        if mark.match and follow and not told.trail and self._names_only_a_stranger(named, item):
            follows = item_after(plain, stop, limit, self._wording, quantity=quantity)
        if follows:
            item, after_position = item_and_position(follows.words)
            position, stop = position or after_position, follows.end
            counted = _NUMBER_BEHIND.match(plain, stop, told.end)
            if counted and item.split()[-1:] and item.split()[-1] in COUNTED:
                place_of = mark._replace(number=int(counted["number"])).position(item) or ""
                if place_of.startswith("cylinder"):
                    position = position or place_of
                else:
                    item = f"{item} {counted['number']}"
                stop = counted.end()
        where, assumed = None, False
        link = None if told.trail else LINK.match(plain, stop, limit)
        place = self._linked(
            link, told.ahead[0].start if told.ahead else limit, is_number=not mark.match
        )
        if link and place and ONLY_MEASURED.fullmatch(item):
            item, position = extended(item, position, link, place)
            stop = place.end
        elif place and not item:
            item, position, where = self._at_place(place)
            stop, assumed = place.end, where is not None
        elif link and place and stop == mark.end and self._ends_clause(link, place, limit):
            where, behind_position = item_and_position(place.words)
            position, stop = position or behind_position, place.end
        trail = told.trail if stop == mark.end else self._company.after(stop, limit)
        own = said([*told.lead, *trail, *told.shared])
        own = own._replace(condition=", ".join(filter(None, (where, own.condition))) or None)
        position = " ".join(filter(None, (own.position, position))) or None
        item = "" if is_vague(item, self._wording) else item
        stop = max([stop, mark.list_end, *(each.end for each in trail)])
        draft = ReadingDraft(item, position, own, named.start, stop, bool(told.lead or trail))
        draft.linked = link is not None and place is not None
        draft.stage, draft.assumed = mark.stage, assumed
        return draft

    def _with_words_behind(
        self, item: str, quantity: Quantity | None, stop: int, end: int
    ) -> tuple[str, int]:
        """Add to an item what is told of it behind its value; with where that stops."""
        if not item:
            return item, stop
        system = item in SIDES_OF_A_SYSTEM and _SYSTEM.match(self._plain, stop, end)
        if system:
            return f"{system['word'].lower()} {item}", system.end()
        words = _MEASURED_BEHIND.get(quantity) if quantity else None
        measured = words and words.match(self._plain, stop, end)
        if measured and measured["word"].lower() not in item:
            return f"{item} {measured['word'].lower()}", measured.end()
        return item, stop

    def _at_another_place(self, item: str, named: NamedSpan, quantity: Quantity | None) -> str:
        """Tell what was measured at one place more: ``vacuum at pump 1 bar, at servo 0.5 bar``."""
        last = self._before.last
        at = _AT_BEFORE.search(self._plain, max(0, named.start - len(" at the ")), named.start)
        if not (item and at and last and " at " in last.item and quantity is last.quantity):
            return item
        return f"{last.item.partition(' at ')[0]} at {item}"

    def _at_place(self, place: NamedSpan) -> tuple[str, str | None, str | None]:
        """Return item, position and condition of a value told at a place.

        At the plug of a sensor that was read before it is the sensor's: ``-40 C, 2k4 at plug``.
        """
        (item, position), last = item_and_position(place.words), self._before.last
        if last and _SENSOR.search(last.item) and _END_OF_LEAD.fullmatch(item):
            return last.item, position, f"at {item}"
        return item, position, None

    def complete(self, told: ToldOf, draft: ReadingDraft) -> None:
        """Find the item that is not named beside a mark: that of its company, or of its state."""
        mark, number = told.mark, self._plain[told.mark.start : told.mark.end]
        self._take_end_behind(told, draft)
        draft.beside = self._beside(told, draft)
        if self._take_side(told, draft):
            return
        if not draft.item and draft.beside:
            pair = self.in_pair(told)
            draft.item = pair[0] if pair else draft.beside.item
            draft.assumed = draft.beside.is_assumed or (pair is None and self._of_either(told))
            if draft.position == "others":
                draft.item = uncounted(draft.item)
            counted = mark.position(draft.item) or (pair[1] if pair else None)
            draft.position = draft.position or counted or draft.beside.position
            draft.begin = min(draft.begin, told.start)
        elif not draft.item and self._before.tail:
            draft.item = self._before.tail.item
            draft.begin = min(draft.begin, told.start)
        if self._before.tail and draft.item == self._before.tail.item and told.limit == told.end:
            draft.stop = max(draft.stop, self._before.tail.end)
        draft.position = draft.position or mark.position(draft.item)
        if not draft.item and (other := self._sub_part(told)):
            draft.item, draft.begin = other.words, other.start
        elif draft.item in {"", "o2"} and draft.position and "sensor" in draft.position.split():
            draft.item = f"{draft.item or 'lambda'} sensor"  # only those are counted so
        elif self._before.last and is_of_another(draft.item):
            _complete_part(draft, self._before.last)
        elif draft.item:
            return
        elif idle := idle_of(number, told.lead):
            draft.item, draft.begin = "idle", min(draft.begin, idle.start)
            lead = [each for each in told.lead if each is not idle]
            draft.own = said([*lead, *told.trail, *told.shared])
        elif (item := item_of_state(number, draft.own.condition)) and not self._is_open(told):
            draft.item, draft.begin = item, told.start
        else:
            self._complete_alone(told, draft)

    def take_head(self, told: ToldOf, draft: ReadingDraft) -> None:
        """Take what begins a clause, just before the item: ``before cranking battery 12.6 V``."""
        if draft.own.condition or not draft.item or draft.assumed:
            return
        if state := _STATE_FIRST.fullmatch(draft.item):
            draft.item = state["item"]
            draft.own = draft.own._replace(condition=state["state"])
            return
        heads = self._company.before(told.free, draft.begin)
        if not heads or not kinds(heads) <= _HEADING:
            return
        if self._plain[told.free : heads[0].start].strip(LOOSE):
            return
        draft.own = draft.own._replace(condition=said(heads).condition)
        draft.begin = heads[0].start

    def _take_side(self, told: ToldOf, draft: ReadingDraft) -> bool:
        """Take the side that a value is of, where its item has none of its own; say if there is."""
        if side := self._side_measured(told, draft.item):
            draft.item, draft.position, draft.begin = side.words, None, min(draft.begin, side.start)
            draft.beside = None
            return True
        of_drop = draft.beside and _A_DROP.search(draft.beside.item)
        number = self._plain[told.mark.start : told.mark.end]
        if of_drop or not _is_drop(told, draft.item, number):
            return False
        draft.item, draft.begin = "voltage drop", min(draft.begin, told.start)
        return True

    def _take_end_behind(self, told: ToldOf, draft: ReadingDraft) -> None:
        """Read each end behind its value where the last one is: ``88 C inlet 40 C outlet``."""
        for each in told.trail:
            typed = self._plain[each.start : each.end].lower()
            if draft.item in _ENDS and typed in _ENDS - {draft.item}:
                draft.item, draft.position, draft.begin = typed, None, told.start
                return

    def _of_either(self, told: ToldOf) -> bool:
        """Whether a value behind two counterparts may be of either: ``STFT 18 % LTFT -3 %, 2``."""
        (one, place), (other, place_of_other) = [("", None), ("", None), *self._before.row][-_PAIR:]
        apart = "," in self._plain[max(0, told.start - _NEAR_BY) : told.start]
        return apart and place == place_of_other and are_counterparts(one, other)

    def _side_measured(self, told: ToldOf, item: str) -> NamedSpan | None:
        """Find the side that a temperature is of, where its item has none of its own.

        ``inlet 88 outlet 40 C``, ``rad inlet 88 C outlet 40 C``; but hoses have a temperature.
        """
        last, marks = self._before.last, (told.mark, *(one.mark for one in told.ahead))
        match = next((mark.match for mark in marks if mark.match), None)
        if match is None or quantity_of(match) is not Quantity.TEMPERATURE:
            return None
        *whole, end = last.item.split() if last and not item else [*item.split(), "inlet"]
        if end not in _ENDS or Quantity.TEMPERATURE in usual_quantities(item, self._wording):
            return None
        for each in told.lead:
            typed = self._plain[each.start : each.end].lower()
            if typed in _ENDS:
                return NamedSpan(" ".join((*whole, typed)), each.start, each.end)
        return None

    def front(self, told: ToldOf) -> int:
        """Where a mark begins with what belongs to it: its qualifiers, or the number before it."""
        return (
            told.mark.index_start
            if told.mark.index_start is not None and not told.lead
            else told.start
        )

    def is_one_of_two(self, mark: Mark) -> bool:
        """Whether a slash parts a mark from the one before it or behind it."""
        near = self._plain[max(0, mark.start - _SLASHED) : mark.start]
        if "/" not in near + self._plain[mark.end : mark.end + _SLASHED]:
            return False
        beside = self._clauses.beside(mark)
        return any(_SLASH.fullmatch(self._plain, one.end, other.start) for one, other in beside)

    def in_pair(self, told: ToldOf) -> tuple[str, str | None] | None:
        """Return item and position of either of ``2.0 / 14`` behind two values that have theirs.

        For the second of them it is the second, the first having been read meanwhile. None where
        another item was named since, or the unit is none of the item's: ``battery 12.1/12.4 V``.
        """
        row, last, match = self._before.row, self._before.last, told.mark.match
        if len(row) < _PAIR or not self.is_one_of_two(told.mark):
            return None
        item, position = row[-_PAIR]
        usual = usual_quantities(item, self._wording)
        fits = not (match and usual) or quantity_of(match) in usual
        return (item, position) if fits and last and last.item == row[-1][0] else None

    def _linked(
        self, link: re.Match[str] | None, limit: int, *, is_number: bool
    ) -> NamedSpan | None:
        """Find what a link behind a value leads to; behind a number without a unit only *at*."""
        if link is None or (is_number and link["link"].lower() != "at"):
            return None
        return item_after(self._plain, link.end(), limit, self._wording, linked=True)

    def _ends_clause(self, link: re.Match[str], place: NamedSpan, limit: int) -> bool:
        """Whether a value is told at a place, and nothing more: ``25 mm at rim``."""
        known = link["link"].lower() == "on" and item_after(
            self._plain, link.end(), limit, self._wording
        )
        is_place = link["link"].lower() == "at" or known
        return bool(is_place) and not self._plain[place.end : limit].strip(LOOSE + ".")

    def _names_only_a_stranger(self, named: NamedSpan, item: str) -> bool:
        """Whether nothing is named in front, or what no table knows: ``lpg at 1.1 bar reducer``."""
        at = self._plain[named.start + len(named.words) : named.end].strip()
        return not item or (at == "at" and usual_unit(item, 1.0, self._wording) is None)

    def _is_open(self, told: ToldOf) -> bool:
        """Whether volts may be those of what was told before, at which no reading was taken."""
        return told.mark.match is not None and (self._before.last is not None or not told.lead)

    def _sub_part(self, told: ToldOf) -> NamedSpan | None:
        """Find the other wire of a pair, told by its letter alone: ``can H 2.6 L 2.4``."""
        if self._before.last is None:
            return None
        words = self._plain[max(told.free, self._before.last.end) : self.front(told)]
        letter = words.strip(LOOSE).lower()
        *whole, part = self._before.last.item.split()
        if not whole or part not in SUB_PARTS.get(letter, ()):
            return None
        start = told.start - len(words.lstrip(LOOSE))
        return NamedSpan(" ".join((*whole, letter)), start, told.start)

    def _complete_alone(self, told: ToldOf, draft: ReadingDraft) -> None:
        """Find the item of a value by its side, or by its unit or the unit ahead."""
        if not told.mark.match and draft.position in _OF_A_COOLER:
            draft.item, draft.assumed = "a/c", True
            return
        if draft.position in _OF_A_COOLER and tells_cooler(self._plain):
            draft.item = "a/c"
            return
        matches = (one.mark.match for one in (told, *told.ahead) if one.mark.match)
        with_unit = next(matches, None)
        if with_unit:
            self._complete_by_unit(told, with_unit, draft)

    def _complete_by_unit(self, told: ToldOf, match: re.Match[str], draft: ReadingDraft) -> None:
        """Find the item of a value whose unit, or the unit ahead, tells it in its company."""
        unit = find_unit(match["unit"] or match["high_unit"] or "ohm")
        quantity = unit.quantity if unit else None
        state = (draft.own.condition or "").split(", ")
        before = self._plain[max(draft.begin - _NEAR_BY, 0) : match.start()]
        sound = _SOUND.search(before)
        driven = _AT.search(self._plain, draft.begin, match.start())
        if quantity is Quantity.SPEED and is_corner(draft.position) and not driven:
            draft.item = "wheel speed"
        elif quantity is Quantity.PRESSURE and (draft.position or "").startswith("cylinder"):
            draft.item = "compression"
        elif not told.mark.match:
            return
        elif quantity is Quantity.VOLTAGE and "charging" in state:
            draft.item = "charging"
            without = ", ".join(each for each in state if each != "charging")
            draft.own = draft.own._replace(condition=without or None)
        elif quantity is Quantity.CURRENT and {"sleeping", "sleep"} & set(state):
            draft.item = "parasitic current"
        elif unit and unit.symbol == "MΩ" and match["above"] and not _AT_PINS.search(before):
            draft.item = "insulation"
            earth = _TO_EARTH.match(self._plain, draft.stop, told.limit)
            if earth and not draft.own.condition:
                draft.own, draft.stop = draft.own._replace(condition=earth["to"]), earth.end()
        elif quantity is Quantity.FREQUENCY and sound:
            draft.item = sound[0].strip().lower()
            draft.begin = match.start() - len(sound[0])
        elif quantity is Quantity.ROTATION and is_cranking(match, self._before.last, state):
            draft.item = "cranking speed"

    def _named(self, told: ToldOf) -> NamedSpan:
        """Find the item in front of a mark, its qualifiers and its number aside."""
        named = item_before(self._plain, told.free, self.front(told), self._wording)
        firm = kinds(told.lead) & {Aspect.ROLE, Aspect.STAGE, Aspect.SIDE}
        if (
            told.lead
            and not firm
            and not named.words
            and self._plain[told.free : told.start].strip(LOOSE)
        ):
            told.lead = []  # "misfire cold 2k1": cold belongs to the complaint
            named = item_before(self._plain, told.free, self.front(told), self._wording)
        if named.words and self._is_of_work(named.start, told.free):
            return NamedSpan("", named.end, named.end)
        return named

    def _is_of_work(self, start: int, floor: int) -> bool:
        """Whether words at a place name what was taken off or fitted, not what was measured."""
        return WORKED_ON.search(self._plain, max(floor, start - _FAR_WORK), start) is not None

    def _beside(self, told: ToldOf, draft: ReadingDraft) -> LastReading | None:
        """Return the reading before, if a mark that names no item can be of its item."""
        last, mark = self._before.last, told.mark
        if last is None:
            return None
        between = self._plain[last.end : min(draft.begin, self.front(told))]
        if mark.match and not mark.match["over"]:
            degrees = last.quantity is Quantity.TEMPERATURE and is_degrees(mark.match)
            if quantity_of(mark.match) is not last.quantity and not degrees:
                also = quantity_of(mark.match) in usual_quantities(last.item, self._wording)
                if not also or (last.quantity and not between.isspace()):
                    return None
                if last.quantity:
                    return last
        linked = _GOES_ON.fullmatch(between.strip(LOOSE + ".-–"))
        counted = mark.number is not None or mark.stage or between.strip() == "/"
        in_pair = told.shared and self.in_pair(told)
        told_apart = draft.position or draft.qualified or counted or in_pair
        return last if linked and (told_apart or linked[0]) else None
