"""Values told in a row, and beside it the corners of the car they were taken at, in their order."""

import re
from collections.abc import Iterator
from typing import NamedTuple

from kb.intake.lifting import Place
from kb.intake.positions import corner_lists
from kb.patterns import compiled

_CELL = r"[0-9]{1,5}(?:[.,][0-9]{1,3})?(?:\s?(?:[A-Za-z]{1,4}|[%°\"][CF]?))?"
_CELLS = compiled(rf"(?<![\w.,/+-]){_CELL}(?:(?:\s?[/,&|]\s?|\s){_CELL})+(?![\w/])")
_NUMBER = compiled(r"(?<![A-Za-z0-9.,])[0-9]+(?:[.,][0-9]+)?")
_BESIDE = compiled(r"\s?[:=(-]?\s?")
_LONGEST_ROW = 80


class CornerRow(NamedTuple):
    """Where the numbers of a row begin and at which corner each was taken; where both stand."""

    corners: dict[int, str]
    numbers: Place
    names: Place


def corner_rows(text: str) -> Iterator[CornerRow]:
    """Yield each row of numbers beside which just as many corners are listed.

    Examples
    --------
    >>> [row.corners for row in corner_rows("tread 5/2.1 mm fl rf, 30 psi lf rf")]
    [{6: 'left front', 8: 'right front'}]
    """
    for start, end, corners in corner_lists(text):
        for row in (_ahead_of(text, start), _CELLS.match(text, _skipped(text, end))):
            begins = [number.start() for number in _NUMBER.finditer(row[0])] if row else []
            if row and len(begins) == len(corners):
                told = {row.start() + at: where for at, where in zip(begins, corners, strict=True)}
                yield CornerRow(told, Place(*row.span()), Place(start, end))
                break


def _ahead_of(text: str, end: int) -> re.Match[str] | None:
    """Find the row that ends just before a place."""
    rows = _CELLS.finditer(text, max(0, end - _LONGEST_ROW), end)
    return next((row for row in rows if _BESIDE.fullmatch(text, row.end(), end)), None)


def _skipped(text: str, start: int) -> int:
    between = _BESIDE.match(text, start)
    return between.end() if between else start
