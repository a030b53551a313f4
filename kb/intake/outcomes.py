"""How a fix fared, judged from the words of a workshop: it cured, it did not, or it is not told.

A text is read clause by clause. In a clause a word of denial turns the next word of state round
("not fixed", "no noise"); what is told last of the state counts; and what is not plain, as a
question, a hope, hearsay, a success in part or for a time, is not told. The words and what they
do stand in ``outcome_words.toml`` beside this module: a word that is not in there tells nothing.
"""

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum, auto
from functools import cache
from itertools import zip_longest
from pathlib import Path

from kb.case import Attempt, Contact, Outcome
from kb.intake.lifting import known_phrases

WORDS_FILE = Path(__file__).with_name("outcome_words.toml")


class Role(Enum):
    """What a word does in a clause: each is a list of ``outcome_words.toml``."""

    NOT = auto()
    OR = auto()
    FAULT = auto()
    SYMPTOM = auto()
    PRESENT = auto()
    BROKEN = auto()
    LAMP = auto()
    OUT = auto()
    LIT = auto()
    GONE = auto()
    STOPPED = auto()
    RETURNED = auto()
    BACK = auto()
    CURED = auto()
    WORKS = auto()
    FINE = auto()
    HAPPY = auto()
    RUNS = auto()
    CHANGE = auto()
    BAD = auto()
    STILL = auto()
    AGAIN = auto()
    NOW = auto()
    ONLY = auto()
    LIMITED = auto()
    BETTER = auto()
    TIMED = auto()
    PAST = auto()
    WHEN = auto()
    BUT = auto()
    THEN = auto()
    UNTIL = auto()
    YET = auto()
    DOUBT = auto()
    PLAN = auto()
    HEARSAY = auto()
    OTHER = auto()
    ANOTHER = auto()
    FOUND = auto()
    ASIDE = auto()
    LITTLE = auto()


class Sign(Enum):
    """What a word, or a clause, tells of the state."""

    CURED = auto()
    """Of the whole repair."""
    WELL = auto()
    """Something works, or what was wrong is not there."""
    FAILED = auto()
    PARTLY = auto()
    """Better, or well for a time."""
    NAMED = auto()
    """What was wrong is named, and nothing told of it."""
    UNSURE = auto()
    NOTHING = auto()


_GOOD = {Sign.CURED, Sign.WELL}
_TROUBLE = {Role.FAULT, Role.SYMPTOM}
_STATE = {Role.CURED, Role.WORKS, Role.FINE}
_JOINTS = {Role.BUT, Role.THEN, Role.UNTIL}
_TOKEN = re.compile(
    r"(?:[0-9]+(?:[.,:/][0-9]+)*|#)%?|[^\W\d_]/[^\W\d_](?!\w)|[^\W\d_]\w*(?:['’]\w+)*"
    r"|[.,;:!?()/&+\n]|(?<!\S)[-–—]+(?=\s)|[→>]"
)
_SENTENCE_ENDS = frozenset(".;!?\n")
_CODE = re.compile("[pcbu][0-3o][0-9a-fo]{3}")
_UNIT = re.compile(
    "secs?|seconds?|mins?|minutes?|hrs?|hours?|days?|wks?|weeks?|mths?|months?|yrs?|years?"
    "|kms?|miles?|mi|weekends?|cycles?|restarts?|starts|stunden?|tagen?|wochen?|monaten?"
    "|jours?|semaines?|mois|heures?|dni|dzien|tygodnie?|tydzien|miesiac|miesiecy|godzin"
)
_MISTYPED = "mistyped"
"""The list of words that are known with a slip as well."""


def judge_attempt(text: str) -> bool | None:
    """Judge whether a fix cured, by what is said behind it; None if that is not plainly told.

    Examples
    --------
    >>> judge_attempt("no longer cuts out"), judge_attempt("ok for a day, then dead again")
    (True, False)
    >>> judge_attempt("customer reckons it is fixed"), judge_attempt("fixed?")
    (None, None)
    """
    sign = _judged(text, heard=False).sign
    if sign in _GOOD:
        return True
    return False if sign is Sign.FAILED else None


def judge_contact(text: str) -> Outcome:
    """Judge what was heard of a car later; hearsay counts here, for there is nothing else.

    Examples
    --------
    >>> str(judge_contact("hasn't come back, all fine")), str(judge_contact("not held"))
    ('held', 'comeback')
    >>> str(judge_contact("in for tyres")), str(judge_contact("rang, no answer"))
    ('other reason', 'not told')
    """
    course = _judged(text, heard=True)
    if course.sign in _GOOD:
        return Outcome.HELD
    if course.sign is Sign.FAILED:
        return Outcome.COMEBACK
    return Outcome.OTHER_REASON if course.other else Outcome.NOT_TOLD


def untold(part: Attempt | Contact) -> str | None:
    """Say that a part does not tell how the fix fared; None if it does."""
    match part:
        case Attempt(cured=None):
            return f"Not told whether it cured: {part.label}. It counts as not told."
        case Contact(outcome=Outcome.NOT_TOLD):
            return f"Not told whether the fix held: {part.words or part.on}. It counts as not told."
    return None


@dataclass
class _Clause:
    """Words of a sentence up to the next joint; `joint` is what stands before them."""

    joint: Role | str
    words: list[Role | str] = field(default_factory=list)
    asked: bool = False

    def has(self, *roles: Role) -> bool:
        return any(role in self.words for role in roles)


@dataclass
class _Course:
    """What the clauses so far tell."""

    heard: bool
    sign: Sign = Sign.NOTHING
    timed: bool = False
    hearsay: bool = False
    unsure: bool = False
    aside: bool = False
    other: bool = False


def _judged(text: str, *, heard: bool) -> _Course:
    course = _Course(heard)
    slips = _slips()
    for clause in _clauses([slips.get(word, word) for word in plain_words(text)]):
        _follow(course, clause)
    if "?" in text and course.sign in _GOOD:
        course.sign = Sign.UNSURE
    return course


def _clauses(words: Sequence[str]) -> list[_Clause]:
    clauses = [_Clause(".")]
    sentence = 0
    for word in known_phrases(words, _table()):
        if word in _SENTENCE_ENDS:
            for clause in clauses[sentence:] if word == "?" else ():
                clause.asked = True
            clauses.append(_Clause("."))
            sentence = len(clauses) - 1
        elif word in _JOINTS or (word is Role.YET and not clauses[-1].has(Role.NOT)):
            clauses.append(_Clause(Role.BUT if word is Role.YET else word))
        elif word is Role.HEARSAY:
            clauses.append(_Clause(",", [word]))
        elif isinstance(word, str) and not word[0].isalnum() and word[0] != "#":
            clauses.append(_Clause(","))
        else:
            clauses[-1].words.append(word)
    return clauses


def _follow(course: _Course, clause: _Clause) -> None:
    """Add to a course what one clause more tells; what is told last counts."""
    if clause.joint in (".", Role.BUT):
        course.unsure = course.aside = False
    if clause.has(Role.ANOTHER):
        course.aside = True
        course.sign = Sign.NOTHING if clause.joint is Role.BUT else course.sign
    course.other = course.other or clause.has(Role.OTHER)
    course.hearsay = course.hearsay or clause.has(Role.HEARSAY, Role.HAPPY)
    sign = Sign.NOTHING if course.aside else _told(clause, heard=course.heard)
    if clause.joint is Role.UNTIL or sign is Sign.UNSURE:
        course.unsure = True
    course.sign = _next(course, clause, sign)
    course.timed = sign in _GOOD and _for_a_time(clause)


def _next(course: _Course, clause: _Clause, sign: Sign) -> Sign:
    before, contrast = course.sign, clause.joint in (Role.BUT, Role.THEN)
    well = before in _GOOD or before is Sign.PARTLY
    if sign is Sign.FAILED or (clause.joint is Role.UNTIL and well):
        return Sign.FAILED
    if sign in _GOOD:
        return _improved(course, clause, sign)
    if sign is Sign.NOTHING or before is Sign.FAILED:
        if not well or not (contrast or clause.has(Role.ONLY)):
            return before
        broke_off = course.timed and clause.joint is Role.THEN
        return Sign.FAILED if broke_off else Sign.UNSURE
    if sign is Sign.NAMED and well:
        return Sign.FAILED if contrast else Sign.UNSURE
    return before if sign is Sign.NAMED and before is Sign.UNSURE else sign


def _improved(course: _Course, clause: _Clause, sign: Sign) -> Sign:
    """Return what counts once something good is told."""
    before = course.sign
    if before is Sign.FAILED and sign is Sign.WELL:
        anew = clause.joint != "," or clause.has(Role.NOW)
        return Sign.UNSURE if anew else Sign.FAILED
    if before is Sign.FAILED and clause.has(Role.SYMPTOM, Role.LAMP):
        return Sign.UNSURE
    if course.unsure or (course.hearsay and not course.heard):
        return before if before is Sign.FAILED else Sign.UNSURE
    if before is Sign.NAMED and clause.joint is Role.THEN and sign is Sign.WELL:
        return Sign.UNSURE
    return Sign.PARTLY if _for_a_time(clause) and not course.heard else sign


def _for_a_time(clause: _Clause) -> bool:
    return clause.has(Role.TIMED) and clause.has(*_STATE, Role.OUT, Role.GONE)


def _told(clause: _Clause, *, heard: bool) -> Sign:
    """Return what a clause tells by itself."""
    if clause.asked or clause.has(Role.DOUBT) or (clause.has(Role.YET) and clause.has(Role.NOT)):
        return Sign.UNSURE
    if clause.has(Role.PAST, Role.PLAN):
        return Sign.NOTHING
    signs = list(_signs(clause, heard=heard))
    good = _GOOD & set(signs)
    if Role.LIMITED in clause.words and (
        good or {Sign.PARTLY} & set(signs) or clause.has(Role.STILL)
    ):
        return Sign.FAILED
    if Sign.FAILED in signs:
        return Sign.CURED if signs[-1] is Sign.CURED else Sign.FAILED
    if Sign.UNSURE in signs:
        return Sign.UNSURE
    if Sign.PARTLY in signs and Sign.CURED not in signs:
        return Sign.FAILED if clause.has(Role.ONLY) else Sign.PARTLY
    if Sign.CURED in signs:
        return Sign.CURED
    if clause.has(Role.FOUND) and Sign.WELL in signs:
        return Sign.NOTHING
    if clause.has(Role.WHEN) and signs and clause.has(*_STATE, Role.RUNS):
        return Sign.UNSURE
    return signs[-1] if signs else Sign.NOTHING


_MEANT = {
    Role.CURED: (Sign.CURED, Sign.FAILED),
    Role.WORKS: (Sign.WELL, Sign.FAILED),
    Role.FINE: (Sign.WELL, Sign.FAILED),
    Role.HAPPY: (Sign.WELL, Sign.FAILED),
    Role.RUNS: (Sign.WELL, Sign.FAILED),
    Role.OUT: (Sign.WELL, Sign.FAILED),
    Role.GONE: (Sign.WELL, Sign.FAILED),
    Role.STOPPED: (Sign.WELL, Sign.FAILED),
    Role.CHANGE: (Sign.NOTHING, Sign.FAILED),
    Role.BETTER: (Sign.PARTLY, Sign.FAILED),
    Role.FAULT: (Sign.NAMED, Sign.WELL),
    Role.SYMPTOM: (Sign.NAMED, Sign.WELL),
    Role.LAMP: (Sign.NAMED, Sign.WELL),
    Role.BROKEN: (Sign.FAILED, Sign.WELL),
    Role.PRESENT: (Sign.FAILED, Sign.WELL),
    Role.LIT: (Sign.FAILED, Sign.WELL),
    Role.RETURNED: (Sign.FAILED, Sign.WELL),
    Role.BACK: (Sign.FAILED, Sign.WELL),
    Role.LIMITED: (Sign.NOTHING, Sign.WELL),
    Role.BAD: (Sign.FAILED, Sign.UNSURE),
}
"""What a word says as it is, and what where it is denied."""
_STOPPABLE = {*_TROUBLE, Role.WORKS, Role.RUNS}
_ABSENT = {Role.RETURNED, Role.BACK, Role.PRESENT, Role.LIT}
"""What is not so of a fault whose presence was denied just before: "no codes returned"."""


@dataclass
class _Scope:
    """What the words of a clause so far leave open."""

    denials: int = 0
    denied: bool = False
    named: bool = False
    lamp: bool = False
    last: Role | str = ""


def _signs(clause: _Clause, *, heard: bool) -> Iterator[Sign]:
    """Yield what each word of state tells, denial reckoned in."""
    scope, sign = _Scope(), Sign.NOTHING
    for word, behind in zip_longest(clause.words, clause.words[1:], fillvalue=Role.LITTLE):
        if word is Role.NOT or (word is Role.STOPPED and behind in _STOPPABLE):
            scope.denials += 1
        elif word is Role.OR:
            scope.denials = int(scope.denied)
        elif word in _MEANT and _counts(word, behind, clause, scope, heard=heard):
            sign = _turned(word, scope)
            if sign is not Sign.NOTHING:
                yield sign
        scope.last = word
    yield from _left_over(clause, scope, sign, heard=heard)


def _turned(word: Role, scope: _Scope) -> Sign:
    """Return what a word tells behind the denials before it, and use them up."""
    plain, denied = _MEANT[word]
    here = word in _TROUBLE or word is Role.LAMP
    absent = scope.denied and (word in _ABSENT or (here and scope.last is Role.RETURNED))
    sign = Sign.UNSURE if scope.denials > 1 else denied if scope.denials or absent else plain
    if here:
        scope.named = True
        scope.lamp = word is Role.LAMP
    if here or word is Role.RETURNED:
        scope.denied = sign is Sign.WELL
    if word is Role.OUT:
        scope.lamp = False
    if word is not Role.LAMP or sign is not Sign.NAMED:
        scope.denials = 0
    return sign


def _counts(word: Role, behind: Role | str, clause: _Clause, scope: _Scope, *, heard: bool) -> bool:
    """Whether a word of state is meant of the state here."""
    strange = any(isinstance(each, str) for each in clause.words)
    trouble = clause.has(*_TROUBLE)
    free = bool(scope.denials) or not isinstance(behind, str)
    match word:
        case Role.CURED | Role.WORKS | Role.BROKEN:
            return free
        case Role.FINE:
            known = clause.has(Role.NOW, Role.AGAIN, Role.STILL, Role.RUNS, Role.LAMP)
            return bool(scope.denials) or (free and (known or trouble or not strange))
        case Role.RUNS:
            lasts = clause.has(Role.NOW, Role.AGAIN) and (not trouble or scope.last is Role.NOW)
            return bool(scope.denials) or (free and lasts)
        case Role.HAPPY:
            return heard or bool(scope.denials)
        case Role.OUT:
            return scope.lamp or clause.has(Role.STILL)
        case Role.LIT:
            lit = scope.lamp and (heard or clause.has(Role.NOW))
            return lit or clause.has(Role.STILL, Role.AGAIN) or bool(scope.denied or scope.denials)
        case Role.PRESENT:
            return scope.named
        case Role.GONE:
            return scope.named or not strange
        case Role.STOPPED:
            return scope.named or bool(scope.denials)
        case Role.RETURNED | Role.BACK if clause.has(Role.OTHER) and not trouble:
            return False
        case Role.BACK:
            bare = clause.joint != "." and not strange
            return trouble or clause.has(Role.LAMP) or bare
    return True


def _left_over(clause: _Clause, scope: _Scope, last: Sign, *, heard: bool) -> Iterator[Sign]:
    """Yield what "still", "again", "now" and "not" tell that no word of state has used up."""
    strange = any(isinstance(each, str) for each in clause.words)
    if last is Sign.NAMED and clause.has(Role.STILL, Role.AGAIN, Role.NOW, Role.ONLY):
        yield Sign.FAILED
    elif scope.denials and clause.has(Role.STILL):
        yield Sign.FAILED
    elif scope.denials and last is Sign.NOTHING and not strange and not clause.has(Role.ASIDE):
        if clause.has(Role.AGAIN):
            yield Sign.WELL
        elif not heard or clause.joint in (Role.BUT, Role.THEN):
            yield Sign.FAILED
    elif clause.has(Role.STILL) and last is Sign.NOTHING and not clause.has(Role.ASIDE):
        if not heard:
            yield Sign.FAILED


def plain_words(text: str) -> list[str]:
    """Return words and signs of a text in the form in which they are known."""
    apart = unicodedata.normalize("NFKD", text.casefold().replace("ł", "l"))
    bare = "".join(char for char in apart if not unicodedata.combining(char))
    return [_plain(token) for token in _TOKEN.findall(bare)]


def _plain(token: str) -> str:
    if token[0].isdigit() or token[0] == "#":
        return "#%" if token[-1] == "%" else "#"
    word = token.replace("'", "").replace("’", "")
    if _UNIT.fullmatch(word):
        return "days"
    return "code" if _CODE.fullmatch(word) else word


@cache
def _lists() -> Mapping[str, Sequence[str]]:
    roles = tomllib.loads(WORDS_FILE.read_text("utf-8"))
    return {
        name: [phrase for each in phrases.split(",") if (phrase := each.strip())]
        for name, phrases in roles.items()
    }


@cache
def _table() -> Mapping[tuple[str, ...], Role]:
    """Return what every phrase does."""
    return {
        form: Role[name.upper()]
        for name, phrases in _lists().items()
        if name != _MISTYPED
        for phrase in phrases
        for form in _forms(phrase)
    }


def _forms(phrase: str) -> Iterator[tuple[str, ...]]:
    """Yield a phrase, and with ``~`` before it the regular forms of its first word."""
    first, *more = plain_words(phrase.removeprefix("~"))
    yield (first, *more)
    if phrase.startswith("~"):
        stem = first.removesuffix("e")
        ends = {f"{first}s", f"{first}es", f"{stem}ing", f"{stem}ed"}
        ends |= {f"{first}{first[-1]}ing", f"{first}{first[-1]}ed"}
        yield from ((form, *more) for form in sorted(ends))


@cache
def _slips() -> Mapping[str, str]:
    """Return the words meant by those with a letter left out, or two exchanged."""
    known = {word for phrase in _table() for word in phrase}
    meant = {}
    for word in _lists()[_MISTYPED]:
        for place in range(1, len(word)):
            meant[word[:place] + word[place + 1 :]] = word
            meant[word[:place] + word[place : place + 2][::-1] + word[place + 2 :]] = word
    return {slip: word for slip, word in meant.items() if slip not in known}
