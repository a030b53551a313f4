"""Words that tell how a fix fared, and the clauses of a text.

The words stand in ``outcome_words.toml`` beside this module, to be read and edited by the trade.
"""

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum, auto
from functools import cache
from pathlib import Path

from kb.intake.lifting import known_phrases, longest_phrases
from kb.patterns import compiled

WORDS_FILE = Path(__file__).with_name("outcome_words.toml")


class WordRole(Enum):
    """What a word does in a clause: each is a list of ``outcome_words.toml``, told there."""

    NO = auto()
    NOT = auto()
    NO_MORE = auto()
    NO_LONGER = auto()
    ANY_MORE = auto()
    OR = auto()
    FAULT = auto()
    SYMPTOM = auto()
    FUNCTION = auto()
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
    NICE = auto()
    THING = auto()
    PROMPT = auto()
    PART = auto()
    PERSON = auto()
    HAPPY = auto()
    RUNS = auto()
    STARTS = auto()
    WHOLE = auto()
    CHANGE = auto()
    BAD = auto()
    GONE_AGAIN = auto()
    STILL = auto()
    AGAIN = auto()
    NOW = auto()
    ONLY = auto()
    LIMITED = auto()
    BETTER = auto()
    TIMED = auto()
    LASTED = auto()
    TO_NOW = auto()
    SPAN = auto()
    TODAY = auto()
    PAST = auto()
    WHEN = auto()
    EXCEPT = auto()
    BUT = auto()
    THEN = auto()
    UNTIL = auto()
    YET = auto()
    WAS_WELL = auto()
    DOUBT = auto()
    PLAN = auto()
    HEARSAY = auto()
    OTHER = auto()
    ANOTHER = auto()
    FOUND = auto()
    ASIDE = auto()
    BLAMED = auto()
    WAY = auto()
    SETTING = auto()
    WITH = auto()
    AFTER = auto()
    MEANS = auto()
    LITTLE = auto()


Word = WordRole | str
"""What a word does, or a word that tells nothing."""
TROUBLE = frozenset({WordRole.FAULT, WordRole.SYMPTOM})
"""What was wrong with the car."""
DENIALS = frozenset({WordRole.NO, WordRole.NOT, WordRole.NO_MORE, WordRole.NO_LONGER})

_STRANGE = frozenset({WordRole.PART, WordRole.FUNCTION, WordRole.THING})

_MISTYPED = "mistyped"
_LONG = 8
"""Letters from which a word is known with another vowel in it, too."""
_VOWELS = "aeiou"
_JOINTS = frozenset({WordRole.EXCEPT, WordRole.BUT, WordRole.THEN, WordRole.UNTIL})
_SENTENCE_ENDS = frozenset(".;!?\n")
_SIGNS = _SENTENCE_ENDS | frozenset(",:()/&+-–—→")
_TOKEN = compiled(
    r"(?:[0-9]+ ?x|x ?[0-9]+|#x)(?!\w)|(?:[0-9]+(?:[.,:/][0-9]+)*(?:(?:st|nd|rd|th)(?!\w))?|#)%?"
    r"|[^\W\d_]/[^\W\d_](?!\w)|[^\W\d_]\w*(?:['’]\w+)*"
    r"|[.,;:!?()/&+\n→]|(?<!\S)[-–—](?!\S)"
)
_ORDINAL = compiled("[0-9]+(?:st|nd|rd|th)")
_ALL_OF = compiled(r"\b([0-9]+) (?:times )?(?:out )?of \1\b")
"""So many out of as many: "10 out of 10"."""
_IN_FROST = compiled(r"\bat (?:-|minus )[0-9]+(?: ?(?:deg(?:rees)?|°?c))?\b")
_NOTHING_FOR = compiled(
    r"\bnothing for (?:the )?(?:last |past )?(?:[0-9]+|an?|one|two|three|four|few|a few|several)"
    r" ?(?:km|kms|mi|miles|days?|weeks?|months?|k)\b"
)
"""That it has not happened for a while tells neither that it is mended nor that it is not."""
_TO_THE_RIGHT = compiled(
    r"\b((?:pull|drift|veer|wander|swerv|lean|tug|lurch|drag|slew)(?:s|e|es|ed|ing)?"
    r"(?: (?:a bit|bit|slightly|hard|badly|straight|off|it|the car|steering|wheel))*"
    r"|to(?:wards)?(?: the)?|nach|vers la|a|w) (?:right|rechts|droite|prawo)\b"
)
"""A direction, which is not how things ought to be: "pulls right again"."""
_A_BIT_TO_A_SIDE = compiled(
    r"\b(?:a (?:wee |little |tiny )?(?:bit|touch|little|hair|shade|fraction)|slightly|bit|little)"
    r" (?:to (?:the )?)?(?:right|left)\b"
)
"""The same, told by how much: "still a bit right"."""
_NOW_IT_IS_NOT = compiled(
    r"(?<=\w) (?P<now>today|now|heute|jetzt) (?:(?:it|that|she|he) )?"
    r"(?:isn['’]?t|is not|does(?:n['’]?t| not)|won['’]?t)(?=\s*(?:$|[,.;!]))"
)
"""A turn with no joint before it: "it was fixed yesterday today it isnt"."""
_LASTED_UNTIL = compiled(
    r"\b(?:lasted|held out|survived|hung on|wytrzyma\w+|pojezdzi\w+)(?: \w+)?"
    r"(?= (?:until|till?|do)\b)"
)
"""What held, in words that by themselves tell nothing: "lasted until Easter"."""
_UNTIL_THEN = compiled(
    r"\bdo (?=(?:styczn|lut|mar(?:ca|zec)|kwiet|maja|czerwca|lipca|sierp|wrzes|pazdz|listop|grud"
    r"|swiat|wczoraj|poniedzial|wtork|srod|czwart|piatk|sobot|niedziel|zimy|wiosny|lata|jesieni|mroz)\w*)"
)
_ABBREVIATED = (
    (compiled(r"(?<![\w.])n\. ?i\. ?o(?:\.|(?!\w))"), "nicht in ordnung"),
    (compiled(r"(?<![\w.])i\. ?o(?:\.|(?!\w))"), "in ordnung"),
    (compiled(r"(?<![\w.])o\. ?k\b\.?"), "ok"),
)
"""What is told in letters with full stops, which end no sentence."""
_BUT_STILL = compiled(r"(?<!\S)([^\W\d_]+) aber ((?:immer )?noch)(?!\w)")
"""A German verb before its joint: "klappert aber noch"."""
_WITH_IT_OFF = compiled(
    r"\b(?:with|w/|mit|avec|z) (?:(?:the|all|its|der|dem|den|le|la|les) )?[\w/]+(?: [\w/]+)?"
    r" (?:(?:switched|turned) )?(?:off|unplugged|disconnected|removed|open|aus|ausgeschaltet"
    r"|abgesteckt|eteinte?s?|coupee?s?|debranchee?s?|wylaczon\w+|odpiet\w+)\b"
)
"""What something works without is a condition: "fine with the heater off"."""
_FAILS_NO_MORE = compiled(
    r"\b(?:can(?:['’]?t|not)|could(?: not|n['’]?t)|(?:un|not )able to) (?:get|make) "
    r"(?:it|her|him|the car|the fault)(?: to)? (?:fail|fault|misfire|do it|play up|act up|go wrong"
    r"|stall|cut out|come back|leak|knock|squeak|rattle) any ?(?:more|longer)\b"
)
_NEXT_DAY = compiled(
    r"(?P<plan>\b(?:re)?(?:tests?|checks?|looks?|calls?|rings?|try|drive|book|see|come|bring|measure"
    r"|scan|inspect|phone|tested|checked|ask)\b[^,;.]{0,30}\b(?:next|following)"
    r" (?:day|morning|night|evening)\b[^,;.]*)"
    r"|(?P<bad>\b(?:dead|flat|failed|broken?|died|leaking|leaked|stalled|knocking))"
    r" (?:the )?(?:very )?(?:next|following) (?:day|morning|night|evening)\b"
    r"|(?P<back>\b(?:came back|returned|was back)) (?:the )?(?:very )?(?:next|following)"
    r" (?:day|morning|night|evening|week|weekend|month)\b"
    r"|(?<=again) (?:the )?(?:very )?(?:next|following) (?:day|morning|night|evening)\b"
    r"|\b(?:the )?(?:very )?(?:next|following) (?:day|morning|night|evening)\b"
    r"(?= [^,;.]{0,30}\bagain\b)"
)
"""When trouble was there again, and no plan for the next day: "dead again next day"."""
_ON_A_DAY = compiled(
    r"\bon (?:the )?[0-9]{1,2}(?:st|nd|rd|th)? (?:of )?"
    r"(?:jan|feb|mar|apr|may|june?|july?|aug|sept?|oct|nov|dec)[a-z]*\b"
)
"""Nothing is lit on a day."""
_NOT_MET_SINCE = compiled(
    r"\b(?:never|(?:have|has|had|did)(?: not|n['’]?t)|not) (?:once |ever )?(?:had|have|seen|see|saw"
    r"|heard|hear|noticed|notice|felt|feel) (?:(?:a|an|any|the|that|this|single|one|it|its) )*"
    r"((?!(?:from|of|about|back|any\w+|nothing|him|her|them|it|you|us|the|a|car|van|cust\w*|owner"
    r"|good|clean|quiet|power|heat) )"
    r"[^\W\d_]+ (?:(?:lamp|light|noise|sound|fault|code|warning) )?)(?:come )?(?:on |back )?"
    r"(?=(?:again|since)\b)"
)
"""What was never met again: "haven't heard a squeak since", "never had the light on again"."""
_KEPT_GOING = compiled(
    r"(?<!\w)(?<!not )(?<!nt )(?<!['’]t )(?<!never )(?<!longer )(?<!without )"
    r"(?:has|have|had|having|needs?|needed|got) (?:to (?:wiggle|jiggle|waggle|wriggle|tap|kick|hit"
    r"|thump|bang|slam|push|press|hold|lift|restart|reset|clear|unplug|pump|pull)"
    r"|an? (?:\w+ )?(?:kick|tap|wiggle|thump|slap|nudge|bang|shove)|(?:wiggl|jiggl"
    r"|tapp|kick|hitt|bang|slamm|restart|resett)ing)\b"
)
"""What works so long as somebody helps is not mended."""
_SPOKEN_NO_MORE = compiled(
    r"\b(?:marche|fonctionne|tient|demarre|va|charge|ferme|ouvre|roule|tourne|freine|accelere)"
    r"(?:nt)? plus\b(?! (?:de|d|ou|vite|fort|loin|longtemps|doucement|mal|bas|haut)\b)"
)
"""Spoken French leaves out "ne": "ca marche plus" (common practice, no source)."""
_MORE_OR_NO_MORE = compiled(
    r"(?<!\bne )(?<!\bne s['’])\b(?:fuit|claque|siffle|grince|vibre|cogne|broute|allume|clignote"
    r"|chauffe)(?:nt)? plus\b"
)
"""Of trouble the same may be said of more of it: "ca fuit plus"."""
_OF_THE_CUSTOMER = compiled(
    r"\b(?:customer|cust|owner|driver|client)['’]?s (?=(?:noise|rattle|knock|leak|squeak|fault"
    r"|problem|issue|concern|complaint)s?\b)"
)
"""Whose the trouble is, and nobody who says so: "customer's noise gone"."""
_NOT_THE_PART = compiled(
    r"^\W*so (?:it )?(?:not|was(?: not|n['’]?t)|is(?: not|n['’]?t)) (?:the|that) [\w ]{2,30}?"
    r"(?: then)?(?=\s*(?:[.,;!…]|$))"
)
"""A part that was done in vain: "so it wasn't the coil then"."""
_NO_FIRST = compiled(r"^\W*no,? (?=(?:it|its|it['’]s|he|she|they|that|still)\b)")
"""An answer before what it answers with: "no it isn't fixed"."""
_WAS_IT = compiled(
    r"(?<=[.,;!–-])\s*(?:it (?:was|were)|it['’]?s been|was|turned out(?: to be| it was)?"
    r"|ended up being)"
    r" (?!not\b|no\b|told|said|meant|supposed|hoped|back|again|still|there|on\b|off\b|only|just"
    r"|ok\b|fine|good|well\b)(?=[^\W\d_])"
)
"""What the cause was, told behind a success: "sorted, was the plug behind the glovebox"."""
_BACK_FROM_AWAY = compiled(
    r"\b(?:(?:came|come|comes|is|was|were|got|gets|just|now|they['’]?re|s?he['’]?s) )*back from"
    r" (?:(?:the|a|an|his|her|their|my|our|some|[0-9]+) )*(?:(?:\w+) )?"
    r"(?:holidays?|hols|vacation|leave|work|abroad|trip|travels?|tour|honeymoon|school|hospital)\b"
    r"|\b(?:kam|kommt|ist|war|sind)?\s?(?:aus|vom) (?:dem |den )?(?:urlaub|ferien|ausland|reise)"
    r" zuruck(?:gekommen)?\b"
    r"|\b(?:est |sont |etait )?(?:revenue?s?|rentree?s?|de retour) (?:de|du|des) "
    r"(?:vacances|conges?|voyage|travail)\b"
    r"|\bwroci\w* (?:z|ze) (?:urlopu|wakacji|pracy|podrozy|wyjazdu|zagranicy)\b"
)
"""Of a person, and of no fault: "customer came back from holiday happy"."""
_AWAY = compiled("urlaub|ferien|ausland|reise|vacances|conges|voyage|travail|wroci")
_CAME_BACK_ITSELF = compiled(
    r"\b(?:faults?|noises?|codes?|lamps?|lights?|lampe|problems?|misfires?|rattles?|knocks?|leaks?"
    r"|issues?|symptoms?|fehler|gerausch|defaut|bruit|voyant|usterka|it|same)\s+$"
)
_LEFT_IN_IT = compiled(
    r"\b(?:petrol|fuel|diesel|juice|coolant|antifreeze|gear ?oil|engine oil|oil|benzin|sprit"
    r"|kraftstoff|essence|gazole|carburant|benzyna|paliwo|olej)"
    r" (?:(?:is|was|there['’]?s|ist|noch|encore|toujours|jest) )*"
    r"(?:still (?:there )?in|immer noch (?:drin|im)|noch (?:drin|im)|encore dans|toujours dans"
    r"|nadal w|jeszcze w)\b"
    r"(?: (?:it|there|the|his|her|le|la|tank|can|sump|system|reservoir|box|zbiorniku))*"
)
"""There is enough of what a car runs on: "petrol still in it"."""
_PARTED_NUMBER = compiled(r"(?<![\w.,])([0-9]{1,3}) ([0-9]{3})(?= (?:km|miles?|mi)\b)")
"""A distance as the French write it: "8 000 km"."""
_CODE = compiled("(?=.*[0-9])[pcbu][0-3o][0-9a-fo]{3}")
_NUMBERS = frozenset(
    {
        *("two", "three", "four", "five", "six", "seven", "eight", "ten", "several", "twice"),
        *("zwei", "drei", "vier", "funf", "sechs", "paar", "deux", "trois", "quatre", "cinq"),
        *("quelques", "dwa", "dwie", "trzy", "cztery", "piec", "kilka"),
    }
)
_UNIT = compiled(
    "secs?|seconds?|mins?|minutes?|hrs?|hours?|days?|wks?|weeks?|mths?|months?|yrs?|years?"
    "|kms?|miles?|mi|weekends?|mornings|nights|tanks|cycles?|restarts?|stunden?|tag(?:en?)?|wochen?|monat(?:en?)?"
    "|jours?|semaines?|mois|heures?|dni|dzien|dnia|dniach|tygodni(?:e|u|ach)?|tydzien"
    "|miesi(?:ac|ecy|acu|acach)|roku|latach|godzin(?:ie|ach)?"
)


def is_strange(word: Word) -> bool:
    """Whether a word speaks of something else than the state of the car."""
    return isinstance(word, str) or word in _STRANGE


@dataclass
class OutcomeClause:
    """Words of a sentence up to the next joint.

    `joint` is what stands before them: the role of a word, a comma, or a full stop where a sentence
    begins; `last_strange` is the place of its last word that speaks of something else, as a part or
    a person; `names_part` whether it speaks of a part that may be well without the car being so;
    `asked` tells that the sentence ends in a question mark.
    """

    joint: Word
    words: list[Word] = field(default_factory=list)
    roles: set[WordRole] = field(default_factory=set)
    last_strange: int = -1
    names_part: bool = False
    asked: bool = False

    def add(self, word: Word) -> None:
        """Add a word at the end."""
        if is_strange(word):
            self.last_strange = len(self.words)
            self.names_part = self.names_part or word is not WordRole.THING
        self.words.append(word)
        if isinstance(word, WordRole):
            self.roles.add(word)

    @property
    def strange(self) -> bool:
        """Whether it speaks of something else as well, as a part or a person."""
        return self.last_strange >= 0

    def has(self, *roles: WordRole) -> bool:
        """Whether one of some roles is in it."""
        return not self.roles.isdisjoint(roles)


def clauses(text: str) -> list[OutcomeClause]:
    """Part a text into clauses, and put what words do in the place of the words.

    Examples
    --------
    >>> told, *_, turned = clauses("pump ok, but fault remains")
    >>> told.words[0], told.words[1].name, turned.joint.name, [word.name for word in turned.words]
    ('pump', 'FINE', 'BUT', ['FAULT', 'BAD'])
    """
    slips = _slips()
    found = [OutcomeClause(".")]
    sentence = 0
    words = [slips.get(word, word) for word in plain_words(text)]
    for word in known_phrases(words, _table(), _longest()):
        if word in _SENTENCE_ENDS:
            for clause in found[sentence:] if word == "?" else ():
                clause.asked = True
            sentence = len(found)
            found.append(OutcomeClause("."))
        elif word in _SIGNS:
            found.append(OutcomeClause(","))
        elif word in _JOINTS:
            found.append(OutcomeClause(word))
        elif word is WordRole.YET and not found[-1].has(*DENIALS, WordRole.DOUBT):
            found.append(OutcomeClause(WordRole.BUT))
        elif word is WordRole.HEARSAY:
            found.append(OutcomeClause(","))
            found[-1].add(word)
        else:
            found[-1].add(word)
    return found


def plain_words(text: str) -> list[str]:
    """Return words and signs of a text in the form in which the lists have them."""
    apart = unicodedata.normalize("NFKD", text.casefold().replace("ł", "l"))
    bare = "".join(char for char in apart if not unicodedata.combining(char))
    bare = _WITH_IT_OFF.sub("provided", bare)
    bare = _IN_FROST.sub("in frost", _ALL_OF.sub("every time", bare))
    bare = _NOTHING_FOR.sub("maybe", _TO_THE_RIGHT.sub(r"\1 left", bare))
    bare = _NOW_IT_IS_NOT.sub(r", \g<now> it isnt", bare)
    bare = _A_BIT_TO_A_SIDE.sub("goes to one side", bare)
    bare = _UNTIL_THEN.sub("until ", _LASTED_UNTIL.sub("held", bare))
    bare = _PARTED_NUMBER.sub(r"\1\2", bare)
    bare = _without_people_and_stuff(bare)
    for pattern, meant in _ABBREVIATED:
        bare = pattern.sub(meant, bare)
    bare = _FAILS_NO_MORE.sub("no longer does it", _BUT_STILL.sub(r"aber \1 \2", bare))
    bare = _SPOKEN_NO_MORE.sub("marche pas", _ON_A_DAY.sub(" ", bare))
    bare = _NOT_THE_PART.sub("not the cure", _NO_FIRST.sub("", _OF_THE_CUSTOMER.sub("", bare)))
    bare = _NEXT_DAY.sub(lambda told: told["plan"] or told["bad"] or told["back"] or " ", bare)
    bare = _NOT_MET_SINCE.sub(r"no \1since ", bare)
    bare = _WAS_IT.sub(" blamed ", bare)
    bare = _KEPT_GOING.sub("maybe", _MORE_OR_NO_MORE.sub("plus ou moins", bare))
    return [_plain(token) for token in _TOKEN.findall(bare)]


def _without_people_and_stuff(bare: str) -> str:
    """Leave out who is back from where, and what is left in a tank: neither is of the fault."""
    if "back from" in bare or _AWAY.search(bare):  # a word tells at once that there is none
        bare = _BACK_FROM_AWAY.sub(_of_whom, bare)
    return _LEFT_IN_IT.sub(" ", bare)


def _of_whom(told: re.Match[str]) -> str:
    """Keep what came back by name: a fault is not on holiday."""
    itself = _CAME_BACK_ITSELF.search(told.string, 0, told.start())
    return told[0] if itself else " "


def _plain(token: str) -> str:
    if "x" in (token[0], token[-1]) and any(map("#0123456789".__contains__, token)):
        return "#x"
    if token[0].isdigit() or token[0] == "#":
        if _ORDINAL.fullmatch(token):
            return "#th"
        return "#%" if token[-1] == "%" else "#"
    word = token.replace("'", "").replace("’", "")
    if word in _NUMBERS:
        return "#"
    if _UNIT.fullmatch(word):
        return "days"
    return "code" if _CODE.fullmatch(word) else word


@cache
def _lists() -> Mapping[str, Sequence[str]]:
    roles = tomllib.loads(WORDS_FILE.read_text("utf-8"))
    return {
        name: [phrase for each in phrases.split(",") if (phrase := " ".join(each.split()))]
        for name, phrases in roles.items()
    }


@cache
def _table() -> Mapping[tuple[str, ...], WordRole]:
    """Return what every phrase does."""
    return {
        form: WordRole[name.upper()]
        for name, phrases in _lists().items()
        if name != _MISTYPED
        for phrase in phrases
        for form in _forms(phrase)
    }


@cache
def _longest() -> Mapping[str, int]:
    return longest_phrases(_table())


def table_words() -> frozenset[str]:
    """Return every word of the lists, in whatever language."""
    return frozenset(word for phrase in _table() for word in phrase)


def _forms(phrase: str) -> Iterator[tuple[str, ...]]:
    """Yield a phrase, and with ``~`` before it the regular forms of its first word."""
    first, *more = plain_words(phrase.removeprefix("~"))
    yield (first, *more)
    if phrase.startswith("~"):
        stem = first.removesuffix("e")
        for form in (
            *(f"{first}s", f"{first}es", f"{stem}ing", f"{stem}ed"),
            *(f"{first}{first[-1]}ing", f"{first}{first[-1]}ed"),
        ):
            yield (form, *more)


@cache
def _slips() -> Mapping[str, str]:
    """Return the words meant by those with a letter left out, a wrong vowel, or two exchanged."""
    known = table_words()
    meant = {}
    for word in _lists()[_MISTYPED]:
        for place in range(1, len(word)):
            meant[word[:place] + word[place + 1 :]] = word
            meant[word[:place] + word[place : place + 2][::-1] + word[place + 2 :]] = word
            if len(word) >= _LONG and word[place] in _VOWELS:
                meant |= {word[:place] + vowel + word[place + 1 :]: word for vowel in _VOWELS}
    return {slip: word for slip, word in meant.items() if slip not in known}
