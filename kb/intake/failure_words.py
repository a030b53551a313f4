"""How a part fails, in the words of the trade: common practice, no source."""

from collections.abc import Mapping

from kb.case import FailureMode
from kb.intake.word_forms import forms_table

_MODES: Mapping[FailureMode, str] = {
    FailureMode.OPEN: (
        r"open[ -]circuit(?:ed)?|o/c|no continuity|broken(?= wire)|(?<=wire )broken|gone open"
    ),
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
    FailureMode.WORN: (
        "worn out|worn|wear|past its limit|collapsed|perished|ausgeschlagen|verschlissen|us[ée]"
    ),
    FailureMode.LEAKING: "leaking|leaks?|leaky|weeping",
    FailureMode.SEIZED: (
        "seized|(?:stuck|sticks|sticking)(?: open| shut| closed)?|jammed|sticky|binding|gripp[ée]"
    ),
    FailureMode.BLOCKED: "blocked|clogged|restricted|plugged up",
    FailureMode.CONTAMINATED: (
        "contaminated|corroded|corrosion|dirty|water ingress|water in|wet|green|sooted|rusted|rusty"
    ),
    FailureMode.LOOSE: "loose|unplugged|not seated|backed out|came off|undone",
    FailureMode.OUT_OF_ADJUSTMENT: (
        "out of adjustment|maladjusted|misadjusted|out of alignment|misaligned|uncalibrated"
    ),
    FailureMode.SOFTWARE: "software|not coded|wrong coding|coding",
    FailureMode.MECHANICAL_DAMAGE: (
        "mechanical damage|damaged|broken|cracked|bent|chaff?ed|rubbed|torn|snapped|crushed|pinched"
        "|split"
    ),
    FailureMode.WRONG_PART: "wrong part|incorrect part|wrong type",
    FailureMode.UNKNOWN: "unknown|not known|never found(?: out(?: (?:why|how))?)?",
}
MODES = forms_table(_MODES)


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
