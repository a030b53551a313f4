"""Ways of doing that only a whole phrase tells, and no word of it alone.

*Leads of it at both pins* puts a scan tool's leads where no scan tool has any; *hand tool 2.1 at
the plug* names no meter, *filament glows* no supply, *cleaned with emery* no part. What is told so
of another part named beside it is that part's. All of it is common practice, no source.
"""

import re
from collections.abc import Iterator, Sequence

from kb.patterns import compiled
from kb.safety.igniter_acts import TARGETS, Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_compared import unmarked, with_marks
from kb.safety.igniter_words import Role


def ways_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield every way of doing, told in a whole phrase, that is none at an igniter."""
    roles = frozenset[Role]().union(*(clause.roles for clause in sentence))
    told = with_marks(sentence)
    for way, role, reason, wanted in _WAYS:
        found = way.search(told)
        if found and (not wanted or roles & wanted):
            words = unmarked(found.group())
            if way in _STRAYED or not _is_of_another(sentence, words):
                yield Piece(role, words), reason


def _is_of_another(sentence: Sequence[Clause], words: Sequence[str]) -> bool:
    """Whether what is told so is told of another part, as a lamp's own filament."""
    told = [clause for clause in sentence if words[0] in clause.words]
    return any(
        Role.NEIGHBOUR in clause.roles
        or not (_OTHERS.isdisjoint(clause.words) or clause.roles & {Role.CONTACT, *TARGETS})
        for clause in told
    )


_OTHERS = frozenset(
    [*("bulb", "bulbs", "headlamp", "birne", "ampoule", "zarowka", "earth", "earths", "ground"),
     *("grounds", "masse", "masa", "disc", "discs", "hub", "rail", "rails", "runner", "runners"),
     *("bolt", "bolts", "nut", "nuts", "stud", "studs", "bracket", "floor", "sill", "frame")]
)  # fmt: skip
_READ = frozenset([Role.SCAN, Role.VALUE, Role.QUANTITY])
_METERED = frozenset([Role.MEASURE, Role.INSTRUMENT])
_VALUED = frozenset([Role.VALUE, Role.QUANTITY])
_NOTHING_MORE = frozenset[Role]()

_SMALL = (
    r"(?: (?:the|its|his|both|two|these|those|own|bare|all|each|every|a|an|one|of|an|am|beiden|"
    r"die|den|les|deux|des|du|oba|obu|held|put|pushed|pressed|stuck|clipped|right|straight|"
    r"there|zwei|dem|im|der|gehalten|seat|yellow|side|#))*"
)
_ON = r"(?:at|on|onto|across|over|between|in|into|to|against|touching|an|auf|sur|aux|dans|na|do|w)"
_ITS = r"(?:of (?:it|the (?:scan )?tool|the tester|the scanner)|from (?:it|the tool|the tester))"
_TIPS = (
    r"(?:tips?|probes?|prods?|crocs?|croc clips?|crocodile clips?|crocodiles|alligator clips?|"
    r"needles?|prufspitzen?|messspitzen?|spitzen|krokodilklemmen|pointes?|pinces? crocodiles?|"
    r"sondy|koncowki|krokodylki)"
)
_LEADS = r"(?:leads|cables|wires|cords|clips|kabel|leitungen|cordons|fils|przewody|lead)"
_LEADS_AT_PINS: re.Pattern[str] = compiled(
    rf"(?<!\S)(?:{_TIPS}(?: {_ITS})?|{_LEADS} {_ITS}|(?:its|tool's|tool|both|two|test|tester's|by|"
    rf"by the|via) {_LEADS}"
    rf"|(?:red|black)(?: {_LEADS})?|seine {_LEADS}|ses {_LEADS}|jego {_LEADS}) (?:(?:held|put|"
    rf"stuck|"
    rf"pushed|pressed|clipped|touched|touching|laid|set|were|was|are|is|sat) )*{_ON}{_SMALL} ~\S+"
)
_STRAIGHT_AT_IT: re.Pattern[str] = compiled(
    r"(?<!\S)(?:taken|took|take|got|picked|picked up|measured|had|caught|obtained|read|"
    r"abgegriffen|genommen|gemessen|abgenommen|pris|prise|relevee?|releve|mesuree?|zdjeta|wzieta|"
    r"zmierzona|value|wert|valeur|wartosc|[0-9.]+|ohms?|right)"
    r" (?:off )?(?:(?:straight|direct|directly|right|immediately|direkt|unmittelbar|directement|"
    rf"bezposrednio|wprost) )(?:at|on|onto|across|over|am|an|auf|sur|au|aux|a|na|przy){_SMALL}"
    r" (?:(?:side|driver|drivers|passenger|knee|curtain|left|right|front|rear|lh|rh) )*~{1,2}\S+"
    r"|(?<!\S)(?:taken|took|read|got|measured|had|picked up|obtained) (?:off|from|at|on|of)"
    rf"{_SMALL} ~{{1,2}}\S+ (?:itself|themselves|selbst|meme|samej|samych)(?!\S)"
    rf"|(?<!\S)by (?:touching|poking|clipping|pressing|going)(?: on| onto| in| into| at)?{_SMALL}"
    r"(?: ~~\S+)?(?: ~plug)? ~(?:pin|terminal|broche|styk|klemme|kontakt)\w*"
)
_ANOTHER_TOOL: re.Pattern[str] = compiled(
    r"(?<!\S)(?:(?:own|hand|handheld|hand held|pocket|bench|little|small|cheap|yellow|other|"
    r"second|simple|"
    r"plain|two lead|two wire|tool chest|drawer|hobby|kleines|zweites|petit|autre|maly|drugi|"
    r"hosentaschen|shop) (?:tool|tester|unit|device|instrument|gadget|box|gerat|messgerat|appareil|"
    r"przyrzad|thing)|handgerat)(?: \S+){0,6}? (?:at|on|across|in|into|am|an|au|sur|aux|na|w|przy)"
    rf"{_SMALL} ~{{1,2}}\S+"
)
_BY_MISTAKE = (
    r"(?:by mistake|by accident|mistakenly|accidentally|wrongly|in error|slipped|stray|"
    r"strayed|oops|inadvertently|briefly|versehentlich|aus versehen|par erreur|omylkowo|"
    r"przez pomylke|touched|brushed|went|ended up|landed)"
)
_STRAY_TIP: re.Pattern[str] = compiled(
    rf"(?<!\S)(?:{_TIPS}|lead|leads|red clip|black clip|meter clip|rote leitung|rotes kabel|"
    rf"fil rouge)"
    rf"(?: (?!then|after)\S+){{0,2}}? {_BY_MISTAKE}(?: \S+){{0,3}}? (?:in|into|on|onto|to|at|"
    rf"across|"
    rf"im|ins|auf|dans|sur|do|na|against)? ?{_SMALL} ?(?:yellow|gelb\w*|jaune|zolt\w*|~{{1,2}}\S+)"
)
_STRAY_METER: re.Pattern[str] = compiled(
    rf"(?<!\S)(?:in|into|on|onto|to|at|against){_SMALL} ~{{1,2}}\S+ (?:by mistake|by accident|"
    r"accidentally|in error|mistakenly)(?!\S)"
    rf"|(?<!\S)slipped (?:off )?and (?:touched|hit|brushed|caught){_SMALL} ~{{1,2}}\S+"
)
_GLOWS: re.Pattern[str] = compiled(
    r"(?<!\S)(?:filaments?|glow wire|bridge ?wire|heating wire|hot wire|"
    r"coil inside(?: it)?|gluhfaden|gluhdraht|heizdraht|filamento|wlokno|zarnik)(?: (?:in|of|"
    r"inside) (?:it|the|"
    r"~*\S+))*"
    r"(?: (?:it|was|is|then|just|seen|dull|faint|faintly|bit|a|the|to|could|be|slightly|seemed|"
    r"started|begins|began|leicht|kurz|un|peu|lekko))* (?:glow\w*|lit(?: up)?|lights|red|orange|"
    r"burn\w*|smok\w*|hot|warm|shin\w*|gluht|gluhte|leuchtet|rougit|rougeoie|brille|zarzy\w*|"
    r"swieci\w*|incandesc\w*|flares?|flashe[sd])(?!\S)"
    r"|(?<!\S)(?:small|faint|dull|slight|little|red|orange) glow(?!\S)"
    r"|(?<!\S)wires? (?:inside|in it|in there)(?: \S+)? glow(?:s|ed|ing)"
    r"|(?<!\S)(?:glow|glows|glowed|glowing) (?:inside|in there|in it|within)(?!\S)"
    r"|(?<!\S)(?:glow\w*|red glow|gluhen|lueur) (?:seen |visible |in |of |from |inside |im |du )+"
    r"(?:the )?(?:filament|element|bridge ?wire|gluhfaden)"
)
_ABRASIVE = (
    r"(?:emery\w*|emory|sand ?paper|sanding\w*|glass ?paper|wet and dry|wire wool|steel wool|"
    r"wire brush\w*|brass brush\w*|scouring\w*|scotch ?brite|scotchbrite|file|files|needle"
    r" file|nail file|points file|contact file|abrasive\w*|grit|scraper|scotch pad|"
    r"fibre ?(?:glass )?(?:pen|brush|pencil)|glass fibre \w+|schmirgel\w*|schleifpapier|"
    r"drahtburste|feile|stahlwolle|papier de verre|toile emeri|lime|laine d acier|"
    r"brosse metallique|papier\w* sciern\w*|pilnik\w*|druciak\w*)"
)
_RUBBED: re.Pattern[str] = compiled(
    r"(?<!\S)(?:(?:mit|z|avec du) (?:schmirgel\w*|schleifpapier|papier\w* sciern\w*) \S+|"
    r"clean\w*|rub\w*|buff\w*|polish\w*|brighten\w*|shin\w*|dress\w*|gone over|went over|done|"
    r"scrub\w*|"
    r"gereinigt|geputzt|poliert|blank gemacht|nettoye\w*|frotte\w*|ponce\w*|wyczysz\w*|przetar\w*|"
    r"oczysz\w*)(?: (?!and|then)\S+){0,4}? (?:with|by|using|mit|a|au|avec|z|ze)?(?: (?:a|an|the|"
    rf"some|fine|bit|of|piece|strip|little|la|le|du))*\s?{_ABRASIVE}(?!\S)"
    r"|(?<!\S)~\S+ (?:(?:were|was|are|is) )?(?:filed|sanded|abraded|emeried|scraped)(?!\S)"
)
_Way = tuple[re.Pattern[str], Role, Reason, frozenset[Role]]
_WAYS: tuple[_Way, ...] = (
    (_STRAY_TIP, Role.INSTRUMENT, Reason.METER, _NOTHING_MORE),
    (_STRAY_METER, Role.INSTRUMENT, Reason.METER, _METERED),
    (_LEADS_AT_PINS, Role.INSTRUMENT, Reason.METER, _READ),
    (_STRAIGHT_AT_IT, Role.INSTRUMENT, Reason.METER, _VALUED),
    (_ANOTHER_TOOL, Role.INSTRUMENT, Reason.METER, _VALUED),
    (_GLOWS, Role.POWER, Reason.POWER, _NOTHING_MORE),
    (_RUBBED, Role.FORCE, Reason.CLEANED, _NOTHING_MORE),
)
"""Each with what it is, why it is none, and the roles of which one is wanted beside it."""
_STRAYED = (_STRAY_TIP, _STRAY_METER)
"""These touch an igniter's plug where another part was meant, which is named beside it."""
