"""The values and the bare numbers of a line, and the rows they stand in."""

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from kb.case import Stage
from kb.intake.company import Company
from kb.intake.lifting import Place
from kb.intake.reading_words import FOREIGN_UNIT, is_rating
from kb.intake.values import VALUE
from kb.patterns import compiled

_PLAIN = r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_NUMBER = compiled(
    rf"(?<![\w.,+-])(?<![A-Za-z]/){_PLAIN}(?:(?:-|\s-\s|\s?to\s){_PLAIN})?(?![\w.,]*\w)"
    r"(?!/[0-9.,]*[A-Za-z])"
)
_IN_A_ROW = compiled(r"\s?[/,]?\s?")
_SPACE = compiled(r"\s*")
_COLON = compiled(r"\s?[:=]\s?")
_TO = compiled(r"\s?(?:(?<=[0-9 ])-|to)\s?")
_ARROW = compiled(r"\s*(?:→|->|=>)\s*")
_FROM = compiled(r"\bfrom\s+$", re.IGNORECASE)
# "BT 28/2 12.4V": a day, where a value with its own unit follows.
_DAY = compiled(
    r"(?<![\w.,/])(?:0?[1-9]|[12][0-9]|3[01])/(?:0?[1-9]|1[0-2])(?:/(?:20)?[0-9]{2})?(?=\s+\S)"
)
_PART_NUMBER = compiled(r"-(?:[0-9]{2,}(?![.,0-9])|[A-Z]+[0-9])", re.I)  # "4R-8810-C"
# "coil 4 res 0R8": the number of a thing, not a value.
_NUMBERS_A_THING = compiled(
    r"\s(?:res|resistance|ohms|volts|pressure|temp|current|primary|secondary)\s+[0-9.O]",
    re.IGNORECASE,
)
_SO_MANY = compiled(r"[0-9]\s?[x×]\s?$", re.IGNORECASE)  # "2 x 12 V"
_SHORTEST_ROW = 3
_MOST_COUNTED = 16
_NEAR = 12
_COUNTED = compiled(
    r"\b(?:fuse|pin|cell|relay|terminal|cyl|cylinder|bank|row|track|no|nr|number|block|job|case|order|invoice|ticket|card|page|step|tag)[\s.#]*$",
    re.IGNORECASE,
)
_PER_CYLINDER = compiled(
    r"\b(?:comp|compressions?|inj|injectors?|leak\w*|return flow|misfires?|glow|plugs?|spark|coils?"
    r"|kompression|smooth)\b"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A value, or a number that has no unit of its own (then without a match).

    `number` counts it in its `row`, or is the number that was written in front of it; that, or
    *from*, begins at `index_start`.
    """

    start: int
    end: int
    match: re.Match[str] | None = None
    stage: Stage | None = None
    number: int | None = None
    row: Place | None = None
    index_start: int | None = None

    def position(self, item: str) -> str | None:
        """Tell where a counted value was taken: at a cylinder, where each has its own."""
        if self.number is None:
            return None
        return f"cylinder {self.number}" if _PER_CYLINDER.search(item) else f"number {self.number}"


def marks_in(plain: str, company: Company) -> list[Mark]:
    """Find the values and bare numbers of a text that `kb.intake.values.prepare` made, in order."""
    values = [match for match in VALUE.finditer(plain) if not company.holds(*match.span())]
    days = _days_before(plain, values)
    marks = [mark for match in values for mark in _of_value(plain, match, company)]
    ends = [(match.start(), match.end()) for match in values]
    for mark in _numbers(plain, company):
        before = bisect_right(ends, (mark.start, len(plain))) - 1
        apart = (before < 0 or ends[before][1] <= mark.start) and mark.start not in days
        if apart and (before + 1 == len(ends) or ends[before + 1][0] >= mark.end):
            marks.append(mark)
    marks.sort(key=lambda mark: mark.start)
    for place, (one, other) in enumerate(pairwise(marks)):
        if _ARROW.fullmatch(plain, one.end, other.start):
            marks[place] = replace(marks[place], stage=Stage.AS_FOUND)
            marks[place + 1] = replace(other, stage=Stage.AFTER_FIX)
    return _in_rows(plain, marks)


def _days_before(plain: str, values: Sequence[re.Match[str]]) -> set[int]:
    """Where the numbers of days begin that stand just before a value with its own unit."""
    begins = {match.start() for match in values if match["unit"] or match["high_unit"]}
    found: set[int] = set()
    for day in _DAY.finditer(plain):
        space = _SPACE.match(plain, day.end())
        if space and space.end() in begins:
            found.update(range(*day.span()))
    return found


def _of_value(plain: str, match: re.Match[str], company: Company) -> Iterator[Mark]:
    is_size = match["rkm"] and plain[match.start() - 1 : match.start()] == "/"  # 55R16
    is_name = is_size or is_rating(match) or _PART_NUMBER.match(plain, match.end())
    is_name = is_name or _SO_MANY.search(plain, max(0, match.start() - _NEAR), match.start())
    return iter(()) if is_name else _parts(plain, match, company)


def _numbers(plain: str, company: Company) -> Iterator[Mark]:
    for match in _NUMBER.finditer(plain):
        before = plain[max(0, match.start() - _NEAR) : match.start()]
        foreign = FOREIGN_UNIT.match(plain, match.end())
        counted = (
            before[-2:].strip() and not before.strip()[-1].isdigit() and _COUNTED.search(before)
        )
        if counted or company.holds(*match.span()) or _is_number_of_thing(plain, match):
            continue
        if foreign and not company.holds(*foreign.span(1)):
            continue
        ends = _TO.search(match[0])
        of = _FROM.search(plain, max(0, match.start() - len("from   ")), match.start())
        if ends and of:
            middle = match.start() + ends.start(), match.start() + ends.end()
            yield Mark(
                start=match.start(), end=middle[0], stage=Stage.AS_FOUND, index_start=of.start()
            )
            yield Mark(start=middle[1], end=match.end(), stage=Stage.AFTER_FIX)
        else:
            yield Mark(start=match.start(), end=match.end())


def _is_number_of_thing(plain: str, match: re.Match[str]) -> bool:
    return _is_count(match[0]) and _NUMBERS_A_THING.match(plain, match.end()) is not None


def _parts(plain: str, match: re.Match[str], company: Company) -> Iterator[Mark]:
    """Part ``from 6.1 to 2.3 bar`` into what was and what is; ``20.9 R`` may be the right one."""
    if match["unit"] and company.holds(*match.span("unit")):
        yield Mark(start=match.start("number"), end=match.end("number"))
        return
    whole = Mark(start=match.start(), end=match.end(), match=match)
    second = VALUE.match(plain, match.start("high")) if match["low"] else None
    of = _FROM.search(plain, max(0, match.start() - len("from   ")), match.start())
    if second and of:
        first = match.end("low")
        yield Mark(start=match.start(), end=first, stage=Stage.AS_FOUND, index_start=of.start())
        yield Mark(start=second.start(), end=second.end(), match=second, stage=Stage.AFTER_FIX)
    else:
        yield whole


def _in_rows(plain: str, marks: Sequence[Mark]) -> list[Mark]:
    """Number what stands in a row, and take off the numbers written in front."""
    rows: list[list[Mark]] = []
    for mark in marks:
        gap = plain[rows[-1][-1].end : mark.start] if rows else ""
        if rows and (_IN_A_ROW.fullmatch(gap) or (len(rows[-1]) == 1 and _COLON.fullmatch(gap))):
            rows[-1].append(mark)
        else:
            rows.append([mark])
    return [mark for row in rows for mark in _numbered(plain, row)]


def _numbered(plain: str, row: Sequence[Mark]) -> Iterator[Mark]:
    texts = [plain[mark.start : mark.end] for mark in row]
    counts = texts[0::2]
    if len(row) % 2 == 0 and all(map(_is_count, counts)) and _counts_on(counts):
        values = texts[1::2]
        apart = _COLON.fullmatch(plain, row[0].end, row[1].start) is not None
        if len(row) > len("12") or not values[0].isdigit() or apart:
            for index, mark in zip(row[0::2], row[1::2], strict=True):
                number = int(plain[index.start : index.end])
                yield replace(mark, number=number, index_start=index.start)
            return
    if len(row) >= _SHORTEST_ROW and any(mark.match is None for mark in row):
        place = Place(row[0].start, row[-1].end)
        for number, mark in enumerate(row, 1):
            yield replace(mark, number=number, row=place)
        return
    yield from row


def _is_count(text: str) -> bool:
    return text.isdigit() and len(text) <= len("16") and 0 < int(text) <= _MOST_COUNTED


def _counts_on(counts: Sequence[str]) -> bool:
    return all(int(one) < int(other) for one, other in pairwise(counts))
