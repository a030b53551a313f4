"""The stretches of a line in which values and what they were measured of stand together."""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import pairwise

from kb.intake.company import Company
from kb.intake.items import is_item
from kb.intake.lifting import Place, merged
from kb.intake.marks import Mark
from kb.intake.reading_drafts import LastReading, quantity_of
from kb.intake.reading_items import item_after, item_before
from kb.intake.reading_words import item_and_position
from kb.intake.usual_units import usual_quantities
from kb.intake.wording import Wording
from kb.patterns import compiled

LOOSE = " \t\n,;:/&()="
"""What may stand between a value and words that tell of it."""
_CLAUSE = compiled(
    r"[;\n]+|,(?![0-9])|\.(?=\s|$)|\b(?:and(?!(?: \w+){1,2} (?:on|off)\b)|but|then)\b",
    re.IGNORECASE,
)
_STATE = compiled(r"\b(?:ok|okay|good|fine|healthy|tested|checked|measured)\s*$", re.IGNORECASE)
"""What a clause may say of an item whose value stands behind its comma: ``battery ok, 12.6 V``."""
_DENIED = compiled(r"\b(?:no|not|never|nicht|(?:wo|ca|does|did)n['’]?t)\b", re.IGNORECASE)
_LONGEST_NAME = 40


class Clauses:
    """The clauses of a line, and the marks in each.

    A clause that names no item is joined with the one behind its comma that is nothing but the
    item: ``hot 0.7 bar, oil``. `tails` tell such an item by where its clause starts.
    """

    def __init__(
        self, plain: str, marks: Sequence[Mark], company: Company, wording: Wording
    ) -> None:
        self._plain, self._marks, self._company, self._wording = plain, marks, company, wording
        self._starts = [mark.start for mark in marks]
        self.tails: dict[int, LastReading] = {}
        rows = merged((mark.row.start, mark.row.end) for mark in marks if mark.row)
        self.spans = self._joined(_parted(plain, rows))

    def marks_within(self, start: int, end: int) -> Sequence[Mark]:
        """Return the marks that begin in a stretch, in their order."""
        return self._marks[bisect_left(self._starts, start) : bisect_left(self._starts, end)]

    def end_before(self, mark: Mark) -> int:
        """Where the mark before one ends; 0 if there is none."""
        place = bisect_left(self._starts, mark.start)
        return self._marks[place - 1].end if place else 0

    def beside(self, mark: Mark) -> Sequence[tuple[Mark, Mark]]:
        """Return a mark with the one before it, and with the one behind it."""
        place = bisect_left(self._starts, mark.start)
        return list(pairwise(self._marks[max(0, place - 1) : place + 2]))

    def _joined(self, clauses: Sequence[Place]) -> list[Place]:
        joined: list[Place] = []
        for clause in clauses:
            start, end = clause
            before = joined[-1] if joined else None
            follows = before and self._plain[before.end : start].strip() == ","
            if not (before and follows):
                joined.append(clause)
                continue
            held = self.marks_within(*before)
            if not held and self._heads(before, clause):
                joined[-1] = Place(before.start, end)
                continue
            if not (held and self._is_open(before, held)):
                joined.append(clause)
                continue
            marks, words = self.marks_within(start, end), self._plain[start:end].strip(f"{LOOSE}.")
            says_when = self._company.after(start, end)
            if not marks and not says_when and _is_name(words, self._wording):
                joined[-1] = Place(before.start, end)
                stop = start + self._plain[start:end].index(words) + len(words)
                self.tails[before.start] = LastReading(words.lower(), None, None, None, stop)
            elif (
                marks
                and self._names_behind(marks[-1], end)
                and self._are_alike(before.start, end)
                and self._lacks_item(start, marks)
            ):
                joined[-1] = Place(before.start, end)
            else:
                joined.append(Place(start, end))
        return joined

    def _heads(self, clause: Place, behind: Place) -> bool:
        """Whether a clause says of an item how it is, and the one behind its comma what it has."""
        marks = self.marks_within(*behind)
        return (
            bool(marks)
            and _STATE.search(self._plain[slice(*clause)]) is not None
            and not self._plain[behind.start : marks[0].start].strip()
            and not self._plain[self._told_to(marks[-1], behind.end) : behind.end].strip(
                f"{LOOSE}."
            )
        )

    def _is_open(self, clause: Place, marks: Sequence[Mark]) -> bool:
        """Whether the item of the values of a clause may be told in the one behind its comma."""
        return self._lacks_item(clause.start, marks) and not self._names_behind(
            marks[-1], clause.end
        )

    def _lacks_item(self, start: int, marks: Sequence[Mark]) -> bool:
        """Whether the values of a clause name no item in front of any."""
        for mark in marks:
            if item_and_position(item_before(self._plain, start, mark.start, self._wording).words)[
                0
            ]:
                return False
        return True

    def _names_behind(self, mark: Mark, end: int) -> bool:
        """Whether the item of a mark is named behind it."""
        return item_after(self._plain, self._told_to(mark, end), end, self._wording) is not None

    def _told_to(self, mark: Mark, end: int) -> int:
        """Where a mark ends with what qualifies it."""
        return max([mark.end, *(each.end for each in self._company.after(mark.end, end))])

    def _are_alike(self, start: int, end: int) -> bool:
        """Whether values are of one quantity at most."""
        marks = self.marks_within(start, end)
        return len({quantity_of(mark.match) for mark in marks if mark.match}) <= 1


def _parted(plain: str, whole: Sequence[Place]) -> list[Place]:
    """Part a line into its clauses; rows of numbers stay whole."""
    starts = [place.start for place in whole]

    def parts(start: int) -> bool:
        row = bisect_right(starts, start) - 1
        return row < 0 or start >= whole[row].end

    spans = (match.span() for match in _CLAUSE.finditer(plain))
    cuts = [(0, 0), *(span for span in spans if parts(span[0])), (len(plain),) * 2]
    return [Place(end, start) for (_, end), (start, _) in pairwise(cuts) if start > end]


def _is_name(words: str, wording: Wording) -> bool:
    """Whether words are the name of one item and no more."""
    if not 0 < len(words) <= _LONGEST_NAME or any(map(str.isdigit, words)):
        return False
    if _DENIED.search(words):
        return False  # "12.6 V, wont crank"
    return is_item(words.lower().split(), wording) or bool(usual_quantities(words.lower(), wording))
