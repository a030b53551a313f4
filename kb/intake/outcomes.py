"""How a fix fared, judged from the words of a workshop: it cured, it did not, or it is not told.

A text is read clause by clause. In a clause a word of denial turns the next word of state round
("not fixed", "no noise"); what is told last of the state counts; and what is not plain, as a
question, a hope, hearsay, a success in part or for a time, is not told; but what was cured for two
days has failed. A word that is in no list tells nothing (`kb.intake.outcome_words`).
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum, auto
from itertools import pairwise, zip_longest

from kb.case import Attempt, Contact, Outcome
from kb.intake.credit import (
    is_correction,
    is_credited_elsewhere,
    is_gone_from_sight,
    is_of_others,
    is_of_the_bill,
    is_only_rarer,
    is_renamed,
)
from kb.intake.elapsed import tells_return, without_since, without_unknown_day
from kb.intake.outcome_words import (
    DENIALS,
    TROUBLE,
    OutcomeClause,
    Word,
    WordRole,
    clauses,
    is_strange,
    plain_words,
)
from kb.intake.plain_outcomes import (
    has_odd_sign,
    is_harmless,
    is_lone,
    is_plain,
    is_plain_but_for_where,
    is_verdict,
)
from kb.intake.tellers import is_told_by_others, of_this_car
from kb.intake.two_ways import is_over, without_until_today
from kb.patterns import compiled


class StateSign(Enum):
    """What a word, a clause, or a text so far tells of the state of the car."""

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


CURED, WELL, FAILED, PARTLY, NAMED, UNSURE, NOTHING = StateSign
_GOOD = frozenset({CURED, WELL})
_NAMES = (*TROUBLE, WordRole.LAMP)
_STATE = (WordRole.CURED, WordRole.WORKS, WordRole.FINE, WordRole.NICE)
_MEANT: Mapping[WordRole, tuple[StateSign, StateSign]] = {
    WordRole.CURED: (CURED, FAILED),
    WordRole.WORKS: (WELL, FAILED),
    WordRole.FINE: (WELL, FAILED),
    WordRole.NICE: (WELL, FAILED),
    WordRole.PROMPT: (WELL, FAILED),
    WordRole.HAPPY: (WELL, FAILED),
    WordRole.RUNS: (WELL, FAILED),
    WordRole.STARTS: (WELL, FAILED),
    WordRole.WHOLE: (WELL, UNSURE),
    WordRole.OUT: (WELL, FAILED),
    WordRole.GONE: (WELL, FAILED),
    WordRole.STOPPED: (WELL, FAILED),
    WordRole.CHANGE: (NOTHING, FAILED),
    WordRole.BETTER: (PARTLY, FAILED),
    WordRole.FAULT: (NAMED, WELL),
    WordRole.SYMPTOM: (NAMED, WELL),
    WordRole.LAMP: (NAMED, WELL),
    WordRole.BROKEN: (FAILED, WELL),
    WordRole.PRESENT: (FAILED, WELL),
    WordRole.LIT: (FAILED, WELL),
    WordRole.RETURNED: (FAILED, WELL),
    WordRole.BACK: (FAILED, WELL),
    WordRole.LIMITED: (NOTHING, WELL),
    WordRole.BAD: (FAILED, UNSURE),
    WordRole.GONE_AGAIN: (FAILED, UNSURE),
}
"""What a word of state tells as it stands, and what where it is denied."""
_ABSENT = (WordRole.RETURNED, WordRole.BACK, WordRole.PRESENT, WordRole.LIT)
"""What is not so of a fault that was denied just before: "no codes returned"."""
_AIMS = (WordRole.CURED, WordRole.WORKS, WordRole.FINE, WordRole.GONE, WordRole.STOPPED)
"""What is "not yet" so has failed so far: "not fixed yet"; but "no noise yet", "not back yet"."""
_GOES = (WordRole.GONE, WordRole.OUT, WordRole.STOPPED)
_COMES_AND_GOES = (*_GOES, WordRole.BACK, WordRole.RETURNED)
"""What "power is back" tells, and "power gone", is the other way round than of a fault."""
_RUNNING = (WordRole.RUNS, WordRole.STARTS)
_FUNCTIONS = (*_RUNNING, WordRole.FUNCTION, WordRole.BACK)
_SAID_HOW = frozenset({*_RUNNING, WordRole.WORKS, WordRole.CHANGE, WordRole.NICE, WordRole.FINE})
"""Behind what is denied "as it should" tells how it is not."""
_BARE_START = frozenset({*_RUNNING, WordRole.LITTLE, WordRole.SETTING})
_BARE_WHOLE = frozenset(
    {
        *(WordRole.WHOLE, WordRole.THING, WordRole.FUNCTION, WordRole.LIT, WordRole.NOW),
        *(WordRole.LITTLE, WordRole.SETTING),
    }
)
"""What may stand beside what is told by itself to be so, and takes nothing back."""
_LIGHT = frozenset(
    {WordRole.LITTLE, WordRole.WAY, WordRole.WITH, WordRole.AFTER, WordRole.ANY_MORE}
)
_ONLY_FOR = [
    words
    for good in (WordRole.CURED, WordRole.WORKS, WordRole.FINE, WordRole.NICE)
    for span in (WordRole.SPAN, WordRole.LASTED)
    for words in (
        [good, WordRole.ONLY, span],
        [WordRole.ONLY, good, span],
        [good, span, WordRole.ONLY],
    )
]
"""Clauses that tell a success of some time and no more: "held only 2 days"."""
_STOPPABLE = (*TROUBLE, WordRole.WORKS, *_RUNNING)
"""Before these "stopped" is a denial: "stopped leaking", "stopped working"."""

_LAMPS = (
    "lamp",
    "light",
    "bulb",
    "led",
    "xenon",
    "indicator",
    "ampoule",
    "birne",
    "lampe",
    "phare",
)


def judge_attempt(text: str, part: str = "") -> bool | None:
    """Judge whether a fix cured, by what is said behind it; None if that is not plainly told.

    Where the `part` the fix was done to is a lamp, "lamp out" tells nothing; nor does a success
    that may be that of another part.

    Examples
    --------
    >>> judge_attempt("no longer cuts out"), judge_attempt("ok for a day, then dead again")
    (True, False)
    >>> judge_attempt("customer reckons it is fixed"), judge_attempt("fixed?")
    (None, None)
    """
    beside = without_until_today(text)
    course = _followed(text if beside is None else beside, heard=False)
    sign = course.sign
    if (beside is not None and sign is not FAILED) or (sign is FAILED and is_over(text)):
        return None
    if sign in _GOOD:
        lamp = course.lamp_out and _is_lamp(part)
        return None if lamp or (part and is_credited_elsewhere(text, part)) else True
    return False if sign is FAILED else None


def judge_contact(text: str) -> Outcome:
    """Judge what was heard of a car later, from its customer or those of the same house.

    What others say who may never have driven it ("his brother says") tells of no hold, and what is
    told of another car nothing.

    Examples
    --------
    >>> str(judge_contact("hasn't come back, all fine")), str(judge_contact("not held"))
    ('held', 'comeback')
    >>> str(judge_contact("in for tyres")), str(judge_contact("rang, no answer"))
    ('other reason', 'not told')
    >>> str(judge_contact("came back? no, still fine"))
    'held'
    >>> str(judge_contact("his brother says it is fine")), str(judge_contact("wife says it's fine"))
    ('not told', 'held')
    >>> str(judge_contact("seit Ostern wieder tot")), str(judge_contact("not back since summer"))
    ('comeback', 'not told')
    >>> once = "flickered once, then never again"
    >>> str(judge_contact("held until today")), str(judge_contact(once))
    ('not told', 'not told')
    """
    text = of_this_car(without_unknown_day(_answered(_BLANKS.sub(" ", text))))
    if (beside := without_until_today(text)) is not None:
        again = _judged_contact(beside) is Outcome.COMEBACK
        return Outcome.COMEBACK if again else Outcome.NOT_TOLD
    outcome, state = _judged_contact(text), without_since(text)
    if outcome is Outcome.COMEBACK and (is_over(text) or _UNTIL_OTHERS.search(text)):
        return Outcome.NOT_TOLD
    if outcome is Outcome.HELD and is_told_by_others(text):
        return Outcome.NOT_TOLD
    if state == " ".join(text.split()) or outcome is Outcome.HELD:
        return outcome
    if _judged_contact(state) is Outcome.COMEBACK:
        return Outcome.COMEBACK
    denied = any(clause.has(*DENIALS) for clause in clauses(state))
    return Outcome.NOT_TOLD if denied and outcome is Outcome.COMEBACK else outcome


_UNTIL_OTHERS = compiled(
    r"\b(?:until|till?|bis|jusqu['’][àa](?: ce que)?|a[żz]|dopóki) "
    r"(?:the |an? |some |my |his |die |eine? |un )?"
    r"(?:(?:other|another|different|next|andere\w*|autre|inn\w+)"
    r" (?:garage|shop|workshop|dealer|mechanic|place|werkstatt|atelier|warsztat)"
    r"|(?:mate|friend|brother|neighbou?r|dealer)) (?!(?:says?|said|rang|told)\b)",
    re.IGNORECASE,
)
"""Until somebody else did something to it: what is so since then is not of this fix."""
_BLANKS = compiled(r"[^\S\n]+")
_ANSWERED = compiled(
    r"^(?P<asked>[^?.]{1,120})\?+[\s,;:–—-]*"
    r"(?:(?P<no>no|nope|nah|nein|ne|non|nie)|(?P<yes>yes|yep|yeah|ja|oui|tak))\b[\s,;:.!–—-]*",
    re.IGNORECASE,
)
"""A question that is answered at once: "came back? no, it held"."""
_ANSWERED_NO = compiled(
    r"^\W*(?:(?:any|the|a|same|did it) )*(?:come ?backs?|returned"
    r"|(?:fault|problem|noise|lamp|light|code)s?(?: (?:back|returned|again))?"
    r"|retour|powrót|fehler(?: wieder da)?)\s*[:=–—-]*\s*"
    r"(?:no|none|nope|nil|negative|nein|keine?|non|aucune?|nie|brak)\W*$",
    re.IGNORECASE,
)
"""A line of a form: "comeback: none". Whether anybody was asked it does not tell."""
_DENIED_RETURN = compiled(
    r"^\W*(?:the |a )?come ?back(?: was| is)? (?:denied|refuted|mistaken|a mistake|ruled out|not so"
    r"|not true|a false alarm)\b[\s,;:.!–—-]*",
    re.IGNORECASE,
)
_ALWAYS_OTHER = compiled(
    r"\b(?:always|each time|every time|only|but|just|immer|jedes ?mal|nur|aber|toujours"
    r"|à chaque fois|mais|zawsze|za każdym razem|ale)"
    r"(?: (?:for|with|wegen|mit|für|pour|avec|z|ze|po))?(?: \w+){0,3}?"
    r" (?:(?:other|different|unrelated) (?:things?|stuff|faults?|problems?|issues?|reasons?|jobs?"
    r"|work|matters?|complaints?|codes?|ones?)"
    r"|something (?:else|different|new|unrelated)|(?:et)?was anderes"
    r"|andere[mnrs]? (?:sachen?|fehler|problemen?|dinge|gründen?)"
    r"|autres? (?:choses?|pannes?|problèmes?|raisons?|défauts?)|co innego|czymś innym|coś innego"
    r"|inn\w+ (?:rzecz\w*|spraw\w*|uster\w+"
    r"|problem\w*))(?!\w)",
    re.IGNORECASE,
)
"""That a car was back, and not for this fault."""
_SAME_AGAIN = (
    r"(?!(?:again|same|in|on|at|when|while|after|only|for|with|without|worse|even|sooner|also|not|no"
    r"|it|longer|just|all|both|cold|hot|louder|quieter|back|came|went|is|was|lasted|within)\b)"
)
_OTHER_CODE = compiled(
    rf"(?:\bbut\b|[,;:–-])\s*(?:(?:it|that) (?:was|is) |it['’]s |found |now )?(?:the |an? )?"
    rf"{_SAME_AGAIN}[^\W\d_][\w/-]*(?: [\w/-]+){{0,3}} this time\b"
    rf"|\bthis time (?:(?:it|that) (?:was|is) |it['’]s |found |from )?(?:the |an? )?"
    rf"{_SAME_AGAIN}[^\W\d_][\w/-]+"
    r"|\bturned out (?:it was|to be)\b"
    r"|\bother (?:side|seat|wheel|door|end|one|bank|cylinder|corner|axle)\b"
    r"|\b(?:other|different|another|new) (?:fault |trouble )?codes?\b"
    r"|\b(?:other|different|another) (?:\w+ )?(?:lamps?|lights?|warnings?|noises?|leaks?)\b"
    r"|\bnot (?:that|this|the same) (?:one|lamp|light|noise|fault)\b"
    r"|\b(?:was|is|be|were) ?(?:not|n['’]?t) (?:for )?the same\b"
    r"|\bcodes? (?:is|are|was|were) (?:an? )?(?:other|different|another|new)\b",
    re.IGNORECASE,
)
"""That what is back may be another fault: somebody has to say."""
_RETURN = compiled(
    r"\b(?:back|returned|comeback|wieder|zurück|kam|revenue?s?|wr[óo]ci[łl]\w*|był\w*)\b",
    re.IGNORECASE,
)


def _answered(text: str) -> str:
    """Return what words tell once a question in them is answered, or a comeback denied.

    Examples
    --------
    >>> _answered("came back for the same fault? no, it held"), _answered("fixed? no, still dead")
    ('it held', 'fixed? no, still dead')
    >>> _answered("Comeback: none")
    ''
    """
    if _ANSWERED_NO.match(text):
        return ""
    if denied := _DENIED_RETURN.match(text):
        return text[denied.end() :].removeprefix("customer mistaken").lstrip(" ,;:.") or text
    asked = _ANSWERED.match(text)
    if asked is None or not _RETURN.search(asked["asked"]):
        return text
    rest = text[asked.end() :]
    return rest if asked["no"] and rest.strip() else text


def is_answered(text: str) -> bool:
    """Whether words deny a comeback that they ask about or name before."""
    return _answered(text) != text


def is_another_fault(text: str) -> bool:
    """Whether words tell of a later visit that it was for another fault, and nothing beside that.

    Examples
    --------
    >>> [is_another_fault(said) for said in ("not the same fault", "ein anderer Fehler")]
    [True, True]
    >>> [is_another_fault(said) for said in ("another fault?", "same again and another fault")]
    [False, False]
    """
    told = clauses(text)
    beside = (WordRole.DOUBT, WordRole.PLAN, WordRole.BAD, WordRole.AGAIN, WordRole.STILL)
    unsure = any(each.asked or each.has(*beside) for each in told)
    named = any(each.has(WordRole.ANOTHER) for each in told)
    return named and not unsure and judge_contact(text) is Outcome.NOT_TOLD


def _judged_contact(text: str) -> Outcome:
    if _ALWAYS_OTHER.search(text) and _RETURN.search(text):
        rest = _followed(_ALWAYS_OTHER.sub(" ", text), heard=True)
        named = any(each.has(*TROUBLE, WordRole.LAMP, WordRole.BAD) for each in clauses(text))
        if rest.sign is not UNSURE and not named and "?" not in text:
            return Outcome.OTHER_REASON
    course = _followed(text, heard=True)
    if course.sign in _GOOD:
        other = is_of_others(text) or (is_of_the_bill(text) and _is_only_happy(text))
        return Outcome.NOT_TOLD if other else Outcome.HELD
    if course.sign is FAILED:
        untold = is_gone_from_sight(text) or _BACK_AND_HAPPY.fullmatch(text)
        untold = untold or _OTHER_CODE.search(text)
        return Outcome.NOT_TOLD if untold else Outcome.COMEBACK
    if tells_return(text):
        return Outcome.COMEBACK
    return Outcome.OTHER_REASON if course.other else Outcome.NOT_TOLD


def _is_only_happy(text: str) -> bool:
    """Whether nothing but that somebody is happy tells of a success."""
    good = (*_STATE, *_RUNNING, WordRole.WHOLE, WordRole.OUT, WordRole.GONE, WordRole.STOPPED)
    told = clauses(text)
    named = any(each.has(*DENIALS) and each.has(*_NAMES, *_ABSENT) for each in told)
    return not named and not any(each.has(*good) for each in told)


def tells_new_trouble(text: str) -> bool:
    """Whether words tell that one trouble is gone and name another that is there now.

    Whether the fix cured then depends on which of them was the complaint: somebody has to say.

    Examples
    --------
    >>> tells_new_trouble("code gone, but now whistles")
    True
    >>> tells_new_trouble("noise gone, but still rattles")
    False
    """
    return _followed(text, heard=False).new_trouble


def takes_back(text: str) -> bool:
    """Whether what is said behind a cure tells or names trouble, or takes the cure back.

    Examples
    --------
    >>> takes_back("misfire still there"), takes_back("actually not"), takes_back("no codes")
    (True, True, False)
    """
    sign = _followed(text, heard=False).sign
    corrected = sign not in _GOOD and is_correction(text)
    return corrected or sign is FAILED or any(map(_sounds_bad, clauses(text)))


def _sounds_bad(clause: OutcomeClause) -> bool:
    told = _told(clause, heard=False)
    lit = clause.has(WordRole.LAMP) and clause.has(WordRole.LIT) and not clause.has(*DENIALS)
    trouble = clause.has(*TROUBLE, WordRole.BROKEN, WordRole.BACK, WordRole.RETURNED)
    return told in (FAILED, NAMED) or lit or (told is UNSURE and trouble)


def untold(part: Attempt | Contact) -> str | None:
    """Say that a part does not tell how the fix fared; None if it does."""
    match part:
        case Attempt(cured=None):
            return f"Not told whether it cured: {part.label}. It counts as not told."
        case Contact(outcome=Outcome.NOT_TOLD):
            return f"Not told whether the fix held: {part.words or part.on}. It counts as not told."
    return None


_BACK_AND_HAPPY = compiled(
    r"\W*(?:(?:the )?(?:cust(?:omer)?|owner|driver|he|she|they) )?(?:came|is|was|were)"
    r" back\W+(?:and )?"
    r"(?:(?:is|was|he|she|they) )*(?:(?:very|so|really|quite) )?"
    r"(?:happy|delighted|pleased|satisfied)"
    r"(?: with (?:it|us|the (?:repair|work|job|car)))?\W*",
    re.IGNORECASE,
)
"""Of a customer who came again, not of the trouble."""

_STAYS_OUT = compiled(
    r"\b(?:stay|stays|stayed|staying|remain|remains|remained|keeps|kept|bleibt|blieb|reste|resté"
    r"|pozostaje)\b",
    re.IGNORECASE,
)


@dataclass
class _Course:
    """What the clauses so far tell; `heard` that they are of a contact.

    `unsure` and `aside`, that they speak of another matter, hold to the end of the sentence.
    `placed` that a success so far is told for how the car ran then, and `named_gone` that what was
    wrong is named and gone; `new_trouble` that other trouble is named behind that.
    `borne_out` tells that more speaks for a success than a lamp, which any reset puts out.
    """

    heard: bool
    sign: StateSign = NOTHING
    timed: bool = False
    hearsay: bool = False
    unsure: bool = False
    aside: bool = False
    was_well: bool = False
    ran: bool = False
    other: bool = False
    plain: bool = True
    placed: bool = False
    named_gone: bool = False
    new_trouble: bool = False
    well: bool = False
    lamp_out: bool = False
    borne_out: bool = False


def _is_lamp(part: str) -> bool:
    return any(word.removesuffix("s").endswith(_LAMPS) for word in plain_words(part))


def _followed(text: str, *, heard: bool) -> _Course:
    course = _Course(heard)
    for clause in clauses(text):
        _follow(course, clause)
    plain = course.plain and not course.placed and course.well
    plain = plain and not (has_odd_sign(text) or is_only_rarer(text))
    plain = plain and (heard or course.borne_out or _STAYS_OUT.search(text) is not None)
    if (course.sign in _GOOD and not plain) or is_renamed(text):
        course.sign = UNSURE
    return course


_NOW_NOT = [
    {now, WordRole.NOT, *little}
    for now in (WordRole.NOW, WordRole.TODAY)
    for little in ((), (WordRole.LITTLE,))
]
"""Clauses that deny what was told before them: "was fixed, now it isn't"."""


def _follow(course: _Course, clause: OutcomeClause) -> None:
    """Add to a course what one clause more tells."""
    if clause.joint in (".", WordRole.BUT):
        course.unsure = course.aside = False
    if clause.has(WordRole.ANOTHER):
        course.aside = True
        course.sign = NOTHING if clause.joint is WordRole.BUT else course.sign
    course.other = course.other or _is_for_other(clause)
    course.hearsay = course.hearsay or clause.has(WordRole.HEARSAY, WordRole.HAPPY)
    sign = NOTHING if course.aside else _told(clause, heard=course.heard)
    if set(clause.words) in _NOW_NOT:
        sign = FAILED if course.sign in _GOOD or course.was_well else UNSURE
    if course.named_gone and not course.heard and sign in (FAILED, NAMED) and _is_new(clause):
        sign, course.new_trouble = UNSURE, True  # "code gone, but now whistles"
    course.unsure = course.unsure or sign is UNSURE or clause.joint is WordRole.UNTIL
    _check(course, clause, sign)
    course.sign = _next(course, clause, sign)
    gone = clause.has(*_GOES, *DENIALS, WordRole.NO_LONGER, WordRole.NO_MORE)
    if clause.words:
        course.named_gone = sign in _GOOD and gone and clause.has(*_NAMES)
        course.timed = sign in _GOOD and _for_a_time(clause)
    course.was_well = clause.has(WordRole.WAS_WELL)
    course.ran = clause.has(*_RUNNING)
    course.borne_out = course.borne_out or _bears_out(clause, sign)


def _bears_out(clause: OutcomeClause, sign: StateSign) -> bool:
    """Whether a clause tells a success by more than a lamp, or how it was tried."""
    tried = clause.has(WordRole.SETTING, WordRole.SPAN, *_FUNCTIONS) or "#" in clause.words
    out = clause.has(WordRole.LAMP) and clause.has(WordRole.OUT) and not clause.has(*_STATE)
    return tried or (sign in _GOOD and not out)


def _check(course: _Course, clause: OutcomeClause, sign: StateSign) -> None:
    """Note whether a success is told plainly so far, and not by one word as "well" alone."""
    limited = clause.has(WordRole.ONLY) and clause.has(*_RUNNING)  # "runs only at idle"
    if sign is NOTHING and (limited or clause.has(WordRole.RETURNED)):
        course.plain = False
    elif sign in _GOOD:
        plain = is_plain(clause, heard=course.heard)
        placed = not plain and not course.heard and is_plain_but_for_where(clause)
        course.placed = placed or (course.placed and not is_verdict(clause))
        course.plain = course.plain and (plain or placed)
        course.lamp_out = course.lamp_out or clause.has(WordRole.OUT)
        course.well = course.well or course.heard or not is_lone(clause)
    elif course.sign in _GOOD:
        course.plain = course.plain and is_harmless(clause, heard=course.heard)


def _next(course: _Course, clause: OutcomeClause, sign: StateSign) -> StateSign:
    """Return what counts after one sign more: the last that is told of the state."""
    before, contrast = course.sign, clause.joint in (WordRole.BUT, WordRole.THEN)
    well = before in _GOOD or before is PARTLY or course.was_well
    if sign is FAILED or (clause.joint is WordRole.UNTIL and well):
        return FAILED
    limits = clause.joint is WordRole.EXCEPT or (
        clause.joint is WordRole.BUT and clause.words[:1] == [WordRole.NOT]
    )
    if well and limits:
        return UNSURE
    if sign in _GOOD:
        return _improved(course, clause, sign)
    ran_but = course.ran and clause.joint is WordRole.BUT  # "runs, but misfires"
    if sign is NAMED and (well or ran_but):
        since = course.heard and before in _GOOD and not clause.has(WordRole.STILL)
        return FAILED if contrast and not since else UNSURE  # perhaps another fault since
    if well and sign is NOTHING and (contrast or clause.has(WordRole.ONLY)):
        over = course.timed and clause.joint is WordRole.THEN and not clause.has(WordRole.PART)
        return FAILED if over else UNSURE
    kept = sign is NOTHING or before is FAILED
    return before if kept else sign


def _is_new(clause: OutcomeClause) -> bool:
    """Whether a clause names trouble that is there now, and was not told to be there before."""
    allowed = {WordRole.NOW, WordRole.LITTLE, WordRole.THING, WordRole.FUNCTION, *TROUBLE}
    named = clause.has(WordRole.NOW) and clause.has(*TROUBLE)
    return named and all(word in allowed or isinstance(word, str) for word in clause.words)


def _improved(course: _Course, clause: OutcomeClause, sign: StateSign) -> StateSign:
    """Return what counts once something good is told."""
    before = course.sign
    if before is FAILED:
        part_only = sign is WELL or clause.has(WordRole.SYMPTOM, WordRole.LAMP)
        anew = clause.joint != "," or clause.has(WordRole.NOW)
        if part_only or course.unsure or (course.hearsay and not course.heard):
            named = clause.has(WordRole.SYMPTOM) and clause.has(WordRole.CURED)
            return UNSURE if (anew or named) and part_only else FAILED
    if before in _GOOD and course.hearsay and not (course.heard or course.unsure):
        return before  # "fixed, customer says no noise"
    then_well = before is NAMED and clause.joint is WordRole.THEN and sign is WELL
    if then_well or course.unsure or (course.hearsay and not course.heard):
        return UNSURE
    if course.heard or not _for_a_time(clause):
        return sign
    over = clause.has(WordRole.LASTED) and not clause.has(WordRole.NOW, WordRole.TO_NOW)
    return FAILED if over and clause.has(WordRole.CURED) else PARTLY


def _is_for_other(clause: OutcomeClause) -> bool:
    """Whether a car came for something else, and not "never came back to us"."""
    said = [word for word in clause.words if word is not WordRole.LITTLE]
    pairs = pairwise((WordRole.LITTLE, *said))
    return any(word is WordRole.OTHER and before not in DENIALS for before, word in pairs)


def _for_a_time(clause: OutcomeClause) -> bool:
    well = clause.has(*_STATE, WordRole.OUT, WordRole.GONE)
    span = any(one in _STATE and two is WordRole.SPAN for one, two in pairwise(clause.words))
    return span or (well and clause.has(WordRole.TIMED, WordRole.LASTED, WordRole.TO_NOW))


def _told(clause: OutcomeClause, *, heard: bool) -> StateSign:
    """Return what a clause tells by itself."""
    not_yet = clause.has(WordRole.YET) and clause.has(*DENIALS) and not clause.has(*_AIMS)
    if clause.asked or clause.has(WordRole.DOUBT, WordRole.WAS_WELL) or not_yet:
        return UNSURE
    signs = list(_signs(clause, heard=heard))
    if clause.has(WordRole.PAST, WordRole.PLAN):
        return UNSURE if FAILED in signs and clause.has(WordRole.PLAN) else NOTHING
    told = _weighed(clause, signs) if signs else NOTHING
    hearsay = told in _GOOD and clause.has(WordRole.PERSON) and not heard
    return UNSURE if hearsay else told


def _weighed(clause: OutcomeClause, signs: list[StateSign]) -> StateSign:
    """Return what the signs of a clause tell together."""
    if [word for word in clause.words if word is not WordRole.LITTLE] in _ONLY_FOR:
        return FAILED
    last = CURED if CURED in signs else signs[-1]
    part = PARTLY in signs and last is not CURED
    if clause.has(WordRole.LIMITED) and (part or last in _GOOD):
        return FAILED
    if (
        FAILED in signs
        and last in _GOOD
        and clause.has(WordRole.HAPPY)
        and not clause.has(*TROUBLE)
    ):
        return UNSURE  # "came back happy": of the customer
    if FAILED in signs:
        return CURED if signs[-1] is CURED else FAILED
    if part:
        return FAILED if clause.has(WordRole.ONLY) else PARTLY
    return UNSURE if UNSURE in signs else last


@dataclass
class _Scope:
    """A clause, and what its words so far leave open.

    `denials` are not used yet; `reach` is how many strange words they may pass over to what was
    wrong ("no exhaust leaks", but "did not trace the leak"). `denied` tells that what was wrong is
    not there, `listed` that an "or" follows; `named` that it, or a lamp, was named; `by_denial`
    that the last sign was turned round; `next` is the word that follows.
    """

    clause: OutcomeClause
    heard: bool
    denials: int = 0
    denied: bool = False
    listed: bool = False
    named: bool = False
    lamp: bool = False
    by_denial: bool = False
    reach: int = 0
    place: int = 0
    last: Word = ""
    next: Word = ""

    @property
    def free(self) -> bool:
        """Whether a word tells of the state, not of the part whose name follows: "good earth"."""
        named = is_strange(self.next) or self.next is WordRole.PERSON
        return bool(self.denials) or not named

    @property
    def beside_name(self) -> bool:
        """Whether the word before is a name of what was wrong as well: "warning lamps"."""
        return self.place > 0 and self.clause.words[self.place - 1] in _NAMES

    @property
    def trouble(self) -> bool:
        return self.clause.has(*TROUBLE)


def _signs(clause: OutcomeClause, *, heard: bool) -> Iterator[StateSign]:
    """Yield what each word of state tells, denials reckoned in."""
    scope, sign = _Scope(clause, heard), NOTHING
    pairs = zip_longest(clause.words, clause.words[1:], fillvalue=WordRole.LITTLE)
    for scope.place, (word, scope.next) in enumerate(pairs):
        if word in DENIALS or (word is WordRole.STOPPED and scope.next in _STOPPABLE):
            scope.denials += 1
            scope.reach = int(word in (WordRole.NO, WordRole.NO_MORE))
        elif is_strange(word):
            scope.reach -= 1
        elif word is WordRole.OR:
            scope.listed = scope.denied
        elif isinstance(word, WordRole) and word in _MEANT and _COUNTS.get(word, _always)(scope):
            told = _turned(word, scope)
            if told is not NOTHING:
                sign = told
                yield sign
        elif word is WordRole.AGAIN and sign is NAMED and scope.last in _NAMES:
            yield FAILED
        if word not in _LIGHT:
            scope.last = word
    if (left := _left_over(scope, sign)) is not NOTHING:
        yield left


def _turned(word: WordRole, scope: _Scope) -> StateSign:
    """Return what a word tells behind the denials before it, and use them up."""
    plain, denied = _MEANT[word]
    here = word in _NAMES
    beside = scope.listed or scope.last is WordRole.RETURNED or scope.beside_name
    more = here and beside
    absent = scope.denied and (word in _ABSENT or more)
    far = here and scope.reach < 0
    turned = (scope.denials and not far) or absent
    sign = UNSURE if scope.denials > 1 else denied if turned else plain
    if word is WordRole.CURED and scope.by_denial and not turned:
        if scope.last in _SAID_HOW:
            return FAILED  # "does not work as it should"
        if scope.last in TROUBLE and scope.clause.has(WordRole.NOT):
            return UNSURE  # "does not pull like it should"
    if scope.last is WordRole.FUNCTION and word in _COMES_AND_GOES:
        sign = FAILED if (word in _GOES) is not turned else WELL
    if scope.last is WordRole.RUNS and word in _GOES and not scope.named:
        sign = UNSURE  # "idle gone": what went is no fault
    if word is WordRole.GONE_AGAIN and scope.named:
        sign = UNSURE  # "gas gone again", but "noise gone again"
    scope.named = scope.named or here
    scope.lamp = word is WordRole.LAMP or (scope.lamp and not here and word is not WordRole.OUT)
    if here or word is WordRole.RETURNED:
        scope.denied = sign is WELL
    scope.by_denial = bool(scope.denials)
    scope.denials = 0
    return sign


def _left_over(scope: _Scope, last: StateSign) -> StateSign:
    """Return what "still", "again", "now" and "not" tell that no word of state has used up."""
    clause = scope.clause
    still = clause.has(WordRole.STILL)
    lasts = still or clause.has(WordRole.AGAIN)
    measured = "#" in clause.words  # "battery still 12.6", "drain now 16 mA"
    lasts = lasts or (scope.trouble and not measured and clause.has(WordRole.NOW, WordRole.ONLY))
    ended = scope.denials and _ends_it(clause)
    if last is NAMED and (lasts or ended):
        return WELL if ended else FAILED  # "stalls no more"
    if scope.denials and still:
        return FAILED
    if scope.denials and last in _GOOD and not scope.by_denial:
        return FAILED if _denied_behind(clause) else UNSURE
    if last is not NOTHING or clause.has(WordRole.ASIDE):
        return NOTHING
    if scope.denials and not clause.strange:
        against = clause.joint in (WordRole.BUT, WordRole.THEN) or _is_not_again(clause)
        well = clause.has(WordRole.AGAIN) and not against
        return WELL if well else FAILED if against or not scope.heard else NOTHING
    praised = clause.has(WordRole.NICE, WordRole.FINE)  # "clip still good": of another part
    return FAILED if still and not (scope.heard or measured or praised) else NOTHING


def _is_not_again(clause: OutcomeClause) -> bool:
    """Whether what went is denied again, as in German: "wieder nicht", but "nicht wieder"."""
    return clause.words[-2:] == [WordRole.AGAIN, WordRole.NOT]


def _denied_behind(clause: OutcomeClause) -> bool:
    """Whether the verb is denied behind it: "klappt wieder nicht", "marche pas"."""
    *before, last = [word for word in clause.words if word is not WordRole.AGAIN]
    return (
        last in (WordRole.NOT, WordRole.NO_LONGER)
        and bool(before)
        and before[-1] in (WordRole.WORKS, *_RUNNING)
    )


def _ends_it(clause: OutcomeClause) -> bool:
    return clause.words[-1] in (WordRole.NO_MORE, WordRole.NO_LONGER)


def _always(scope: _Scope) -> bool:  # noqa: ARG001 - one of several conditions
    return True


def _free(scope: _Scope) -> bool:
    return scope.free


def _broke(scope: _Scope) -> bool:
    """Of the car, not of the part that was the cause, unless it is so again."""
    lasts = scope.clause.has(WordRole.AGAIN, WordRole.STILL)
    return lasts or (scope.free and not scope.clause.has(WordRole.PART))


def _whole(scope: _Scope) -> bool:
    """Of the car, of what was wrong with it, or of something that is so now or again."""
    clause = scope.clause
    lasts = clause.has(WordRole.NOW, WordRole.AGAIN, WordRole.STILL)
    known = clause.has(*_RUNNING, *_NAMES) and scope.place > clause.last_strange
    known = known or lasts or not clause.names_part
    return bool(scope.denials) or (scope.free and known and not clause.has(WordRole.PART))


def _runs(scope: _Scope) -> bool:
    lasts = scope.clause.has(WordRole.NOW, WordRole.AGAIN)
    plain = not scope.trouble or scope.last is WordRole.NOW
    return bool(scope.denials) or (scope.free and lasts and plain)


def _is_out(scope: _Scope) -> bool:
    return scope.lamp or scope.clause.has(WordRole.STILL)


def _is_lit(scope: _Scope) -> bool:
    lit = scope.lamp and (scope.heard or scope.clause.has(WordRole.NOW))
    lasts = scope.clause.has(WordRole.STILL, WordRole.AGAIN)
    return lit or lasts or scope.denied or bool(scope.denials)


def _came_back(scope: _Scope) -> bool:
    """Of what was wrong, or of nothing else that is named: "came back with cake"."""
    if scope.last is WordRole.FUNCTION:
        return True
    clause = scope.clause
    other = clause.has(WordRole.OTHER) or (scope.heard and clause.strange and not scope.denials)
    return scope.trouble or clause.has(WordRole.LAMP) or not other


def _is_back(scope: _Scope) -> bool:
    clause = scope.clause
    known = scope.trouble or clause.has(WordRole.LAMP) or scope.last is WordRole.FUNCTION
    bare = not (clause.strange or clause.has(WordRole.ASIDE)) and (
        not scope.heard or clause.joint != "."
    )
    return _came_back(scope) and (known or bare)


def _praised(scope: _Scope) -> bool:
    """Of how something runs: "starts like a watch", and not "leaks like a sieve"."""
    clause = scope.clause
    return clause.has(*_RUNNING, WordRole.WORKS) and not clause.has(*_NAMES)


def _only(scope: _Scope, words: frozenset[Word]) -> bool:
    """Whether a clause has some words and no more: "starts", "blower on all speeds"."""
    return words.issuperset(scope.clause.words)


_COUNTS: Mapping[WordRole, Callable[[_Scope], bool]] = {
    WordRole.CURED: _free,
    WordRole.WORKS: _free,
    WordRole.BROKEN: _broke,
    WordRole.FINE: _whole,
    WordRole.NICE: _whole,
    WordRole.RUNS: _runs,
    WordRole.STARTS: lambda scope: _runs(scope) or _only(scope, _BARE_START),
    WordRole.WHOLE: lambda scope: _praised(scope) or _only(scope, _BARE_WHOLE),
    WordRole.PROMPT: _praised,
    WordRole.HAPPY: lambda scope: scope.heard or bool(scope.denials),
    WordRole.OUT: _is_out,
    WordRole.LIT: _is_lit,
    WordRole.PRESENT: lambda scope: scope.named,
    WordRole.GONE: lambda scope: (
        scope.named or scope.last is WordRole.FUNCTION or not scope.clause.strange
    ),
    WordRole.STOPPED: lambda scope: scope.named or bool(scope.denials),
    WordRole.RETURNED: _came_back,
    WordRole.BACK: _is_back,
}
"""Where a word of state is meant of the state."""
