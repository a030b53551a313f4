"""What stands beside a value and tells it from its neighbours: state, stage, role, side.

``cranking``, ``hot idle``, ``at 2,000 rpm``, ``before`` and ``now``, ``set`` and ``actual``. The
words are closed lists of the trade (common practice, no source).
"""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from enum import IntEnum, auto
from functools import lru_cache
from typing import NamedTuple

from kb.case import Stage

_NUMBER = r"[0-9]{1,6}(?:[.,][0-9]{1,6})?"
_AT = r"(?:at |@ ?|bei |à |przy )"
_WORK = (
    r"clean(?:ing|ed)?|fix(?:ing)?|repairs?|regen\w*|replac\w+|new|lathe|skim\w*|bleed\w*|adjust\w*"
    r"|reset\w*|hose|swap\w*|work|change|flush\w*|top(?:ping)?[- ]?up|service|weld\w*|solder\w*"
    r"|tighten\w*|refit\w*|rebuil\w+|re-?cal\w*|relearn|re-?gas\w*|polish\w*|reparatur|reinigung"
    r"|tausch|wechsel|naprawie|wymianie|czyszczeniu|réparation|nettoyage"
)
_DONE = (
    r"cleaned|replaced|fitted|refitted|adjusted|bled|fixed|repaired|tightened|renewed|swapped|welded"
    r"|soldered|charged|flushed"
)
_BEFORE = r"before|b4|prior to|vor|avant|przed"
_AFTER = r"after|aft|post|since|nach|après|po"
_SWITCHED = (
    r"on|off|out|in|open|closed|shut|running|(?:un)?plugged|(?:dis)?connected|removed|pulled|fitted"
    r"|blocked|clamped|pinched|engaged|locked|pressed|held|loose|an|aus"
)
_POINT = (
    r"(?:engine|eng|block|body|chassis|frame|shell|batt(?:ery)?|earth|ground|gnd|alt(?:ernator)?|starter"
    r"|gearbox|motor|b\+|b-)(?: (?:neg(?:ative)?|pos(?:itive)?|[-+]ve|[-+]|post|terminal|case|stud))?"
)
_ENDS = r"(?=\s*(?:$|[,;.)]|[+-]?\.?[0-9]))"


class Aspect(IntEnum):
    """What a qualifier tells; a value has at most one of each kind."""

    POWER = auto()
    LOAD = auto()
    WARMTH = auto()
    WETNESS = auto()
    OPENING = auto()
    GEAR = auto()
    BETWEEN = auto()
    METHOD = auto()
    UNREST = auto()
    SPEED = auto()
    TIME = auto()
    WORK = auto()
    STAGE = auto()
    ROLE = auto()
    SIDE = auto()


# Aspect, form, what is understood (None: the words as typed).
_FORMS: tuple[tuple[Aspect, str, str | None], ...] = (
    (Aspect.SPEED, rf"(?:{_AT}|(?<=WOT )){_NUMBER}\s?(?:rpm|revs)", None),
    (Aspect.SPEED, rf"{_AT}[0-9](?:[.,][0-9])?k(?: rpm)?(?!\s?(?:ohm|Ω|m))", None),
    (Aspect.SPEED, rf"{_AT}{_NUMBER}\s?(?:mph|km/?h|kph)", None),
    (Aspect.SPEED, rf"{_AT}[1-9][0-9]{{3}}(?!\s?[a-zΩ%°])", None),
    (Aspect.WARMTH, rf"{_AT}-?[0-9]{{1,3}}\s?(?:deg(?:rees)?|°)?\s?[CF]?(?!\s?[a-zΩ%°])", None),
    (
        Aspect.TIME,
        rf"(?:after|in|for|nach|après|po) {_NUMBER}\s?(?:s|secs?|seconds?|min(?:ute)?s?|h|hrs?|hours?"
        r"|miles|km)(?: (?:dc|charge|charging|idling|driving|running|off|standing|rest))?",
        None,
    ),
    (Aspect.TIME, rf"{_NUMBER}\s?(?:mins?|minutes|hrs|hours|days) later", None),
    (Aspect.TIME, rf"(?:(?<=bar )|(?<=psi )|(?<=kpa )){_NUMBER}\s?(?:mins?|minutes)", None),
    (
        Aspect.TIME,
        r"overnight|(?:after|nach|po) (?:(?:a|the|one|der|einer) )?(?:night|nacht|nocy|weekend)"
        r"|next (?:day|morning)",
        None,
    ),
    (Aspect.POWER, r"(?:at |au |in )?(?:rest|repos|resting|standing|static)", "at rest"),
    (
        Aspect.POWER,
        r"(?:on |while |when |przy |beim )?"
        r"(?:crank(?:ing|ed|s)?(?: at)?(?! (?:sens|pos|pull|ca|sh|\w*ensor))|rozruchu|starten)",
        "cranking",
    ),
    (Aspect.POWER, r"(?:cold |hot |warm |at |on )?start(?:s|ing|[- ]?up)?|run", None),
    (Aspect.POWER, r"(?:(?:when|while|engine|eng) )?running", None),
    (Aspect.POWER, r"asleep|sleeping", "sleeping"),
    (
        Aspect.POWER,
        r"awake|spinning|spun|(?:un)?locked|(?:(?:all|everything) )?(?:un)?plug(?:ge)?d(?: (?:in|up))?"
        r"|(?:dis)?connected|foot (?:off|down)|moteur tournant|zündung (?:an|ein|aus)|na zapłonie",
        None,
    ),
    (Aspect.POWER, rf"contact(?: mis)?{_ENDS}", None),
    (
        Aspect.SPEED,
        r"(?:im |bei |au |na )?(?:leerlauf|ralenti|wolnych(?: obrotach)?|biegu jałowym)",
        "idle",
    ),
    (
        Aspect.SPEED,
        r"(?:(?:hot|cold|warm|fast|at) ){0,2}(?:idle|idling|tickover)(?: (?:hot|cold|warm))?",
        None,
    ),
    (
        Aspect.POWER,
        r"KOEO|KOER|WOT|(?:key|ignition|ign|engine|eng|lights?)[ -](?:on|off)"
        r"(?:[, ]+(?:engine|eng) off)?",
        None,
    ),
    (
        Aspect.POWER,
        r"(?:at |on )?(?:snap|stall|prime|cruis(?:e|ing)|floor(?:ed)?|full throttle|wide open|overrun"
        r"|parked|straight ahead|hands off|engaged|(?:first|second|third|fourth|fifth) gear)",
        None,
    ),
    (
        Aspect.POWER,
        r"(?:during|while) (?:the |a )?(?:regen(?:eration)?|sleep|charging|braking)",
        None,
    ),
    (
        Aspect.LOAD,
        r"(?:with |under |on )?(?:(?:no|full|part|all|everything) )?(?:loads?|loads? on|all on)"
        r"|(?:with|w/) (?:the )?\w+ (?:on|off)|(?:on|off) load",
        None,
    ),
    (
        Aspect.LOAD,
        rf"(?:with|w/?|mit|avec) (?:the |a )?(?:[a-zäöü/'-]+ (?:[0-9]{{1,2}} )?){{1,2}}(?:{_SWITCHED})"
        + _ENDS,
        None,
    ),
    (
        Aspect.LOAD,
        rf"(?:fuse|relay) [0-9]{{1,3}} (?:{_SWITCHED}){_ENDS}"
        r"|(?:pipe|hose|vac|cap|filter|cat|plug|fan|heater|pump|a/?c|ac)"
        rf" (?:on|off|removed|pulled|(?:dis)?connected|(?:un)?plugged|blocked|clamped){_ENDS}",
        None,
    ),
    (
        Aspect.LOAD,
        rf"(?:mit|avec) [a-zäöüéèß]{{3,}}{_ENDS}|(?:without|w/o|ohne|sans|bez)(?: [a-zäöüéèß]{{3,}})?"
        + _ENDS,
        None,
    ),
    (
        Aspect.METHOD,
        r"(?:with |by )?(?:(?:ir|infrared) gun|thermometer|laser)"
        r"|(?:on|by|via) (?:the )?(?:dash|gauge|scan(?: ?tool)?|scanner|tester|screen|meter|multimeter"
        r"|phone|app|laptop|live data|rollers)",
        None,
    ),
    (Aspect.LOAD, rf"(?:when|while) (?:[a-z]+ )?[a-z]{{2,}}(?:ed|ing){_ENDS}", None),
    (Aspect.BETWEEN, rf"(?:between )?{_POINT} (?:to|and) {_POINT}", None),
    (
        Aspect.BETWEEN,
        r"(?:pre|post|before|after)[ -](?:cat(?:alyst)?|dpf|filter|turbo|intercooler|(?:thermo)?stat)",
        None,
    ),
    (
        Aspect.BETWEEN,
        r"(?:from|off|above|at) (?:the )?(?:floor|rim|arch|(?:top|bottom|outer|inner) edge)",
        None,
    ),
    (Aspect.LOAD, rf"{_AT}{_NUMBER} ?(?:v|volts?)", None),
    (Aspect.WETNESS, r"(?:when )?(?:wet|dry)", None),
    (Aspect.WARMTH, r"(?:when )?(?:cold|kalt|froid|zimn[yae])|à froid|na zimno", "cold"),
    (Aspect.WARMTH, r"(?:when )?(?:hot|chaud|heiß|heiss|gorąc[yae])|à chaud|na gorąco", "hot"),
    (Aspect.WARMTH, r"(?:when )?warm", "warm"),
    (Aspect.OPENING, r"(?:when )?(?:closed|open)", None),
    (Aspect.OPENING, r"(?:when )?shut", "closed"),
    (Aspect.POWER, r"(?:when |at )?full(?=\s*(?:$|[,;.)]|[0-9]))", None),
    (
        Aspect.STAGE,
        rf"as found|was|originally|vorher|(?:{_BEFORE}) (?:the |any |a )?new [a-z/]+"
        rf"|(?:before|b4)(?: (?:the |any )?(?:{_WORK})(?! \w+ \w))?|(?:vor|przed){_ENDS}"
        rf"|(?:vor|avant|przed|pre) (?:{_WORK})",
        Stage.AS_FOUND,
    ),
    (
        Aspect.STAGE,
        rf"now|new(?= \.?[0-9])"
        r"|after(?:wards)?(?! [a-z]| [0-9.,]+ ?(?:s|sec|min|h|hr|hour|day|mile|km)s?\b)"
        rf"|(?:{_AFTER})[ -](?:the |a )?(?:{_WORK})(?! [a-z]{{3}})"
        rf"|(?:aft\.?|nach){_ENDS}|nachher|danach|(?:{_DONE})[ ,]+(?:it'?s )?now"
        r"|(?:topped|pumped|adjusted|reset|set|filled)(?: up)? to",
        Stage.AFTER_FIX,
    ),
    (Aspect.WORK, rf"(?:{_AFTER})[ -](?:the |a )?(?:{_WORK}) [a-z]+", None),
    (Aspect.WORK, rf"(?:{_AFTER})[ -](?:the |a )?[\w/-]+ (?:{_WORK}|neu|done){_ENDS}", None),
    (Aspect.WORK, r"(?:with |w/ ?)(?:the |a )?new [a-z]+", None),
    (Aspect.STAGE, r"(?:during|under|on) (?:the |a )?test", Stage.DURING_TEST),
    (
        Aspect.LOAD,
        r"(?:with|w/|after|during) (?:the |a )?[a-z]+(?: [a-z]+)?(?=\s*(?:$|[,;.]))",
        None,
    ),
    (
        Aspect.ROLE,
        r"set(?:point)?|target|spec'd|wants|asked(?: for)?|req(?:uested)?",
        "set",
    ),
    (Aspect.ROLE, r"desired|des|demanded|commanded|cmd|soll", "set"),
    (Aspect.ROLE, r"actual|act|ist|got|gets", "actual"),
    (Aspect.SIDE, r"l|left", "left"),
    (Aspect.SIDE, r"r|right", "right"),
    (Aspect.SIDE, r"ns", "nearside"),
    (Aspect.SIDE, r"os", "offside"),
    (Aspect.SIDE, r"both(?: sides| ends| banks)?", "both"),
    (Aspect.SIDE, r"(?:inner|outer)(?: edge)?|inside edge|outside edge", None),
    (Aspect.SIDE, r"(?:left|right|top|bottom|upper|lower) half", None),
    (
        Aspect.SIDE,
        r"(?:all (?:bar|but|except) )?(?:number|no\.?|nr\.?|#) ?[0-9]{1,2}",
        None,
    ),
    (Aspect.SIDE, r"all(?: (?:four|round|cyls|cylinders))?", "all"),
    (Aspect.SIDE, r"(?:the )?others?(?: side)?", "others"),
    (Aspect.SIDE, r"lo(?:w(?: side)?)?", "low side"),
    (Aspect.SIDE, r"hi(?:gh(?: side)?)?", "high side"),
    (Aspect.SIDE, r"(?:pos(?:itive)?|\+|\+ve)(?: side)?", "positive"),
    (Aspect.SIDE, r"(?:neg(?:ative)?|-ve)(?: side)?", "negative"),
    (Aspect.SIDE, r"in(?:let)?", "in"),
    (Aspect.SIDE, r"out(?:let)?", "out"),
    (Aspect.SIDE, r"b1", "bank 1"),
    (Aspect.SIDE, r"b2", "bank 2"),
    (Aspect.SIDE, r"s1", "sensor 1"),
    (Aspect.SIDE, r"s2", "sensor 2"),
    (Aspect.SIDE, r"lowest", None),
    (Aspect.SIDE, r"highest", None),
    (
        Aspect.SIDE,
        r"(?:earth|ground|gnd|supply|feed|live|loom|sensor|ecu|module|switch|battery|load|pack|motor|pump"
        r"|tank|body|engine|gearbox|hp|lp) side",
        None,
    ),
    (
        Aspect.UNREST,
        r"(?:hunt|fluctuat|puls|wander|flicker|jump|bounc|surg)ing|erratic|unsteady|rising|falling",
        None,
    ),
    (Aspect.GEAR, r"(?:in )?(?:drive|reverse|neutral|[dn](?=\s*(?:$|[,;.])))", None),
)
# A side is told beside a value, not in front of a part: "outlet hose".
_BESIDE = (
    r"(?=\s*(?:[+-]?\.?[0-9]|[,;/).!?]|$|(?:OL|V|volts?|bar|psi|kPa|ohms?|mm|[CF]|[<>~]|stuck|around|about|under|over|below|above|after|at|cold|hot|idle|warm|min|max|spec|limit|and"
    r"|cranking|when|static|running|front|rear|[no]s[fr]?|[no]/s(?:/?[fr])?|[lr][fr]|left|right)\b))"
)
_PAIRS = (
    {"left", "right"},
    {"low side", "high side"},
    {"nearside", "offside"},
    {"positive", "negative"},
    {"in", "out"},
    {"bank 1", "bank 2"},
    {"sensor 1", "sensor 2"},
    {"lowest", "highest"},
    {"set", "actual"},
    {"open", "closed"},
)
"""What tells something only beside its counterpart; alone it may be anything."""
_AS_GOOD_AS_OPEN = {"wot", "floored", "floor", "full throttle", "full"}
_BEGIN = r"(?<![\w/.,-])(?=[^\W\d]|[@+#-]|[0-9.,]{1,8}\s?(?:min|hrs|hours|days|rpm|revs))"
_END = r"(?![\w/])"


def _in_lower_case(form: str) -> str:
    return re.sub(r"(?<!\\)[A-Z]", lambda letter: letter[0].lower(), form).replace("Ω", "ω")


# One pattern for all, in lower case and without groups: so the first letter rules most forms out.
_OTHERS = "|".join(_in_lower_case(form) for kind, form, _ in _FORMS if kind is not Aspect.SIDE)
_SIDES = "|".join(_in_lower_case(form) for kind, form, _ in _FORMS if kind is Aspect.SIDE)
_QUALIFIER = re.compile(f"{_BEGIN}(?:{_OTHERS}|(?:{_SIDES}){_in_lower_case(_BESIDE)}){_END}")
_PATTERNS = [
    ((kind, meant), re.compile(f"(?:{_in_lower_case(form)})")) for kind, form, meant in _FORMS
]
_COUNTED = re.compile(
    r"\b(?:cyl(?:inder)?|cell|comp(?:ression)?|inj(?:ector)?|block|coil|mod(?:ule)?)"
    r"[ .:#]{0,2}(?:no\.? ?)?[0-9]",
    re.IGNORECASE,
)
_SETTLES = re.compile(
    r"\b(?:stuck|sits?|sat|stays?|stayed|runs?|ran|holds?|held|settle[sd]?|opens?|opened|levels? off"
    r"|peaks?|peaked|constant|steady|boil(?:s|ed)|(?:cut|switche?|kick)s? (?:in|out|on|off))\s+$",
    re.IGNORECASE,
)
_LONGEST_SETTLING = len("switches off   ")
_NEAR = 60
_A_NUMBER = re.compile(r"\s*[0-9.]")
_AND_SO = re.compile(r"[ (@]{0,3}(?:(?:steady|stuck|ok|normal)\b[ ,]{0,2})?")
_JOINT = re.compile(
    r"[\s:=(,]{0,4}(?:(?:is|only|just|reads?|about|around|roughly|approx|stuck|still|to)\b[\s:=]{0,3})?"
)


class Qualifier(NamedTuple):
    """A phrase beside a value: what it tells, as understood, and where it stands."""

    kind: Aspect
    words: str
    start: int
    end: int


class Company:
    """The qualifiers of a text, and which of them stand just beside a place."""

    def __init__(self, plain: str, *, alone: bool = False) -> None:
        """Find them; with `alone` also those that tell something only beside their counterpart."""
        self._plain = plain
        lower = plain.lower() if len(plain.lower()) == len(plain) else plain
        read = (_read(match, plain) for match in _QUALIFIER.finditer(lower))
        found = [each for each in read if each]
        found = [_of_the_others(each, plain) for each in _geared(found, plain)]
        found = [each for each in found if not _is_reached(each, plain)]
        said = {each.words.lower() for each in found}
        if said & _AS_GOOD_AS_OPEN:
            said.add("open")
        lone = {word for pair in _PAIRS if not (alone or pair <= said) for word in pair}
        self._all = [each for each in found if each.words.lower() not in lone]
        self._starts = [each.start for each in self._all]
        self._ends = [each.end for each in self._all]

    def holds(self, start: int, end: int) -> bool:
        """Whether a stretch lies within a qualifier."""
        place = bisect_right(self._starts, start) - 1
        return place >= 0 and self._ends[place] >= end

    def before(self, floor: int, end: int) -> list[Qualifier]:
        """Qualifiers that end just before a place, in their order."""
        chain: list[Qualifier] = []
        place = bisect_right(self._ends, end) - 1
        while place >= 0:
            each = self._all[place]
            if each.start < floor or not _JOINT.fullmatch(self._plain, each.end, end):
                break
            chain.append(each)
            end, place = each.start, place - 1
        return _once(chain)[::-1]

    def after(self, start: int, limit: int) -> list[Qualifier]:
        """Qualifiers that begin just behind a place, in their order."""
        chain: list[Qualifier] = []
        place = bisect_left(self._starts, start)
        while place < len(self._all):
            each = self._all[place]
            if each.end > limit or not _AND_SO.fullmatch(self._plain, start, each.start):
                break
            chain.append(each)
            start, place = each.end, place + 1
        return _once(chain)


def _is_reached(each: Qualifier, plain: str) -> bool:
    """Whether ``at 62`` tells what was measured: ``stuck at 62``."""
    at = plain[each.start : each.start + len("at ")].lower() == "at "
    begin = max(0, each.start - _LONGEST_SETTLING)
    return at and _SETTLES.search(plain, begin, each.start) is not None


def _geared(found: Sequence[Qualifier], plain: str) -> Sequence[Qualifier]:
    """Read ``R`` beside the gears ``D`` and ``N`` as the one between them."""
    if Aspect.GEAR not in {each.kind for each in found}:
        return found
    return [
        each._replace(kind=Aspect.GEAR, words="R") if plain[each.start : each.end] == "R" else each
        for each in found
    ]


def _of_the_others(each: Qualifier, plain: str) -> Qualifier:
    """Read ``rest`` beside a cell or a cylinder that is counted: ``cyl 3 90 psi, rest 160``."""
    is_rest = plain[each.start : each.end].lower() == "rest" and _A_NUMBER.match(plain, each.end)
    if is_rest and _COUNTED.search(plain, max(0, each.start - _NEAR), each.start):
        return each._replace(kind=Aspect.SIDE, words="others")
    return each


def _once(chain: Sequence[Qualifier]) -> list[Qualifier]:
    """Return the qualifiers nearest to a value, up to the second of one kind."""
    seen: set[Aspect] = set()
    for place, each in enumerate(chain):
        if each.kind in seen:
            return list(chain[:place])
        seen.add(each.kind)
    return list(chain)


def _read(match: re.Match[str], plain: str) -> Qualifier | None:
    """Tell what a qualifier says, found in the lower case of a text; None if it is none."""
    kind, meant = _meaning(match[0]) or _meaning_in(match)
    typed = " ".join(plain[slice(*match.span())].split())
    if kind is Aspect.GEAR and len(typed) == 1 and typed.islower():
        return None
    words = meant or re.sub(r"^(?:at|@|when|all (?:bar|but|except)) ?", "", typed)
    return Qualifier(kind, words, *match.span())


@lru_cache(maxsize=4096)
def _meaning(words: str) -> tuple[Aspect, str | None] | None:
    """Return kind and meaning of the first form that words alone have; None if none has them."""
    return next((told for told, pattern in _PATTERNS if pattern.fullmatch(words)), None)


def _meaning_in(match: re.Match[str]) -> tuple[Aspect, str | None]:
    """Return kind and meaning of the form that a qualifier has where it stands."""
    return next(
        told
        for told, pattern in _PATTERNS
        if (found := pattern.match(match.string, match.start())) and found.end() == match.end()
    )


_SAME_KIND = {
    Aspect.SPEED: Aspect.POWER,
    Aspect.LOAD: Aspect.POWER,
    Aspect.GEAR: Aspect.POWER,
    Aspect.WORK: Aspect.STAGE,
}


def kinds(chain: Sequence[Qualifier]) -> set[Aspect]:
    """Return the kinds of some qualifiers; how it runs, how fast and how hard are one."""
    return {_SAME_KIND.get(each.kind, each.kind) for each in chain}


class Said(NamedTuple):
    """What the qualifiers of one value say of it."""

    condition: str | None
    stage: Stage | None
    position: str | None


def said(chain: Sequence[Qualifier]) -> Said:
    """Bring the qualifiers of one value together."""
    of = {each.kind: each.words for each in chain}
    stage = of.pop(Aspect.STAGE, Stage.AFTER_FIX if Aspect.WORK in of else None)
    places = [of.pop(kind) for kind in (Aspect.SIDE, Aspect.ROLE) if kind in of]
    return Said(
        ", ".join(of.values()) or None, Stage(stage) if stage else None, " ".join(places) or None
    )
