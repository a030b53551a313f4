"""A line of shop talk parted into tests, fixes and contacts; what it took and cost.

What a clause begins to tell stands in `kb.intake.pieces`; what each part holds is read in
`kb.intake.findings`.
"""

import re
import sys
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import Self

from kb.case import Action, Attempt, FailureMode
from kb.errors import InvalidField
from kb.intake.account import FixVerdict
from kb.intake.codes import find_codes
from kb.intake.costs import PartsCost, find_costs
from kb.intake.deed_words import ACTIONS, DONE
from kb.intake.distances import Distance, find_odometers, shown_at_once
from kb.intake.durations import Labour, find_labour
from kb.intake.lifting import Doubt, Place, is_within, merged
from kb.intake.outcomes import judge_attempt
from kb.intake.part_names import is_name, name_at_start
from kb.intake.part_words import PART_NOUN, may_be_part
from kb.intake.pieces import (
    Joint,
    TalkClause,
    Work,
    beginnings,
    clauses,
    find_test,
    is_access,
    is_finish,
    is_follow_up,
    is_heard,
    is_nameless_work,
    is_of_campaign,
    is_waiting,
    with_more_parts,
    work_in,
    work_next,
)
from kb.intake.positions import find_position
from kb.intake.reading_search import find_readings
from kb.intake.single_facts import is_back, parse_attempt, parse_cause
from kb.intake.undone_words import NO_WORK
from kb.intake.word_forms import leading
from kb.patterns import compiled

_FOUND_IN = compiled(
    r"(?:found .* (?:in|on|at|inside)|.*\b(?:traced|down) to|.*\b(?:coming|leaking) from)"
    r" (?:the )?(?P<what>\S+(?: \S+){0,3})$",
    re.IGNORECASE,
)
_FOUND = compiled(
    r"^(?:(?:the )?(?:fault|problem|cause|trouble|issue) (?:was|is|being|found)"
    r"|(?:it )?turns? out|turned out|(?:we |i )?found|has|had|was|[^=]{1,60} ="
    r"|(?:[\w/-]+ ){0,3}?(?:test|check|inspection|scan)(?:ed)?"
    r"(?::| (?:and )?(?:found|finds|show(?:s|ed)|reveal(?:s|ed)|point(?:s|ed)? (?:to|at)))) +"
    r"(?:an? |the )?",
    re.IGNORECASE,
)
_FOUND_BEHIND = compiled(
    r" (?:(?:was|were|is) )?(?:found|spotted|seen|noticed|discovered|gefunden|entdeckt"
    r"|trouv[ée]e?s?|znalezion[oaye])$",
    re.IGNORECASE,
)
_BECAUSE = compiled(r"\b(?:because|as|since)\s+", re.IGNORECASE)
_WAS_OFF = compiled(
    r"(?:the )?(?P<what>(?:[^\W\d_][\w/-]* ){1,4}?)"
    r"(?:(?:was|were|is|are|had|has|been|come|came|found|left|hanging) )+"
    r"(?:off|out|undone|apart|disconnected|not (?:plugged|connected|pushed|seated)"
    r"[^,;.]{0,12})$",
    re.IGNORECASE,
)
_TOLD_BY_NUMBER = compiled(
    r"(?:the )?(?P<what>[^\W\d_][\w/-]+(?: [^\W\d_][\w/-]+){0,2}) [0-9]", re.IGNORECASE
)
_NAMES_TEST = compiled(r"\b(?:test|check|drive)$", re.IGNORECASE)
_MEASURE = compiled(
    r"(?:gap|play|run-?out|run out|travel|pressure|volts?|voltage|drop|resistance|toe|camber|caster"
    r"|level|temp\w*|thickness|wear|lift|speed|idle|trims?|codes?|dtcs?|clearance|tread|drag|current"
    r"|drain|time|total|boost|vacuum|compression|charging)$",
    re.IGNORECASE,
)
"""What is measured of a part, and not mended by itself."""
_DONE_NEXT = compiled(
    r"\s*(?:in(?=\s*(?:[.,;]|$))|fitted|done|new|replaced|changed|renewed|neu)\b", re.I
)
_DONE_AND_NO_MORE = compiled(r"\s*(?:$|[.,;])")
_AND = compiled(r"\band\b|[&+]", re.IGNORECASE)
_LONGEST = 200
_NOT_BOUGHT = compiled(
    r"\b(?:quote[ds]?|estimate[ds]?|order(?:ed)?|awaiting|if (?:yes|ok)|would|each if)\b",
    re.IGNORECASE,
)
_ROAD_TEST = compiled(r"(?:road ?test|test ?dr(?:i?v|ove)|drove|r/?t|test run)", re.IGNORECASE)
_NOTHING_FOUND = compiled(
    r"(?:no (?:faults?|problem|codes?) found|nff|ndf|nothing found"
    r"|(?:(?:could|can|did)(?: ?not|n['’]?t)|unable to) (?:reproduce|replicate|duplicate"
    r"|find (?:an? |the |any )?fault)|kein fehler gefunden)(?!\w)",
    re.IGNORECASE,
)
_TOLD_WORK = {action: words for action, words in ACTIONS.items() if action is not Action.OTHER}
_OTHER = compiled(r"other\b", re.IGNORECASE)
"""Among other words it tells of which, and not of what was done: "other side had 5 mm"."""
_WHAT_TEST = 'is no test without what was done; write it as "road test, 10 km: no fault"'
_COUNT = compiled(
    r"(?<![\w.,])(?:[1-9][0-9]? ?x |[1-9](?= [a-z]))|(?:^|(?<=\s))x ?[1-9]\b", re.IGNORECASE
)
LISTED_PART = compiled(
    r"(?:parts?\b:? *(?:[1-9][0-9]? ?(?:x|×)? *)?|[1-9][0-9]? ?(?:x|×) *|[2-9] )"
    rf"(?=(?:[^\W\d_][\w/-]* ){{0,3}}(?:{PART_NOUN})(?!\w))",
    re.IGNORECASE,
)
"""How a part begins that is counted or listed as fitted: "parts: 1x disc set", "2x pads"."""
_MORE = compiled(r"(?:[+&]|and\b|plus\b) *", re.IGNORECASE)
_NEAR = 4
"""Clauses before a bare "fitted" in which its part may be named."""
_NEAR_PRICE = 20
"""Characters that positions may take between a part and its price."""
_MOST_OF_A_VALUE = 6
"""Words of a clause that tells a value alone."""
_AT_ONCE = len(", then ")
"""Behind a fix without a word on how it fared."""
_LOOSE = " \t\n,;:.-–—()"
_FLASHES = compiled(
    r"\b(?:lamps?|lights?|leds?|bulbs?|probes?|lampen?|leuchten?|pr[üu]flampe|voyants?|t[ée]moins?"
    r"|kontrolk\w*|pr[óo]bn?[óo]wk\w*)\b",
    re.IGNORECASE,
)
"""What flashes by itself, and is not programmed."""
_TEST_FIRST = compiled(
    r"^(?:(?:re-?)?(?:tested|checked|inspected|measured|scoped|removed|opened|looked at)"
    r" (?:the |an? )?)",
    re.IGNORECASE,
)
_GASSED = compiled(r"re-?gas(?:sed)?", re.IGNORECASE)
_HOLDS_GAS = compiled(
    r"(?P<what>(?:(?:gas|tailgate|bonnet|boot|air|front|rear|suspension|brake) )*"
    r"(?:struts?|dampers?|shocks?(?: absorbers?)?|accumulators?|spheres?))\b",
    re.IGNORECASE,
)
_WORD = compiled(r"(?<![\w/-])(?<![0-9] )[^\W\d_][\w/-]*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Later:
    """What a line that tells no fix says of the last one: how it fared, what it took and cost."""

    verdict: FixVerdict | None = None
    minutes: int | None = None
    parts_cost: float | None = None


@dataclass(frozen=True, slots=True)
class SpentInLine:
    """Times, costs and odometers of a line, and the line with a comma in the stead of each."""

    labour: list[tuple[Labour, Place]]
    costs: list[tuple[PartsCost, Place]]
    odometers: list[tuple[Distance, Place]]
    masked: str
    typed: str

    @classmethod
    def of(cls, text: str) -> Self:
        """Find them, each in what the others leave."""
        costs = find_costs(text)
        rest = _masked(text, [place for _, place in costs])
        odometers = shown_at_once(find_odometers(rest))
        rest = _masked(rest, [place for _, place in odometers])
        labour = find_labour(rest)
        masked = _masked(rest, [place for _, place in labour])
        return cls(labour, costs, odometers, masked, text)

    @property
    def found(self) -> list[tuple[Labour | PartsCost | Distance, Place]]:
        """All of it, with the places."""
        return [*self.labour, *self.costs, *self.odometers]

    def shown_in(self, stretch: Place) -> Distance | None:
        """Return the least that an odometer showed in a stretch of the line."""
        told = (distance for distance, place in self.odometers if is_within(place, stretch))
        return min(told, default=None)

    def shown_beside(self, stretches: Sequence[Place]) -> Distance | None:
        """Return the least that an odometer showed outside some stretches of the line."""
        told = (
            distance
            for distance, place in self.odometers
            if not any(is_within(place, stretch) for stretch in stretches)
        )
        return min(told, default=None)

    @property
    def places(self) -> list[Place]:
        """Where all of it stands."""
        return [place for _, place in self.found]

    def without(self, values: Iterable[Place]) -> str:
        """Return the line with measured values masked as well."""
        return _masked(self.masked, merged(values))

    def minutes_in(self, whole: Place) -> int:
        """Return the minutes told in a stretch of the line."""
        starts = [place.start for _, place in self.labour]
        inside = slice(bisect_left(starts, whole.start), bisect_left(starts, whole.end))
        return sum(labour.minutes for labour, _ in self.labour[inside])

    def shared(self, attempts: list[Attempt], places: list[Place]) -> list[Attempt]:
        """Give each time and cost to the attempt it stands in or behind, else to the first."""
        if not attempts:
            return attempts
        starts = [place.start for place in places]

        def sums(told: Iterable[tuple[float, Place]]) -> dict[int, float]:
            each: dict[int, float] = {}
            for value, place in told:
                owner = max(0, bisect_right(starts, place.start) - 1)
                each[owner] = each.get(owner, 0) + value
            return each

        took = sums((labour.minutes, place) for labour, place in self.labour)
        paid = sums((cost.total, place) for cost, place in self.costs)
        amounts: dict[int, list[str]] = {}
        for cost, place in self.costs:
            if cost.currency:
                owner = max(0, bisect_right(starts, place.start) - 1)
                amounts.setdefault(owner, []).append(self.typed[slice(*place)].strip(_LOOSE))
        return [
            replace(
                attempt,
                minutes=int(took[owner]) if owner in took else None,
                parts_cost=round(paid[owner], 2) if owner in paid else None,
                words=_with_amounts(attempt, amounts.get(owner, ())),
            )
            for owner, attempt in enumerate(attempts)
        ]

    def later(self, verdict: FixVerdict | None) -> Later | None:
        """Return what is told of the last attempt, where a line tells none."""
        if not (verdict or self.labour or self.costs):
            return None
        return Later(
            verdict=verdict,
            minutes=sum(labour.minutes for labour, _ in self.labour) if self.labour else None,
            parts_cost=round(sum(cost.total for cost, _ in self.costs), 2) if self.costs else None,
        )


def _with_amounts(attempt: Attempt, amounts: Sequence[str]) -> str | None:
    """Return the words of a fix with what it cost as typed, where that names a currency."""
    told = [each for each in amounts if each not in (attempt.words or "")]
    return ", ".join((attempt.words or attempt.label, *told)) if told else attempt.words


def _masked(text: str, places: Iterable[Place]) -> str:
    """Put a comma and blanks in the stead of what stands at some places.

    Only blanks before what was done: "ring 31.00 fitted".
    """
    pieces: list[str] = []
    done = 0
    for start, end in places:
        joined = _DONE_NEXT.match(text, end) or _ends_in_work(text[end : end + _LONGEST])
        pieces += text[done:start], (" " if joined else ",") + " " * (end - start - 1)
        done = end
    return "".join((*pieces, text[done:]))


_STATE_OF_VALUE = compiled(
    r"(?:re-?)?(?:plugged|connected)(?: back)?(?: in| up| on)?\s*[:=]?\s*[-+]?[0-9]", re.IGNORECASE
)
"""What a value was taken with, behind another: ``unplugged -40 C, plugged 23,5 C``."""


def _ends_in_work(words: str) -> bool:
    """Whether words are what was done, and the end of their clause: "lamp 90 min swapped"."""
    begun = leading(words.lstrip(), DONE)
    return begun is not None and _DONE_AND_NO_MORE.match(begun[1]) is not None


def _stop(text: str, place: Place) -> int:
    """Return where a list behind a fix must end: in the same line, and near."""
    line = text.find("\n", place.start, place.start + _LONGEST)
    return line if line >= 0 else min(len(text), place.start + _LONGEST)


@dataclass(slots=True)
class LinePart:
    """A part of a line: which list it is for, its head, all of it, and what was done in it."""

    name: str
    head: Place
    place: Place
    work: Work | None = None

    @property
    def has_seen(self) -> bool:
        """Whether a test tells what was seen."""
        return self.place.end > self.head.end

    def take_list(self, text: str) -> None:
        """Take in the further parts that a list names to which the same was done."""
        if self.work:
            self.work = with_more_parts(self.work, text, self.place.start, _stop(text, self.place))
            self.head = Place(self.head.start, self.place.start + self.work.end)
            self.reach(max(self.place.end, self.head.end))

    def take_names_before(self, text: str, left: list[TalkClause], joint: Joint) -> None:
        """Take in the parts of a list before its last: "pads, discs and caliper done"."""
        work, start = self.work, self.head.start
        if work is None or not (is_name(work.what) and _AND.search(work.what)):
            return
        if not text.startswith(work.what, start):
            return
        while joint is Joint.COMMA and left and is_name(text[slice(*left[-1].place)]):
            joint, start = left[-1].joint, left.pop().place.start
        what = text[start : self.head.start] + work.what
        self.work = replace(work, what=what, end=work.end + self.head.start - start)
        self.head = Place(start, self.head.end)
        self.place = Place(start, self.place.end)

    def goes_on_with(self, work: Work, place: Place) -> bool:
        """Whether work told at a place behind a fix belongs to it."""
        at_once = place.start - self.head.end < _AT_ONCE
        follows = is_follow_up(work) or (at_once and is_finish(work))
        follows = follows or (self.work is not None and is_of_campaign(work, self.work))
        return self.name == "attempts" and follows

    def reach(self, end: int) -> None:
        """Take in what stands up to an end."""
        self.place = Place(self.place.start, end)


@dataclass(slots=True)
class PartedLine:
    """A line parted: its parts, the clauses left over, and what only begins like a part."""

    parts: list[LinePart]
    left: list[TalkClause]
    doubts: list[Doubt]

    def stretch(self, part: LinePart) -> Place:
        """Return where what is told of a part stands: up to the next; the first has the start."""
        starts = [each.place.start for each in self.parts]
        place = starts.index(part.place.start)
        return Place(starts[place] if place else 0, [*starts, sys.maxsize][place + 1])

    def begin(
        self, text: str, clause: TalkClause, part: LinePart | None, before: Sequence[str]
    ) -> LinePart | None:
        """Add the parts that begin in a clause; return the last one, or the one it goes on with."""
        begun = part
        for start, words in beginnings(text, clause.place):
            if part and start < part.head.end:
                continue
            so_far = text[clause.place.start : start].strip(_LOOSE)
            earlier = [*before, *([so_far] if so_far else [])] if part is begun else ()
            new = _begun(words, Place(start, clause.place.end), clause.joint, part, earlier)
            if new is None:
                continue
            new.take_list(text)
            if new.name == "attempts" and is_waiting(
                text[start : new.head.end], text, new.head.end
            ):
                continue
            if part is None and start == clause.place.start:
                new.take_names_before(text, self.left, clause.joint)
            if part and part is not begun:
                part.reach(min(part.place.end, start))
            self.parts.append(new)
            part = new
        return part

    def take_bought(self, text: str, spent: SpentInLine) -> None:
        """Take parts with their price as fitted where a fix is told, or its time or outcome."""
        if not spent.costs or _NOT_BOUGHT.search(text):
            return
        told = any(part.name == "attempts" for part in self.parts)
        told |= any(judge_attempt(text[slice(*clause.place)]) is not None for clause in self.left)
        if not (
            spent.labour or told or any(_ROAD_TEST.match(text, *part.place) for part in self.parts)
        ):
            return
        prices = {place.start for _, place in spent.costs}
        bought: list[LinePart] = []
        for clause in [*self.left]:
            start, end = clause.place
            if more := _MORE.match(text, start, end):
                start = more.end()
            if listed := LISTED_PART.match(text, start, end):
                start = listed.end()
            priced = _leads_to_price(text, end, prices)
            names = [name.strip() for name in _COUNT.split(text[start:end]) if name.strip(_LOOSE)]
            if priced and names and all(map(is_name, names)):
                work = Work(Action.REPLACED, text[start:end], end - start)
                place = Place(start, end)
                bought.append(LinePart("attempts", place, place, work))
                self.left.remove(clause)
        self.parts = sorted([*self.parts, *bought], key=lambda part: part.place)
        self._give_rest(bought)

    def _give_rest(self, bought: Sequence[LinePart]) -> None:
        """Give the clauses behind a part that was bought to it, up to the next part."""
        starts = [part.place.start for part in self.parts]
        for clause in [*self.left]:
            owner = bisect_right(starts, clause.place.start) - 1
            if owner >= 0 and self.parts[owner] in bought:
                self.parts[owner].reach(clause.place.end)
                self.left.remove(clause)


def _leads_to_price(text: str, end: int, prices: Iterable[int]) -> bool:
    """Whether nothing but positions stands between a place and the next price."""
    start = min((price for price in prices if price >= end), default=None)
    if start is None or start > end + _NEAR_PRICE:
        return False
    between = text[end:start].strip(_LOOSE)
    return not between or not find_position(between)[1].strip(_LOOSE)


def part_line(text: str) -> PartedLine:
    """Part a line whose times, costs and odometers are masked."""
    parted = PartedLine([], [], [])
    part: LinePart | None = None
    before: list[str] = []
    for clause in clauses(text):
        said = text[slice(*clause.place)]
        if part and clause.place.end <= part.head.end:
            continue
        if clause.joint is Joint.STRONG:
            part, before = _joined(text, part, said), []
        if part and part.name == "contacts":
            part.reach(clause.place.end)
            continue
        if part and part.name == "tests" and clause.joint is Joint.STOP and part.has_seen:
            part = None
        begun = part
        part = parted.begin(text, clause, part, before)
        if part is None:
            parted.left.append(clause)
            parted.doubts += _half(said, clause.place)
        elif part is begun:
            part.reach(clause.place.end)
            parted.doubts += _taken_in(said, clause.place, part)
        before.append(said)
    for each, following in zip_longest(parted.parts, parted.parts[1:]):
        end = min(each.place.end, following.place.start) if following else each.place.end
        each.place = _trimmed(text, each.place.start, end)
    return parted


def _joined(text: str, part: LinePart | None, said: str) -> LinePart | None:
    """Return the attempt before a semicolon, if what follows tells how it fared, or a value."""
    if part is None or part.name != "attempts":
        return None
    if is_back(said) and not (is_heard(said) or work_in(said) or find_test(said)):
        return part
    if _tells_only_value(said):
        return part
    if not _tells_only_outcome(said):
        return None
    work = part.work
    told = text[part.place.start + (work.end if work else 0) : part.place.end]
    return part if judge_attempt(told) is None or judge_attempt(said) is False else None


def _taken_out(clause: str) -> str | None:
    """Name the part that a clause tells to be out: "alternator out", "pulled the pump"."""
    told = _TAKEN_OUT.fullmatch(clause.strip())
    if told is None or not (told["out"] or told["led"]):
        return None
    return told["what"] if may_be_part(told["what"]) else None


_FOUND_THING = compiled(
    r"\W*(?:found|there was)(?: (?:an?|some|old|the|loose|bits? of|piece of))* "
    r"(?P<what>[^\W\d_]+(?: [^\W\d_]+)?) (?:in|inside|under|behind|between|on|jamm\w+|stuck) ",
    re.IGNORECASE,
)
"""What was found where it does not belong, and not the part that it was in."""
_TAKEN_OUT = compiled(
    r"(?:(?:i|we|then|and) )*(?P<led>(?:pulled|took|removed|lifted|dropped)(?: (?:out|off))? )?"
    r"(?:(?:the|old|an?) )*(?P<what>[^\W\d_][\w/-]*(?: [^\W\d_][\w/-]*){0,3}?)"
    r"(?P<out> (?:out|off|removed))?(?: (?:and|then|&))*",
    re.IGNORECASE,
)
"""The part that a new one goes in for."""


def _last_subject(before: Sequence[str], action: Action, *, behind_fix: bool) -> str | None:
    """Name the part that the last clauses speak of.

    Behind a fix, and where a part was put back, only one that is told to have failed.
    """
    if action is Action.REMOVED and before and (found := _FOUND_THING.match(before[-1])):
        return found["what"]
    if action is Action.REPLACED and before and (out := _taken_out(before[-1])):
        return out
    if behind_fix or action is Action.RESEATED:
        return _subject(before[-1]) or _was_off(before[-1]) if before else None
    near = (
        _subject(clause) or name_at_start(_TEST_FIRST.sub("", _FOUND.sub("", clause)))
        for clause in reversed(before[-_NEAR:])
    )
    return next(filter(None, near), None) or (_measured(before[-1]) if before else None)


def _measured(clause: str) -> str | None:
    """Name the part a clause tells a value of: "rear disc 18 mm", "handbrake 11 clicks"."""
    found = find_readings(clause)
    told = _TOLD_BY_NUMBER.match(clause)
    item = found.readings[0].item if len(found.readings) == 1 else told and told["what"]
    if item and _MEASURE.search(item):
        item = next(filter(None, map(name_at_start, _tails(clause))), None)
    part = item and may_be_part(item) and not _NAMES_TEST.search(item)
    return item if part and not work_in(clause) else None


def _tails(clause: str) -> Iterator[str]:
    """Yield a clause from each of its words on; what stands behind a number is a unit."""
    return (clause[word.start() :] for word in _WORD.finditer(clause))


def _was_off(clause: str) -> str | None:
    """Name the part that a clause tells to have been off: "sensor plug was off"."""
    told = _WAS_OFF.fullmatch(clause)
    what = told["what"].strip() if told else ""
    return what if what and may_be_part(what) else None


def _subject(clause: str) -> str | None:
    """Name the part a clause speaks of, by how it failed or where something was found."""
    clause = _FOUND_BEHIND.sub("", _BECAUSE.split(clause)[-1])
    try:
        cause = parse_cause(_FOUND.sub("", clause))
    except InvalidField:
        cause = None
    inside = _FOUND_IN.match(clause)
    led = inside is not None and not clause.casefold().startswith("found")
    if inside and (led or cause is None or cause.failure_mode is FailureMode.CONTAMINATED):
        return inside["what"]
    if cause is None:
        return None
    what = cause.component
    return what if may_be_part(what) else None


def _tells_only_value(piece: str) -> bool:
    """Whether a piece tells what was measured behind a fix, and no more: "14.3 V", "drop 0.1 V"."""
    if len(piece.split()) > _MOST_OF_A_VALUE or not any(map(str.isdigit, piece)):
        return False
    found = find_readings(piece)
    measured = bool(found.readings or found.doubtful) and not find_codes(piece).codes
    return measured and not (is_heard(piece) or find_test(piece) or work_in(piece))


def _tells_only_outcome(piece: str) -> bool:
    if is_heard(piece) or judge_attempt(piece) is None or find_test(piece) or work_in(piece):
        return False
    return not (find_codes(piece).codes or find_readings(piece).readings)


def _begun(
    words: str, place: Place, joint: Joint, part: LinePart | None, before: Sequence[str]
) -> LinePart | None:
    """Return the part that begins with some words of a clause, if one does."""
    is_new = part is None
    if joint is not Joint.COMMA and is_new and is_heard(words) and not work_in(words):
        return LinePart("contacts", place, place)
    may_test = part is None or (part.name == "tests" and joint is not Joint.COMMA)
    if may_test and (seen := find_test(words)):
        return LinePart("tests", Place(place.start, place.start + seen.end), place)
    work = None if _OTHER.match(words) else work_in(words)
    if work is None and part and part.work:
        work = work_next(words, part.work)
    fixes = part is not None and part.name == "attempts"
    if work and (held := _holds_gas(work, before)):
        work = Work(work.action, held, work.end)
    nameless = work is None and not _STATE_OF_VALUE.match(words)
    action = is_nameless_work(words) if nameless else None
    if action is Action.REPROGRAMMED and any(map(_FLASHES.search, before[-_NEAR:])):
        action = None
    if action is Action.RESEATED and part and part.name == "tests":
        return None
    if action and (what := _last_subject(before, action, behind_fix=fixes)):
        return LinePart("attempts", place, place, Work(action, what, 0))
    if work is None or is_access(work, words) or (part and part.goes_on_with(work, place)):
        return None
    return LinePart("attempts", Place(place.start, place.start + work.end), place, work)


def _holds_gas(work: Work, before: Sequence[str]) -> str | None:
    """Name what was filled with gas that is no air conditioning: a gas strut told before."""
    if not _GASSED.fullmatch(work.what.strip()):
        return None
    found = (_HOLDS_GAS.search(clause) for clause in reversed(before[-_NEAR:]))
    return next((each["what"] for each in found if each), None)


def _half(said: str, place: Place) -> Iterator[Doubt]:
    """Ask about a clause that tells half a fix, or half a test."""
    if _NOTHING_FOUND.match(said):
        yield Doubt(said, _WHAT_TEST, place)
    if leading(said, _TOLD_WORK) and judge_attempt(said) is None and not NO_WORK.search(said):
        try:
            parse_attempt(said)
        except InvalidField as error:
            yield Doubt(said, f"{error.cure}: kept as words", place)


def _taken_in(said: str, place: Place, part: LinePart) -> Iterator[Doubt]:
    """Ask about a clause that tells work, and is no more than words of what stands before it."""
    names_none = is_nameless_work(said) in _ASKED_ABOUT
    led = part.name == "tests" and leading(said, _TOLD_WORK) is not None
    if (names_none or led) and not NO_WORK.search(said):
        yield Doubt(said, _TAKEN_IN[part.name], place)


_ASKED_ABOUT = frozenset([Action.REPLACED, Action.REPAIRED])
_TAKEN_IN = {
    "attempts": "does not say what that was done to: kept in the words of the fix before it",
    "tests": "is kept in what the test showed; if it was a fix, tell it in a line of its own",
}


def _trimmed(text: str, start: int, end: int) -> Place:
    return Place(start, start + len(text[start:end].rstrip(_LOOSE + "&+")) or end)
