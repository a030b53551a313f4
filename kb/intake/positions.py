"""Where on the vehicle: the many ways of writing a position, brought to one wording.

Left or right, nearside or offside, driver's or passenger's side are three different facts. None
is turned into another when it is read: which is which depends on the market and the car. Once it
is known where the driver sits, `resolve` tells the side.
"""

import re
from collections.abc import Iterator

from kb.case import Handedness
from kb.patterns import compiled

_LEFT_RIGHT, _NEAR_OFF, _SEAT, _END = "left or right", "near or off", "seat", "end"
_ORDER = (_SEAT, _NEAR_OFF, _LEFT_RIGHT, _END, "bank", "sensor", "cylinder")

# Canonical word, what it tells, how it is written (all common practice, no source). Compounds
# with a slash that mean two things (L/R: left rear, or left and right; R/R: right rear, or
# remove and refit; F/R, P/S) are left out on purpose: they stay in the text as typed.
_WORDS: tuple[tuple[str, str, str], ...] = (
    ("left", _LEFT_RIGHT, "left lh lhs l/h l/hand left-hand lefthand gauche"),
    ("right", _LEFT_RIGHT, "right rh rhs r/h r/hand right-hand righthand rechts droit droite"),
    ("nearside", _NEAR_OFF, "nearside n/s ns n/side near-side"),
    ("offside", _NEAR_OFF, "offside o/s os o/side off-side"),
    ("driver", _SEAT, "driver driver's drivers drv d/s driver-side"),
    ("passenger", _SEAT, "passenger passenger's passengers pass psgr passenger-side"),
    ("centre", _SEAT, "centre center"),
    ("front", _END, "front frt fronts vorne vorn avant"),
    ("rear", _END, "rear rears hinten arrière arriere"),
    ("second row", _END, "second-row 2nd-row row-2"),
    ("third row", _END, "third-row 3rd-row row-3"),
)
_COMPOUNDS: tuple[tuple[str, str], ...] = (
    ("left front", "lf l/f lhf lh/f l/h/f fl vorn-links"),
    ("right front", "rf r/f rhf rh/f r/h/f vorn-rechts avd"),
    ("left rear", "lr lhr lh/r l/h/r rl hinten-links arg"),
    ("right rear", "rr rhr rh/r r/h/r hinten-rechts ard"),
    ("nearside front", "nsf n/s/f ns/f n/s-f"),
    ("nearside rear", "nsr n/s/r ns/r n/s-r"),
    ("offside front", "osf o/s/f os/f o/s-f"),
    ("offside rear", "osr o/s/r os/r o/s-r"),
)
_KINDS = {canonical: kind for canonical, kind, _ in _WORDS}
_SPELLINGS = {
    spelling: (canonical,) for canonical, _, forms in _WORDS for spelling in forms.split()
} | {
    spelling: tuple(canonical.split())
    for canonical, forms in _COMPOUNDS
    for spelling in forms.split()
}
_CORNERS = frozenset(
    f"{side} {end}"
    for side in ("left", "right", "nearside", "offside")
    for end in ("front", "rear")
)
_CORNER = "|".join(
    sorted((form for _, forms in _COMPOUNDS for form in forms.split()), key=len, reverse=True)
)
_CORNER_LIST = compiled(
    rf"(?<![\w/-])(?=[^\W\d])(?:{_CORNER})(?:[\s,/&|]{{1,3}}(?:{_CORNER}))+(?![\w/-])",
    re.IGNORECASE,
)
_ONE_CORNER = compiled(_CORNER, re.IGNORECASE)
# After these words "side" belongs to the item, as in "left front side airbag".
_SIDE_ITEMS = frozenset(
    ("airbag", "airbags", "air", "bag", "curtain", "impact", "crash", "repeater")
)
_WHAT_FOLLOWED = compiled(
    r"(?:de|le|la|les|l['’].*|démarr\w+|demarr\w+|lancement|contact|répar\w+|repar\w+|nettoyage"
    r"|remplacement|échange|essai|chauffe|ralenti)$"
)
"""What stands behind French "avant" where it tells when, and not where."""
_IN_THE_BACK = frozenset(("rear", "second", "third", "row"))
_AFTER_A_SIDE = {"f": ("front",), "r": ("rear",), "hand": (), "side": (), "back": ("rear",)}

# German: "VL" behind a German part alone, for English has VR sensors and hours (hr); "links" only
# beside front or rear, for English has drop links.
_GERMAN_PART = (
    r"\b(\w*(?:straffer|schloss|t(?:ü|ue?)r|heber|sensor|fühler|fuehler"
    r"|bremse|sitz|stecker|rad|lager))"
)

# French: "AVG" behind a French part alone, for in English it is an average.
_FRENCH_PART = (
    r"\b((?:capteur|roue|porte|frein|pneu|disque|plaquettes?|vitre|amortisseur|étrier|etrier"
    r"|serrure|siège|siege|roulement|rotule|moyeu)(?: \w+){0,2}?)"
)

# Polish: a side only beside an end of the car, and so no law ("prawo").
_POLISH_LEFT, _POLISH_RIGHT = "lew(?:y|a|e|ym|ej)", "praw(?:y|a|e|ym|ej)"
_POLISH_FRONT, _POLISH_REAR = (
    "prz(?:ó|o)d(?:zie)?|przedni(?:a|e|m|ej)?",
    "ty(?:ł|l)(?:u|e)?|tyln(?:y|a|e|ym|ej)",
)

_ONE_A_CYLINDER = (
    r"(?:ignition )?coil(?: pack)?|inj(?:ector)?|(?:spark|glow) ?plug|glow"
    r"|einspritz(?:düse|ventil)|injektor|(?:zünd|glüh)kerze|zündspule"
    r"|injecteur|bobine(?: d['’ ]?allumage)?|bougie(?: d(?:['’ ]?allumage|e (?:pré)?chauffage))?"
    r"|wtryskiwacza?|cewk[aię](?: zapłonow(?:a|ej|ą))?|świec[aęy](?: (?:zapłonow|żarow)(?:a|ej|ą))?"
)
"""Parts of which a cylinder has one: their number is its own (common practice, no source)."""

_JOINED = (
    *(
        (compiled(rf"{_GERMAN_PART} {short}\b"), rf"\1 {joined}")
        for short, joined in (
            ("vl", "vorn-links"),
            ("vr", "vorn-rechts"),
            ("hl", "hinten-links"),
            ("hr", "hinten-rechts"),
        )
    ),
    (compiled(rf"{_FRENCH_PART} avg\b"), r"\1 lf"),
    (compiled(r"\b(?:links (vorn|hinten)e?|(vorn|hinten)e? links)\b"), r"\1\2-links"),
    *(
        (compiled(rf"\b(?:{side} (?:{end})|(?:{end}) {side})(?!\w)"), corner)
        for side, end, corner in (
            (_POLISH_LEFT, _POLISH_FRONT, "lf"),
            (_POLISH_RIGHT, _POLISH_FRONT, "rf"),
            (_POLISH_LEFT, _POLISH_REAR, "lr"),
            (_POLISH_RIGHT, _POLISH_REAR, "rr"),
        )
    ),
    (compiled(r"\b(second|2nd|third|3rd)[ -]row\b"), r"\1-row"),
    (compiled(r"\brow[ -]?([23])\b"), r"row-\1"),
    (compiled(r"\bb(?:ank)?[ -]?([12])[ ,-]*s(?:ensor)?[ -]?([1-4])\b"), r"bank-\1 sensor-\2"),
    (compiled(r"\bbank[ -]?([1-4])\b"), r"bank-\1"),
    (compiled(r"(?<![\w.])(?:no\.? ?|#)?([0-9]{1,2}) cyl(?:inder)?\b"), r"cylinder-\1"),
    (
        compiled(r"\b(?:[cz]yl(?:inder|\.)?|cylind(?:re|er))[ -]?(?:n[or°]\.? ?|#)?([0-9]{1,2})\b"),
        r"cylinder-\1",
    ),
    (
        compiled(rf"\b({_ONE_A_CYLINDER})[ -]?(?:n[or°]\.? ?|#)?(1[0-2]|[1-9])\b"),
        r"\1 cylinder-\2",
    ),
    (
        compiled(rf"(?<![\w.])(?:number |n[or]\.? ?|#)(1[0-2]|[1-9]) ({_ONE_A_CYLINDER})\b"),
        r"cylinder-\1 \2",
    ),
)
_NUMBERED = compiled(r"(bank|cylinder)-([0-9]{1,2})|(sensor)-([1-4])")


def find_position(text: str) -> tuple[str | None, str]:
    """Lift the position out of the words for an item.

    The position is in canonical words, as ``left front``; None when there is none, or when the text
    names two that exclude one another. The rest is in lower case.

    Examples
    --------
    >>> find_position("LF pretensioner"), find_position("O/S rear door lock")
    (('left front', 'pretensioner'), ('offside rear', 'door lock'))
    >>> find_position("cyl 3 injector"), find_position("bank 1 sensor 2 heater")
    (('cylinder 3', 'injector'), ('bank 1 sensor 2', 'heater'))
    >>> find_position("coil 3")
    ('cylinder 3', 'coil')
    >>> find_position("left and right lamp")
    (None, 'left and right lamp')
    >>> find_position("batterie avant démarrage"), find_position("porte avant")
    ((None, 'batterie avant démarrage'), ('front', 'porte'))
    """
    plain = " ".join(text.replace("’", "'").lower().split())
    marked = plain
    for pattern, mark in _JOINED:
        marked = pattern.sub(mark, marked)
    found: dict[str, str] = {}
    rest: list[str] = []
    after_side = False
    words = [word.strip(",;:().") for word in marked.split()]
    for place, word in enumerate(words):
        behind = words[place + 1 : place + 2]
        is_item = word == "side" and bool(_SIDE_ITEMS.intersection(behind))
        is_when = word == "avant" and any(map(_WHAT_FOLLOWED.match, behind))
        facts = None if is_item or is_when else _facts(word, after_side)
        if facts is None:
            rest.append(word)
        elif any(found.get(kind, fact) != fact for kind, fact in facts):
            return None, plain
        else:
            found.update(facts)
        after_side = facts is not None and (bool(facts) or after_side)
    position = " ".join(found[kind] for kind in _ORDER if kind in found)
    return (position, " ".join(rest)) if position else (None, plain)


def resolve(position: str, handedness: Handedness | None) -> str:
    """Tell the side that a position means on a car whose driver's side is known.

    Left or right stands in place of driver, passenger, nearside and offside. The position is
    unchanged where that would contradict it, where "passenger" may be anybody in the back, and
    where the driver's side is not known.

    Notes
    -----
    The offside is the driver's side, the nearside the other (common practice, no source).

    Examples
    --------
    >>> resolve("driver", Handedness.RIGHT), resolve("nearside front", Handedness.RIGHT)
    ('right', 'left front')
    >>> resolve("driver", Handedness.LEFT), resolve("driver", None)
    ('left', 'driver')
    """
    if handedness is None:
        return position
    drivers, others = ("right", "left") if handedness is Handedness.RIGHT else ("left", "right")
    sides = {"driver": drivers, "offside": drivers, "passenger": others, "nearside": others}
    if "passenger" in position.split() and not _IN_THE_BACK.isdisjoint(position.split()):
        return position
    told = [sides.get(word, word) for word in position.split()]
    both = {drivers, others} <= set(told)
    return position if both else " ".join(dict.fromkeys(told))


def is_corner(position: str | None) -> bool:
    """Whether a position is that of one wheel: ``left front``, ``offside rear``."""
    return position in _CORNERS


def corner_lists(text: str) -> Iterator[tuple[int, int, list[str]]]:
    """Yield each list of corners in a text: where it begins and ends, and its positions.

    A list in which one stands twice is none.

    Examples
    --------
    >>> list(corner_lists("5/5/2/1 mm lf rf lr rr"))
    [(11, 22, ['left front', 'right front', 'left rear', 'right rear'])]
    >>> list(corner_lists("5/5 mm fl fl")), list(corner_lists("lf wheel"))
    ([], [])
    """
    for match in _CORNER_LIST.finditer(text):
        forms = _ONE_CORNER.findall(match[0])
        corners = [" ".join(_SPELLINGS[form.lower()]) for form in forms]
        if len(set(corners)) == len(corners):
            yield match.start(), match.end(), corners


def _facts(token: str, after_side: bool) -> list[tuple[str, str]] | None:
    numbered = _NUMBERED.fullmatch(token)
    if numbered:
        kind, number = (part for part in numbered.groups() if part)
        return [(kind, f"{kind} {int(number)}")]
    words = _SPELLINGS.get(token)
    if words is None and after_side:
        words = _AFTER_A_SIDE.get(token)
    return None if words is None else [(_KINDS[word], word) for word in words]


def normal_position(text: str) -> str:
    """Bring a position alone to its canonical words; words that are not known stay, behind them.

    In lower case, and idempotent.

    Examples
    --------
    >>> normal_position("Front left"), normal_position("driver's side"), normal_position("2nd row")
    ('left front', 'driver', 'second row')
    """
    position, rest = find_position(text)
    normal = f"{position or ''} {rest}".strip()
    # a lone letter tells more once it stands behind its side: "R left" is "left rear"
    return normal if normal == text else normal_position(normal)
