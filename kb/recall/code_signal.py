"""Similarity of trouble codes: the same code, its ten, its family, its system.

Each code of one side is held against its best counterpart on the other; the similarity is the
mean over both sides, so a job with many more codes than the question is less like it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.case import TroubleCode

SAME_CODE_AND_TYPE = 1.0
SAME_CODE = 0.9
"""One side lacks the failure type, which older control units do not give: hardly a difference."""
SAME_CODE_OTHER_TYPE = 0.7
"""The same circuit with another fault of it: nearer to the same code than to its family."""
SAME_TEN = 0.5
"""All but the last digit alike: mostly the same circuit, or its twin, with another fault. Above
`least_similarity` of the settings, so that it is worth showing on its own."""
SAME_FAMILY = 0.2
"""The neighbourhood of the circuit: a crank sensor's code and a misfire's are of one family, and
hardly ever of one cause (tried on the demonstration shop: at 0.35 the true cause came first of
codes and words in 39 of 100, at 0.2 in 42)."""
SAME_SYSTEM = 0.1
"""The same letter: below `least_similarity` of the settings, so that it is never worth showing on
its own.

The order of this ladder follows from how codes are made up (SAE J2012); its heights are by guess,
and what the whole ladder weighs is learnt (`weights` of the settings)."""

_LETTERS = "PCBU"
_NO_TYPE = -1


@dataclass(frozen=True, slots=True)
class CodeColumns:
    """The codes of all rows, row after row.

    Row i owns entries ``starts[i]`` to ``starts[i + 1]``, shape (n_rows + 1,). `codes` are the two
    bytes of SAE J2012, letter in the top two bits; `types` the failure type byte, -1 where it was
    not recorded.
    """

    starts: NDArray[np.int64]
    codes: NDArray[np.uint16]
    types: NDArray[np.int16]

    def __len__(self) -> int:
        return len(self.starts) - 1

    def similarities(self, asked: Sequence[TroubleCode]) -> NDArray[np.float32]:
        """Return how like every row's codes are, shape (n_rows,); nan where a side has none."""
        result = np.full(len(self), np.nan, dtype=np.float32)
        if not asked or not len(self.codes):
            return result
        levels = np.stack([self._levels(code) for code in asked])
        counts = np.diff(self.starts)
        filled = counts > 0
        starts = self.starts[:-1][filled]
        best_for_asked = np.maximum.reduceat(levels, starts, axis=1).mean(axis=0)
        best_for_row = np.add.reduceat(levels.max(axis=0), starts) / counts[filled]
        result[filled] = (best_for_asked + best_for_row) / 2
        return result

    def having(self, asked: TroubleCode) -> NDArray[np.bool_]:
        """Return which rows have a code, shape (n_rows,); one without a failure type fits any."""
        code, failure_type = packed(asked)
        same = self.codes == code
        if failure_type != _NO_TYPE:
            same &= (self.types == failure_type) | (self.types == _NO_TYPE)
        rows = np.repeat(np.arange(len(self)), np.diff(self.starts))
        found = np.zeros(len(self), dtype=np.bool_)
        found[rows[same]] = True
        return found

    def holds(self, code: TroubleCode) -> bool:
        """Whether any row has the code, whatever its failure type."""
        return bool((self.codes == packed(code)[0]).any())

    def _levels(self, asked: TroubleCode) -> NDArray[np.float32]:
        code, failure_type = packed(asked)
        types_known = (self.types != _NO_TYPE) & (failure_type != _NO_TYPE)
        levels = np.where(self.codes >> 14 == code >> 14, SAME_SYSTEM, 0.0)
        levels[self.codes >> 8 == code >> 8] = SAME_FAMILY
        levels[self.codes >> 4 == code >> 4] = SAME_TEN
        same = self.codes == code
        levels[same & ~types_known] = SAME_CODE
        levels[same & types_known] = SAME_CODE_OTHER_TYPE
        levels[same & types_known & (self.types == failure_type)] = SAME_CODE_AND_TYPE
        return levels.astype(np.float32)


def build(rows: Sequence[Sequence[TroubleCode]]) -> CodeColumns:
    """Lay the codes of many jobs out as columns."""
    flat = [packed(code) for codes in rows for code in codes]
    return CodeColumns(
        starts=np.cumsum([0, *map(len, rows)], dtype=np.int64),
        codes=np.array([code for code, _ in flat], dtype=np.uint16),
        types=np.array([failure_type for _, failure_type in flat], dtype=np.int16),
    )


def packed(code: TroubleCode) -> tuple[int, int]:
    """Return the two-byte form of a code (SAE J2012) and its failure type, -1 if it has none.

    Examples
    --------
    >>> hex(packed(TroubleCode(code="B1234"))[0])
    '0x9234'
    """
    number = _LETTERS.index(code.code[0]) << 14 | int(code.code[1:], 16)
    return number, int(code.failure_type, 16) if code.failure_type else _NO_TYPE
