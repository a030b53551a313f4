"""What faulty readings of a complaint speak for, in the words of the trade's table of limits."""

from collections.abc import Iterator, Sequence

from kb.bands.limits import Limit, find_limit, trade_limits
from kb.bands.measured import ends_of
from kb.case import Reading, Vehicle
from kb.intake.wording import Wording


def speak_for(
    readings: Sequence[Reading], vehicle: Vehicle, wording: Wording
) -> Iterator[tuple[str, ...]]:
    """Yield for each reading that the trade's limits call a fault the words of what it speaks for.

    Examples
    --------
    >>> from kb.intake.readings import parse_reading
    >>> drop = parse_reading("voltage drop, earth side 0.9 V")
    >>> list(speak_for([drop], Vehicle(), Wording.default()))
    [('earth strap high resistance', 'earth point high resistance')]
    """
    for reading in readings:
        line = find_limit(reading, vehicle, trade_limits(), wording).line
        if line and line.speaks_for and _is_fault(reading, line):
            yield line.speaks_for


def is_faulty(reading: Reading, vehicle: Vehicle, wording: Wording) -> bool:
    """Whether a reading is a fault by the trade's limits.

    Examples
    --------
    >>> from kb.intake.readings import parse_reading
    >>> runout = parse_reading("brake disc runout 0.12 mm")
    >>> is_faulty(runout, Vehicle(), Wording.default())
    True
    """
    line = find_limit(reading, vehicle, trade_limits(), wording).line
    return line is not None and _is_fault(reading, line)


def _is_fault(reading: Reading, line: Limit) -> bool:
    return reading.value is not None and all(line.side_of(end) for end in ends_of(reading))
