"""Of which circuit a bare high or low pressure is: the air conditioning's, or the fuel's.

What tells it, and what a circuit can hold, is common practice, no source.
"""

import re
from dataclasses import replace
from functools import lru_cache

from kb.case import Quantity, Reading
from kb.patterns import compiled

SIDES_OF_A_SYSTEM = frozenset({"hp", "lp"})
_COOLER = compiled(
    r"\b(?:vents?|a/?c|air ?con(?:ditioning)?|refrigerant|condenser|evaporator|klima\w*|clim\w*)\b",
    re.IGNORECASE,
)
_COOLS_BADLY = compiled(
    r"\b(?:(?:not|no longer) (?:cold|cool(?:ing)?)|blows? (?:warm|hot)|warm air|no cold air"
    r"|kühlt nicht|pas froid|nie chłodzi)\b",
    re.IGNORECASE,
)
_FUEL = compiled(
    r"\b(?:fuel|diesel|petrol|rail|injectors?|injection|kraftstoff|einspritz\w*|gazole|injecteurs?"
    r"|paliw\w*|wtrysk\w*)\b",
    re.IGNORECASE,
)
_RUNS_BADLY = compiled(
    r"\b(?:no start|(?:wo|does)n['’]?t start|hard to start|long crank\w*|cranks? long"
    r"|stalls?|stalling|cuts? out|limp\w*|(?:no|low|lack of|loss of|lost) power|misfir\w*"
    r"|springt nicht an|ne démarre pas|nie odpala)\b",
    re.IGNORECASE,
)
_MOST_OF_A_COOLER = 160e5
"""Pa; what lies above this is no refrigerant's."""


def of_the_circuit(reading: Reading, line: str, complaint: str = "") -> Reading:
    """Say of a bare high or low pressure which circuit's it is, where that is told.

    By the line that it stands in, else by what the job's complaint is about; where both circuits
    are told of, or neither, it stays as it was typed.

    Examples
    --------
    >>> low = Reading(item="lp", quantity=Quantity.PRESSURE, typed="2 bar", value=2e5)
    >>> of_the_circuit(low, "lp 2 bar, vent 6 c").item, of_the_circuit(low, "lp 2 bar").item
    ('a/c lp', 'lp')
    >>> of_the_circuit(low, "lp 2 bar", "won't start hot").item
    'fuel lp'
    """
    if reading.item not in SIDES_OF_A_SYSTEM or reading.quantity is not Quantity.PRESSURE:
        return reading
    circuit = "a/c" if tells_cooler(line) else _circuit_of(complaint)
    too_much = reading.value is not None and reading.value > _MOST_OF_A_COOLER
    if circuit is None or (circuit == "a/c" and too_much):
        return reading
    return replace(reading, item=f"{circuit} {reading.item}")


@lru_cache(maxsize=4)
def tells_cooler(line: str) -> bool:
    """Whether a line tells of an air conditioning; asked once a line, however long."""
    return _COOLER.search(line) is not None


@lru_cache(maxsize=4)
def _circuit_of(complaint: str) -> str | None:
    cools = _COOLER.search(complaint) or _COOLS_BADLY.search(complaint)
    fuels = _FUEL.search(complaint) or _RUNS_BADLY.search(complaint)
    if bool(cools) is bool(fuels):
        return None
    return "a/c" if cools else "fuel"
