"""Verbs and phrases for causes, fixes and contacts: common practice of the trade, no source."""

import re
from collections.abc import Mapping
from enum import StrEnum
from typing import TypeVar

from kb.case import Action, FailureMode

Word = TypeVar("Word", bound=StrEnum)

_MODES: Mapping[FailureMode, str] = {
    FailureMode.OPEN: r"open circuit|o/c|broken(?= wire)|(?<=wire )broken|gone open|open",
    FailureMode.HIGH_RESISTANCE: "high resistance|high res|high ohms|poor contact|bad contact",
    FailureMode.SHORT_TO_GROUND: "short(?:ed)? to (?:ground|earth|gnd|chassis|0 ?v)",
    FailureMode.SHORT_TO_SUPPLY: (
        r"short(?:ed)? to (?:supply|battery|batt|b\+|positive|plus|power|12 ?v)"
    ),
    FailureMode.SHORT_BETWEEN_WIRES: "short(?:ed)? (?:between wires|together|wires?)",
    FailureMode.INTERMITTENT: "intermittent(?:ly)?|comes and goes",
    FailureMode.INTERNAL_FAULT: (
        "internal fault|failed internally|internally failed|internal failure|inoperative"
        "|unserviceable|u/s|failed|faulty|defective|dead|burnt out|burned out|blown"
    ),
    FailureMode.WORN: "worn out|worn|wear|past its limit",
    FailureMode.LEAKING: "leaking|leaks?|leaky|weeping",
    FailureMode.SEIZED: "seized|stuck|jammed|sticking|binding",
    FailureMode.BLOCKED: "blocked|clogged|restricted|plugged up",
    FailureMode.CONTAMINATED: (
        "contaminated|corroded|corrosion|dirty|water ingress|water in|wet|green|sooted"
    ),
    FailureMode.LOOSE: "loose|unplugged|not seated|backed out|came off|undone",
    FailureMode.OUT_OF_ADJUSTMENT: (
        "out of adjustment|maladjusted|misadjusted|out of alignment|misaligned|uncalibrated"
    ),
    FailureMode.SOFTWARE: "software|not coded|wrong coding|coding",
    FailureMode.MECHANICAL_DAMAGE: (
        "mechanical damage|damaged|broken|cracked|bent|chafed|torn|snapped|crushed|pinched|split"
    ),
    FailureMode.WRONG_PART: "wrong part|incorrect part|wrong type",
    FailureMode.UNKNOWN: "unknown|not known|never found",
}
_ACTIONS: Mapping[Action, str] = {
    Action.REPLACED: (
        "replaced?|renew(?:ed)?|swapped|swap|fitted (?:a )?new|fit(?:ted)? new|new|changed"
        "|exchanged|rplcd|repl"
    ),
    Action.REPAIRED: (
        "repair(?:ed)?|mended|fixed|soldered|re-?soldered|spliced|rejoined|re-?crimped|crimped"
        "|re-?wired|re-?terminated|re-?tensioned|re-?pinned|welded|patched|sealed"
    ),
    Action.CLEANED: "clean(?:ed)?(?: out| up)?|dried(?: out)?|polished",
    Action.RESEATED: "re-?seat(?:ed)?|re-?connected|re-?fitted|re-?plugged|plugged in|pushed home",
    Action.TIGHTENED: "(?:re-?)?tighten(?:ed)?|(?:re-?)?torqued",
    Action.ADJUSTED: "(?:re-?)?adjust(?:ed)?|(?:re-?)?aligned|(?:re-?)?calibrated|set(?: up)?",
    Action.LUBRICATED: "lubricated?|lubed|greased|oiled|freed(?: off| up)?",
    Action.REFILLED: "re-?fill(?:ed)?|topped up|top(?:ped)? up|filled(?: up)?|bled",
    Action.CHARGED: "(?:re-?)?charged?",
    Action.REROUTED: "re-?rout(?:ed)?|re-?clipped|secured|re-?tied|moved",
    Action.CLEARED: "clear(?:ed)?|erased?|reset|unblocked",
    Action.REPROGRAMMED: (
        "re-?program(?:med)?|programmed|updated?|flashed|re-?flashed|(?:re-?)?coded|initialised"
    ),
    Action.REMOVED: "removed?|took out|disconnected|isolated",
    Action.OTHER: "other",
}
HEARD = re.compile(
    r"(?:(?:rang(?! (?:out|through))|phoned|spoke to|follow(?:ed)?[- ]?up|no comeback|comeback"
    r"|(?:not |never |no |still |hasn['’]?t |has not |did(?:n['’]?t| not) )*"
    r"(?:held|hold|holding|c[ao]me back|returned|been back)"
    r"|back (?:again|with|for|in for)|(?:in|here|came|came in) for|other reason|mot|tyres)\b)",
    re.IGNORECASE,
)
"""How a contact begins."""
BEHIND = re.compile(
    r"[,;:(?!]|(?<!\bno)\.(?=\s)|\s(?=(?:-|–|with|and|but|using|still|never|now|again|then|until|not"
    r"|no(?!\.? ?[0-9])|(?:did|has|does|was|is|wo|ca)n['’]?t|fixed|cured|sorted)(?!\w))",
    re.IGNORECASE,
)
"""Where, behind the name of the part to which something was done, something else begins."""


def _table(words: Mapping[Word, str]) -> Mapping[Word, re.Pattern[str]]:
    return {
        word: re.compile(rf"(?<![\w/-])(?:{word}|{forms})(?![\w/-])", re.IGNORECASE)
        for word, forms in words.items()
    }


MODES, ACTIONS = _table(_MODES), _table(_ACTIONS)


def leading(text: str, patterns: Mapping[Word, re.Pattern[str]]) -> tuple[Word, str] | None:
    """Return the word whose longest form a text begins with, and what follows."""
    found = [(match.end(), word) for word, form in patterns.items() if (match := form.match(text))]
    if not found:
        return None
    end, word = max(found, key=lambda each: each[0])
    return word, text[end:]


def failure_mode(line: str) -> tuple[FailureMode, int, int] | None:
    """Find the failure mode and where it stands: behind the colon if there is one, else last."""
    behind = line.rfind(":") + 1
    found = [
        (match.start() >= behind > 0, match.end(), match.end() - match.start(), -place)
        for place, pattern in enumerate(MODES.values())
        for match in pattern.finditer(line)
    ]
    if not found:
        return None
    _, end, length, place = max(found)
    return list(MODES)[-place], end - length, end
