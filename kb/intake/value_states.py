"""Values that only tell the state in which another was read: so warm, so fast, at such pressure."""

from collections.abc import Sequence

from kb.case import Quantity
from kb.patterns import compiled

_STATES = frozenset([Quantity.TEMPERATURE, Quantity.ROTATION])
_OF_SENSORS = frozenset([Quantity.VOLTAGE, Quantity.RESISTANCE, Quantity.CURRENT])
_SENSOR = compiled(r"\b(?:sensor|sens|sender|transducer|map)\b")
_WORD = (
    r"(?:at|with|when|while|is|was|about|approx|around|to|hot|warm|cold|engine|eng|motor|coolant"
    r"|water|oil|outside|ambient|room|air|idle|idling|running|revs|revving|held"
    r"|steady|key on|ignition on|ign on|light throttle|fully|up|low|high|side|rail|vacuum|boost)"
)
_LEAD = compiled(rf"(?:\b{_WORD}\b[\s,(@]*|[,(@]\s*)*$")
_WARM = compiled(
    r"\b(?:hot|warm|cold|engine|coolant|water|outside|ambient|room|air)\b[\s,(]*(?:at[\s]*)?$"
)
"""Words behind which an angle is none, but degrees of warmth."""
_TAIL = compiled(rf"(?:[\s,]+{_WORD}\b)*\s*\)?")
_BETWEEN = compiled(rf"(?:[\s,(@]|\b{_WORD}\b)*")
Span = tuple[int, int]


def with_states_behind(text: str, values: Sequence[tuple[Span, Quantity | None]]) -> str | None:
    """Return a reading with what tells its state put behind an ``@``, if but one value is read.

    A temperature or a speed beside another value is a state, and a pressure beside what a sensor
    gives. Nothing but words of such states may stand between it and the value, and before it.

    Parameters
    ----------
    text : str
    values : sequence of ((int, int), Quantity or None)
        Where the values stand in it, in their order, and what they are of.

    Examples
    --------
    >>> spans = [((20, 28), Quantity.RESISTANCE), ((40, 43), Quantity.TEMPERATURE)]
    >>> with_states_behind("coolant temp sensor 2.4 kohm hot engine 90C", spans)
    'coolant temp sensor 2.4 kohm @ hot engine 90C'
    >>> with_states_behind("TPS 2500 rpm 2.1V", [((4, 12), Quantity.ROTATION), ((13, 17), None)])
    'TPS 2.1V @ 2500 rpm'
    """
    states = _STATES
    if any(each in _OF_SENSORS for _, each in values) and _SENSOR.search(text.casefold()):
        states |= {Quantity.PRESSURE}
    told = [span for span, quantity in values if quantity in states or _warm(text, span, quantity)]
    read = [span for span, _ in values if span not in told]
    if len(read) != 1 or not told:
        return None
    pieces = [_piece(text, span, read[0]) for span in told]
    item, conditions, at = "", list[str](), 0
    for piece in pieces:
        if piece is None or piece[0] < at:
            return None
        item += f"{text[at : piece[0]].rstrip()} "
        conditions.append(text[slice(*piece)].strip(" ,()@"))
        at = piece[1]
    item = (item + text[at:]).strip(" ,")
    return f"{item} @ {', '.join(conditions)}" if "@" not in item else None


def _piece(text: str, state: Span, read: Span) -> Span | None:
    """Return where a state is told with the words about it; None where others stand beside it."""
    plain = text.casefold()
    lead = _LEAD.search(plain, 0, state[0])
    start = lead.start() if lead else state[0]
    tail = _TAIL.match(plain, state[1])
    end = tail.end() if tail else state[1]
    if read[1] <= state[0]:
        between = plain[read[1] : state[0]]
        return (max(start, read[1]), end) if _BETWEEN.fullmatch(between) else None
    close = _BETWEEN.fullmatch(plain[state[1] : read[0]])
    return (start, state[1]) if close or start < state[0] else None


def _warm(text: str, value: Span, quantity: Quantity | None) -> bool:
    """Whether degrees are of warmth: ``hot 90 deg``."""
    return quantity is Quantity.ANGLE and bool(_WARM.search(text.casefold(), 0, value[0]))
