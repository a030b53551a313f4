"""What was found and done, said in one line: causes, attempts, tests and later contacts.

The technician's words are kept beside what was read from them wherever that is shorter than they
are.
"""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import zip_longest
from typing import Any, Self

from kb.case import (
    Action,
    Attempt,
    Cause,
    Contact,
    DiagnosticTest,
    FailureMode,
    Outcome,
    Reading,
    Stage,
    TroubleCode,
)
from kb.errors import InvalidField
from kb.intake.account import Account, FixVerdict, Lift, account
from kb.intake.codes import find_codes
from kb.intake.costs import PartsCost, find_costs, lift_cost
from kb.intake.distances import Distance, find_odometers, lift_odometer, shown_at_once
from kb.intake.durations import Labour, find_labour
from kb.intake.finding_words import (
    ACTIONS,
    CURED_BY,
    ELSEWHERE,
    NO_WORK,
    failure_mode,
    is_name,
    leading,
    may_be_part,
)
from kb.intake.lifting import Doubt, Lifted, Place, blanked, cut, merged
from kb.intake.outcome_words import DENIALS, TROUBLE, WordRole
from kb.intake.outcome_words import clauses as outcome_clauses
from kb.intake.outcomes import judge_attempt, judge_contact
from kb.intake.pieces import (
    Joint,
    TalkClause,
    Work,
    beginnings,
    clauses,
    find_test,
    is_access,
    is_follow_up,
    is_heard,
    is_nameless_work,
    with_more_parts,
    work_in,
    work_next,
)
from kb.intake.positions import find_position
from kb.intake.reading_search import ReadingsFound, find_readings
from kb.patterns import compiled

_PLACE = compiled(
    r"\s(?=(?:under|underneath|beneath|behind|below|inside|in|at|on|near|by|above|over|between"
    r"|beside|next to|along|across|through)\s)"
)
_BEFORE = frozenset({"the", "a", "an", "was", "is", "had", "has", "of", "and"})
_BEHIND = frozenset({"was", "is", "had", "has", "been", "of", "with", "in", "and", "the"})
_PAIRS = frozenset({("due", "to"), ("because", "of")})
_VERIFIED = compiled(
    r"(?:[,;]|(?<!\s))\s*\b(?:(?<!repair )(?<!fix )verified(?! repair| fix)(?: by| with|:)?\s+"
    r"(?![^,;]{0,60}\b(?:no|not|nobody|never|later|tomorrow|pending|to be|yet)\b)(?P<how>[^,;]+)"
    r"|(?P<known>road[- ]?test(?:ed)?(?: ok| good)?"
    r"(?! *(?:\?|tomorrow|tonight|later|next|to |on (?:mon|tue|wed|thu|fri|sat|sun)|if|when|needed"
    r"|required|pending|due|booked|mon|tues|wednes|thurs|fri|satur|sun))"
    r"|self[- ]?test (?:passed|ok)"
    r"|codes? (?:did|do|does) not (?:return|come back)|no codes? (?:back|returned)"
    r"|readings? (?:back )?(?:in|within) (?:the )?(?:normal )?(?:band|range|spec)))",
    re.IGNORECASE,
)
_DAY = compiled(r"\b(?:on )?([0-9]{4}-[0-9]{2}-[0-9]{2})\b")
_JOB = compiled(r"\b(?:as )?(?:job ?#?|#)([0-9]{1,9})\b|#([0-9]{1,9})\b", re.IGNORECASE)
_PARTINGS = (
    r"(?<!\s)\s*(?::\s+|:$)",
    r"(?<!\s)\s+(?:->|=>|→|-|–)\s+",
    r"(?<!\s)\s*[;,]\s*",
)
_FOUND_IN = compiled(r"found .* (?:in|on|at|inside) (?P<what>\S+(?: \S+){0,3})$", re.IGNORECASE)
_FOUND = compiled(r"^(?:found|has|had|was) +(?:an? |the )?", re.IGNORECASE)
_WORD = compiled(r"[^\W\d_]{2}")
_EARLIER = compiled(r"\b(?:was|were|had|as|from|before|because|since|due|found)\b", re.I)
_PART_NUMBER = compiled(
    r"\b(?:p/?n|(?:pt|part)\.? ?(?:no|nr|number)|oem|ref)[ .:#]*(?=\S*[0-9])\S+", re.IGNORECASE
)
"""Its "no" denies nothing."""
_ASKED = compiled(r"[\s!]*\?")
_COMMAS = compiled(r"\s*,(?:\s*,)*(?=\s|$)")
_DONE_NEXT = compiled(
    r"\s*(?:in(?=\s*(?:[.,;]|$))|fitted|done|new|replaced|changed|renewed|neu)\b", re.I
)
_PARTICLE = compiled(r"^ *(?:(?:in|on|up|out|off) +)(?:an? |the )?(?:new |recon )?", re.IGNORECASE)
_COUNTED = compiled(
    r"^(?:[0-9]+ ?x |(?:[0-9]{1,2}|two|three|four|both) (?=[^\W\d_].*s$))"
    r"|(?: x ?[0-9]+| [0-9.,]+)$| x ?[0-9]+(?= (?:[+&]|and)\s)",
    re.IGNORECASE,
)
"""How many there were of a part, which is not its name."""
_AFTER_SUCCESS = compiled(
    r"\b(?:fixed|cured|sorted|gone|works?|working|all good|good now|fine now|ok now|quiet|no longer"
    r"|no more|stopped|back to normal|like new|verified)\b",
    re.IGNORECASE,
)
_AFTER_FAILURE = compiled(
    r"\b(?:still|again|back|returned|remains?|persists?|same|worse|gave up|isn['’]?t|wasn['’]?t it"
    r"|unchanged|no (?:change|better|diff\w*|joy|cure|fix|improvement|good|help|luck|effect)"
    r"|not (?:fixed|cured|better|sorted|right|it)|did(?:n['’]?t| not) (?:help|work|cure|fix)"
    r"|never (?:fixed|cured|helped|changed)|nadal|immer noch|toujours)\b",
    re.IGNORECASE,
)
_LIMITED = compiled(r"\b(?:not|but|still|only|except|until|till|yet|when|unless|at)\b", re.I)
_IN_PART = compiled(r"\b(?:except|apart from|other than)\b", re.IGNORECASE)
_OTHER_CURE = compiled(
    r"[\s,;:]*\b(?:then |and |but |only |until |finally )*(?:cured|fixed|sorted|solved|resolved"
    r"|gone|ok|okay|fine|good|right|works?|worked|working|stopped|better)(?: again| now| only)?"
    r" (?:by|with|after|when|once|from|through)"
    r" (?:\S+ )?(?:replac|renew|swap|chang|fit|install|clean|tighten|adjust|repair|mend|solder|seal"
    r"|weld|lubricat|greas|free|fill|bleed|charg|clear|reset|program|cod|updat|flash|mov|secur"
    r"|align|torqu|re[a-z]{3,})\w*ing\b.*",
    re.IGNORECASE | re.DOTALL,
)
"""A cure by something else than what stands before it."""
_DID_NOT = compiled(
    r"(?:did(?:n['’]?t| not)) (?:help|work|cure|fix|sort|solve|do)\b[^.;\n]*$", re.IGNORECASE
)
_DID = compiled(r"\s*did(?: it| the (?:job|trick))?\s*$", re.IGNORECASE)
"""Behind a fix this answers that the one before did not."""
_RATING = compiled(
    r"(?: +[0-9]+(?:[.,][0-9]+)? ?(?:v|volts?|w|a|amps?|ah|c|deg|grad|mm|kw|bar|l|ltr|litres?))+$",
    re.IGNORECASE,
)
_WELL_FITTED = compiled(r" (?:ok|okay)$", re.IGNORECASE)
_CALL_AGAIN = compiled(r"\b(?:try|call|ring|phone|rang|txt|text|tried|back) again\b", re.I)
_CODE = compiled(r"\b[PCBU][0-9][0-9A-F]{3}\b", re.IGNORECASE)
"""A verdict that stands alone must speak of a fix: "dead" alone is what was found."""
_TROUBLE_HEARD = (
    *TROUBLE,
    WordRole.AGAIN,
    WordRole.STILL,
    WordRole.RETURNED,
    WordRole.BROKEN,
    WordRole.LIT,
    WordRole.BAD,
)
_BESIDE = " \t\n,;:-–—"
_AND = compiled(r"\band\b|[&+]", re.IGNORECASE)
_NEAR = 80
_LONGEST = 200
_POSITIONS = 4
_LITTLE = "the a an was is had has been of due to because with and"
_LITTLE_WORDS = frozenset(_LITTLE.split())
_LOOSE = " \t\n,;:.-–—()"


@dataclass(frozen=True, slots=True, kw_only=True)
class Later:
    """What a line that tells no fix says of the last one: how it fared, what it took and cost."""

    verdict: FixVerdict | None = None
    minutes: int | None = None
    parts_cost: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What a line told of a job: its parts, the words left over, and what was doubtful.

    `odometer` is what it showed; `later` what the line tells of a fix of an earlier line.
    `places` has for each list, by its name, where in the line each of its parts was told.
    """

    codes: tuple[TroubleCode, ...]
    readings: tuple[Reading, ...]
    tests: tuple[DiagnosticTest, ...]
    attempts: tuple[Attempt, ...]
    contacts: tuple[Contact, ...]
    rest: str
    doubts: tuple[Doubt, ...]
    places: Mapping[str, tuple[Place, ...]]
    account: Account
    odometer: Distance | None = None
    later: Later | None = None


def find_findings(text: str, today: date) -> Findings:
    """Read a line of shop talk about a job, clause by clause; see `kb.intake.pieces`.

    A clause that begins with what was done, or with a part and what was done to it, is an attempt,
    one that begins with how a fix fared is a contact, one that tells what was tested and what was
    seen is a test; the clauses behind belong to it up to the next one, and past a semicolon only if
    they tell nothing but how an attempt fared. Times, costs and odometers are lifted out, and codes
    and readings too. Words left over are kept as they are.

    A contact that names no day is of today.

    Examples
    --------
    >>> line = "B1234-13, motor feed 4.1 V; door plug cleaned, no change"
    >>> found = find_findings(line, date(2026, 3, 2))
    >>> [str(code) for code in found.codes], [reading.typed for reading in found.readings]
    (['B1234-13'], ['4.1 V'])
    >>> [attempt.label for attempt in found.attempts], found.rest
    (['cleaned door plug'], '')
    >>> [line[start:end] for start, end in found.places["attempts"]]
    ['door plug cleaned, no change']
    """
    spent = _Spent.of(text)
    parted = _parted(spent.masked)
    parted.take_bought(text, spent)
    told: dict[str, list[Any]] = {name: [] for name in ("tests", "attempts", "contacts")}
    places: dict[str, list[Place]] = {name: [] for name in told}
    heads: list[Place] = []
    names: list[Place] = []
    for part in parted.parts:
        try:
            fact = _fact(part, text, spent, today)
        except InvalidField as error:
            said = text[slice(*part.place)]
            parted.doubts.append(Doubt(said, f"{error.cure}: kept as words", part.place))
            continue
        if fact is None:
            continue
        name, value = fact
        told[name].append(value)
        places[name].append(part.place)
        heads.append(part.head if name == "attempts" else part.place)
        if name == "contacts" or (part.work and part.work.action is not Action.CLEARED):
            names.append(heads[-1])
    told["attempts"] = _taken_back(spent.shared(told["attempts"], places["attempts"]), places, told)
    verdict = _verdict(spent.masked, parted.left, bool(told["attempts"]))
    aside = [*heads, *spent.places, *([verdict[1]] if verdict else [])]
    codes = find_codes(blanked(text, names))
    readings = find_readings(text, taken=merged([*aside, *codes.lifted]))
    told |= {"codes": list(codes.codes), "readings": _staged(text, readings, places["attempts"])}
    places |= {"codes": list(codes.places), "readings": list(readings.places)}
    doubts = [*parted.doubts, *codes.doubtful, *readings.doubtful]
    lifted = [lift for name in told for lift in map(Lift, told[name], places[name])]
    lifted += [*map(Lift, *zip(*spent.found, strict=True))] if spent.found else []
    lifted += [Lift(*verdict)] if verdict else []
    return Findings(
        rest=cut(text, [Lifted(*place) for place in merged([*_whole(places), *aside])]),
        doubts=tuple(doubts),
        places={name: tuple(found) for name, found in places.items()},
        account=account(text, lifted, doubts, codes.lifted, every_word=True),
        odometer=min((distance for distance, _ in spent.odometers), default=None),
        later=spent.later(verdict and verdict[0]) if not told["attempts"] else _only(verdict),
        **{name: tuple(parts) for name, parts in told.items()},
    )


def _staged(text: str, found: ReadingsFound, attempts: Sequence[Place]) -> list[Reading]:
    """Tell of readings that stand behind what was done that they were taken after it."""
    first = min((place.start for place in attempts), default=len(text))
    return [
        replace(reading, stage=Stage.AFTER_FIX)
        if place.start > first
        and reading.stage is Stage.AS_FOUND
        and not _EARLIER.search(text, max(first, place.start - 30), place.end)
        else reading
        for reading, place in zip(found.readings, found.places, strict=True)
    ]


def _taken_back(
    attempts: list[Attempt], places: Mapping[str, Sequence[Place]], told: Mapping[str, list[Any]]
) -> list[Attempt]:
    """Take back the cures before what was heard later, if that tells or sounds of a return."""
    heard = zip(told["contacts"], places["contacts"], strict=True)
    returns = [place.start for contact, place in heard if _sounds_of_return(contact)]
    last = max(returns, default=0)
    return [
        replace(attempt, cured=None, verified=None)
        if attempt.cured and place.start < last
        else attempt
        for attempt, place in zip(attempts, places["attempts"], strict=True)
    ]


def _sounds_of_return(contact: Contact) -> bool:
    if contact.outcome is Outcome.COMEBACK:
        return True
    said = _CALL_AGAIN.sub("", contact.words or "")
    return contact.outcome is Outcome.NOT_TOLD and any(
        clause.has(*_TROUBLE_HEARD) for clause in outcome_clauses(said)
    )


def _whole(places: Mapping[str, Sequence[Place]]) -> Iterator[Place]:
    return (place for found in places.values() for place in found)


def _only(verdict: tuple[FixVerdict, Place] | None) -> Later | None:
    return Later(verdict=verdict[0]) if verdict else None


@dataclass(frozen=True, slots=True)
class _Spent:
    """Times, costs and odometers of a line, and the line with a comma in the stead of each."""

    labour: list[tuple[Labour, Place]]
    costs: list[tuple[PartsCost, Place]]
    odometers: list[tuple[Distance, Place]]
    masked: str

    @classmethod
    def of(cls, text: str) -> Self:
        """Find them, each in what the others leave."""
        costs = find_costs(text)
        rest = _masked(text, [place for _, place in costs])
        odometers = shown_at_once(find_odometers(rest))
        rest = _masked(rest, [place for _, place in odometers])
        labour = find_labour(rest)
        return cls(labour, costs, odometers, _masked(rest, [place for _, place in labour]))

    @property
    def found(self) -> list[tuple[Labour | PartsCost | Distance, Place]]:
        """All of it, with the places."""
        return [*self.labour, *self.costs, *self.odometers]

    @property
    def places(self) -> list[Place]:
        """Where all of it stands."""
        return [place for _, place in self.found]

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
        return [
            replace(
                attempt,
                minutes=int(took[owner]) if owner in took else None,
                parts_cost=round(paid[owner], 2) if owner in paid else None,
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


def _masked(text: str, places: Iterable[Place]) -> str:
    """Put a comma and blanks in the stead of what stands at some places.

    Only blanks before what was done: "ring 31.00 fitted".
    """
    pieces: list[str] = []
    done = 0
    for start, end in places:
        joined = _DONE_NEXT.match(text, end)
        pieces += text[done:start], (" " if joined else ",") + " " * (end - start - 1)
        done = end
    return "".join((*pieces, text[done:]))


def _stop(text: str, place: Place) -> int:
    """Return where a list behind a fix must end: in the same line, and near."""
    line = text.find("\n", place.start, place.start + _LONGEST)
    return line if line >= 0 else min(len(text), place.start + _LONGEST)


@dataclass(slots=True)
class _Part:
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

    def reach(self, end: int) -> None:
        """Take in what stands up to an end."""
        self.place = Place(self.place.start, end)


@dataclass(slots=True)
class _Parted:
    """A line parted: its parts, the clauses left over, and what only begins like a part."""

    parts: list[_Part]
    left: list[TalkClause]
    doubts: list[Doubt]

    def begin(self, text: str, clause: TalkClause, part: _Part | None, before: str) -> _Part | None:
        """Add the parts that begin in a clause; return the last one, or the one it goes on with."""
        begun = part
        for start, words in beginnings(text, clause.place):
            if part and start < part.head.end:
                continue
            new = _begun(words, Place(start, clause.place.end), clause.joint, part, before)
            if new is None:
                continue
            new.take_list(text)
            if part is None and start == clause.place.start:
                new.take_names_before(text, self.left, clause.joint)
            if part and part is not begun:
                part.reach(min(part.place.end, start))
            self.parts.append(new)
            part = new
        return part

    def take_bought(self, text: str, spent: _Spent) -> None:
        """Take parts with their price as fitted where the time of the work is told, and no fix."""
        if not spent.labour or any(part.name == "attempts" for part in self.parts):
            return
        prices = {place.start for _, place in spent.costs}
        for clause in [*self.left]:
            start, end = clause.place
            priced = end in prices or end + 1 in prices
            if priced and is_name(text[start:end]):
                work = Work(Action.REPLACED, text[start:end], end - start)
                self.parts.append(_Part("attempts", clause.place, clause.place, work))
                self.left.remove(clause)
        self.parts.sort(key=lambda part: part.place)


def _parted(text: str) -> _Parted:
    parted = _Parted([], [], [])
    part: _Part | None = None
    before = ""
    for clause in clauses(text):
        said = text[slice(*clause.place)]
        if part and clause.place.end <= part.head.end:
            continue
        if clause.joint is Joint.STRONG:
            part, before = _joined(text, part, said), ""
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
        before = said
    for each, following in zip_longest(parted.parts, parted.parts[1:]):
        end = min(each.place.end, following.place.start) if following else each.place.end
        each.place = _trimmed(text, each.place.start, end)
    return parted


def _joined(text: str, part: _Part | None, said: str) -> _Part | None:
    """Return the attempt before a semicolon, if what follows tells only how it fared."""
    if part is None or part.name != "attempts":
        return None
    if _is_back(said) and not (is_heard(said) or work_in(said) or find_test(said)):
        return part
    if not _tells_only_outcome(said):
        return None
    work = part.work
    told = text[part.place.start + (work.end if work else 0) : part.place.end]
    return part if judge_attempt(told) is None or judge_attempt(said) is False else None


def _subject(clause: str) -> str | None:
    """Name the part a clause speaks of, by how it failed or where something was found."""
    try:
        cause = parse_cause(_FOUND.sub("", clause))
    except InvalidField:
        cause = None
    inside = _FOUND_IN.match(clause)
    if inside and (cause is None or cause.failure_mode is FailureMode.CONTAMINATED):
        return inside["what"]
    if cause is None:
        return None
    what = cause.component
    return what if may_be_part(what) else None


def _tells_only_outcome(piece: str) -> bool:
    if is_heard(piece) or judge_attempt(piece) is None or find_test(piece) or work_in(piece):
        return False
    return not (find_codes(piece).codes or find_readings(piece).readings)


def _begun(words: str, place: Place, joint: Joint, part: _Part | None, before: str) -> _Part | None:
    """Return the part that begins with some words of a clause, if one does."""
    is_new = part is None
    if joint is not Joint.COMMA and is_new and is_heard(words) and not work_in(words):
        return _Part("contacts", place, place)
    may_test = part is None or (part.name == "tests" and joint is not Joint.COMMA)
    if may_test and (seen := find_test(words)):
        return _Part("tests", Place(place.start, place.start + seen.end), place)
    work = work_in(words)
    if work is None and part and part.work:
        work = work_next(words, part.work)
    if work is None and (action := is_nameless_work(words)) and (what := _subject(before)):
        return _Part("attempts", place, place, Work(action, what, 0))
    if work is None or is_access(work) or (part and part.name == "attempts" and is_follow_up(work)):
        return None
    return _Part("attempts", Place(place.start, place.start + work.end), place, work)


def _half(said: str, place: Place) -> Iterator[Doubt]:
    """Ask about a clause that begins with what was done, and does not say to what."""
    if leading(said, ACTIONS) and judge_attempt(said) is None and not NO_WORK.search(said):
        try:
            parse_attempt(said)
        except InvalidField as error:
            yield Doubt(said, f"{error.cure}: kept as words", place)


def _fact(part: _Part, text: str, spent: _Spent, today: date) -> tuple[str, Any] | None:
    """Read a part of a line as what its list holds; None of a test that saw codes alone."""
    said = spent.masked[slice(*part.place)]
    if part.name == "contacts":
        return part.name, parse_contact(text[slice(*part.place)], today)
    if part.name == "tests":
        name, seen = text[slice(*part.head)], said[part.head.end - part.place.start :]
        if not _WORD.search(blanked(seen, find_codes(seen).lifted)) and find_codes(seen).codes:
            return None
        minutes = spent.minutes_in(part.place)
        return part.name, _test(text[slice(*part.place)], name, seen, minutes or None)
    work = part.work
    if work is None:
        raise InvalidField("attempt", said, "does not say what was done")
    line = _COMMAS.sub(", ", " ".join(said.split()))
    asked = _ASKED.match(spent.masked, part.place.end)
    behind = said[work.end :] + (asked[0] if asked else "")
    before = spent.masked[max(0, part.place.start - _NEAR) : part.place.start]
    if _DID.match(behind) and _DID_NOT.search(before):
        behind = ", cured"
    if CURED_BY.match(said):
        behind = f", cured, {behind}"
    return part.name, _attempt(work, line, behind)


def _test(text: str, name: str, seen: str, minutes: int | None = None) -> DiagnosticTest:
    name, seen = name.strip(_LOOSE), _COMMAS.sub(", ", " ".join(seen.split())).strip(_BESIDE)
    if not (name and seen):
        raise InvalidField("test", text, "must tell what was done, a colon, and what was seen")
    return DiagnosticTest(name=name, seen=seen, minutes=minutes)


def _attempt(work: Work, line: str, behind: str) -> Attempt:
    """Read an attempt of what was done, all that was said of it, and what was said behind it."""
    component = _component(work.what)
    if not component:
        raise InvalidField("attempt", line, f"does not say what was {work.action}")
    verified, plain = _lift(_VERIFIED, line)
    behind = _OTHER_CURE.sub("", _PART_NUMBER.sub(" , ", behind))
    cured = _judged(_VERIFIED.sub(_known_proof, behind), component)
    attempt = Attempt(
        action=work.action,
        component=component,
        cured=cured,
        verified=verified.strip(_LOOSE) if verified and cured else None,
    )
    words = " ".join(line.split()).strip(_LOOSE)
    return attempt if _same(plain, attempt.label) else replace(attempt, words=words)


def _judged(behind: str, component: str) -> bool | None:
    """Judge how a fix fared; a cure with trouble again behind it is not told."""
    cured = judge_attempt(behind, component)
    return None if cured and _is_back(behind) else cured


def _is_back(said: str) -> bool:
    """Whether a text tells of trouble that is there again."""
    return any(
        clause.has(WordRole.AGAIN)
        and clause.has(*TROUBLE, WordRole.BROKEN, WordRole.STOPPED, WordRole.RETURNED, WordRole.LIT)
        and not clause.has(*DENIALS)
        for clause in outcome_clauses(said)
    )


def _component(what: str) -> str:
    bare = _PARTICLE.sub("", what)
    for _ in range(_POSITIONS):
        bare = find_position(bare)[1]
    bare = _bare(bare)
    named = _WELL_FITTED.sub("", _RATING.sub("", _COUNTED.sub("", bare)))
    return re.sub(r",\s*and\b", " and", named).strip(_LOOSE + "&+")


def _verdict(
    text: str, left: Sequence[TalkClause], has_attempts: bool
) -> tuple[FixVerdict, Place] | None:
    """Read how a fix of an earlier line fared, of the clauses of a line that are no part.

    Only what is plainly told of a fix counts; before a further attempt, only that it did not cure.
    """
    if not left:
        return None
    said = text[left[0].place.start : left[-1].place.end] if has_attempts else text
    cured = judge_attempt(said)
    if cured is None or (cured and (has_attempts or _LIMITED.search(said))):
        return None
    plain = _AFTER_SUCCESS if cured else _AFTER_FAILURE
    other = False
    for clause in left:
        words = text[slice(*clause.place)]
        other = bool(ELSEWHERE.search(words)) or (other and clause.joint is Joint.COMMA)
        counts = plain.search(words) and not (
            _IN_PART.search(words) or other or (has_attempts and _CODE.search(words))
        )
        if counts and judge_attempt(words) is cured:
            return FixVerdict(cured), clause.place
    return None


def _trimmed(text: str, start: int, end: int) -> Place:
    return Place(start, start + len(text[start:end].rstrip(_LOOSE + "&+")) or end)


def parse_cause(text: str) -> Cause:
    """Read what was wrong: component, where it sits, how it failed.

    As ``seat connector under LF seat, high resistance``, ``worn front wheel bearing`` or ``clock
    spring, steering column: open``. Component and location come back in lower case, the position in
    canonical words.

    Raises
    ------
    InvalidField
        If it names no component, or no way of failing.

    Examples
    --------
    >>> cause = parse_cause("corroded seat connector under LF seat")
    >>> cause.label, cause.position
    ('seat connector, under seat: contaminated', 'left front')
    """
    line = " ".join(text.split())
    found = failure_mode(line)
    if found is None:
        raise InvalidField("cause", text, f"does not say how it failed: {', '.join(FailureMode)}")
    mode, start, end = found
    position, rest = find_position(f"{line[:start]} , {line[end:]}")
    pieces = [piece for part in re.split("[,;:]", rest) if (piece := _bare(part))]
    if not pieces:
        raise InvalidField("cause", text, "names no component; write what failed, and how")
    component, *places = _PLACE.split(f"{pieces[0]} ", maxsplit=1)
    places += pieces[1:]
    cause = Cause(
        component=_bare(component) or component.strip(),
        failure_mode=mode,
        location=", ".join(map(_bare, places)) or None,
        position=position,
    )
    told = _words(f"{rest} {line[start:end]}") - _words(cause.label) - _LITTLE_WORDS
    return replace(cause, words=text.strip()) if told else cause


def parse_attempt(text: str) -> Attempt:
    """Read a fix that was tried: what was done, to what, and whether it cured.

    As ``cleaned seat connector``, ``new LF wheel speed sensor, no change, 40 min``, or ``repaired
    door loom, cured, road test ok`` with how that was made sure: a road test, a self-test passed, a
    code that did not return, a reading back in its band, or whatever follows ``verified``. Whether
    it cured is judged by `kb.intake.outcomes.judge_attempt`.

    Raises
    ------
    InvalidField
        If it does not begin with what was done, or does not say to what.

    Examples
    --------
    >>> attempt = parse_attempt("new LF wheel speed sensor, no change, 40 min")
    >>> attempt.label, attempt.cured, attempt.minutes
    ('replaced wheel speed sensor', False, 40)
    >>> attempt = parse_attempt("repaired door loom, cured, road test ok")
    >>> attempt.cured, attempt.verified
    (True, 'road test ok')
    """
    line = " ".join(text.split())
    labour = find_labour(line)
    minutes = sum(each.minutes for each, _ in labour) or None
    parts_cost, line = lift_cost(cut(line, [Lifted(*place) for _, place in labour]))
    plain = _lift(_VERIFIED, line)[1]
    work = work_in(plain)
    if work is None:
        begun = leading(plain, ACTIONS)
        known = ", ".join(Action)
        why = (
            f"does not say what was {begun[0]}"
            if begun
            else f"must begin with what was done: {known}"
        )
        raise InvalidField("attempt", text, why)
    attempt = _attempt(work, line, line.partition(work.what)[2])
    return replace(attempt, minutes=minutes, parts_cost=parts_cost)


def _known_proof(match: re.Match[str]) -> str:
    """Return what a proof has to say on the outcome, parted from it as it was."""
    comma = "," if match.group().lstrip()[0] in ",;" or match["how"] else ""
    return f"{comma} {match['known'] or ''}"


def parse_test(text: str) -> DiagnosticTest:
    """Read a test: what was done, and behind a colon or comma what was seen.

    Raises
    ------
    InvalidField
        If it tells only one of the two.

    Examples
    --------
    >>> test = parse_test("wiggle test with live reading: value jumps, 10 min")
    >>> test.name, test.seen, test.minutes
    ('wiggle test with live reading', 'value jumps', 10)
    """
    labour = find_labour(text)
    minutes = sum(each.minutes for each, _ in labour) or None
    line = cut(text, [Lifted(*place) for _, place in labour])
    for parting in _PARTINGS:
        name, *seen = re.split(parting, line.strip(), maxsplit=1)
        if seen and name.strip(_LOOSE) and seen[0].strip(_LOOSE):
            return DiagnosticTest(name=name.strip(_LOOSE), seen=seen[0].strip(), minutes=minutes)
    raise InvalidField("test", text, "must tell what was done, a colon, and what was seen")


def parse_contact(text: str, today: date) -> Contact:
    """Read what was heard of a vehicle later.

    As ``held``, ``comeback 2026-05-02 at 91 000 km as job 214``, ``in for tyres, still ok``;
    without a day it is of today. How the fix fared is judged by
    `kb.intake.outcomes.judge_contact`; where that is not told, the words are kept.

    Raises
    ------
    InvalidField
        If it is empty, or names a day that is none.

    Examples
    --------
    >>> heard = parse_contact("came back at 91 000 km as job 214", date(2026, 5, 2))
    >>> heard.outcome.value, heard.odometer_km, heard.job, heard.on.isoformat()
    ('comeback', 91000, 214, '2026-05-02')
    """
    line = " ".join(text.split())
    day, rest = _lift(_DAY, line)
    job, rest = _lift(_JOB, rest)
    distance, rest = lift_odometer(rest)
    if not line:
        raise InvalidField("contact", text, f"is empty; write one of: {', '.join(Outcome)}")
    outcome = judge_contact(rest)
    words = rest.strip(_LOOSE)
    return Contact(
        on=_day("contact.on", day) if day else today,
        outcome=outcome,
        odometer_km=distance and distance.km,
        job=int(job) if job else None,
        words=None if _same(words, outcome) else words,
    )


def _lift(pattern: re.Pattern[str], text: str) -> tuple[str | None, str]:
    match = pattern.search(text)
    if match is None:
        return None, text
    found = next(group for group in match.groups() if group)
    return found, cut(text, [Lifted(*match.span())])


def _day(field: str, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InvalidField(field, text, "is no day; write it as 2026-03-02") from None


def _bare(text: str) -> str:
    """Take articles and little words off both ends."""
    words = [word for word in text.split() if word.strip(_LOOSE)]
    known = [word.strip(_LOOSE).casefold() for word in words]
    start, end = 0, len(words)
    while start < end and (step := _fillers(known[start : start + 2], _BEFORE)):
        start += step
    while start + 1 < end and (step := _fillers(known[max(start, end - 2) : end][::-1], _BEHIND)):
        end -= step
    return " ".join(words[start:end]).strip(_LOOSE)


def _fillers(words: list[str], little: frozenset[str]) -> int:
    """Return how many of the next words, outermost first, say nothing by themselves."""
    if tuple(words) in _PAIRS or tuple(words[::-1]) in _PAIRS:
        return 2
    return int(words[0] in little)


def _same(one: str, other: str) -> bool:
    return _words(one) == _words(other)


def _words(text: str) -> set[str]:
    return set(re.findall(r"\w+", text.casefold()))
