"""What was found and done, said in one line: causes, attempts, tests and later contacts.

The technician's words are kept beside what was read from them wherever that is shorter than they
are.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, NamedTuple

from kb.case import (
    Action,
    Attempt,
    Cause,
    Contact,
    DiagnosticTest,
    FailureMode,
    Outcome,
    Reading,
    TroubleCode,
)
from kb.errors import InvalidField
from kb.intake.account import Account, Lift, account
from kb.intake.codes import find_codes
from kb.intake.costs import lift_cost
from kb.intake.distances import lift_odometer
from kb.intake.finding_words import ACTIONS, BEHIND, HEARD, failure_mode, leading
from kb.intake.lifting import Doubt, Lifted, Place, blanked, cut, merged
from kb.intake.outcomes import judge_attempt, judge_contact
from kb.intake.positions import find_position
from kb.intake.readings import find_readings

_PLACE = re.compile(
    r"\s(?=(?:under|underneath|beneath|behind|below|inside|in|at|on|near|by|above|over|between"
    r"|beside|next to|along|across|through)\s)"
)
_BEFORE = frozenset({"the", "a", "an", "was", "is", "had", "has", "of", "and"})
_BEHIND = frozenset({"was", "is", "had", "has", "been", "of", "with", "in", "and", "the"})
_PAIRS = frozenset({("due", "to"), ("because", "of")})
_VERIFIED = re.compile(
    r"(?:[,;]|(?<!\s))\s*\b(?:verified(?: by| with|:)?\s+"
    r"(?![^,;]{0,60}\b(?:no|not|nobody|never|later|tomorrow|pending|to be|yet)\b)(?P<how>[^,;]+)"
    r"|(?P<known>road[- ]?test(?:ed)?(?: ok| good)?|self[- ]?test (?:passed|ok)"
    r"|codes? (?:did|do|does) not (?:return|come back)|no codes? (?:back|returned)"
    r"|readings? (?:back )?(?:in|within) (?:the )?(?:normal )?(?:band|range|spec)))",
    re.IGNORECASE,
)
_MINUTES = re.compile(r"(?:[,;]|(?<!\s))\s*\b([0-9]{1,4}) ?min(?:s|utes?)?\b\.?", re.IGNORECASE)
_DAY = re.compile(r"\b(?:on )?([0-9]{4}-[0-9]{2}-[0-9]{2})\b")
_JOB = re.compile(r"\b(?:as )?(?:job ?#?|#)([0-9]{1,9})\b|#([0-9]{1,9})\b", re.IGNORECASE)
_PARTINGS = (
    r"(?<!\s)\s*(?::\s+|:$)",
    r"(?<!\s)\s+(?:->|=>|→|-|–)\s+",
    r"(?<!\s)\s*[;,]\s*",
)
_TESTING = re.compile(
    r"\b(?:test(?:ed)?|check(?:ed)?|scan(?:ned)?|scoped?|wiggled?|swap(?:ped)? side|compared?"
    r"|inspect(?:ed|ion)|visual|volt drop|smoke)\b",
    re.IGNORECASE,
)
_LITTLE = "the a an was is had has been of due to because with and"
_LITTLE_WORDS = frozenset(_LITTLE.split())
_LOOSE = " \t\n,;:.-–—()"


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What a line told of a job: its parts, the words left over, and what was doubtful.

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


class _Piece(NamedTuple):
    """A part of a line between two semicolons or line ends, without the blanks around it."""

    text: str
    place: Place


def find_findings(text: str, today: date) -> Findings:
    """Read a line of shop talk about a job: pieces parted by semicolons or line ends.

    A piece that begins with what was done is an attempt, one that begins with how a fix fared is
    a contact, one that tells a test, a colon and what was seen is a test. Codes and readings are
    lifted out of all others, and the words left over are kept as they are; so are those of a piece
    that only begins like an attempt or a contact, with a doubt.

    A contact that names no day is of today.

    Examples
    --------
    >>> line = "B1234-13, motor feed 4.1 V; cleaned door plug, no change"
    >>> found = find_findings(line, date(2026, 3, 2))
    >>> [str(code) for code in found.codes], [reading.typed for reading in found.readings]
    (['B1234-13'], ['4.1 V'])
    >>> [attempt.label for attempt in found.attempts], found.rest
    (['cleaned door plug'], '')
    >>> [line[start:end] for start, end in found.places["attempts"]]
    ['cleaned door plug, no change']
    """
    told: dict[str, list[Any]] = {name: [] for name in ("tests", "attempts", "contacts")}
    places: dict[str, list[Place]] = {name: [] for name in told}
    doubts: list[Doubt] = []
    for piece in _with_outcomes(text, _pieces(text)):
        try:
            part = _part(piece.text, today)
        except InvalidField as error:
            doubts.append(Doubt(piece.text, f"{error.cure}: kept as words", piece.place))
            continue
        if part is not None:
            name, fact = part
            told[name].append(fact)
            places[name].append(piece.place)
    told_whole = [place for found in places.values() for place in found]
    codes = find_codes(blanked(text, told_whole))
    readings = find_readings(text, taken=merged([*told_whole, *codes.lifted]))
    told |= {"codes": list(codes.codes), "readings": list(readings.readings)}
    places |= {"codes": list(codes.places), "readings": list(readings.places)}
    doubts += [*codes.doubtful, *readings.doubtful]
    lifted = (lift for name in told for lift in map(Lift, told[name], places[name]))
    return Findings(
        rest=readings.rest,
        doubts=tuple(doubts),
        places={name: tuple(found) for name, found in places.items()},
        account=account(text, lifted, doubts, codes.lifted, every_word=True),
        **{name: tuple(parts) for name, parts in told.items()},
    )


def _pieces(text: str) -> Iterator[_Piece]:
    for match in re.finditer("[^;\n]+", text):
        if said := match.group().strip():
            start = match.start() + match.group().index(said[0])
            yield _Piece(said, Place(start, start + len(said)))


def _with_outcomes(text: str, pieces: Iterable[_Piece]) -> list[_Piece]:
    """Join a piece that tells nothing but an outcome to the attempt before it that tells none."""
    whole: list[_Piece] = []
    for piece in pieces:
        if whole and _tells_only_outcome(piece.text) and _is_untold(whole[-1].text):
            place = Place(whole[-1].place.start, piece.place.end)
            whole[-1] = _Piece(text[place.start : place.end], place)
        else:
            whole.append(piece)
    return whole


def _tells_only_outcome(piece: str) -> bool:
    if HEARD.match(piece) or judge_attempt(piece) is None or _tells_test(piece):
        return False
    return not (_attempt(piece) or find_codes(piece).codes or find_readings(piece).readings)


def _is_untold(piece: str) -> bool:
    attempt = _attempt(piece)
    return attempt is not None and attempt.cured is None


def _attempt(piece: str) -> Attempt | None:
    try:
        return parse_attempt(piece)
    except InvalidField:
        return None


def _part(piece: str, today: date) -> tuple[str, Any] | None:
    """Read a piece as a part of a job, and name the list it belongs to; None if it is none."""
    if leading(piece, ACTIONS):
        return "attempts", parse_attempt(piece)
    if HEARD.match(piece):
        return "contacts", parse_contact(piece, today)
    return ("tests", parse_test(piece)) if _tells_test(piece) else None


def _tells_test(piece: str) -> bool:
    """Whether a piece names a test, and behind the next colon what was seen."""
    *named, _ = parts = piece.split(":")
    return any(
        behind[:1].isspace() and _TESTING.search(before) is not None
        for before, behind in zip(named, parts[1:], strict=True)
    )


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
    line, minutes = _lift_minutes(" ".join(text.split()))
    parts_cost, line = lift_cost(line)
    verified, plain = _lift(_VERIFIED, line)
    begun = leading(plain, ACTIONS)
    if begun is None:
        known = ", ".join(Action)
        raise InvalidField("attempt", text, f"must begin with what was done: {known}")
    action, rest = begun
    what = BEHIND.split(rest.strip(), maxsplit=1)[0]
    behind = line.partition(what)[2] if what else ""
    component = _bare(find_position(what)[1])
    if not component:
        raise InvalidField("attempt", text, f"does not say what was {action}")
    cured = judge_attempt(_VERIFIED.sub(_known_proof, behind), component)
    attempt = Attempt(
        action=action,
        component=component,
        cured=cured,
        minutes=minutes,
        parts_cost=parts_cost,
        verified=verified.strip(_LOOSE) if verified and cured else None,
    )
    return attempt if _same(plain, attempt.label) else replace(attempt, words=line.strip(_LOOSE))


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
    line, minutes = _lift_minutes(text)
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


def _lift_minutes(text: str) -> tuple[str, int | None]:
    minutes, rest = _lift(_MINUTES, text)
    return rest, int(minutes) if minutes else None


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
