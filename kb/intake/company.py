"""What stands beside a value and tells it from its neighbours: state, stage, role, side.

``cranking``, ``hot idle``, ``at 2,000 rpm``, ``before`` and ``now``, ``set`` and ``actual``. The
words stand in `kb.intake.company_words`.
"""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from kb.case import Quantity, Stage
from kb.intake.company_words import BESIDE, FORMS, REVOLUTIONS, Aspect
from kb.intake.units import find_unit
from kb.patterns import compiled

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
_SIDES_ALONE = {"left", "right", "nearside", "offside"}
_STATES = {Aspect.WARMTH, Aspect.WETNESS}
_NEVER_AT_A_HEAT = {Quantity.TEMPERATURE, Quantity.TIME}
_NEVER_WARM = {Aspect.SIDE, Aspect.ROLE, Aspect.STAGE}
_RUNS = {Aspect.POWER, Aspect.SPEED}
_OF_A_VALUE = {Aspect.WARMTH, Aspect.SPEED, Aspect.POWER}
_BEFORE_START = compiled(
    r"(?:before|b4|prior to|ahead of|pre|vor|avant|przed)[ -].*"
    r"(?:crank|start|anlassen|lancement|démarr|rozruch|uruchomieni|odpaleni)",
    re.IGNORECASE,
)
_AS_GOOD_AS_OPEN = {"wot", "floored", "floor", "full throttle", "full"}
_BEGIN = (
    r"(?<![\w/.,-])(?=[^\W\d]|[@+#-]"
    rf"|[0-9.,]{{1,8}}k?\s?(?:min|hrs|hours|days|(?:deg\s?|°\s?)?c\b|{REVOLUTIONS}))"
)
_END = r"(?![\w/])"


def _in_lower_case(form: str) -> str:
    return re.sub(r"(?<!\\)[A-Z]", lambda letter: letter[0].lower(), form).replace("Ω", "ω")


# One pattern for all, in lower case and without groups: so the first letter rules most forms out.
_OTHERS = "|".join(_in_lower_case(form) for kind, form, _ in FORMS if kind is not Aspect.SIDE)
_SIDES = "|".join(_in_lower_case(form) for kind, form, _ in FORMS if kind is Aspect.SIDE)
_QUALIFIER = compiled(f"{_BEGIN}(?:{_OTHERS}|(?:{_SIDES}){_in_lower_case(BESIDE)}){_END}")
_PATTERNS = [
    ((kind, meant), compiled(f"(?:{_in_lower_case(form)})")) for kind, form, meant in FORMS
]
_COUNTED = compiled(
    r"\b(?:cyl(?:inder)?|cell|comp(?:ression)?|inj(?:ector)?|block|coil|mod(?:ule)?)"
    r"[ .:#]{0,2}(?:no\.? ?)?[0-9]",
    re.IGNORECASE,
)
_AT_A_CORNER = compiled(
    r"\b(?:[lr][fr]|[fr][lr]|[no]/?s/?[fr]|(?:left|right|nearside|offside) (?:front|rear)"
    r"|(?:front|rear) (?:left|right))\b[^;\n]*[0-9][^;\n]*$",
    re.IGNORECASE,
)
_ELECTRICAL = compiled(r"\s*[0-9.,]+\s?(?:m?v|volts?|m?a|amps?)\b", re.IGNORECASE)
"""What may well be measured at rest, at a corner too."""
_SETTLES = compiled(
    r"\b(?:stuck|sits?|sat|stays?|stayed|runs?|ran|holds?|held|settle[sd]?|opens?|opened"
    r"|levels? off"
    r"|idle(?: speed)? (?:is|was)(?: now| only| still)?|idles"
    r"|peaks?|peaked|constant|steady|boil(?:s|ed)|(?:cut|switche?|kick)s? (?:in|out|on|off))\s+$",
    re.IGNORECASE,
)
_LONGEST_SETTLING = len("idle speed is still   ")
_NEAR = 60
_A_NUMBER = compiled(r"\s*[0-9.]")
_VALUE_BETWEEN = r"[ ,:=]{1,2}[+-]?[0-9.,]{1,8}\s?(?:[a-zµΩ°%]{1,5}\s)?\s?"
_AFTER_BEFORE = compiled(
    rf"\b(?:before|b4|vorher|avant){_VALUE_BETWEEN}(?P<after>after|afterwards|nachher|après)"
    r"(?!\w|[ -](?:the |a )?(?:night|weekend|new|[0-9]))",
    re.IGNORECASE,
)
"""``1.8 V before 0.1 V after``: the second is after the fix, whatever words follow."""
_SPEED_BEHIND = compiled(
    r"[ ,]{1,2}[+-]?[0-9.,]{1,6} "
    rf"(?P<speed>(?:[5-9]|[1-9][0-9])[0-9]{{2}}\s?{REVOLUTIONS})(?!\w)",
    re.IGNORECASE,
)
"""``40 psi idle 55 2000 rpm``: behind a value and its state, a number and the speed it was at."""
_AIR_BEHIND = compiled(
    r" (?P<air>-?[0-9]{1,2}\s?(?:deg\s?|°\s?)?c)(?=\s*(?:$|[,;.)\n]))", re.IGNORECASE
)
"""``3.1 g/s idle 22C``: behind a value and how it ran, how warm it was."""
_HEAT = compiled(
    r"(?P<gap>[ ,(@]{1,3})(?P<heat>[+-]?[0-9]{1,3}(?:[.,][0-9])?\s?(?:deg(?:rees)?\s?|°\s?)?c"
    r"(?: (?:outside|ambient))?)(?=\s*(?:$|[,;.)\n]|(?:and|but|then)\b))",
    re.IGNORECASE,
)
"""How warm it was, where nothing else is told of it."""
_VALUE_ENDS = compiled(r"[0-9]\s?(?P<unit>g/s|kg/h|[a-zµΩ%]{1,7}/?[a-z]?)\s*$", re.IGNORECASE)
_LONGEST_VALUE_END, _NEAREST = 16, 4
_ENDS_A_VALUE = compiled(r"[0-9]\s?(?:g/s|kg/h|[a-zµΩ°%]{1,5})\s+(?:at\s)?$", re.IGNORECASE)
_LONGEST_END = len("0 volts  ")
_AND_SO = compiled(r"[ (@]{0,3}(?:(?:steady|stuck|ok|normal)\b[ ,]{0,2})?")
_FALLS = (
    r"(?:(?:it|er|sie|es|il|elle|[cç]a)\s)?(?:drop(?:s|ped)?|falls?|fell|dips?|dipped|sags?|sinks?|sank|goes|went"
    r"|ris(?:es|e)|rose|climbs?|jumps?|f[äa]llt|faellt|fiel|sinkt|sank|geht|steigt|stieg|tombe|chute|descend|monte"
    r"|spada|spad[łl]o|spad[łl]a?|opada|ro[śs]nie|wzrasta)"
    r"(?:\s(?:right|back|down|up|away))?(?:\s(?:to|do|na|auf|bis|zu|[àa]|jusqu['’][àa]))?"
)
"""Between a condition and the value that something falls or rises to in it."""
_FALLS_TO = compiled(
    rf"[\s,]{{1,3}}(?:{_FALLS}|auf|do|bis|jusqu['’][àa])\s"
    r"(?:(?:only|just|about|tylko|oko[łl]o|nur|ca|seulement)\s)?"
)
_APART = " ,;:.\n"
_JOINT = compiled(
    r"[\s:=(,]{0,4}(?:(?:is|was|has|had|only|just|reads?|about|around|roughly|approx|stuck|still|to)\b[\s:=]{0,3})?"
)


_ENGINE_BEFORE = compiled(
    r"(?<! to)(?<! of)(?<! and)(?<! from)\s(?P<engine>(?:engine|eng) )$", re.IGNORECASE
)
_ENGINE_IS = frozenset([Aspect.WARMTH, Aspect.POWER, Aspect.SPEED])
"""What an engine may be, told right behind it."""


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
        found = _with_heat(_with_speeds(_told_after(found, plain), plain), plain)
        found = [_of_the_engine(each, plain) for each in _after_start(found)]
        said = {each.words.lower() for each in found}
        if said & _AS_GOOD_AS_OPEN:
            said.add("open")
        lone = {word for pair in _PAIRS if not (alone or pair <= said) for word in pair}
        self._all = [
            each
            for before, each in zip([None, *found], found, strict=False)
            if each.words.lower() not in lone
            or plain[each.start : each.end].lower() == "soll"
            or _goes_on(before, each, plain)
        ]
        self._starts = [each.start for each in self._all]
        self._ends = [each.end for each in self._all]

    def holds(self, start: int, end: int) -> bool:
        """Whether a stretch lies within a qualifier."""
        place = bisect_right(self._starts, start) - 1
        return place >= 0 and self._ends[place] >= end

    def within(self, start: int, end: int) -> list[Qualifier]:
        """Qualifiers that lie within a stretch, in their order."""
        return self._all[bisect_left(self._starts, start) : bisect_right(self._ends, end)]

    def reaching(self, start: int, end: int) -> list[Qualifier]:
        """Qualifiers that reach into a stretch, in their order."""
        return self._all[bisect_left(self._ends, start + 1) : bisect_left(self._starts, end)]

    def is_silent(self, start: int, end: int) -> bool:
        """Whether no qualifier reaches into a stretch."""
        place = bisect_left(self._ends, start + 1)
        return place == len(self._starts) or self._starts[place] >= end

    def before(self, floor: int, end: int) -> list[Qualifier]:
        """Qualifiers that end just before a place, in their order."""
        chain: list[Qualifier] = []
        place = bisect_right(self._ends, end) - 1
        while place >= 0:
            each = self._all[place]
            if each.start < floor or not self._leads_to(each, floor, end):
                break
            chain.append(each)
            end, place = each.start, place - 1
        return _once(chain)[::-1]

    def _leads_to(self, each: Qualifier, floor: int, end: int) -> bool:
        """Whether a qualifier stands before a value, or before what falls or rises to it.

        Just behind another value it is that one's: ``38 psi key on, drops to 12 psi``.
        """
        if _JOINT.fullmatch(self._plain, each.end, end):
            return True
        of_another = floor and self._plain[floor - 1] not in _APART
        beside = not self._plain[floor : each.start].strip(_APART)
        return not (of_another and beside) and (
            _FALLS_TO.fullmatch(self._plain, each.end, end) is not None
        )

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


def _goes_on(before: Qualifier | None, each: Qualifier, plain: str) -> bool:
    """Whether a side stands just behind a state, and so beside a value: ``cold left 2.3 ohm``."""
    return (
        before is not None
        and before.kind in _STATES
        and each.words in _SIDES_ALONE
        and plain[before.end : each.start] == " "
    )


def _of_the_engine(each: Qualifier, plain: str) -> Qualifier:
    """Take the engine before its state along: *at battery engine idling*."""
    engine = _ENGINE_BEFORE.search(plain, max(0, each.start - len(" engine ")), each.start)
    if engine is None or each.kind not in _ENGINE_IS:
        return each
    return each._replace(start=engine.start("engine"))


def _told_after(found: list[Qualifier], plain: str) -> list[Qualifier]:
    """Add each *after* that answers a *before* behind the value in front, whatever follows it."""
    starts = {
        match.start("after"): match.end("after")
        for match in _AFTER_BEFORE.finditer(plain)
        if not any(
            each.start == match.start("after") and each.kind in {Aspect.STAGE, Aspect.TIME}
            for each in found
        )
    }
    told = [Qualifier(Aspect.STAGE, Stage.AFTER_FIX, *place) for place in starts.items()]
    return _instead(found, told)


def _with_speeds(found: list[Qualifier], plain: str) -> list[Qualifier]:
    """Add the engine speed behind a bare number, or the warmth, behind a value and its state."""
    told: list[Qualifier] = []
    for each in found:
        speed = _SPEED_BEHIND.match(plain, each.end)
        air = _AIR_BEHIND.match(plain, each.end) if each.kind in _RUNS else None
        near = max(0, each.start - _LONGEST_END), each.start
        if not ((speed and each.kind in _OF_A_VALUE) or air):
            continue
        if not _ENDS_A_VALUE.search(plain, *near):
            continue
        if speed:
            words = " ".join(speed["speed"].split())
            told.append(Qualifier(Aspect.SPEED, words, *speed.span("speed")))
        elif air:
            told.append(Qualifier(Aspect.WARMTH, air["air"], *air.span("air")))
    return _instead(found, told)


def _with_heat(found: list[Qualifier], plain: str) -> list[Qualifier]:
    """Add how warm it was, behind a value of another quantity and behind its state.

    ``3 bar at rest 20 C``, ``2.5 kohm, 20 C``, ``1.5 bar hot 90 C``.
    """
    told: list[Qualifier] = []
    ends, starts = {each.end: each for each in found}, [each.start for each in found]
    for heat in _HEAT.finditer(plain):
        over = bisect_right(starts, heat.start("heat")) - 1
        if over >= 0 and found[over].end > heat.start("heat"):
            continue
        nearest = ends.get(heat.start("gap"))
        place, before = heat.start("gap"), nearest
        while before and before.kind not in _NEVER_WARM:
            place = before.start
            gap = plain[max(0, place - _NEAREST) : place]
            before = ends.get(place - len(gap) + len(gap.rstrip(" ,(@")))
        value = _VALUE_ENDS.search(plain, max(0, place - _LONGEST_VALUE_END), place)
        unit = find_unit(value["unit"]) if value else None
        if unit is None or unit.quantity in _NEVER_AT_A_HEAT:
            continue
        words, start = heat["heat"], heat.start("heat")
        if nearest and nearest.kind is Aspect.WARMTH:
            words, start = f"{nearest.words} {words}", nearest.start
        told.append(Qualifier(Aspect.WARMTH, words, start, heat.end("heat")))
    return _instead(found, told)


def _instead(found: list[Qualifier], told: list[Qualifier]) -> list[Qualifier]:
    """Put what is told now in the place of what was found where it begins."""
    begun = {each.start for each in told}
    kept = [each for each in found if each.start not in begun]
    return sorted([*kept, *told], key=lambda each: each.start) if told else found


def _after_start(found: list[Qualifier]) -> list[Qualifier]:
    """Read *after* as after the start where something was told of before it: no fix is between."""
    if not any(_BEFORE_START.match(each.words) for each in found):
        return found
    return [
        each._replace(kind=Aspect.POWER, words="after start")
        if each.kind is Aspect.STAGE and each.words == Stage.AFTER_FIX
        else each
        for each in found
    ]


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
    """Read ``rest`` behind one of several: ``cyl 3 90 psi, rest 160``, ``LR 0 km/h, rest 30``."""
    if plain[each.start : each.end].lower() != "rest" or not _A_NUMBER.match(plain, each.end):
        return each
    near = max(0, each.start - _NEAR), each.start
    is_of_corners = _AT_A_CORNER.search(plain, *near) and not _ELECTRICAL.match(plain, each.end)
    if is_of_corners or _COUNTED.search(plain, *near):
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


_IN_ANOTHER_LANGUAGE = compiled(r"\s?(?:u|umdr|tr|tours|obr|(?<=[0-9 ]))/min$", re.IGNORECASE)


def _read(match: re.Match[str], plain: str) -> Qualifier | None:
    """Tell what a qualifier says, found in the lower case of a text; None if it is none."""
    kind, meant = meaning(match[0]) or _meaning_in(match)
    words = _understood(kind, meant, plain[slice(*match.span())])
    return None if words is None else Qualifier(kind, words, *match.span())


@lru_cache(maxsize=4096)
def _understood(kind: Aspect, meant: str | None, typed: str) -> str | None:
    """Return what a qualifier says, as it was typed if nothing else is meant; None if nothing."""
    typed = " ".join(typed.split())
    if kind is Aspect.GEAR and len(typed) == 1 and typed.islower():
        return None
    words = meant or re.sub(r"^(?:at|@|when|bei|à|przy|all (?:bar|but|except)) ?", "", typed)
    if kind is Aspect.SPEED:
        words = _IN_ANOTHER_LANGUAGE.sub(" rpm", words)
    return words


@lru_cache(maxsize=4096)
def meaning(words: str) -> tuple[Aspect, str | None] | None:
    """Return kind and meaning of the first form that words alone have; None if none has them.

    Examples
    --------
    >>> meaning("kalt")[1], meaning("fan")
    ('cold', None)
    """
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
