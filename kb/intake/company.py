"""What stands beside a value and tells it from its neighbours: state, stage, role, side.

``cranking``, ``hot idle``, ``at 2,000 rpm``, ``before`` and ``now``, ``set`` and ``actual``. The
words are closed lists of the trade (common practice, no source).
"""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from enum import Enum, auto
from typing import NamedTuple

from kb.case import Stage
from kb.patterns import compiled

_NUMBER = r"[0-9]{1,6}(?:[.,][0-9]{1,6})?"
_AT = r"(?:at |@ ?|bei |à |przy )"
_WORK = (
    r"clean(?:ing|ed)?|fix(?:ing)?|repairs?|regen\w*|replac\w+|new|lathe|skim\w*|bleed\w*|adjust\w*"
    r"|reset\w*|hose|swap\w*|work|change"
)


class Aspect(Enum):
    """What a qualifier tells; a value has at most one of each kind."""

    POWER = auto()
    LOAD = auto()
    WARMTH = auto()
    WETNESS = auto()
    OPENING = auto()
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
        rf"(?:after|in) {_NUMBER}\s?(?:s|secs?|seconds?|min(?:ute)?s?|h|hrs?|hours?|miles|km)",
        None,
    ),
    (Aspect.POWER, r"(?:at |au |in )?(?:rest|repos|resting|standing|static)", "at rest"),
    (
        Aspect.POWER,
        r"(?:on |while |when |przy |beim )?"
        r"(?:crank(?:ing|ed|s)?(?! (?:sens|pos|pull|ca|sh|\w*ensor))|rozruchu|starten)",
        "cranking",
    ),
    (Aspect.POWER, r"(?:cold |hot |warm |at |on )?start(?:s|ing|[- ]?up)?|run", None),
    (Aspect.POWER, r"(?:(?:when|while|engine|eng) )?running", None),
    (Aspect.POWER, r"asleep|sleeping", "sleeping"),
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
        r"(?:at |on )?(?:snap|stall|prime|cruis(?:e|ing)|floored|full throttle|wide open|overrun"
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
    (Aspect.LOAD, rf"{_AT}{_NUMBER} ?(?:v|volts?)", None),
    (Aspect.WETNESS, r"(?:when )?(?:wet|dry)", None),
    (Aspect.WARMTH, r"(?:when )?(?:cold|kalt|froid)|à froid", "cold"),
    (Aspect.WARMTH, r"(?:when )?(?:hot|chaud)|à chaud", "hot"),
    (Aspect.WARMTH, r"(?:when )?warm", "warm"),
    (Aspect.OPENING, r"(?:when )?(?:closed|open)", None),
    (Aspect.OPENING, r"(?:when )?shut", "closed"),
    (Aspect.POWER, r"(?:when |at )?full(?=\s*(?:$|[,;.)]|[0-9]))", None),
    (
        Aspect.STAGE,
        rf"as found|was|before(?: (?:the |any )?(?:{_WORK})(?! \w+ \w))?",
        Stage.AS_FOUND,
    ),
    (
        Aspect.STAGE,
        rf"now|new(?= \.?[0-9])"
        r"|after(?:wards)?(?! [a-z]| [0-9.,]+ ?(?:s|sec|min|h|hr|hour|day|mile|km)s?\b)"
        rf"|(?:after|post|since)[ -](?:the |a )?(?:{_WORK})(?! [a-z]{{3}})"
        r"|(?:topped|pumped|adjusted|reset|set|filled)(?: up)? to",
        Stage.AFTER_FIX,
    ),
    (Aspect.WORK, rf"(?:after|post|since)[ -](?:the |a )?(?:{_WORK}) [a-z]+", None),
    (Aspect.WORK, r"(?:with |w/ ?)(?:the |a )?new [a-z]+", None),
    (Aspect.STAGE, r"(?:during|under|on) (?:the |a )?test", Stage.DURING_TEST),
    (
        Aspect.LOAD,
        r"(?:with|w/|after|during) (?:the |a )?[a-z]+(?: [a-z]+)?(?=\s*(?:$|[,;.]))",
        None,
    ),
    (
        Aspect.ROLE,
        r"set(?:point)?|desired|des|demanded|commanded|cmd|target|spec'd|soll|wants",
        "set",
    ),
    (Aspect.ROLE, r"actual|act|ist|got|gets", "actual"),
    (Aspect.SIDE, r"l|left", "left"),
    (Aspect.SIDE, r"r|right", "right"),
    (Aspect.SIDE, r"ns", "nearside"),
    (Aspect.SIDE, r"os", "offside"),
    (Aspect.SIDE, r"both(?: sides| ends)?", "both"),
    (Aspect.SIDE, r"(?:inner|outer)(?: edge)?|inside edge|outside edge", None),
    (Aspect.SIDE, r"(?:left|right|top|bottom|upper|lower) half", None),
    (Aspect.SIDE, r"all(?: (?:four|round|cyls|cylinders))?", "all"),
    (Aspect.SIDE, r"(?:the )?others?", "others"),
    (Aspect.SIDE, r"lo(?:w(?: side)?)?", "low side"),
    (Aspect.SIDE, r"hi(?:gh(?: side)?)?", "high side"),
    (Aspect.SIDE, r"pos(?:itive)?", "positive"),
    (Aspect.SIDE, r"neg(?:ative)?", "negative"),
    (Aspect.SIDE, r"in(?:let)?", "in"),
    (Aspect.SIDE, r"out(?:let)?", "out"),
    (Aspect.SIDE, r"b1", "bank 1"),
    (Aspect.SIDE, r"b2", "bank 2"),
    (Aspect.SIDE, r"number [0-9]{1,2}", None),
)
# A side is told beside a value, not in front of a part: "outlet hose".
_BESIDE = (
    r"(?=\s*(?:[+-]?\.?[0-9]|[,;/).!?]|$|(?:OL|V|volts?|bar|psi|kPa|ohms?|mm|[CF]|after|at|cold|hot|idle|warm|min|max|spec|limit|and"
    r"|cranking|when|static|running)\b))"
)
_PAIRS = (
    {"left", "right"},
    {"low side", "high side"},
    {"nearside", "offside"},
    {"positive", "negative"},
    {"in", "out"},
    {"bank 1", "bank 2"},
    {"set", "actual"},
    {"open", "closed"},
)
"""What tells something only beside its counterpart; alone it may be anything."""
_QUALIFIER = compiled(
    r"(?<![\w/.,-])(?:"
    + "|".join(
        f"(?P<k{place}>(?:{form}){_BESIDE if kind is Aspect.SIDE else ''})"
        for place, (kind, form, _) in enumerate(_FORMS)
    )
    + r")(?![\w/])",
    re.IGNORECASE,
)
_COUNTED = compiled(
    r"\b(?:cyl(?:inder)?|cell|comp(?:ression)?|inj(?:ector)?|block|coil)"
    r"[ .:#]{0,2}(?:no\.? ?)?[0-9]",
    re.IGNORECASE,
)
_NEAR = 60
_A_NUMBER = compiled(r"\s*[0-9.]")
_AND_SO = compiled(r"[ (]{0,3}(?:(?:steady|stuck|ok|normal)\b[ ,]{0,2})?")
_JOINT = compiled(r"[\s:=(,]{0,4}(?:(?:is|only|just|reads?|about|still|to)\b[\s:=]{0,3})?")


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
        found = [_read(match) for match in _QUALIFIER.finditer(plain)]
        found = [_of_the_others(each, plain) for each in found]
        said = {each.words.lower() for each in found}
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
            chain.insert(0, each)
            end, place = each.start, place - 1
        return _once(chain)

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


def _of_the_others(each: Qualifier, plain: str) -> Qualifier:
    """Read ``rest`` beside a cell or a cylinder that is counted: ``cyl 3 90 psi, rest 160``."""
    is_rest = plain[each.start : each.end].lower() == "rest" and _A_NUMBER.match(plain, each.end)
    if is_rest and _COUNTED.search(plain, max(0, each.start - _NEAR), each.start):
        return each._replace(kind=Aspect.SIDE, words="others")
    return each


def _once(chain: Sequence[Qualifier]) -> list[Qualifier]:
    kinds = [each.kind for each in chain]
    return list(chain) if len(set(kinds)) == len(kinds) else []


def _read(match: re.Match[str]) -> Qualifier:
    kind, _, meant = _FORMS[int((match.lastgroup or "k0")[1:])]
    typed = " ".join(match[0].split())
    words = meant or re.sub(r"^(?:at|@|when) ?", "", typed)
    return Qualifier(kind, words, *match.span())


_STATES = {Aspect.POWER, Aspect.SPEED, Aspect.LOAD}


def kinds(chain: Sequence[Qualifier]) -> set[Aspect]:
    """Return the kinds of some qualifiers; how it runs, how fast and how hard are one."""
    return {Aspect.POWER if each.kind in _STATES else each.kind for each in chain}


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
