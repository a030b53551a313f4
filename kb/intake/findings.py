"""What was found and done, said in one line: tests, fixes, contacts, codes and readings."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise, takewhile
from typing import Any

from kb.case import (
    Action,
    Attempt,
    Contact,
    DiagnosticTest,
    Outcome,
    Reading,
    Stage,
    TroubleCode,
)
from kb.errors import InvalidField
from kb.intake.account import Account, FixVerdict, Lift, account
from kb.intake.circuit_pressures import of_the_circuit
from kb.intake.cleared import Cleared, cleared_in
from kb.intake.codes import find_codes
from kb.intake.costs import PartsCost
from kb.intake.credit import is_credited_elsewhere
from kb.intake.days import HeardOn, heard_on
from kb.intake.days_apart import by_days, sounds_back
from kb.intake.deed_words import CURED_BY
from kb.intake.distances import Distance
from kb.intake.durations import Labour
from kb.intake.elapsed import returned_then, tells_return, without_since
from kb.intake.lifting import Doubt, Lifted, Place, blanked, cut, merged
from kb.intake.line_parts import LISTED_PART, Later, LinePart, PartedLine, SpentInLine, part_line
from kb.intake.measuring_tests import MeasuringTest, of_tests
from kb.intake.other_faults import is_complaint_again
from kb.intake.outcome_words import TROUBLE, WordRole
from kb.intake.outcome_words import clauses as outcome_clauses
from kb.intake.outcomes import judge_attempt, judge_contact, takes_back, tells_new_trouble
from kb.intake.part_names import unread_parts
from kb.intake.pieces import Joint, TalkClause, Work, find_test, work_behind, work_in, works_within
from kb.intake.reading_proposals import offer
from kb.intake.reading_search import NO_ITEM, ReadingsFound, find_readings
from kb.intake.readings import parse_reading
from kb.intake.single_facts import (
    attempt_of,
    component_of,
    cured_in_part,
    parse_contact,
    seen_in_test,
)
from kb.intake.spelling import SpeltLine, spelt
from kb.intake.two_ways import ends_with_until_today, is_over
from kb.intake.undone_words import ELSEWHERE
from kb.patterns import compiled

_WORD = compiled(r"[^\W\d_]{2}")
_EARLIER = compiled(
    r"\b(?:was|were|had|as|from|before|because|since|due|found"
    r"|vorher|zuvor|davor|war|waren|hatte|von|avant|[ée]tait|avait"
    r"|przedtem|wcze[śs]niej|by[łl][oay]?|mia[łl][oa]?)\b",
    re.I,
)
_THEN_CAME_TO = compiled(
    r"[\s,;]*(?:(?:(?:is|it|has|went|gone|came|come|dropped|fell|rose) )*(?:now )?(?:down|up) to"
    r"|runter auf|hoch auf|gesunken auf|gestiegen auf|descendue? [àa]|mont[ée]e? [àa]|spad\w+ do"
    r"|wzros\w+ do) [+-]?[0-9]",
    re.I,
)
"""Behind what was before: ``drag 12 Nm down to 2 Nm``."""
_ASKED = compiled(r"[\s!]*\?")
_AFTER_SUCCESS = compiled(
    r"\b(?:fixed|cured|sorted|gone|works?|working|all good|good now|fine now|ok now|quiet|no longer"
    r"|no more|stopped|back to normal|like new|verified)\b",
    re.IGNORECASE,
)
_AFTER_FAILURE = compiled(
    r"\b(?:still(?! (?:to be|(?:in|on|at) (?:the |its )?(?:box|shelf|stock|order|bench))\b)"
    r"|again|back|returned|remains?|persists?|same|worse|gave up|isn['’]?t|wasn['’]?t it"
    r"|unchanged|no (?:change|better|diff\w*|joy|cure|fix|improvement|good|help|luck|effect)"
    r"|not (?:fixed|cured|better|sorted|right|it)|did(?:n['’]?t| not) (?:help|work|cure|fix)"
    r"|never (?:fixed|cured|helped|changed)|nadal|immer noch|toujours)\b",
    re.IGNORECASE,
)
_LIMITED = compiled(r"\b(?:not|but|still|only|except|until|till|yet|when|unless|at)\b", re.I)
_IN_PART = compiled(r"\b(?:except|apart from|other than)\b", re.IGNORECASE)
_DID_NOT = compiled(
    r"(?:did(?:n['’]?t| not)) (?:help|work|cure|fix|sort|solve|do)\b[^.;\n]*$", re.IGNORECASE
)
_DID = compiled(r"\s*did(?: it| the (?:job|trick))?\s*$", re.IGNORECASE)
"""Behind a fix this answers that the one before did not."""
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
    WordRole.GONE_AGAIN,
)
_OF_THE_CAR = frozenset(WordRole) - {
    *(
        WordRole.PERSON,
        WordRole.HEARSAY,
        WordRole.LITTLE,
        WordRole.PLAN,
        WordRole.THING,
        WordRole.NOW,
    ),
    *(WordRole.TODAY, WordRole.THEN, WordRole.WHEN, WordRole.WITH, WordRole.MEANS, WordRole.ONLY),
    *(WordRole.PART, WordRole.SPAN, WordRole.TIMED, WordRole.PAST, WordRole.AFTER, WordRole.BUT),
    *(WordRole.WAY, WordRole.FOUND, WordRole.NOT, WordRole.NO, WordRole.YET, WordRole.ASIDE),
}
"""What a word of it tells of the car, or that it was seen for something else."""
_AFTER_NEW = compiled(
    r"\b(?:after|with|since|nach) (?:the |a )?(?P<what>new [^\W\d_][^,;.]*)", re.I
)
_NEAR = 80
_AT_ONCE = len(", then ")
"""Between two fixes without a word on how the first fared."""
_JOINED = compiled(
    r"[\s,]*(?:(?:and|plus|und|et|oraz|i)\b|[&+])(?!\s*(?:then|next|after|later|finally|dann"
    r"|danach|puis|ensuite|potem)\b)",
    re.IGNORECASE,
)
"""Between two fixes that were made together."""
_AS_WELL = compiled(r"\s(?:too|also|as well|auch|aussi|też)[\s,;.]*$", re.IGNORECASE)
"""Behind the second of them."""
_DEED = compiled(
    r"\s*(?:(?:then|and|also|have|i|we) )*"
    r"(?!need|charg|book|tak|us|finish|complet|cur|work|allow|invoic|bill|fix|sort|agree"
    r"|clock|spend|remov|strip|look|spray|inspect|check|test|measur|scan|road)"
    r"[^\W\d_]{2,}(?:ed|iert|own) +(?:the |a |an |new )?[^\W\d_]{3,}",
    re.IGNORECASE,
)
_PIECE = compiled(r"[^\s,;.\n][^,;.\n]*")
_SIGNED = compiled(r"(?<![\s,;–-])[\s,;–-]++(?!OK|KO|NO|NG|ON|AC|LH|RH)[A-Z]{2}[\s.,;]*$")
"""Who did it, at the end."""


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


def find_findings(
    text: str,
    today: date,
    *,
    left_cured: bool = False,
    complaint: str = "",
    is_suspect: Callable[[Cleared], bool] = lambda _: False,
) -> Findings:
    """Read a line of shop talk about a job, clause by clause; see `kb.intake.pieces`.

    A clause that begins with what was done, or with a part and what was done to it, is an attempt,
    one that begins with how a fix fared is a contact, one that tells what was tested and what was
    seen is a test; the clauses behind belong to it up to the next one, and past a semicolon only if
    they tell nothing but how an attempt fared. Times, costs and odometers are lifted out, and codes
    and readings too. Words left over are kept as they are.

    Whose high or low pressure was measured is told by the line, else by the job's complaint.
    A contact that names no day is of today. Of a job that was handed over with a fix that cured
    (`left_cured`), a line that tells no work but plainly that the fault is there, or what was
    complained of again, is a comeback.
    A part that is told not to be at fault, and that `is_suspect` says may be, is a test of it.

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
    line = spelt(text)
    found = _find(line.text, today, complaint, is_suspect, left_cured=left_cured)
    return _as_typed(found, line) if line.slips else found


def find_work(text: str) -> list[tuple[Action, str, Place]]:
    """Return what was done to which part, and where a text tells it: the attempts of its findings.

    Nothing else is read of it, which takes a fraction of the time of `find_findings`.

    Examples
    --------
    >>> find_work("B1234-13; door plug cleaned, no change")
    [(<Action.CLEANED: 'cleaned'>, 'door plug', Place(start=10, end=38))]
    """
    line = spelt(text)
    spent = SpentInLine.of(line.text)
    parted = part_line(spent.masked)
    parted.take_bought(line.text, spent)
    works = ((part.work, part.place) for part in parted.parts if part.name == "attempts")
    found = (
        (work.action, component_of(work.what), line.place(place)) for work, place in works if work
    )
    return [each for each in found if each[1]]


_BEGIN_OF_LINE = 200
"""So near the begin of a line is what stands behind the day alone."""


def _on_its_day(contact: Contact, text: str, place: Place, today: date) -> tuple[Contact, HeardOn]:
    """Return a contact on the day that it tells, or that alone stands before it, as in a diary."""
    told = heard_on(text, today, place)
    if place.start > _BEGIN_OF_LINE:
        return contact, told
    before = heard_on(text, today, Place(0, place.start))
    if told.day or before.day is None or before.place is None:
        return contact, told
    beside = text[: before.place.start] + text[before.place.end : place.start]
    words = beside.strip(" \t:,;-–—")
    if words and not returned_then(words):
        return contact, told
    doubt = heard_on(text, before.day, place).doubt
    return replace(contact, on=before.day), before._replace(doubt=doubt or before.doubt)


def _find(
    text: str,
    today: date,
    complaint: str,
    is_suspect: Callable[[Cleared], bool],
    *,
    left_cured: bool,
) -> Findings:
    """Read a line in which no word is misspelt."""
    spent = SpentInLine.of(text)
    parted = _parted(text, spent, today, complaint if left_cured else None)
    told, places = _cleared(text, parted, is_suspect)
    heads: list[Place] = []
    names: list[Place] = []
    days: list[Place] = []
    fixes: list[LinePart] = []
    for part in parted.parts:
        try:
            fact = _fact(part, text, spent, today, parted.stretch(part))
        except InvalidField as error:
            said = text[slice(*part.place)]
            parted.doubts.append(Doubt(said, f"{error.cure}: kept as words", part.place))
            continue
        if fact is None or (isinstance(fact[1], Contact) and _tells_nothing_heard(fact[1])):
            continue
        name, value = fact
        if isinstance(value, Contact):
            value, on = _on_its_day(value, text, part.place, today)
            days += [on.place] if on.place else []
            parted.doubts += filter(None, (on.doubt, *_work_of_contact(text, part.place)))
        told[name].append(value)
        places[name].append(part.place)
        heads.append(_aside(part, text))
        fixes += [part] if name == "attempts" else []
        if name == "contacts" or (part.work and part.work.action is not Action.CLEARED):
            names.append(heads[-1])
    codes = find_codes(blanked(text, names), places["attempts"])
    aside = [*heads, *spent.places]
    readings = _readings(text, merged([*aside, *codes.lifted]), complaint, parted.parts)
    values = [*readings.places, *(doubt.place for doubt in readings.doubtful if doubt.place)]
    bare = spent.without(values)
    judged = [
        _judged_anew(attempt, part, bare)
        for attempt, part in zip(told["attempts"], fixes, strict=True)
    ]
    told["attempts"] = _taken_back(spent.shared(judged, places["attempts"]), places, told)
    parted.doubts += _shared_outcomes(told["attempts"], fixes, text)
    told["attempts"] = _doubted(
        _without_cure_of_list(
            _without_shared_cure(told["attempts"], fixes, text), fixes, parted, text
        ),
        places["attempts"],
        parted,
        spent.masked,
    )
    verdict, later, spends = _of_earlier_fix(spent, parted.left, bool(told["attempts"]))
    aside += [verdict[1]] if verdict else []
    told |= {"codes": list(codes.codes), "readings": _staged(text, readings, places["attempts"])}
    places |= {"codes": list(codes.places), "readings": list(readings.places)}
    asked = (_of_part(doubt, told["attempts"], places["attempts"]) for doubt in readings.doubtful)
    doubts = [*parted.doubts, *codes.doubtful, *asked]
    doubts += _work_of_readings(text, readings, places["attempts"])
    heard = [part for part in parted.parts if part.name == "contacts"]
    doubts += _denied_holds(text, told, places, doubts)
    lifted = [lift for name in told for lift in map(Lift, told[name], places[name])]
    lifted += [Lift(*each) for each in (*spends, *([verdict] if verdict else []))]
    read = [*values, *codes.lifted, *(each.place for each in doubts if each.place)]
    unread = _unread(told["attempts"], fixes, blanked(spent.masked, read))
    return Findings(
        rest=cut(text, [Lifted(*place) for place in merged([*_whole(places), *aside])]),
        doubts=tuple(doubts),
        places={name: tuple(found) for name, found in places.items()},
        account=account(
            text, lifted, doubts, _taken(codes.lifted, names, days), every_word=True, unread=unread
        ),
        odometer=spent.shown_beside([*map(parted.stretch, heard)]),
        later=later,
        **{name: tuple(parts) for name, parts in told.items()},
    )


def _cleared(
    text: str, parted: PartedLine, is_suspect: Callable[[Cleared], bool]
) -> tuple[dict[str, list[Any]], dict[str, list[Place]]]:
    """Begin the lists of a line with the looks that cleared a suspect, each with its place.

    Beside work a part that is only said to be well may be what was worked on.
    """
    told: dict[str, list[Any]] = {name: [] for name in ("tests", "attempts", "contacts")}
    places: dict[str, list[Place]] = {name: [] for name in told}
    works = any(part.name != "tests" for part in parted.parts)
    for clause in parted.left:
        words = text[slice(*clause.place)].strip()
        cleared = cleared_in(words)
        if cleared and not (works and cleared.fine) and is_suspect(cleared):
            name = f"check of {cleared.part}"
            told["tests"].append(DiagnosticTest(name=name, seen=words, clears=(cleared.part,)))
            places["tests"].append(clause.place)
    return told, places


def _measuring(parts: Sequence[LinePart], text: str) -> Iterator[MeasuringTest]:
    """Yield the tests that measure something: what they read are readings, too."""
    for part in parts:
        if part.name == "tests" and (test := MeasuringTest.of(part.head, part.place, text)):
            yield test


def _aside(part: LinePart, text: str) -> Place:
    """Return of a part of a line what cannot hold readings."""
    if part.name == "attempts":
        return part.head
    return next((test.aside for test in _measuring([part], text)), part.place)


def _readings(
    text: str, taken: Sequence[Place], complaint: str, parts: Sequence[LinePart]
) -> ReadingsFound:
    found = of_tests(find_readings(text, taken=taken), list(_measuring(parts, text)))
    told = tuple(of_the_circuit(each, text, complaint) for each in found.readings)
    return replace(found, readings=told)


def _as_typed(found: Findings, line: SpeltLine) -> Findings:
    """Tell what was read in a line whose slips were mended by its places in the line as typed."""

    def doubt(each: Doubt) -> Doubt:
        place = line.place(each.place) if each.place else None
        return replace(each, place=place, text=line.typed[slice(*place)] if place else each.text)

    def words(name: str, at: int, each: str | None) -> str | None:
        within = found.places[name][at : at + 1]
        return line.as_typed(each, within[0] if within else None) if each else each

    tests = [
        replace(each, seen=words("tests", at, each.seen) or each.seen)
        for at, each in enumerate(found.tests)
    ]
    attempts = [
        replace(
            each,
            words=words("attempts", at, each.words),
            part_maker=words("attempts", at, each.part_maker),
        )
        for at, each in enumerate(found.attempts)
    ]
    contacts = [
        replace(each, words=words("contacts", at, each.words))
        for at, each in enumerate(found.contacts)
    ]
    read = (*found.tests, *found.attempts, *found.contacts)
    typed: Mapping[Any, Any] = dict(zip(read, (*tests, *attempts, *contacts), strict=True))

    def lift(each: Lift) -> Lift:
        place = line.place(each.place)
        fact = line.typed[slice(*place)] if isinstance(each.fact, str) else each.fact
        return Lift(typed.get(fact, fact), place)

    told = found.account
    return replace(
        found,
        tests=tuple(tests),
        attempts=tuple(attempts),
        contacts=tuple(contacts),
        rest=line.as_typed(found.rest),
        doubts=(*map(doubt, found.doubts), *line.slips),
        places={name: tuple(map(line.place, places)) for name, places in found.places.items()},
        account=Account(
            tuple(map(lift, told.lifted)),
            tuple(map(lift, told.kept)),
            (*map(doubt, told.asked), *line.slips),
        ),
    )


def _parted(text: str, spent: SpentInLine, today: date, complaint: str | None) -> PartedLine:
    parted = part_line(spent.masked)
    parted.take_bought(text, spent)
    names = {part.name for part in parted.parts}
    if names <= {"contacts"} and (complaint is not None or names):
        apart = by_days(spent.masked, today)
        if apart:
            parted.parts = [LinePart("contacts", place, place) for place, _ in apart]
            parted.left = []
            return parted
    if complaint is not None and not any(
        part.name in ("attempts", "contacts") for part in parted.parts
    ):
        _take_comeback(parted, spent.masked)
        _take_plain_word(parted, text, spent, today, complaint)
    return parted


def _take_plain_word(
    parted: PartedLine, text: str, spent: SpentInLine, today: date, complaint: str
) -> None:
    """Take a line that tells nothing but how the fix fared as heard of the car later.

    With a code, a value, a time or a price in it, it tells what was found, and not what was heard.
    """
    codes = find_codes(text)
    if parted.parts or spent.labour or spent.costs or codes.lifted or codes.doubtful:
        return
    if find_readings(text).places or work_behind(text):
        return
    try:
        outcome = parse_contact(text, today).outcome
    except InvalidField:
        return
    if outcome in (Outcome.HELD, Outcome.COMEBACK) or is_complaint_again(text, complaint):
        whole = Place(len(text) - len(text.lstrip()), len(text.rstrip()))
        parted.parts, parted.left = [LinePart("contacts", whole, whole)], []


def _take_comeback(parted: PartedLine, line: str) -> None:
    """Take the first clause that tells that the fault is there as heard of a car later.

    The clauses behind it up to the next part belong to it, as to any contact.
    """
    if is_over(line):
        return
    for place, clause in enumerate(parted.left):
        asked = _ASKED.match(line, clause.place.end)
        if not asked and _tells_of_return(line[slice(*clause.place)]):
            starts = (part.place.start for part in parted.parts)
            stop = min((each for each in starts if each > clause.place.start), default=len(line))
            taken = [each for each in parted.left[place:] if each.place.start < stop]
            whole = Place(clause.place.start, taken[-1].place.end)
            parted.left = [each for each in parted.left if each not in taken]
            parted.parts = sorted(
                [*parted.parts, LinePart("contacts", whole, whole)], key=lambda part: part.place
            )
            return


def _tells_of_return(said: str) -> bool:
    """Whether a clause tells that what was cured is there again, and of nothing else."""
    if ELSEWHERE.search(said) or _IN_PART.search(said):
        return False
    if judge_contact(said) is not Outcome.COMEBACK:
        return False
    if tells_return(said):
        return True
    return judge_attempt(without_since(said)) is False and any(
        clause.has(WordRole.RETURNED, WordRole.BACK, WordRole.LAMP, *TROUBLE) or not clause.strange
        for clause in outcome_clauses(without_since(said))
        if clause.words
    )


def _judged_anew(attempt: Attempt, part: LinePart, bare: str) -> Attempt:
    """Judge an attempt whose outcome is not told by what was said beside the measured values."""
    if attempt.cured is not None or part.work is None:
        return attempt
    told = _attempt(part, part.work, bare)
    return replace(attempt, cured=told.cured, verified=told.verified)


def _taken(
    codes: Sequence[Place], names: Sequence[Place], days: Sequence[Place]
) -> Iterator[Place]:
    """Yield where codes and days stand; of a code found behind another no fix between them."""
    yield from days
    for place in codes:
        between = max((each.end for each in names if place.start < each.end < place.end), default=0)
        yield Place(max(place.start, between), place.end)


def _work_of_contact(text: str, place: Place) -> Iterator[Doubt]:
    """Ask about work that is told within what was heard of a car later."""
    begin = place.start
    while told := work_behind(text[begin : place.end]):
        start, end = told[0]
        why = "is kept as words of the contact; if it was done now, tell it in a line of its own"
        yield Doubt(told[1], why, Place(begin + start, begin + end))
        begin += end


def _work_of_readings(
    text: str, readings: ReadingsFound, fixes: Sequence[Place]
) -> Iterator[Doubt]:
    """Ask about a new part told only as when a value was measured: "0.4 after new lambda"."""
    for place in readings.places:
        told = _AFTER_NEW.search(text, *place)
        if told and not any(each.start < place.end and place.start < each.end for each in fixes):
            why = "is kept as when that was measured; if it was fitted, tell it as a fix of its own"
            yield Doubt(told["what"], why, Place(*told.span("what")))


def _shared_outcomes(
    attempts: Sequence[Attempt], parts: Sequence[LinePart], text: str
) -> Iterator[Doubt]:
    """Ask which of several fixes, or of several parts, an outcome is of."""
    for attempt, part in zip(attempts, parts, strict=True):
        said = text[slice(*part.place)]
        if attempt.cured is None and cured_in_part(said, attempt.component):
            why = "tells a cure of one part, and a failure beside it; tell each as a fix of its own"
            yield Doubt(said, why, part.place)
        elif attempt.cured is None and tells_new_trouble(said):
            why = "tells that one trouble is gone and another is there; tell whether it cured"
            yield Doubt(said, why, part.place)
    for (one, before), (two, part) in pairwise(zip(attempts, parts, strict=True)):
        if two.cured and one.cured is None and part.place.start - before.head.end < _AT_ONCE:
            why = f"tells the outcome of “{two.label}” alone; tell that of “{one.label}” as well"
            if _joined(before, part, text):
                why = (
                    f"tells one cure for two fixes, so of neither; tell “{one.label}” and "
                    f"“{two.label}” apart, each with how it fared"
                )
            yield Doubt(text[slice(*part.place)], why, part.place)


def _without_shared_cure(
    attempts: Sequence[Attempt], parts: Sequence[LinePart], text: str
) -> list[Attempt]:
    """Leave it untold which of two fixes joined by *and* cured, where one cure is told of both."""
    found = list(attempts)
    for place, (before, part) in enumerate(pairwise(parts), 1):
        if found[place].cured and attempts[place - 1].cured is None and _joined(before, part, text):
            found[place] = replace(found[place], cured=None, verified=None)
    return found


def _without_cure_of_list(
    attempts: Sequence[Attempt], parts: Sequence[LinePart], parted: PartedLine, text: str
) -> list[Attempt]:
    """Leave it untold whether a fix cured behind a list of parts that no fix has as its own."""
    listed = [each for each in parted.left if _is_listed(text[slice(*each.place)])]
    found = list(attempts)
    for place, part in enumerate(parts):
        before = parts[place - 1].place.end if place else 0
        names = [each for each in listed if before <= each.place.start < part.place.start]
        if names and found[place].cured is not None:
            found[place] = replace(found[place], cured=None, verified=None)
            said = text[slice(names[0].place.start, part.place.end)]
            why = "names parts and tells one outcome; tell each part as a fix, and how it fared"
            parted.doubts.append(Doubt(said, why, part.place))
    return found


def _is_listed(words: str) -> bool:
    """Whether words count or list parts without what was done to them."""
    return LISTED_PART.match(words) is not None


def _unread(attempts: Sequence[Attempt], parts: Sequence[LinePart], bare: str) -> Iterator[Place]:
    """Find what a list behind a deed may name as well, and no attempt has as its part."""
    for attempt, part in zip(attempts, parts, strict=True):
        tail = bare[part.head.end : part.place.end]
        for start, end in works_within(tail):
            yield Place(part.head.end + start, part.head.end + end)
        for start, end in unread_parts(bare[: part.place.end], part.head.end):
            words = bare[start:end]
            proof = find_test(words) or work_in(words) or judge_attempt(f", {words}") is not None
            if not proof and words.casefold() not in (attempt.part_maker or "").casefold():
                yield Place(start, start + len(words.rstrip()))


def _joined(before: LinePart, part: LinePart, text: str) -> bool:
    """Whether two fixes were made together, and not the later one as the first did not cure."""
    joined = _JOINED.match(text, before.head.end, part.place.end)
    return joined is not None or _AS_WELL.search(text[slice(*part.head)]) is not None


def _staged(text: str, found: ReadingsFound, attempts: Sequence[Place]) -> list[Reading]:
    """Tell of readings that stand behind what was done that they were taken after it."""
    first = min((place.start for place in attempts), default=len(text))
    return [
        replace(reading, stage=Stage.AFTER_FIX)
        if place.start > first
        and reading.stage is Stage.AS_FOUND
        and not _EARLIER.search(text, max(first, place.start - 30), place.end)
        and not _THEN_CAME_TO.match(text, place.end)
        else reading
        for reading, place in zip(found.readings, found.places, strict=True)
    ]


def _of_part(doubt: Doubt, attempts: Sequence[Attempt], places: Sequence[Place]) -> Doubt:
    """Offer a value that names no item behind a fix as one of its part: ``plug cleaned, 2 ohm``."""
    start = doubt.place.start if doubt.place else 0
    parts = [
        each.component for each, place in zip(attempts, places, strict=True) if place.start < start
    ]
    if doubt.why != NO_ITEM or not parts:
        return doubt
    with suppress(InvalidField):
        reading = parse_reading(f"{parts[-1]} {doubt.text}")
        reading = replace(reading, stage=Stage.AFTER_FIX)
        return replace(doubt, why=f"names no item; write {offer(reading, doubt.text)}")
    return doubt


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


def _doubted(
    attempts: list[Attempt], places: Sequence[Place], parted: PartedLine, line: str
) -> list[Attempt]:
    """Doubt the cures behind which a test, or other words, tell of trouble or another cure."""
    if not any(attempt.cured for attempt in attempts):
        return attempts
    behind = [
        *(Place(part.head.end, part.place.end) for part in parted.parts if part.name == "tests"),
        *(clause.place for clause in parted.left),
    ]
    said = [(each.start, line[slice(*each)]) for each in behind]
    last = max((start for start, words in said if takes_back(words)), default=0)

    def is_doubted(attempt: Attempt, place: Place) -> bool:
        others = (words for start, words in said if start > place.start)
        return place.start < last or any(
            is_credited_elsewhere(words, attempt.component) for words in others
        )

    return [
        replace(attempt, cured=None, verified=None)
        if attempt.cured and is_doubted(attempt, place)
        else attempt
        for attempt, place in zip(attempts, places, strict=True)
    ]


def _denied_holds(
    text: str, told: dict[str, list[Any]], places: dict[str, list[Place]], doubts: Sequence[Doubt]
) -> list[Doubt]:
    """Take out what is told to have held where other words of the line may tell of a comeback.

    Which of the two is so only who typed it can say: both are asked about, and neither is stored.
    """
    held = [
        place
        for contact, place in zip(told["contacts"], places["contacts"], strict=True)
        if contact.outcome is Outcome.HELD
    ]
    told_places = [place for found in places.values() for place in found]
    if not held or any(each.outcome is Outcome.COMEBACK for each in told["contacts"]):
        return []
    rest = blanked(text, [*told_places, *(each.place for each in doubts if each.place)])
    back = [Place(*each.span()) for each in _PIECE.finditer(rest) if sounds_back(each[0])]
    if told["attempts"]:  # what stands before is of the time in the workshop
        back = [each for each in back if each.start > held[0].start]
    if not back:
        return []
    kept = [n for n, place in enumerate(places["contacts"]) if place not in held]
    told["contacts"] = [told["contacts"][n] for n in kept]
    places["contacts"] = [places["contacts"][n] for n in kept]
    why = "may tell that it held and that it came back: not taken; tell each in a line of its own"
    return [Doubt(text[slice(*place)], why, place) for place in sorted([*held, *back])]


_NOT_REACHED = compiled(
    r"\b(?:no (?:answer|reply|response)|(?:left|leave) (?:an? )?(?:msg|message|vm|voice ?mail"
    r"|vmail)"
    r"|v(?:oice)? ?mail|vm|msg left|engaged|not in|keine? (?:antwort|r[üu]ckmeldung)|nicht erreicht"
    r"|pas de r[ée]ponse|nie odbiera|brak odpowiedzi)\b",
    re.IGNORECASE,
)
_PLANNED = compiled(
    r"\b(?:to|will|shall|should|soll(?:en)?|wird|va|doit|ma"
    r"|b[ęe]dzie) (?:\w+ ){0,2}?(?:monitor|watch|report|call|ring"
    r"|phone|try|observe|keep|see|beobachten|melden|testen|surveiller|rappeler|obserwowa[ćc]"
    r"|zadzwoni[ćc])\b",
    re.IGNORECASE,
)


def _tells_nothing_heard(contact: Contact) -> bool:
    """Whether a contact tells of a talk, or one to come, and nothing of the car.

    Examples
    --------
    >>> today = date(2026, 3, 2)
    >>> said = "spoke to her mum", "cust to monitor", "rang, no answer", "spoke to her, same noise"
    >>> [_tells_nothing_heard(parse_contact(each, today)) for each in said]
    [True, True, False, False]
    """
    if contact.outcome is not Outcome.NOT_TOLD or contact.job or contact.odometer_km:
        return False
    words = contact.words or ""
    if _NOT_REACHED.search(words):
        return False
    told = [clause for clause in outcome_clauses(_PLANNED.sub(" ", words)) if clause.words]
    return not any(clause.has(*_OF_THE_CAR) for clause in told)


def _sounds_of_return(contact: Contact) -> bool:
    if contact.outcome is Outcome.COMEBACK:
        return True
    said = _CALL_AGAIN.sub("", contact.words or "")
    return contact.outcome is Outcome.NOT_TOLD and any(
        clause.has(*_TROUBLE_HEARD) for clause in outcome_clauses(said)
    )


_AT_BEFORE_KM = compiled(r"[\s,]*(?<!\w)(?:at|@|on|bei|mit|à|przy)\s*$", re.IGNORECASE)
_BEHIND_AT = range(3)
"""So many characters may part "held at" from the kilometres behind it."""


def _whole(places: Mapping[str, Sequence[Place]]) -> Iterator[Place]:
    return (place for found in places.values() for place in found)


_Spent = Labour | PartsCost | Distance


def _of_earlier_fix(
    spent: SpentInLine, left: Sequence[TalkClause], has_attempts: bool
) -> tuple[tuple[FixVerdict, Place] | None, Later | None, list[tuple[_Spent, Place]]]:
    """Return a verdict on an earlier fix, what else a line gives it, and what was spent at all.

    Nothing is given, nor taken as spent, where the line tells a deed that is not understood: it is
    of that. An outcome behind a list of parts is of these.
    """
    told = (spent.masked[slice(*clause.place)] for clause in left)
    if not has_attempts and any(map(_tells_a_deed, told)):
        return None, None, [each for each in spent.found if isinstance(each[0], Distance)]
    before_list = takewhile(lambda each: not _is_listed(spent.masked[slice(*each.place)]), left)
    verdict = _verdict(spent.masked, [*before_list], has_attempts)
    later = _only(verdict) if has_attempts else spent.later(verdict and verdict[0])
    return verdict, later, spent.found


def _tells_a_deed(words: str) -> bool:
    """Whether words that are no part begin with what was done: a time beside them is of that.

    Examples
    --------
    >>> _tells_a_deed("reworked carrier bearing"), _tells_a_deed("that took 95 min")
    (True, False)
    """
    return _DEED.match(words) is not None


def _only(verdict: tuple[FixVerdict, Place] | None) -> Later | None:
    return Later(verdict=verdict[0]) if verdict else None


def _fact(
    part: LinePart, text: str, spent: SpentInLine, today: date, stretch: Place
) -> tuple[str, Any] | None:
    """Read a part of a line as what its list holds; None of a test that saw codes alone.

    The `stretch` of the part reaches up to the next one.
    """
    said = spent.masked[slice(*part.place)]
    if part.name == "contacts":
        end = part.place.end + text.startswith(".", part.place.end)
        words = text[part.place.start : end]
        if any(place.start - end in _BEHIND_AT for _, place in spent.odometers):
            words = _AT_BEFORE_KM.sub("", words)
        shown = spent.shown_in(stretch)
        contact = parse_contact(words, today, is_shown=shown is not None)
        if contact.outcome is Outcome.HELD and ends_with_until_today(text[: part.place.start]):
            contact = replace(contact, outcome=Outcome.NOT_TOLD)
        shown = shown if contact.odometer_km is None else None
        return part.name, replace(contact, odometer_km=shown.km) if shown else contact
    if part.name == "tests":
        name, seen = text[slice(*part.head)], said[part.head.end - part.place.start :]
        if not _WORD.search(blanked(seen, find_codes(seen).lifted)) and find_codes(seen).codes:
            return None
        minutes = spent.minutes_in(part.place)
        return part.name, seen_in_test(text[slice(*part.place)], name, seen, minutes or None)
    if part.work is None:
        raise InvalidField("attempt", said, "does not say what was done")
    return part.name, _attempt(part, part.work, spent.masked)


def _attempt(part: LinePart, work: Work, line: str) -> Attempt:
    """Read a part of a line as an attempt."""
    said, asked = line[slice(*part.place)], _ASKED.match(line, part.place.end)
    behind = _SIGNED.sub("", said[work.end :]) + (asked[0] if asked else "")
    before = line[max(0, part.place.start - _NEAR) : part.place.start]
    if _DID.match(behind) and _DID_NOT.search(before):
        behind = ", cured"
    if CURED_BY.match(said):
        behind = f", cured, {behind}"
    return attempt_of(work, said, behind)


def _verdict(
    text: str, left: Sequence[TalkClause], has_attempts: bool
) -> tuple[FixVerdict, Place] | None:
    """Read how a fix of an earlier line fared, of the clauses of a line that are no part.

    Only what is plainly told of a fix counts; before a further attempt, only that it did not cure.
    """
    if not left:
        return None
    said = text[left[0].place.start : left[-1].place.end] if has_attempts else text
    if not (_AFTER_SUCCESS.search(said) or _AFTER_FAILURE.search(said)):
        return None
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
