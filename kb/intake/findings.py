"""What was found and done, said in one line: causes, attempts, tests and later contacts.

The technician's words are kept beside what was read from them wherever that is shorter than they
are.
"""

import re
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

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
from kb.intake.codes import find_codes
from kb.intake.costs import lift_cost
from kb.intake.distances import lift_odometer
from kb.intake.finding_words import ACTIONS, OUTCOMES, failure_mode, leading
from kb.intake.lifting import Doubt, Lifted, cut
from kb.intake.positions import find_position
from kb.intake.readings import find_readings

_PLACE = re.compile(
    r"\s(?=(?:under|underneath|beneath|behind|below|inside|in|at|on|near|by|above|over|between"
    r"|beside|next to|along|across|through)\s)"
)
_FILLER = re.compile(
    r"^(?:the|a|an|was|is|had|has|of|due to|because of|and)(?:\s+|$)"
    r"|(?<!\s)\s+(?:was|is|had|has|been|due to|of|with|in|and|the)$"
)
_NOT_CURED = re.compile(
    r"\b(?:no (?:change|cure|fix|good|better|help|joy|difference)"
    r"|not (?:cured|fixed|it|ok|okay|right)"
    r"|did(?:n['’]?t| not) (?:help|cure|fix|hold|work)|still (?:there|on|dead|the same|same|faulty)"
    r"|same (?:again|fault))\b|^no$",
    re.IGNORECASE,
)
_CURED = re.compile(
    r"\b(?:cured|fixed(?: it)?|sorted|ok|okay|all good|(?:lamp|light) out"
    r"|(?:fault|code)s? gone|no (?:codes?|faults?|lamp)|works(?: again)?|good|yes)\b",
    re.IGNORECASE,
)
_VERIFIED = re.compile(
    r"(?:[,;]|(?<!\s))\s*\b(?:verified(?: by| with|:)?\s+(?P<how>[^,;]+)"
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
    """What a line told of a job: its parts, the words left over, and what was doubtful."""

    codes: tuple[TroubleCode, ...]
    readings: tuple[Reading, ...]
    tests: tuple[DiagnosticTest, ...]
    attempts: tuple[Attempt, ...]
    contacts: tuple[Contact, ...]
    rest: str
    doubts: tuple[Doubt, ...]


def find_findings(text: str, today: date) -> Findings:
    """Read a line of shop talk about a job: pieces parted by semicolons or line ends.

    A piece that begins with what was done is an attempt, one that begins with how a fix fared is
    a contact, one that tells a test, a colon and what was seen is a test. Codes and readings are
    lifted out of all others, and the words left over are kept as they are.

    A contact that names no day is of today.

    Raises
    ------
    InvalidField
        If an attempt does not say to what it was done, or a contact names a day that is none.

    Examples
    --------
    >>> line = "B1234-13, motor feed 4.1 V; cleaned door plug, no change"
    >>> found = find_findings(line, date(2026, 3, 2))
    >>> [str(code) for code in found.codes], [reading.typed for reading in found.readings]
    (['B1234-13'], ['4.1 V'])
    >>> [attempt.label for attempt in found.attempts], found.rest
    (['cleaned door plug'], '')
    """
    told: dict[str, list[Any]] = {name: [] for name in ("tests", "attempts", "contacts")}
    plain: list[str] = []
    for piece in (part.strip() for part in re.split("[;\n]", text)):
        if leading(piece, ACTIONS):
            told["attempts"].append(parse_attempt(piece))
        elif leading(piece, OUTCOMES):
            told["contacts"].append(parse_contact(piece, today))
        elif _tells_test(piece):
            told["tests"].append(parse_test(piece))
        elif piece:
            plain.append(piece)
    codes = find_codes("; ".join(plain))
    readings = find_readings(codes.rest)
    return Findings(
        codes=codes.codes,
        readings=readings.readings,
        rest=readings.rest,
        doubts=(*codes.doubtful, *readings.doubtful),
        **{name: tuple(items) for name, items in told.items()},
    )


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
    code that did not return, a reading back in its band, or whatever follows ``verified``.

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
    what, *more = re.split(r"[,;:(]| (?:with|and|but|using|-|–) ", rest, maxsplit=1)
    component = _bare(find_position(what)[1])
    if not component:
        raise InvalidField("attempt", text, f"does not say what was {action}")
    attempt = Attempt(
        action=action,
        component=component,
        cured=_cured(" ".join(more)),
        minutes=minutes,
        parts_cost=parts_cost,
        verified=verified and verified.strip(_LOOSE),
    )
    return attempt if _same(plain, attempt.label) else replace(attempt, words=line.strip(_LOOSE))


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
    without a day it is of today.

    Raises
    ------
    InvalidField
        If it says neither that the fix held, nor that the complaint came back, nor that the
        vehicle came for another reason.

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
    said = re.sub(r"\bno comeback\b", Outcome.HELD, rest, flags=re.IGNORECASE)
    outcome = next((word for word, form in OUTCOMES.items() if form.search(said)), None)
    if outcome is None:
        raise InvalidField("contact", text, f"must say one of: {', '.join(Outcome)}")
    words = rest.strip(_LOOSE)
    return Contact(
        on=_day("contact.on", day) if day else today,
        outcome=outcome,
        odometer_km=distance and distance.km,
        job=int(job) if job else None,
        words=None if _same(words, outcome) else words,
    )


def _cured(text: str) -> bool | None:
    if _NOT_CURED.search(text.strip()):
        return False
    return True if _CURED.search(text) else None


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
    bare = text.strip(_LOOSE)
    while (less := _FILLER.sub("", bare).strip(_LOOSE)) != bare:
        bare = less
    return bare


def _same(one: str, other: str) -> bool:
    return _words(one) == _words(other)


def _words(text: str) -> set[str]:
    return set(re.findall(r"\w+", text.casefold()))
