"""A fix's curve and interval in plain characters, at most 72 wide; few cars look like few."""

from collections.abc import Sequence

from kb.rates.fixes import FixCurve
from kb.rates.survival import Interval
from kb.rates.trials import Clock
from kb.reports.labels import plural

WIDTH, HEIGHT = 60, 5
"""Cells of the curve: with its labels it fits 80 columns, and three fixes fit a screen."""
DAYS_PER_YEAR = 365
FEW = 5
"""Where fewer are watched than this the curve is dotted."""


def bar(interval: Interval, rate: float | None) -> str:
    """Return an interval from 0 to 100% as a bar, the rate a dot on it: wide where little is known.

    Examples
    --------
    >>> bar(Interval(0.5, 1.0), 0.9)
    '  0% ······························├──────────────────────●─────┤ 100%'
    """
    cells = ["·"] * WIDTH
    low, high = _cell(interval.low), _cell(interval.high)
    cells[low : high + 1] = ["─"] * (high - low + 1)
    cells[low], cells[high] = "├", "┤"
    if rate is not None:
        cells[_cell(rate)] = "●"
    return f"  0% {''.join(cells)} 100%"


def curve(
    held: FixCurve, horizons: Sequence[float], clock: Clock, *, unjudged: int = 0
) -> list[str]:
    """Return the share still good over time, as far as any car was watched, and how many were.

    The lines go from 100% down to 0%, then come the times and the numbers watched; at least the
    first horizon is shown. It is one line in words where no car was seen to fail after the day it
    left, and none where no car was cured. Of `unjudged` cars that are back nobody said why.
    """
    if not any(step.time > 0 for step in held.steps):
        return [_flat(held, horizons, clock, unjudged)] if held.at(0) else []
    end = max(held.end, horizons[0])
    canvas = [[" "] * (WIDTH + 1) for _ in range(HEIGHT + 1)]
    before = None
    for column in range(WIDTH + 1):
        time = end * column / WIDTH
        if not held.known(time):
            break
        row = round((1 - held.at(time)) * HEIGHT)
        canvas[row][column] = "─" if held.at_risk(time) >= FEW else "┈"
        if before is not None and row > before:
            canvas[before][column], canvas[row][column] = "┐", "└"
            for between in range(before + 1, row):
                canvas[between][column] = "│"
        before = row
    labels = {0: "100%", HEIGHT: "  0%"}
    lines = [
        f"{labels.get(place, ''):>4} {'┤' if place in labels else '│'}{''.join(row).rstrip()}"
        for place, row in enumerate(canvas)
    ]
    thirds = [end * third / 3 for third in range(4)]
    times = _spaced([f"{time:,.0f}" for time in thirds])
    watched = _spaced([f"{held.at_risk(time)}" for time in thirds])
    return [*lines, f"{times} {clock}", f"{watched} watched"]


def length(time: float, clock: Clock) -> str:
    """Return a time on a clock as ``90 days``, ``1 year`` or ``4,000 km``.

    Examples
    --------
    >>> length(90, Clock.DAYS), length(365, Clock.DAYS), length(4000, Clock.KM)
    ('90 days', '1 year', '4,000 km')
    """
    if clock is Clock.KM:
        return f"{time:,.0f} km"
    years, left = divmod(time, DAYS_PER_YEAR)
    return plural(round(time), "day") if left or not years else plural(int(years), "year")


def _flat(held: FixCurve, horizons: Sequence[float], clock: Clock, unjudged: int) -> str:
    watched = [(held.at_risk(horizon), horizon) for horizon in horizons]
    told = [f"{plural(cars, 'car')} {length(horizon, clock)}" for cars, horizon in watched if cars]
    if told:
        seen = f"; watched: {', '.join(told)}"
    elif held.end:
        seen = f", but none was watched longer than {length(held.end, clock)}"
    else:
        seen = ", but of none is anything known"
    back = f"; back and not judged: {plural(unjudged, 'car')}" if unjudged else ""
    sure = "known" if unjudged else "seen"
    return f"no car {sure} to fail after handover{back}{seen}"


def _spaced(cells: Sequence[str]) -> str:
    """Write the cells below the left end, the thirds and the right end of the curve."""
    return f"{'':6}{''.join(f'{cell:<{WIDTH // 3}}' for cell in cells)}".rstrip()


def _cell(share: float) -> int:
    return min(round(share * (WIDTH - 1)), WIDTH - 1)
