"""The values and the bare numbers of a line, and the rows they stand in."""

import re
from bisect import bisect_right
from collections.abc import Container, Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from kb.case import Stage
from kb.intake.company import Company
from kb.intake.company_words import Aspect
from kb.intake.corner_rows import CornerRow
from kb.intake.lifting import Place
from kb.intake.reading_words import FOREIGN_UNIT, is_rating
from kb.intake.values import VALUE
from kb.patterns import compiled

_PLAIN = r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_LIMIT = r"(?:>|<|≥|≤|(?:under|over|below|above|(?:less|more) than|at (?:least|most)|up to)\s)\s?"
_NUMBER = compiled(
    rf"(?:(?<!\w){_LIMIT})?(?<![\w.,+-])(?<![A-Za-z]/){_PLAIN}(?:(?:-|\s-\s|\s{{0,2}}to\s){_PLAIN})?(?![\w.,]*\w)"
    r"(?!/[0-9.,]*[A-Za-z])"
)
_OF_OTHERS = compiled(
    r"\b(?:others?|rest|übrige[nr]?|andere[nr]?|autres|pozostałe)"
    r"(?: (?:ones?|two|three|four|five|[2-7]|cyls?|cylinders?|wheels?|corners?))?[ :=]*$",
    re.IGNORECASE,
)
"""What stands before the values of those not named, which cannot be counted from one."""
_AND = compiled(r",? (?:and|und|et|i|oraz) ", re.IGNORECASE)
"""Before the last of a row that went beyond the instrument: *0.6 ohm 0.7 ohm 0.6 ohm and OL*."""
_IN_A_ROW = compiled(r"\s?[/,]?\s?")
_SPACE = compiled(r"\s*")
_UNIT_BEHIND = compiled(r"(?<=[0-9])\s*[^\W\d_].*$")
_COLON = compiled(r"\s?[:=]\s?")
_HAS = compiled(r"\s(?:has|had|hat|hatte|ma|is|was|ist|war|shows|reads)\s", re.IGNORECASE)
_ARTICLES = r"(?:(?:the|die|der|das|le|la|au|no\.?|nr\.?|n°|number)\s)"
_OF_THE_NEXT = compiled(
    rf"[,;&]\s?(?:(?:and|und|et|i|but|aber|mais)\s)?(?P<article>{_ARTICLES}{{0,2}})$",
    re.IGNORECASE,
)
"""What stands before the number of another of the same: ``injector 2 14.2 ohm, the 3 has 14.4``."""
_LONGEST_OF_NEXT = len(", and the number ")
_TO = compiled(r"\s{0,2}(?:(?<=[0-9 ])-|to)\s?")
_ARROW = compiled(r"\s*→\s*")
_END = compiled(r"[0-9]{1,6}(?:[.,][0-9]{1,6})?")
_WHEN = compiled(r"(?:when|while|during|under)\b", re.IGNORECASE)
_ENDS = compiled(r"([0-9]{1,2})\s?(?:-|to)\s?([0-9]{1,2})")
_CHANGES = compiled(
    r"\b(?:(?P<from>from)|(?:drop|sink|climb|rise|go)(?:e?s|ping|ing|ped|ed)?|fell|falls|falling|went"
    r"|rose|down|sags?|sank)\s+$",
    re.IGNORECASE,
)
"""What stands before two values one after the other: ``from 6 to 2``, ``drops 4.0 to 1.6``."""
_LONGEST_CHANGE = len("dropping   ")
# "BT 28/2 12.4V": a day, where a value with its own unit follows.
_DAY = compiled(
    r"(?<![\w.,/])(?:0?[1-9]|[12][0-9]|3[01])/(?:0?[1-9]|1[0-2])(?:/(?:20)?[0-9]{2})?(?=\s+\S)"
)
_PART_NUMBER = compiled(r"-(?:[0-9]{2,}(?![.,0-9])|[A-Z]+[0-9])", re.I)  # "4R-8810-C"
# "coil 4 res 0R8": the number of a thing, not a value.
_NUMBERS_A_THING = compiled(
    r"\s(?:res|resistance|ohms|volts|pressure|temp|current|primary|secondary|correction|balance"
    r"|flow|leak(?: (?:back|off))?|feed|supply|earth|signal|draws|reads|pulls|is|was|has|shows"
    r"|gives|(?:innen)?widerstand|spannung|druck|temperatur|strom|ist|war|hat|hatte|zeigt"
    r"|résistance|tension|pression|opór|napięcie|ciśnienie|ma)\s+[-+<>]?[0-9.O]",
    re.IGNORECASE,
)
_HEADS_WORDS = compiled(r"\s?:\s*(?:[^\W\d]{2}|-(?![0-9]))")  # "1: no spark 2: spark"
_OF_A_WHOLE = compiled(r"\s?(?:of|out of|/)\s?[0-9]+(?:[.,][0-9]+)?", re.IGNORECASE)
_FRACTION = compiled(r"(?<![\w/.,])(?:1/[2348]|50/50)(?![\w/.,])")
_SO_MANY = compiled(r"[0-9]\s?[x×]\s?$", re.IGNORECASE)  # "2 x 12 V"
_TIMES = ("x", "X", "×")
_LONGEST_SO_MANY = len("2 x ")
_LONGEST_GAP = len(" shows ")
_SHORTEST_ROW = 3
_MOST_COUNTED = 16
_FIRST = compiled(
    r"\b(?:cyl\w*|zyl\w*|injectors?|coils?|plugs?)\.? ?(?:no\.? ?)?1[ :=]+$", re.IGNORECASE
)
_CYLINDERS = (3, 4, 5, 6, 8)
_NEAR = 12
_NEAR_NAME = 24
_COUNTED = compiled(
    r"\b(?:fuse|pin|(?P<whole>cell|mod(?:ule)?|[cz]yl|[cz]ylinder|cylindre|bank|track|block)|relay|terminal|row|no|nr|number|job|case|order|invoice|ticket|card|page|step|tag|stage|stufe)[\s.#]*$",
    re.IGNORECASE,
)
_PER_CYLINDER = compiled(
    r"\b(?:comp|compressions?|inj|injectors?|leak\w*|return flow|misfires?|glow|plugs?|spark|coils?"
    r"|kompression|smooth|einspritz(?:düse|ventil)n?|injektor(?:en)?|injecteurs?|bougies?|bobines?"
    r"|(?:zünd|glüh)kerzen?|zündspulen?|wtryskiwacz\w*|cewk\w*|świec\w*)\b"
)


class Mark(NamedTuple):
    """A value, or a number that has no unit of its own (then without a match).

    `number` counts it in its `row`, or is the number that was written in front of it; that, or
    *from*, begins at `index_start`. `corner` is that of a list beside the row; one
    behind it ends at `list_end`, told of the last.
    """

    start: int
    end: int
    match: re.Match[str] | None = None
    stage: Stage | None = None
    number: int | None = None
    row: Place | None = None
    index_start: int | None = None
    corner: str | None = None
    list_end: int = 0

    @property
    def is_alone(self) -> bool:
        """Whether it stands in no row, has no number of its own, and is none of two in time."""
        return (
            self.number is None
            and self.row is None
            and self.stage is None
            and self.corner is None
            and self.index_start is None
        )

    def position(self, item: str) -> str | None:
        """Tell where a counted value was taken: at a cylinder, where each has its own."""
        if self.corner:
            return self.corner
        if self.number is None:
            return None
        return f"cylinder {self.number}" if _PER_CYLINDER.search(item) else f"number {self.number}"


def marks_in(plain: str, company: Company) -> list[Mark]:
    """Find the values and bare numbers of a text that `kb.intake.values.prepare` made, in order."""
    values = [match for match in VALUE.finditer(plain) if not company.holds(*match.span())]
    days = _days_before(plain, values)
    marks: list[Mark] = []
    for match in values:
        marks += _of_value(plain, match, company)
    ends = [(match.start(), match.end()) for match in values]
    for mark in _numbers(plain, company, {start for start, _ in ends}):
        before = bisect_right(ends, (mark.start, len(plain))) - 1
        apart = (before < 0 or ends[before][1] <= mark.start) and mark.start not in days
        if apart and (before + 1 == len(ends) or ends[before + 1][0] >= mark.end):
            marks.append(mark)
    marks.sort(key=lambda mark: mark.start)
    for place, (one, other) in enumerate(pairwise(marks) if "→" in plain else ()):
        if _ARROW.fullmatch(plain, one.end, other.start) and not _in_a_state(
            plain, company, other.end
        ):
            marks[place] = marks[place]._replace(stage=Stage.AS_FOUND)
            marks[place + 1] = other._replace(stage=Stage.AFTER_FIX)
    return _in_rows(plain, marks)


def at_corners(marks: Sequence[Mark], rows: Sequence[CornerRow]) -> list[Mark]:
    """Tell the marks of some rows where on the car each was taken."""
    row_of = {start: row for row in rows for start in row.corners}

    def placed(mark: Mark) -> Mark:
        row = row_of.get(mark.start)
        if row is None:
            return mark
        list_end = row.names.end if mark.start == max(row.corners) else 0
        corner = row.corners[mark.start]
        return mark._replace(number=1, row=row.numbers, corner=corner, list_end=list_end)

    return [*map(placed, marks)]


def _in_a_state(plain: str, company: Company, end: int) -> bool:
    """Whether what stands behind the second of two values says when it came to that.

    ``12.6 V → 11.9 V when cranking``, ``85 → 102 °C in 5 min``: no fix lies between them.
    """
    return any(
        each.kind is Aspect.TIME or each.words == "cranking" or _WHEN.match(plain, each.start)
        for each in company.after(end, len(plain))
    )


def _days_before(plain: str, values: Sequence[re.Match[str]]) -> set[int]:
    """Where the numbers of days begin that stand just before a value with its own unit."""
    begins = {match.start() for match in values if match["unit"] or match["high_unit"]}
    found: set[int] = set()
    for day in _DAY.finditer(plain):
        space = _SPACE.match(plain, day.end())
        if space and space.end() in begins:
            found.update(range(*day.span()))
    return found


def _of_value(plain: str, match: re.Match[str], company: Company) -> Iterable[Mark]:
    is_size = match["rkm"] and plain[match.start() - 1 : match.start()] == "/"  # 55R16
    is_name = is_size or is_rating(match) or _PART_NUMBER.match(plain, match.end())
    before = plain[max(0, match.start() - _LONGEST_SO_MANY) : match.start()]
    counted = before.rstrip().endswith(_TIMES) and _SO_MANY.search(before)
    if is_name or counted:
        return ()
    if match["low"] or company.holds(*match.span("unit")):
        return _parts(plain, match, company)
    return (Mark(start=match.start(), end=match.end(), match=match),)


def _numbers(plain: str, company: Company, taken: Container[int]) -> Iterator[Mark]:
    for match in _NUMBER.finditer(plain):
        if match.start() in taken:
            continue
        before = plain[max(0, match.start() - _NEAR) : match.start()]
        foreign = FOREIGN_UNIT.match(plain, match.end())
        whole = _OF_A_WHOLE.match(plain, match.end())
        if (whole and FOREIGN_UNIT.match(plain, whole.end())) or _is_fraction(plain, match):
            continue
        if (
            _numbers_it(before, match[0])
            or (_is_count(match[0]) and _HEADS_WORDS.match(plain, match.end()))
            or company.holds(*match.span())
            or _is_number_of_thing(plain, match)
        ):
            continue
        if foreign and not company.holds(*(foreign.span(1) if foreign[1] else foreign.span())):
            continue
        if _is_of_gears(plain, match):
            continue
        ends = _TO.search(match[0])
        of = _begins_change(plain, match.start(), match[0])
        if ends and of:
            middle = match.start() + ends.start(), match.start() + ends.end()
            was, now = _stages(plain, match.end(), company, of)
            yield Mark(start=match.start(), end=middle[0], stage=was, index_start=of.start())
            yield Mark(start=middle[1], end=match.end(), stage=now)
        else:
            yield Mark(start=match.start(), end=match.end())


_GEARS = compiled(r"[1-9]\s?(?:-|to|→|/|>)\s?[1-9]")
_CHANGES_GEAR = compiled(
    r"\b(?:slip\w*|shift\w*|flar\w*|gears?|upshift\w*|downshift\w*|chang(?:e|es|ing)|box|gearbox"
    r"|transmission|schalt\w*|getriebe|rutscht?|gang|boîte|passe|vitesses?|rapports?|skrzyni\w*"
    r"|zmienia\w*|biegi?|biegów)\b[^,;.\n]*$",
    re.IGNORECASE,
)


def _is_of_gears(plain: str, match: re.Match[str]) -> bool:
    """Whether two numbers are those of gears: ``slips 3-4``."""
    return (
        _GEARS.fullmatch(match[0]) is not None
        and abs(int(match[0][0]) - int(match[0][-1])) == 1
        and _CHANGES_GEAR.search(plain, max(0, match.start() - _NEAR), match.start()) is not None
    )


def _numbers_it(before: str, number: str) -> bool:
    """Whether a number counts a thing named before it: ``fuse 14``; no cell has number 3.71."""
    if not before[-2:].strip() or before.strip()[-1].isdigit():
        return False
    counted = _COUNTED.search(before)
    return counted is not None and (number.isdigit() or not counted["whole"])


def _begins_change(plain: str, start: int, words: str) -> re.Match[str] | None:
    """Find what tells that a range is two values: what was, and what it came to."""
    of = _CHANGES.search(plain, max(0, start - _LONGEST_CHANGE), start)
    return of if of and (of["from"] or " to " in words) else None


def _falls(match: re.Match[str]) -> bool:
    """Whether ``12.6 to 9.1 V`` runs down, as no range does that is written out."""
    ends = [
        float(match[end].replace(",", ".")) for end in ("low", "high") if _END.fullmatch(match[end])
    ]
    return " to " in match[0] and len(ends) == len(("low", "high")) and ends[0] > ends[1]


def _stages(
    plain: str, end: int, company: Company, of: re.Match[str]
) -> tuple[Stage | None, Stage | None]:
    """Tell whether a fix lies between two values told one after the other."""
    is_by_fix = of["from"] and not _in_a_state(plain, company, end)
    return (Stage.AS_FOUND, Stage.AFTER_FIX) if is_by_fix else (None, None)


def _is_fraction(plain: str, match: re.Match[str]) -> bool:
    """Whether a number is part of ``1/4 tank``, ``50/50``: an amount, not two values."""
    begin, end = max(0, match.start() - len("50/")), match.end() + len("/50")
    return "/" in plain[begin:end] and any(
        each.start() <= match.start() and match.end() <= each.end()
        for each in _FRACTION.finditer(plain, begin, end)
    )


def _is_number_of_thing(plain: str, match: re.Match[str]) -> bool:
    if not _is_count(match[0]):
        return False
    behind = _NUMBERS_A_THING.match(plain, match.end())
    if behind and _HAS.match(plain, match.end()):
        return _of_the_next(plain, match.start()) is None
    return behind is not None


def _of_the_next(plain: str, start: int) -> re.Match[str] | None:
    return _OF_THE_NEXT.search(plain, max(0, start - _LONGEST_OF_NEXT), start)


def _article(plain: str, start: int) -> int:
    """Return where a number begins with what stands before it: ``, die 3 hat``."""
    found = _of_the_next(plain, start)
    return found.start("article") if found else start


def _parts(plain: str, match: re.Match[str], company: Company) -> Iterator[Mark]:
    """Part ``from 6.1 to 2.3 bar`` into what was and what is; ``20.9 R`` may be the right one."""
    if match["unit"] and company.holds(*match.span("unit")):
        yield Mark(start=match.start("number"), end=match.end("number"))
        return
    whole = Mark(start=match.start(), end=match.end(), match=match)
    second = VALUE.match(plain, match.start("high")) if match["low"] else None
    of = _begins_change(plain, match.start(), match[0]) if second else None
    if second and of:
        was, now = _stages(plain, match.end(), company, of)
        yield _first(plain, match)._replace(stage=was, index_start=of.start())
        yield Mark(start=second.start(), end=second.end(), match=second, stage=now)
    elif second and _falls(match) and _in_a_state(plain, company, match.end()):
        yield _first(plain, match)
        yield Mark(start=second.start(), end=second.end(), match=second)
    else:
        yield whole


def _first(plain: str, match: re.Match[str]) -> Mark:
    """Return the first end of a range, with its unit where it has its own: ``1.8 V to 0.1 V``."""
    if not match["low_unit"]:
        return Mark(start=match.start(), end=match.end("low"))
    end = match.end("low_unit")
    own = VALUE.match(plain, match.start(), end)
    return Mark(start=match.start(), end=end, match=own)


def _in_rows(plain: str, marks: Sequence[Mark]) -> list[Mark]:
    """Number what stands in a row, and take off the numbers written in front."""
    rows: list[list[Mark]] = []
    for mark in marks:
        before = rows[-1][-1] if rows else None
        if before is None or mark.start - before.end > _LONGEST_GAP:
            rows.append([mark])
            continue
        gap = plain[before.end : mark.start]
        counts = len(rows[-1]) == 1 or _is_count(plain[before.start : before.end])
        apart = _COLON.fullmatch(gap) or _HAS.fullmatch(gap)
        ends = mark.match is not None and mark.match["over"] and _AND.fullmatch(gap)
        if _IN_A_ROW.fullmatch(gap) or ends or (counts and apart):
            rows[-1].append(mark)
        else:
            rows.append([mark])
    return [mark for row in rows for mark in (_of_others(plain, row) or _numbered(plain, row))]


def _of_others(plain: str, row: Sequence[Mark]) -> list[Mark]:
    """Place a row on those that were not named: ``cyl 3 6 bar, others 12/12.5/12``."""
    before = max(0, row[0].start - _NEAR_NAME), row[0].start
    if len(row) == 1 or not _OF_OTHERS.search(plain, *before):
        return []
    place = Place(row[0].start, row[-1].end)
    return [mark._replace(number=1, row=place, corner="others") for mark in row]


def _counted_once(plain: str, row: Sequence[Mark]) -> range | None:
    """Return the numbers that ``1-4: 12 / 12 / 7 / 12`` tells once for all that follow."""
    ends = _ENDS.fullmatch(plain[row[0].start : row[0].end])
    if ends is None:
        return None
    numbers = range(int(ends[1]), int(ends[2]) + 1)
    fits = 1 < len(numbers) == len(row) - 1 and numbers[-1] <= _MOST_COUNTED
    return numbers if fits else None


def _numbered(plain: str, row: Sequence[Mark]) -> Iterator[Mark]:
    if len(row) == 1 or _goes_on_from_one(plain, row):
        yield from _counted_on(plain, row) if len(row) > 1 else row
        return
    if numbers := _counted_once(plain, row):
        place = Place(row[0].start, row[-1].end)
        for number, mark in zip(numbers, row[1:], strict=True):
            start = row[0].start if number == numbers[0] else None
            yield mark._replace(number=number, row=place, index_start=start)
        return
    texts = [plain[mark.start : mark.end] for mark in row]
    if len(row) == len((1, 2)) and row[1].match and _ENDS.fullmatch(texts[0]):
        yield row[1]  # "speeds 1-3 0 A"
        return
    counts = texts[0::2]
    values = texts[1::2]
    if len(row) % 2 == 0 and all(map(_is_count, counts)) and _tell_apart(counts, values):
        apart = _COLON.fullmatch(plain, row[0].end, row[1].start) is not None
        if len(row) > len("12") or not values[0].isdigit() or apart:
            for index, mark in zip(row[0::2], row[1::2], strict=True):
                number = int(plain[index.start : index.end])
                yield mark._replace(number=number, index_start=_article(plain, index.start))
            return
    heads = _is_count(texts[0]) and not row[0].match and all(mark.match for mark in row[1:])
    if heads and len(row) >= _SHORTEST_ROW:  # "coil 1 0.6 ohm 0.7 ohm"
        yield row[1]._replace(number=int(texts[0]), index_start=row[0].start)
        yield from row[2:]
        return
    if len(row) >= _SHORTEST_ROW and (
        any(mark.match is None for mark in row) or _is_one_of_each(plain, row)
    ):
        place = Place(row[0].start, row[-1].end)
        for number, mark in enumerate(row, 1):
            lead = _AND.match(plain, row[number - 2].end) if number > 1 else None
            start = lead.start() + 1 if lead else mark.index_start
            yield mark._replace(number=number, row=place, index_start=start)
        return
    yield from row


def _counted_on(plain: str, row: Sequence[Mark]) -> Iterator[Mark]:
    """Yield the values of a row that goes on from the first of several."""
    place = Place(row[0].start, row[-1].end)
    yield row[0]._replace(number=1, row=place)
    for index, mark in zip(row[1::2], row[2::2], strict=True):
        number, start = int(plain[index.start : index.end]), _article(plain, index.start)
        yield mark._replace(number=number, row=place, index_start=start)


def _goes_on_from_one(plain: str, row: Sequence[Mark]) -> bool:
    """Whether a row behind the first of several counts on: ``cyl 1`` ``9, 2 9.5, 3 9 bar``."""
    texts = [plain[mark.start : mark.end] for mark in row]
    values, counts = texts[0::2], texts[1::2]
    ordered = [str(number) for number in range(2, len(row) // 2 + 2)]
    first = _FIRST.search(plain, max(0, row[0].start - _NEAR_NAME), row[0].start)
    bare = any("." in value or "," in value for value in values)
    return bool(first and bare) and len(row) % 2 == 1 and [*counts] == ordered


def _is_one_of_each(plain: str, row: Sequence[Mark]) -> bool:
    """Whether a row has one value of each cylinder, all with the same unit: ``8% 9% 45% 7%``."""
    told = [mark for mark in row if not (mark.match and mark.match["over"])]
    units = {mark.match["unit"] if mark.match else None for mark in told}
    before = plain[max(0, row[0].start - _NEAR_NAME) : row[0].start]
    return len(row) in _CYLINDERS and len(units) == 1 and _PER_CYLINDER.search(before) is not None


def _is_count(text: str) -> bool:
    return text.isdigit() and len(text) <= len("16") and 0 < int(text) <= _MOST_COUNTED


def _tell_apart(counts: Sequence[str], values: Sequence[str]) -> bool:
    """Whether numbers count on, or each occurs once beside a value that can be no count."""
    numbers = [_UNIT_BEHIND.sub("", value) for value in values]
    counts_on = all(int(one) < int(other) for one, other in pairwise(counts))
    twice = [*counts] == numbers  # "pads 4 4 6 6 mm"
    once = len(set(counts)) == len(counts)
    return (counts_on and not twice) or (once and not any(map(_is_count, numbers)))
