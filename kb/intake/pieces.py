"""A line of shop talk parted into clauses, and these into what each begins to tell.

A semicolon or line end parts always; a comma, full stop, dash or arrow parts clauses that may tell
of the same fix; "and", "then", "+" and a colon part only before work that is told anew, for
"pads and discs" is one part.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum, auto
from itertools import pairwise
from typing import NamedTuple

from kb.case import Action
from kb.intake.deed_words import ACTIONS, AFTER_DOING, CURED_BY, DOING
from kb.intake.heard_words import HEARD
from kb.intake.lifting import Place
from kb.intake.part_names import is_nameless, more_parts, split_behind
from kb.intake.part_words import may_be_part
from kb.intake.told_deeds import behind_part, done_alone, may_be_done_to, next_part, of_same_part
from kb.intake.trial_words import (
    ACCESS,
    CONNECTION,
    SEEN,
    SHOWN,
    SWAP_SHOWED,
    SWAPPED,
    TEST,
    TESTED,
    TRIED,
)
from kb.intake.undone_words import (
    ARRIVED,
    ELSEWHERE,
    NEW,
    NO_WORK,
    NO_WORK_BEHIND,
    NOT_YET,
    PLANNED_NEXT,
    THEN_ON,
)
from kb.intake.word_forms import leading
from kb.patterns import compiled

_JOINT = compiled(
    r"(?P<strong>[;\n])|(?P<stop>(?<!\bno)(?<!\bnr)(?<!\bpt)(?<!\brepl)(?<!\bincl)\.(?=\s|$)|[!?]+)"
    r"|,(?![0-9])|\s[-–—]+\s"
    r"|(?!(?:(?<=\s[1-8])|(?<=\s[1-8][\s<]))(?:->|=>|→)\s?[1-8](?!\w|[.,][0-9]))(?:->|=>|→)",
    re.IGNORECASE,
)
_AND = r"and(?! (?:insulated|taped|covered|wrapped)\b)"
"""What is done to a battery that came off tells no work anew: *off and insulated*."""
_SOFT = compiled(
    rf"\s(?:{_AND}|now|so(?! called\b)|but|&|\+)\s+"
    r"|\s(?=(?:then|followed by)\s)|\bthen\s+|:\s+"
    r"|(?:^|(?<=\s))\([1-9]\)\s+"
    rf"|(?<=\s)(?:{_AND}|but|&|\+)\s+",
    re.IGNORECASE,
)
_RUN_ON = compiled(
    r"(?<=\w)\s(?=(?:replaced|renewed|changed|swapped|fitted|installed|repaired|soldered|cleaned"
    r"|tightened|adjusted|greased|bled|flushed|reseated|reconnected|refitted|reinstalled)"
    r" (?:the|an?|it|them|both|all|new)\s)",
    re.IGNORECASE,
)
"""Before work in the past, told of a thing: "drops to 12 psi replaced the check valve"."""
_BY_WHOM = compiled(
    r"\b(?:owner|driver|cust(?:omer)?|dealer|garage|shop|mate|friend|dad|father|brother|son"
    r"|neighbou?r"
    r"|mechanic|fitter|specialist|chap|man|lady|law|us|else|steam|hot|plug|he|she|they|you"
    r"|who|someone|somebody|guy|bloke|lad|place|firm|previous|which|that|where"
    r"|after|before|when|once|since|until|because|had|has|have|been|was|were|is|being|be|get|got"
    r"|just|already|recently|to|is|and|then|i|we|first|also|finally|tried|again)$",
    re.IGNORECASE,
)
"""Before the verb: somebody else's work, or an order that is read elsewhere."""
_AS_FAR_BACK = 48
_PLANNED = compiled(r"(?:next|then|to|will|please|pls|needs?|must|should|tomorrow)\b", re.I)
_WHO = compiled(r"(?:and |then )?(?:i|we)(?:['’]?ve| have)? ", re.IGNORECASE)
_BID_WORK = compiled(
    r"(?:replace|renew|swap|change|fit|install|clean|repair|adjust|tighten|charge|clear"
    r"|update|remove"
    r"|set|reset|put)(?!\w)",
    re.IGNORECASE,
)
_BID = compiled("check|test|ran", re.IGNORECASE)
"""What somebody should do, as well as what was done."""
_NO_OBJECT = compiled(
    r"(?:my (?:arse|ass|foot|eye|backside|bum|elbow|hole)|one side|do|bis|jusqu\S*"
    r"|verified|ineffective|done|fitted|nothing|none|[0-9][0-9-]*%"
    r"|(?:cars?|vans?|vehicles?)(?! (?:speed|battery|door|radio|key|mat|seat|body|level)\b))"
    r"(?![\w-])",
    re.IGNORECASE,
)
_NAME = compiled(r"[^\W\d_]/?[^\W\d_]|[PCBU][0-9]", re.IGNORECASE)
_LED = compiled(
    r"(?:(?:(?:on )?(?:the )?(?:1st|2nd|3rd|[4-9]th|first|second|third|fourth|fifth|next|last)"
    r" (?:try|attempt|go|shot|visit)[,:]?"
    r"|i|we|i['’]?ve|we['’]?ve|j['’]ai|on a|nous avons|have|and|but|so|then|next|first(?:ly)?"
    r"|second(?:ly)?|third(?:ly)?"
    r"|also|finally|eventually|instead|therefore|tried|again|dann|danach|anschlie(?:ß|ss)end|zuerst"
    r"|zun[äa]chst|schlie(?:ß|ss)lich|puis|ensuite|enfin|d['’]abord|potem|nast[ęe]pnie|najpierw"
    r"|p[óo][źz]niej|wreszcie) +){0,3}",
    re.IGNORECASE,
)
"""Words of order before what was done."""
_COUNTED = compiled(
    r"(?:[0-9]{1,2}|two|three|four|both) ?x? (?!(?:mins?|minutes?|hrs?|hours?|h|std)\b)"
    r"(?=[a-z])|\([1-9]\) ",
    re.IGNORECASE,
)
_COLON = compiled(r":(?=\s)")
_SHORT = 10
_REACH = 160
"""What a clause begins to tell is told within so many characters."""
_NUMBERED = compiled(r"(?:^|(?<=\s))\(?[1-9][.)]\s")
_COLON_TEST = compiled(
    r"\b(?:test(?:ed)?|check(?:ed)?|scan(?:ned)?|scoped?|wiggled?|swap(?:ped)? side|compared?"
    r"|inspect(?:ed|ion)|visual|volt drop|smoke|tester|noid|gauge|meter|hot air|heat gun"
    r"|cold spray)\b",
    re.IGNORECASE,
)
_WHERE = compiled(
    r"\s(?=(?:under|underneath|beneath|behind|below|inside|in|at|on|near|by|above)\s)"
)
_SEATED = compiled(r"\b(?:re-?seat|re-?plug|plugged in|pushed home)", re.IGNORECASE)
_ENDS_IN_ACCESS = compiled(rf"{ACCESS.pattern}$", re.IGNORECASE)
_NO_FIX_BY_ITSELF = {Action.REMOVED, Action.CHARGED, Action.REROUTED, Action.ADJUSTED}
"""What "after moving" or "after charging" tells is as well when it happens, not what was done."""
_CAMPAIGN = compiled(r"(?:recall|campaign|service action|tsb|bulletin)\b", re.IGNORECASE)
_SOFTWARE = compiled(r"(?:the )?(?:sw|software|firmware)\b", re.IGNORECASE)
_FOLLOWS = compiled(
    r"(?:all )?(?:fault )?(?:codes?|dtcs?|faults?|memory|adapt(?:at)?ions?|relearn"
    r"|[pcbu][0-9][0-9a-f]{3})",
    re.IGNORECASE,
)
"""To clear these belongs to the fix before it."""
_FINISH: Mapping[Action, re.Pattern[str]] = {
    Action.TIGHTENED: compiled(
        r"(?:all )?(?:the )?(?:wheels?(?: (?:nuts|bolts|studs))?|nuts|bolts)(?: to spec)?",
        re.IGNORECASE,
    ),
    Action.REFILLED: compiled(
        r"(?:the )?(?:brakes?|brake (?:fluid|system)|cooling system|coolant|clutch|system"
        r"|hydraulics|(?:engine |gearbox )?oil|atf|fluids?|a/?c)",
        re.IGNORECASE,
    ),
    Action.ADJUSTED: compiled(
        r"(?:the )?(?:tracking|wheels?|headl(?:amps?|ights?))", re.IGNORECASE
    ),
}
"""What is done last, right behind what was fitted."""


class Joint(Enum):
    """What stands before a clause, from the strongest."""

    STRONG = auto()
    STOP = auto()
    COMMA = auto()


class TalkClause(NamedTuple):
    """A stretch of a line up to the next joint, and the joint before it."""

    place: Place
    joint: Joint


@dataclass(frozen=True, slots=True)
class Work:
    """What a clause says was done: the words for the part, and where they end in the clause."""

    action: Action
    what: str
    end: int


@dataclass(frozen=True, slots=True)
class Tested:
    """What a clause says was tested: its end in the clause, what was seen perhaps behind it."""

    end: int


def clauses(text: str) -> Iterator[TalkClause]:
    """Part a line into clauses.

    Examples
    --------
    >>> line = "plugs done, no change; new coil and lead"
    >>> [(line[slice(*each.place)], each.joint.name) for each in clauses(line)]
    [('plugs done', 'STRONG'), ('no change', 'COMMA'), ('new coil and lead', 'STRONG')]
    """
    cuts = [(match.span(), _joint(match)) for match in _JOINT.finditer(text)]
    if _NUMBERED.match(text.lstrip()):
        cuts += [(match.span(), Joint.STRONG) for match in _NUMBERED.finditer(text)]
        cuts.sort(key=lambda each: each[0])
    ends = [((0, 0), Joint.STRONG), *cuts, ((len(text), len(text)), Joint.STRONG)]
    strongest = Joint.STRONG
    for ((_, start), joint), ((end, _), _) in pairwise(ends):
        strongest = min(strongest, joint, key=lambda each: each.value)
        told = text[start:end].rstrip()
        said = told.lstrip()
        while said.startswith(("+", "&")):
            said = said[1:].lstrip()
        if said:
            finish = start + len(told)
            yield TalkClause(Place(finish - len(said), finish), strongest)
            strongest = Joint.COMMA


def beginnings(text: str, clause: Place) -> Iterator[tuple[int, str]]:
    """Yield where in a clause something may begin, and the words there."""
    inside = _SOFT.finditer(text, clause.start, clause.end)
    soft = (match.end() for match in inside if match.start() > clause.start)
    for start in sorted({clause.start, *soft, *_dictated(text, clause)}):
        if start < clause.end:
            yield start, text[start : min(clause.end, start + _REACH)]


def _dictated(text: str, clause: Place) -> Iterator[int]:
    """Yield where work is told behind other words without a stop, as when it is dictated."""
    for match in _RUN_ON.finditer(text, clause.start, clause.end):
        before = text[max(clause.start, match.start() - _AS_FAR_BACK) : match.start()]
        if not (_BY_WHOM.search(before) or NO_WORK.search(before) or ELSEWHERE.search(before)):
            yield match.end()


def _joint(match: re.Match[str]) -> Joint:
    return Joint.STRONG if match["strong"] else Joint.STOP if match["stop"] else Joint.COMMA


def work_in(clause: str) -> Work | None:
    """Read what was done to what, if a clause begins with it, or with the part it was done to.

    Plans, advice, hearsay and what another garage did are none.

    Examples
    --------
    >>> work_in("plugs done"), work_in("needs a rack")
    (Work(action=<Action.REPLACED: 'replaced'>, what='plugs', end=10), None)
    """
    if cured := CURED_BY.match(clause):
        return _doing(clause, cured.end())
    if (after := AFTER_DOING.match(clause)) and (doing := _doing(clause, after.end())):
        told = doing.action not in _NO_FIX_BY_ITSELF and not NO_WORK.search(clause, 0, doing.end)
        return doing if told else None
    led = _LED.match(clause)
    order = led.end() if led else 0
    clause = clause[order:]
    if order and _BID_WORK.match(clause):
        return None
    counted = _COUNTED.match(clause)
    skipped = counted.end() if counted else 0
    work = _begun(clause[skipped:]) or _behind(clause[skipped:])
    if work and counted:
        work = Work(work.action, work.what, work.end + skipped)
    if work is None or NO_WORK.search(clause, 0, work.end):
        return None
    if not may_be_done_to(work.action, work.what) or NO_WORK_BEHIND.match(clause, work.end):
        return None
    return Work(work.action, work.what, work.end + order)


def work_next(clause: str, before: Work) -> Work | None:
    """Read that the same was done to another part, or more to it: "then coil", "replaced it"."""
    if told := next_part(clause):
        return Work(before.action, *told)
    same = of_same_part(clause)
    if same is None or same[0] is before.action or NO_WORK.search(clause, 0, same[1]):
        return None
    return Work(same[0], before.what, same[1])


def with_more_parts(work: Work, text: str, start: int, stop: int) -> Work:
    """Return some work with the parts that a list behind its first one names: one set, one fix.

    How it fared is told of all of them, so none is credited alone.
    """
    end = start + work.end
    if not text[:end].endswith(work.what):
        return work
    more = more_parts(text[:stop], end)
    return Work(work.action, work.what + text[end:more], more - start)


def _begun(clause: str, patterns: Mapping[Action, re.Pattern[str]] = ACTIONS) -> Work | None:
    begun = leading(clause, patterns)
    if begun is None:
        return None
    action, rest = begun
    what = split_behind(rest)
    start = len(clause) - len(rest) + rest.index(what) if what else len(clause)
    is_named = not is_nameless(what)
    is_named = is_named and _NAME.search(what) is not None and not _NO_OBJECT.match(what)
    return Work(action, what, start + len(what)) if is_named else None


def _doing(clause: str, start: int) -> Work | None:
    """Read what was done, told as what led to something: "by cleaning the plug"."""
    work = _begun(clause[start:], DOING)
    return work and Work(work.action, work.what, work.end + start)


def _behind(clause: str) -> Work | None:
    told = behind_part(clause)
    return Work(*told) if told else None


def is_follow_up(work: Work) -> bool:
    """Whether some work belongs to the fix before it, as clearing the codes does."""
    clears = work.action in (Action.CLEARED, Action.REPROGRAMMED, Action.ADJUSTED)
    return clears and _FOLLOWS.match(work.what.strip()) is not None


def is_of_campaign(work: Work, before: Work) -> bool:
    """Whether software was updated as what a campaign before it asks for.

    Examples
    --------
    >>> told = map(work_in, ("campaign 22B1 done", "plug cleaned"))
    >>> update = work_in("updated software to 0143")
    >>> [is_of_campaign(update, work) for work in told if update and work]
    [True, False]
    """
    updates = work.action is Action.REPROGRAMMED and _SOFTWARE.match(work.what)
    return bool(updates and _CAMPAIGN.match(before.what))


def is_finish(work: Work) -> bool:
    """Whether some work ends what was just done, as torquing the wheels does.

    Examples
    --------
    >>> told = map(work_in, ("wheels torqued", "link bolts torqued"))
    >>> [is_finish(work) for work in told if work]
    [True, False]
    """
    finish = _FINISH.get(work.action)
    return finish is not None and finish.fullmatch(work.what.strip()) is not None


def is_access(work: Work, clause: str) -> bool:
    """Whether something was only taken off, or put back, to get at something else.

    A plug that is seated anew is a fix, whatever it sits under.

    Examples
    --------
    >>> for clause in ("refitted door card", "reseated seat plug", "reconnected plug under carpet"):
    ...     if work := work_in(clause):
    ...         print(is_access(work, clause))
    True
    False
    False
    """
    if work.action not in (Action.REMOVED, Action.RESEATED) or not ACCESS.search(work.what):
        return False
    name = _WHERE.split(work.what, maxsplit=1)[0]
    seated = work.action is Action.RESEATED and (
        CONNECTION.search(name) or _SEATED.search(clause, 0, work.end)
    )
    return not seated or _ENDS_IN_ACCESS.search(name) is not None


def is_waiting(head: str, text: str, end: int) -> bool:
    """Whether a new part is told to be there and not on the car yet, in its clause or behind it.

    Examples
    --------
    >>> told = "new battery, not fitted yet", "new coil here", "new coil here, fitted"
    >>> [is_waiting(line[:size], line, size) for line, size in zip(told, (11, 13, 13))]
    [True, True, False]
    """
    if NOT_YET.match(text, end):
        return True
    arrived = NEW.match(head) and ARRIVED.search(head)
    if arrived and not THEN_ON.search(text, end, end + _REACH):
        return True
    return NEW.match(head) is not None and PLANNED_NEXT.match(text, end) is not None


def find_test(clause: str) -> Tested | None:
    """Read what was tested, if a clause begins with that.

    Examples
    --------
    >>> find_test("drag test bad"), find_test("new lock")
    (Tested(end=10), None)
    """
    for colon in _COLON.finditer(clause):
        if _COLON_TEST.search(clause, 0, colon.start()):
            return Tested(colon.start())
    if _PLANNED.match(clause):
        return None
    return _tested(clause)


def _tested(clause: str) -> Tested | None:
    if SWAPPED.match(clause) or (len(clause.split()) <= _SHORT and SWAPPED.search(clause)):
        seen = SWAP_SHOWED.search(clause) or _COLON.search(clause)
        return Tested(seen.start() if seen else len(clause))
    who = _WHO.match(clause)
    first = who.end() if who else 0
    if begun := TRIED.match(clause, first) or TEST.match(clause, first):
        seen = SEEN.search(clause, begun.end()) or _COLON.search(clause, begun.end())
        half = begun.re is TRIED or (who is None and _BID.fullmatch(begun[0]))
        end = seen.start() if seen else len(clause)
        return None if half and not seen else Tested(end)
    if (told := SHOWN.match(clause)) and may_be_part(told["what"]):
        return Tested(told.start("seen"))
    told = TESTED.match(clause)
    return Tested(told.end()) if told and may_be_part(told["what"]) else None


def is_heard(clause: str) -> bool:
    """Whether a clause begins like what was heard of a car later."""
    return HEARD.match(clause) is not None


def work_behind(said: str) -> tuple[Place, str] | None:
    """Find work told behind the beginning of some words, as in what was heard of a car later.

    Examples
    --------
    >>> work_behind("came back, pump replaced again")
    (Place(start=11, end=30), 'pump replaced again')
    """
    for clause in clauses(said):
        for start, words in beginnings(said, clause.place):
            work = work_in(words) if start else None
            if work and not is_access(work, words):
                return Place(start, clause.place.end), said[start : clause.place.end]
    return None


def works_within(said: str) -> Iterator[Place]:
    """Yield where some words tell work of its own: none that ends or opens up what was done.

    Whether it was done, and by whom, is not asked.

    Examples
    --------
    >>> said = ", ok, codes cleared, then removed egr valve"
    >>> [said[start:end] for start, end in works_within(said)]
    ['then removed egr valve']
    """
    for clause in clauses(said):
        for start, words in beginnings(said, clause.place):
            led = _LED.match(words)
            order = led.end() if led else 0
            deed = words[order:]
            work = _begun(deed) or _behind(deed)
            if work and not (is_follow_up(work) or is_finish(work) or is_access(work, deed)):
                yield Place(start, min(clause.place.end, start + order + work.end))
                break


def is_nameless_work(clause: str) -> Action | None:
    """Return what was done, if a clause says that alone: "cleaned", "freed + greased"."""
    led = _LED.match(clause)
    told = done_alone(clause[led.end() if led else 0 :])
    return told[0] if told and not NO_WORK.search(clause) else None
