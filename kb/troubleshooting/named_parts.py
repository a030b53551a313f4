"""Which of some parts a technician's words name, in any order and under the trade's other names."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from kb.intake.part_words import PART_NOUN
from kb.intake.wording import Wording
from kb.patterns import compiled


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_WORD = compiled(r"[^\W_]+(?:[./-][^\W_]+)*")
_NOUN = compiled(rf"(?:{PART_NOUN})")
_NUMBERED = compiled(r"\d{1,2}")
_PLURAL = compiled(r"(?<=[^su])s|(?<=ch|sh)es")
_ALIKE = {
    **dict.fromkeys(("plug", "multiplug", "socket"), "connector"),
    **dict.fromkeys(("loom", "wiring", "wire"), "harness"),
    **dict.fromkeys(("pipe", "trunking"), "hose"),
    **dict.fromkeys(("disk", "rotor"), "disc"),
    **dict.fromkeys(("pin", "contact"), "terminal"),
    **dict.fromkeys(("shock", "shocker", "absorber"), "damper"),
    "water": "coolant",
    "ic": "intercooler",
    "crankshaft": "crank",
    "camshaft": "cam",
    "pully": "pulley",
    "top": "upper",
    "bottom": "lower",
    "turbocharger": "turbo",
    "charge": "boost",
    "windscreen": "screen",
    "core": "matrix",
    "light": "lamp",
    "tire": "tyre",
    "earth": "ground",
}
"""Words of parts that are one with another here; common practice, no source."""
_SHORT = {"tre": ("track", "rod", "end"), "tres": ("track", "rod", "end"), "w/p": ("water", "pump")}
_OPPOSITES = (("left", "right"), ("front", "rear"), ("upper", "lower"), ("inner", "outer"))
_SIDES = frozenset(side for pair in _OPPOSITES for side in pair)
_INNER = _words(
    "terminal clip clamp bolt nut stud screw housing casing body shaft end seal gaiter boot "
    "bearing union crimp gasket joint bush"
)
"""What belongs to a part, so that the part is meant by it: the clip of a hose."""
_BESIDE = _words(
    "above over onto near beside behind below beneath underneath under against towards next "
    "toward past opposite not"
)
"""Words behind which a part only tells where something is."""
_TOOLS = _words("lamp lead gauge meter probe belt clamp lid cap cover")
"""What a test is made with, or what is taken off for it, is no part that it is about."""
_ENDS = _words(
    "the a an this that its it is are was were has have had got at on in of to from for with by "
    "through thru round around where as and or when while i we only just all both every each "
    "one very quite bit little nearly almost badly slightly definitely clearly seems seem looks "
    "look feels sounds out off up down inside outside along across which there here also too "
    "still now split splits wet damp cracked chafed green corroded worn loose rough noisy "
    "leaking leaks leak weeping weeps drips dripping dripped perished dry broken snapped bent "
    "burnt melted rusty oily soaked torn swollen collapsed frayed rubbed pinched trapped "
    "crushed missing blown holed bad duff knackered shot shagged faulty dead seized sloppy "
    "stiff lumpy gritty notchy dirty hot cold warm play wobble slack lost loses lose losing "
    "most found see saw think reckon yes into coming comes came pouring pours puffs hissing "
    "blowing smoke water oil coolant fuel bubbles moving moved wiggling wiggled waggle waggling "
    "touch touching tug tugging pull pulling pushing turning spun spinning jumps drops glitches "
    "cuts flickers reading noise whine drone hum rumble grinding loudest loud definite signs "
    "sign some any so"
)
"""Words before a part that are none of its name."""
_NONE = frozenset[str]()
_MEDIA = frozenset(["water", "oil", "coolant", "fuel"])


@dataclass(frozen=True, slots=True)
class NamedParts:
    """Which of some parts words name, by their places, and whether they name any other."""

    parts: frozenset[int] = frozenset()
    another: bool = False


def parts_named(names: Sequence[str], text: str, wording: Wording) -> NamedParts:
    """Return which of some parts a clause names: by the last word of its name and what leads it.

    What leads it must be of the name, and so must be told which of several it is. A part behind
    *above*, *behind* and the like is not named, nor is one of which another word has but a piece.

    Parameters
    ----------
    names : sequence of str
        Of the parts; behind a comma may be where it sits.
    text : str
        One clause.
    wording : Wording

    Examples
    --------
    >>> parts = ("boost hose, intercooler", "coolant pump", "wheel bearing, left front")
    >>> def named(text):
    ...     found = parts_named(parts, text, Wording.default())
    ...     return sorted(found.parts), found.another
    >>> named("split in intercooler hose"), named("wet around the pump top"), named("LF bearing")
    (([0], False), ([1], False), ([2], False))
    >>> named("radiator hose split"), named("drips onto the pump"), named("RF bearing rough")
    (([], True), ([], False), ([], True))
    """
    known = [_Name.of(name, wording) for name in names]
    words = _groups(text, wording)
    found, another = frozenset[int](), False
    for phrase in _phrases(words, known):
        matched = _matched(phrase, known) or _matched(phrase, [each.as_whole for each in known])
        if matched:
            found |= matched
        elif not phrase.head & _TOOLS:
            another = True
    return NamedParts(found, another)


def parts_hinted(names: Sequence[str], text: str, wording: Wording) -> frozenset[int]:
    """Return which of some parts a clause tells by a word that only one of them has.

    That is a word before the last of its name, as *window* of a window motor, or its number
    behind *no*, *cyl* and the like.

    Examples
    --------
    >>> wording = Wording.default()
    >>> sorted(parts_hinted(("window motor", "mirror motor"), "window did not budge", wording))
    [0]
    >>> sorted(parts_hinted(("injector 1", "injector 3"), "no 3 pot full", wording))
    [1]
    """
    known = [_Name.of(name, wording) for name in names]
    words = _groups(text, wording)
    found = set[int]()
    for at, group in enumerate(words):
        number = any(_NUMBERED.fullmatch(word) for word in group)
        if number and not (at and words[at - 1] & _COUNTED):
            continue
        side = group <= _SIDES
        having = [
            place
            for place, name in enumerate(known)
            if (group <= name.words if side else group & name.hints)
        ]
        found |= set(having) if len(having) == 1 else set()
    return frozenset(found)


_COUNTED = frozenset(["no", "number", "cyl", "cylinder", "pot", "injector", "coil", "nr"])


@dataclass(frozen=True, slots=True)
class _Name:
    """The words of a part's name, and the last of them that tells what it is.

    `whole` is what it belongs to by its name, the windscreen of a windscreen seal.
    """

    head: frozenset[str]
    whole: frozenset[str]
    own: frozenset[str]
    words: frozenset[str]

    @classmethod
    def of(cls, name: str, wording: Wording) -> "_Name":
        part, _, place = name.partition(",")
        groups = _groups(part, wording)
        *leading, head = [each for each in groups if not any(map(str.isdecimal, each))] or [_NONE]
        whole = leading[-1] if leading and head & (_INNER | {"sensor"}) else _NONE
        own = _NONE.union(*groups)
        return cls(head, whole, own, own.union(*_groups(place, wording)))

    @property
    def hints(self) -> frozenset[str]:
        """What tells it from others without its name."""
        return (self.own | set(filter(_NUMBERED.fullmatch, self.words))) - _SIDES

    @property
    def as_whole(self) -> "_Name":
        return replace(self, head=self.whole)


@dataclass(frozen=True, slots=True)
class _Phrase:
    """A part as a clause names it: its last word, the ones before it, and a number behind it."""

    head: frozenset[str]
    leading: tuple[frozenset[str], ...]
    number: str | None


def _groups(text: str, wording: Wording) -> list[frozenset[str]]:
    """Return what each word of a text may mean, evened out."""
    return [
        frozenset(_even(each) for each in _SHORT.get(word) or wording.tokens(word))
        or frozenset([word])
        for word in _WORD.findall(text.casefold())
    ]


def _even(word: str) -> str:
    end = next((m.start() for m in _PLURAL.finditer(word) if m.end() == len(word)), len(word))
    single = word[:end] if len(word) > 3 else word
    return _ALIKE.get(single, single)


def _phrases(words: Sequence[frozenset[str]], known: Sequence[_Name]) -> Iterator[_Phrase]:
    """Yield the parts that a clause names; none behind a word that tells only where."""
    heads = frozenset[str]().union(*(name.head for name in known))

    def is_noun(group: frozenset[str]) -> bool:
        return not heads.isdisjoint(group) or any(_NOUN.fullmatch(word) for word in group)

    for at, group in enumerate(words):
        behind = words[at + 1] if at + 1 < len(words) else frozenset[str]()
        number = next(filter(_NUMBERED.fullmatch, behind), None)
        if not is_noun(group) or is_noun(behind) or (number and "cylinder" in group):
            continue
        start = at
        while start and _leads(words[start - 1], is_noun(words[start - 1]), at - start):
            start -= 1
        before = set().union(*words[max(0, start - 2) : start])
        if not before & _BESIDE:
            yield _Phrase(group, tuple(words[start:at]), number)


def _leads(group: frozenset[str], is_noun: bool, already: int) -> bool:
    """Whether a word belongs to the name of the part behind it; *water* only right before it."""
    if group & _MEDIA:
        return already == 0
    return is_noun or (_ENDS.isdisjoint(group) and _BESIDE.isdisjoint(group))


def _matched(phrase: _Phrase, known: Sequence[_Name]) -> frozenset[int]:
    """Return the parts that a phrase names: of several those with most of its words."""
    found = {at: len(phrase.leading) for at, name in enumerate(known) if _is_of(phrase, name)}
    if not found and phrase.head & _INNER and phrase.leading:
        *leading, head = phrase.leading
        return _matched(_Phrase(head, tuple(leading), None), known)
    told = {at: sum(bool(each & known[at].words) for each in phrase.leading) for at in found}
    most = max(told.values(), default=0)
    return frozenset(at for at, share in told.items() if share == most)


def _is_of(phrase: _Phrase, name: _Name) -> bool:
    """Whether a phrase says nothing that a part's name does not, but for where it sits."""
    if not phrase.head & name.head or any(_is_other_side(each, name) for each in phrase.leading):
        return False
    numbers = {word for word in name.words if _NUMBERED.fullmatch(word)}
    if phrase.number and numbers and phrase.number not in numbers:
        return False
    return all(each & name.words or each <= _SIDES for each in phrase.leading)


def _is_other_side(group: frozenset[str], name: _Name) -> bool:
    return any(
        (one in group and other in name.words and one not in name.words)
        or (other in group and one in name.words and other not in name.words)
        for one, other in _OPPOSITES
    )
