"""A fix's curve and interval in plain characters, at most 72 wide; few cars look like few."""

from kb.rates.fixes import FixCurve
from kb.rates.trials import Clock
from kb.statistics.intervals import Interval

WIDTH, HEIGHT = 60, 5
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


def curve(held: FixCurve, horizon: float, clock: Clock) -> list[str]:
    """Return the share still good over time, and below it how many are watched.

    Parameters
    ----------
    held
        The curve; it ends where no car was heard of for longer.
    horizon
        Right end.
    clock
        What the times are counted in.

    Returns
    -------
    list of str
        Lines, from 100% down to 0% (the first alone where nothing failed), then the times and
        the numbers watched.
    """
    canvas = [[" "] * (WIDTH + 1) for _ in range(HEIGHT + 1)]
    before = None
    for column in range(WIDTH + 1):
        time = horizon * column / WIDTH
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
    if all(step.time > horizon for step in held.steps):
        lines = lines[:1]
    return [*lines, *_below(held, horizon, clock)]


def _below(held: FixCurve, horizon: float, clock: Clock) -> list[str]:
    times, watched = [" "] * 80, [" "] * 80
    for third in range(4):
        time = horizon * third / 3
        unit = f" {clock}" if third == 3 else ""
        _write(times, third * WIDTH // 3, f"{time:,.0f}{unit}")
        _write(watched, third * WIDTH // 3, f"{held.at_risk(time)}")
    return [
        f"      {''.join(times).rstrip()}",
        f"      {''.join(watched).rstrip()} watched",
    ]


def _write(cells: list[str], place: int, text: str) -> None:
    cells[place : place + len(text)] = list(text)


def _cell(share: float) -> int:
    return min(round(share * (WIDTH - 1)), WIDTH - 1)
