"""One fact, told by itself: what was wrong, a fix that was tried, a test, what was heard later.

The technician's words are kept beside what was read from them wherever that is shorter than they
are.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from kb.case import Action, Attempt, Cause, Contact, DiagnosticTest, FailureMode, Outcome
from kb.errors import InvalidField
from kb.intake.costs import lift_cost
from kb.intake.days import heard_on, tells_day_to_come
from kb.intake.days_apart import by_days, by_distances, sounds_back
from kb.intake.deed_words import ACTIONS
from kb.intake.distances import LEAST, find_odometers
from kb.intake.durations import find_labour
from kb.intake.elapsed import returned_then, without_unknown_day
from kb.intake.failure_words import failure_mode
from kb.intake.lifting import Lifted, Place, cut
from kb.intake.outcome_words import DENIALS, TROUBLE, WordRole
from kb.intake.outcome_words import clauses as outcome_clauses
from kb.intake.outcomes import is_answered, judge_attempt, judge_contact, takes_back
from kb.intake.part_makers import find_maker
from kb.intake.part_words import FROM_WHERE
from kb.intake.pieces import Work, with_more_parts, work_behind, work_in
from kb.intake.positions import find_position
from kb.intake.swaps import told_by_swap
from kb.intake.tellers import is_told_by_others
from kb.intake.two_ways import without_until_today
from kb.intake.word_forms import leading
from kb.patterns import compiled

_PLACE = compiled(
    r"\s(?=(?:under|underneath|beneath|behind|below|inside|in|at|on|near|by|above|over|between"
    r"|beside|next to|along|across|through)\s)"
)
_END_OF_CAR = compiled(
    r"\s*(?P<to>(?:(?:on|at|in) )?(?:the )?)(?P<end>front|rear) (?!left|right|side)(?=[^\W\d_])",
    re.IGNORECASE,
)
_END_BEHIND = compiled(
    r"(?<=[^\W\d_])(?<! on)(?<! at)(?<! in)(?<! the)(?<!under)(?<!above) "
    r"(?=(?:front|rear) (?:axle|diff(?:erential)?|subframe|beam|cradle)\b *(?:,|$))",
    re.IGNORECASE,
)
"""Between a part and the end of the car where it sits: "wheel bearing rear axle"."""
_BEFORE = frozenset({"the", "a", "an", "was", "is", "had", "has", "of", "and"}) | {
    *("le", "la", "les", "der", "das", "den", "dem")
}
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
_JOB = compiled(r"\b(?:as )?(?:job ?#?|#)([0-9]{1,9})\b|#([0-9]{1,9})\b", re.IGNORECASE)
_PARTINGS = (
    r"(?<!\s)\s*(?::\s+|:$)",
    r"(?<!\s)\s+(?:->|=>|→|-|–)\s+",
    r"(?<!\s)\s*[;,]\s*",
)
_PART_NUMBER = compiled(
    r"\b(?:p/?n|(?:pt|part)\.? ?(?:no|nr|number)|oem|ref)[ .:#]*(?=\S*[0-9])\S+", re.IGNORECASE
)
"""Its "no" denies nothing."""
_COMMAS = compiled(r"(?<!\s)\s*+,(?:\s*+,)*(?=\s|$)")
_PARTICLE = compiled(
    r"^ *(?:(?:in|on|up|out|off) +)?(?:an? |the )?"
    r"(?:(?:new|recon(?:ditioned)?|second[- ]?hand|s/h|good used|used|genuine|pattern"
    r"|aftermarket) +)*",
    re.IGNORECASE,
)
_COUNTED = compiled(
    r"^(?:[0-9]+ ?x |1 (?=[^\W\d_])|(?:[0-9]{1,2}|two|three|four|both) (?=[^\W\d_].*s$)"
    r"|(?:a |the )?(?:(?:full |complete )?set|pair|couple) of (?=[^\W\d_])"
    r"|(?:a |the )?pair (?=[^\W\d_].*s$)"
    r"|all (?:(?:two|three|four|five|six|eight|[2-8]) )?(?:of )?(?:the )?(?=[^\W\d_].*s$))"
    r"|(?: x ?[0-9]+|(?: all)? [0-9.,]+| all)$| x ?[0-9]+(?= (?:[+&]|and)\s)",
    re.IGNORECASE,
)
"""How many there were of a part, which is not its name."""
_ONLY_COUNTED = compiled(
    r"(?:a |the )?(?:pair|set|lot|couple|both|all)(?: of(?: (?:them|these|those))?)?"
    r"|(?:all |both |the )?(?:two|three|four|five|six|eight|[2-8])(?: of them)?",
    re.IGNORECASE,
)
"""A count with no part behind it."""
_COUNTED_NEXT = compiled(r"(?<=\w) [1-9][0-9]? ?x (?=[^\W\d_])", re.IGNORECASE)
_AND_SO = compiled(r"^\s*(?:und|et|i|oraz)\s+", re.IGNORECASE)
_ALSO = compiled(r"\s+(?:plus|as well as|incl(?:uding\b|\.|\b))\s+", re.IGNORECASE)
_COUNTED_IN_LIST = compiled(
    r"(?P<joint>,|\band|&|\+) +(?:(?:the|an?|its|new|both|two|three|four|[1-9][0-9]?) +)+"
    r"(?=[^\W\d_])",
    re.IGNORECASE,
)
_OTHER_CURE = compiled(
    r"(?<![\s,;:])[\s,;:]*+\b(?:then |and |but |only |until |finally )*"
    r"(?:cured|fixed|sorted|solved|resolved|gone|ok|okay|fine|good|right|works?|worked|working"
    r"|stopped|better)(?: again| now| only)?"
    r" (?:by|with|after|when|once|from|through)"
    r" (?:\S+ )?(?:replac|renew|swap|chang|fit|install|clean|tighten|adjust|repair|mend|solder|seal"
    r"|weld|lubricat|greas|free|fill|bleed|charg|clear|reset|program|cod|updat|flash|mov|secur"
    r"|align|torqu|re[a-z]{3,})\w*ing\b.*",
    re.IGNORECASE | re.DOTALL,
)
"""A cure by something else than what stands before it."""
_SHARE = compiled(r"(?<=\w) +(?P<share>[0-9]{1,3} ?%)$")
"""How far a fix helped, said at once behind the part: it is no part of its name."""
_RATING = compiled(
    r"(?: +[0-9]+(?:[.,][0-9]+)? ?(?:v|volts?|w|a|amps?|ah|c|deg|grad|mm|kw|bar|l|ltr|litres?|ml"
    r"|m?g|kg|gram(?:me)?s?))+$",
    re.IGNORECASE,
)
_ONLY_STARTS = compiled(r"[\s,;.]*(?:and |it |car )*start(?:s|ed)[\s.]*", re.IGNORECASE)
"""What a charged battery does, whatever had drained it."""
_REGASSED = compiled(r"re-?gas(?:sed)?", re.IGNORECASE)
_AS_DONE = compiled(
    r" (?:too|also|as well"
    r"|back (?:in|on|together)|coded|programmed|bled|bought|supplied|sourced)(?: and)?$",
    re.IGNORECASE,
)
_TAKEN_APART = compiled(
    r"(?<=\w) (?:stripped|dismantled|(?:taken|pulled|took) (?:apart|off|out|down)|opened(?: up)?)"
    r"(?:,| and| &| \+)*$",
    re.IGNORECASE,
)
"""What was done to a part before what mended it: "caliper stripped and greased"."""
_BACK_AGAIN = compiled(r"(?<!\bseat) back(?: (?:in|on|together))?$", re.IGNORECASE)
"""Behind a part that was put back; a seat has a back of its own."""
_IN_VAIN = compiled(
    r",? (?:all )?(?:for (?:nothing|nowt)|in vain|to no avail|umsonst|vergeblich|pour rien)$",
    re.IGNORECASE,
)
"""Behind the part that was changed, and no name of it."""
_OF_A_VERSION = compiled(
    r"(?<=ecu|ecm|pcm|tcm|tcu|bcm|dme|ule|nit|abs|hcu)"
    r" (?:sw|s/w|fw|software|firmware)(?: (?:version|rev|v)?\.? ?[0-9][\w.]*)?$",
    re.IGNORECASE,
)
"""A control unit's programs are what was renewed in it, and no part beside it."""
_WELL_FITTED = compiled(r" (?:ok|okay)$", re.IGNORECASE)
_SEVERAL = compiled(r"\band\b|[&+,]")
_RETURNS = (WordRole.RETURNED, WordRole.BACK, WordRole.AGAIN)
_TYPED_OUTCOME = compiled(
    r"\W*(?:held|holding|(?P<back>come ?back))"
    r"(?=\s*(?:$|[,;.:(!?–—]|-\s)| (?:at|on|when|by) (?:(?:the|its|his|her|last|next) )*"
    r"(?:mot|inspection|service|visit|check|follow|tyres?|seen|in for|heard|phone|collected)\b)",
    re.IGNORECASE,
)
"""How a fix fared, typed first and by itself."""
_HELD_IN_POLISH = compiled(
    r"\W*(?:(?:naprawa|wszystko|nadal|wciąż|dalej|cały czas|ciągle|jak dotąd|do dziś"
    r"|dobrze) )*trzyma"
    r"(?: (?:się|nadal|dalej|dobrze|do dziś|do tej pory|bez zmian))*\W*",
    re.IGNORECASE,
)
"""By itself alone: of a brake it tells that it binds."""
_SO_FAR = compiled(
    r"\b(?:so far|thus far|for now|as yet|(?:till?|until|up to|to) (?:now|date)|at the moment"
    r"|bisher|bislang|bis jetzt|bis dato|vorl[äa]ufig|derzeit|im moment"
    r"|jusqu['’]?ici|jusqu['’]?[àa] (?:pr[ée]sent|maintenant)|pour (?:l['’]?instant|le moment)"
    r"|(?:jak )?dot[ąa]d|(?:jak )?na razie|do tej pory|dotychczas|p[óo]ki co)(?!\w)",
    re.IGNORECASE,
)
_STRETCH = compiled(
    r"[0-9]|\b(?:an?|one|two|three|four|five|six|seven|eight|nine|ten|few|couple"
    r"|several|since|seit\w*|depuis|od"
    r"|zwei|drei|vier|paar|deux|trois|quatre|quelques|dwa|dwie|trzy|cztery|kilka)"
    r" (?:\w+ ){0,2}?(?:days?|weeks?|wks?|months?|mths?|years?|yrs?|miles?|km|tage?n?|wochen?"
    r"|monate?n?|jahre?n?"
    r"|jours?|semaines?|mois|ans|dni|tygodni\w*|miesi[ęe]c\w*|lat\w*)\b"
    r"|\b(?:all|the whole) (?:winter|summer|month|week|year)\b",
    re.IGNORECASE,
)
_DENIED = compiled(r"n['’]t\b|\b(?:not|never|nobody|no (?:answer|reply|news|contact))\b", re.I)
_BESIDE = " \t\n,;:-–—"
_NO_SIGN = " \t\n,;:"
_SIGN_ONLY = compiled(r"^(?:[-–—](?!\.?[0-9])[\s,;:]*)+")
"""A dash before what was seen; before a number it is its sign."""
_POSITIONS = 4
_LITTLE = "the a an was is had has been of due to because with and"
_LITTLE_WORDS = frozenset(_LITTLE.split())
_LOOSE = " \t\n,;:.-–—()"


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
    position, told_pieces = _placed(f"{line[:start]} , {line[end:]}")
    pieces = [piece for part in told_pieces if (piece := _bare(part))]
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
    told = _words(f"{' '.join(told_pieces)} {line[start:end]}")
    told -= _words(f"{cause.label} {position or ''}") | _LITTLE_WORDS
    return replace(cause, words=text.strip()) if told else cause


def _placed(text: str) -> tuple[str | None, list[str]]:
    """Lift the position out of the parts of a cause between its commas, each by itself.

    A part behind a comma that names an end of the car and what sits there is a place, which keeps
    its end: "carrier bearing, rear axle". A position that excludes one told before stays in the
    words.
    """
    position: str | None = None
    rest: list[str] = []
    for part in re.split("[,;:]", _END_BEHIND.sub(", ", text)):
        found, words = find_position(part)
        end = _END_OF_CAR.match(part) if any(map(_bare, rest)) else None
        if found and end:
            named = words.removeprefix(end["to"].strip().lower()).strip()
            words = f"{end[0].strip().lower()} {named}"
            found = None if found == end["end"].lower() else found
        both = f"{position or ''} {found or ''}".strip()
        if find_position(both)[1] and both:
            words = " ".join(part.lower().split())
        else:
            position = find_position(both)[0]
        rest.append(words)
    return position, rest


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
    work = with_more_parts(work, plain, 0, len(plain))
    attempt = attempt_of(work, line, line.partition(work.what)[2])
    return replace(attempt, minutes=minutes, parts_cost=parts_cost)


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


_PIECES = compiled(r"[,;.]|\b(?:and|but|then|und|aber|dann)\b")


def parse_contact(text: str, today: date, *, is_shown: bool = False) -> Contact:
    """Read what was heard of a vehicle later.

    As ``held``, ``comeback 2026-05-02 at 91 000 km as job 214``, ``came back 14.02., same noise``;
    without a day it is of today (`kb.intake.days.heard_on`). How the fix fared is judged by
    `kb.intake.outcomes.judge_contact`; where that is not told, the words are kept. With `is_shown`
    an odometer is told beside it.

    Raises
    ------
    InvalidField
        If it is empty, names a day that is none, or tells of two days what cannot be one contact.

    Examples
    --------
    >>> heard = parse_contact("came back at 91 000 km as job 214", date(2026, 5, 2))
    >>> heard.outcome.value, heard.odometer_km, heard.job, heard.on.isoformat()
    ('comeback', 91000, 214, '2026-05-02')
    """
    line = " ".join(text.split())
    if apart := by_days(line, today):
        return _of_several_days(line, apart, today)
    on = heard_on(line, today)
    # a day that is only taken to be meant stays in the words
    rest = cut(line, [Lifted(*on.place)]) if on.place and on.doubt is None else line
    job, rest = _lift(_JOB, rest)
    alone = (each for each in find_odometers(rest, bare=True) if each[0].km >= LEAST)
    shown = find_odometers(rest) or [*alone]
    last, told = by_distances(rest, shown) or (shown[0][0] if shown else None, None)
    rest = cut(rest, [Lifted(_with_at(rest, start), end) for _, (start, end) in shown])
    if not line:
        raise InvalidField("contact", text, f"is empty; write one of: {', '.join(Outcome)}")
    outcome = _judged_contact(rest.replace(on.doubt.text, "", 1) if on.doubt else rest)
    words = rest.strip(_LOOSE)
    if outcome is Outcome.HELD and not (on.day or shown or is_shown) and _is_only_so_far(rest):
        outcome = Outcome.NOT_TOLD
    if on.day and outcome is Outcome.NOT_TOLD and returned_then(words):
        outcome = Outcome.COMEBACK
    if told:
        outcome, words = told, line
    if on.day is None and tells_day_to_come(line, today):
        outcome, words = Outcome.NOT_TOLD, line
    return Contact(
        on=on.day or today,
        outcome=outcome,
        odometer_km=last.km if last else None,
        job=int(job) if job else None,
        words=None if _same(words, outcome) else words,
    )


def _is_only_so_far(said: str) -> bool:
    """Whether all is well *so far*, and nobody says for how long; who types *held* says so.

    Examples
    --------
    >>> _is_only_so_far("no complaints so far"), _is_only_so_far("ok so far, 5 weeks")
    (True, False)
    """
    so_far = _SO_FAR.search(said) is not None and _STRETCH.search(said) is None
    return so_far and _TYPED_OUTCOME.match(said) is None and "held" not in said.casefold().split()


def _of_several_days(line: str, apart: Sequence[tuple[Place, Outcome]], today: date) -> Contact:
    """Read what is told alike of several days: it held to the last, or came back on the first."""
    told = {outcome for _, outcome in apart}
    if len(told) > 1:
        cure = "tells of two days, and not alike; tell what was heard on each by itself"
        raise InvalidField("contact", line, cure)
    place, _ = apart[0 if Outcome.COMEBACK in told else -1]
    return replace(parse_contact(line[slice(*place)], today), words=line)


def _judged_contact(said: str) -> Outcome:
    """Judge what was heard; a car that came back did so, whatever was done to it then.

    What somebody typed first and by itself, "held" or "comeback", stands, unless what follows
    tells otherwise.
    """
    outcome, work = judge_contact(said), work_behind(said)
    if outcome is Outcome.NOT_TOLD and without_until_today(said) is not None:
        return outcome
    if _HELD_IN_POLISH.fullmatch(said) and "?" not in said:
        return Outcome.HELD
    typed = _TYPED_OUTCOME.match(said)
    if typed and typed["back"] and not is_answered(said):
        behind = without_unknown_day(said[typed.end() : work[0].start if work else None])
        return Outcome.NOT_TOLD if _is_no_comeback(behind) else Outcome.COMEBACK
    if typed and outcome is not Outcome.COMEBACK:
        return Outcome.NOT_TOLD if _is_in_doubt(said[typed.end() :]) else Outcome.HELD
    if outcome is Outcome.NOT_TOLD and work:
        before = judge_contact(said[: work[0].start])
        return before if before is Outcome.COMEBACK else outcome
    return outcome


def _is_in_doubt(behind: str) -> bool:
    """Whether words behind "held" take it back, doubt it, name what was not asked, or who said so.

    Examples
    --------
    >>> _is_in_doubt(", says his brother"), _is_in_doubt(", says his wife")
    (True, False)
    """
    denied = _DENIED.search(behind) is not None and judge_contact(behind) is Outcome.NOT_TOLD
    back = any(map(_is_return, _PIECES.split(behind)))
    doubted = takes_back(behind) or _is_unsure(behind) or is_told_by_others(behind)
    return denied or back or doubted


def _is_return(said: str) -> bool:
    returned = any(each.has(WordRole.RETURNED, WordRole.BACK) for each in outcome_clauses(said))
    return returned and sounds_back(said)


def _is_no_comeback(behind: str) -> bool:
    """Whether words behind "comeback" tell that all is well, or that it was another fault."""
    told = judge_contact(behind)
    return told is Outcome.HELD or (told is not Outcome.COMEBACK and _is_unsure(behind))


def _is_unsure(behind: str) -> bool:
    return any(
        clause.asked or clause.has(WordRole.DOUBT, WordRole.ANOTHER)
        for clause in outcome_clauses(behind)
    )


def seen_in_test(text: str, name: str, seen: str, minutes: int | None) -> DiagnosticTest:
    """Return a test told in a text, of its name and what was seen.

    Raises
    ------
    InvalidField
        If one of the two is empty.
    """
    name, seen = (
        name.strip(_LOOSE),
        _SIGN_ONLY.sub("", " ".join(_COMMAS.sub(", ", seen).split()).strip(_NO_SIGN)),
    )
    seen = seen.rstrip(_BESIDE)
    if not (name and seen):
        raise InvalidField("test", text, "must tell what was done, a colon, and what was seen")
    points_to, clears = told_by_swap(name, seen)
    return DiagnosticTest(name=name, seen=seen, minutes=minutes, points_to=points_to, clears=clears)


def attempt_of(work: Work, line: str, behind: str) -> Attempt:
    """Read an attempt of what was done, all that was said of it, and what was said behind it.

    Raises
    ------
    InvalidField
        If it does not say to what it was done.
    """
    share = _SHARE.search(work.what)
    if share:
        work = replace(work, what=work.what[: share.start()])
        behind = f"{share['share']} {behind}"
    vain = _IN_VAIN.search(work.what)
    if vain:
        work = replace(work, what=work.what[: vain.start()])
        behind = f", in vain, {behind}"
    if work.action is Action.RESEATED:
        work = replace(work, what=_BACK_AGAIN.sub("", work.what))
    line = _COMMAS.sub(", ", " ".join(line.split()))
    is_fitted = work.action is Action.REPLACED and "?" not in behind
    maker = find_maker(line) if is_fitted else None
    if maker:
        said = line[slice(*maker.place)]
        work, behind = replace(work, what=_without(said, work.what)), _without(said, behind)
    component = component_of(work.what)
    if not component or _ONLY_COUNTED.fullmatch(component):
        raise InvalidField("attempt", line, f"does not say what was {work.action}")
    verified, plain = _lift(_VERIFIED, line)
    behind = _FITTED_WITH.sub("", _AND_SO.sub(", ", behind))
    behind = _OTHER_CURE.sub("", _PART_NUMBER.sub(" , ", behind))
    cured = _judged(_VERIFIED.sub(_known_proof, behind), component)
    if (vain and cured) or (work.action is Action.CHARGED and _ONLY_STARTS.fullmatch(behind)):
        cured = None
    attempt = Attempt(
        action=work.action,
        component=component,
        part_maker=maker.name if maker else None,
        cured=cured,
        verified=verified.strip(_LOOSE) if verified and cured else None,
    )
    words = " ".join(line.split()).strip(_LOOSE)
    return attempt if _same(plain, attempt.label) else replace(attempt, words=words)


def _without(said: str, text: str) -> str:
    """Return a text without some words of it."""
    start = text.find(said)
    return text if start < 0 else cut(text, [Lifted(start, start + len(said), ",")])


def _judged(behind: str, component: str) -> bool | None:
    """Judge how a fix fared; a cure with trouble again behind it is not told, nor half a cure."""
    cured = judge_attempt(behind, component)
    untold = is_back(behind) if cured else cured is False and cured_in_part(behind, component)
    return None if untold else cured


def cured_in_part(behind: str, component: str) -> bool:
    """Whether of several parts one is told to have cured, and beside that a failure.

    Examples
    --------
    >>> cured_in_part(", LF cured, brake still drags", "lf sensor and rf caliper")
    True
    >>> cured_in_part(", cured, then came back", "plugs and leads")
    False
    """
    if not _SEVERAL.search(component):
        return False
    told = outcome_clauses(behind)
    lasting = not any(
        clause.has(*_RETURNS) or clause.joint in (WordRole.THEN, WordRole.UNTIL) for clause in told
    )
    return lasting and any(
        judge_attempt(piece) and _words(piece) & (_words(component) - _LITTLE_WORDS)
        for piece in re.split("[,;]", behind)
    )


def is_back(said: str) -> bool:
    """Whether a text tells of trouble that is there again."""
    return any(
        clause.has(WordRole.AGAIN)
        and clause.has(*TROUBLE, WordRole.BROKEN, WordRole.STOPPED, WordRole.RETURNED, WordRole.LIT)
        and not clause.has(*DENIALS)
        for clause in outcome_clauses(said)
    )


_FITTED_WITH = compiled(
    r"^\s+(?:with|using|incl\.?|including|mit|avec) (?:(?!no\b|it\b)[^\s,;.]+ ){0,3}"
    r"(?:kits?|tools?|bolts?|nuts?|screws?|studs?|clips?|shims?|washers?|o-?rings?|seals?|gaskets?"
    r"|circlips?|grease|paste|sealant|glue|tape|heat-?shrink|solder|spray|cleaner|terminals?|pins?"
    r"|crimps?|hardware|fixings|werkzeug|schrauben|satz)(?=\s*,)",
    re.IGNORECASE,
)
"""What was used on the way, and cures nothing by itself: *with new bolts, cured*."""
_HOW_IT_WAS_DONE = compiled(
    r"(?:(?:^|\s+)(?:(?:[0-9]{1,2} ?x|x ?[0-9]{1,2}|[0-9]{1,2} times|once|twice|thrice"
    r"|(?:two|three|four|five|several) times|zweimal|dreimal|deux fois|trois fois|dwa razy"
    r"|trzy razy)|komplett|compl[eè]te?|kompletn[yae]|(?:beide|alle)(?= *$)|(?:les )?deux(?= *$)"
    r"|(?:in|with) (?:the |an? )?ultrasonics?(?: bath| tank| cleaner)?|on (?:the )?(?:car|vehicle)"
    r"|in situ|(?:to )?[0-9]{1,3}(?:[.,][0-9])? ?(?:nm|n·m|ft-?lbs?|lbft)))+\s*$",
    re.IGNORECASE,
)
"""How often, how whole, where or how firmly something was done: no part is called by it."""

_DONE_BESIDES = compiled(
    r"(?<=\w) (?:(?:(?:and|\+|&) )?(?:re-?)?(?:crimped|soldered|welded|torqued|tightened|coded|bled"
    r"|programmed|calibrated|adapted|balanced|greased|tensioned|aligned|heat ?shrunk)"
    r"(?: (?:on|up|in))?)+\s*$",
    re.IGNORECASE,
)
"""What else was done to a part that is told to be new: "new plug crimped"."""


def component_of(what: str) -> str:
    """Return the part named in what was done to it, without its position, number or condition."""
    if _REGASSED.fullmatch(what.strip()):
        return "a/c"
    listed = _COUNTED_IN_LIST.sub(r"\g<joint> ", _ALSO.sub(" and ", what))
    named = _END_BEHIND.split(listed, maxsplit=1)[0]
    bare = _PARTICLE.sub("", _COUNTED_NEXT.sub(" and ", named))
    for _ in range(_POSITIONS):
        bare = find_position(bare)[1]
    bare = _bare(bare)
    named = _WELL_FITTED.sub("", _RATING.sub("", _COUNTED.sub("", bare)))
    whole = re.sub(r",\s*and\b", " and", named).strip(_LOOSE + "&+")
    whole = _AS_DONE.sub("", FROM_WHERE.sub("", whole))
    whole = _DONE_BESIDES.sub("", _HOW_IT_WAS_DONE.sub("", whole))
    return _without_failure(_TAKEN_APART.sub("", _OF_A_VERSION.sub("", whole)))


def _without_failure(name: str) -> str:
    """Leave out how a part had failed before or behind its name: "loose earth"."""
    failed = failure_mode(name)
    if failed is None:
        return name
    _, start, end = failed
    kept = name[:start] if end == len(name) else name[end:] if start == 0 else name
    return kept.strip() or name


def _known_proof(match: re.Match[str]) -> str:
    """Return what a proof has to say on the outcome, parted from it as it was."""
    comma = "," if match.group().lstrip()[0] in ",;" or match["how"] else ""
    return f"{comma} {match['known'] or ''}"


def _with_at(text: str, start: int) -> int:
    """Return where "at" stands before a place, else the place."""
    return start - 3 if text[:start].endswith(" at ") else start


def _lift(pattern: re.Pattern[str], text: str) -> tuple[str | None, str]:
    match = pattern.search(text)
    if match is None:
        return None, text
    found = next(group for group in match.groups() if group)
    return found, cut(text, [Lifted(*match.span())])


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
