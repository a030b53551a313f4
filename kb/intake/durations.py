"""How long work took, told among other words: ``45 min``, ``1h20``, ``2.1 hrs``, ``3,5 h``."""

import re
from dataclasses import dataclass

from kb.intake.costs import CURRENCY_SIGN
from kb.intake.deed_words import DONE, is_work
from kb.intake.lifting import Place
from kb.intake.word_forms import leading
from kb.patterns import compiled

_FEW = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_MANY = {"fifteen": 15, "twenty": 20, "thirty": 30, "forty": 40, "forty five": 45, "fifty": 50}
_COUNTS = {"an": 1, **{word: count for count, word in enumerate(_FEW, 1)}, **_MANY}
_MINUTES, _HOURS = "[1-9]?[05]", "[0-9](?:[.,][0-9]{1,2})?"
"""As people write them who add them up; other numbers may be money: "265 + 1 h"."""
_TIME = compiled(
    r"(?<![\w.,/:])(?:"
    rf"(?<![€£$])(?<!parts )(?<!parts: )(?:"
    rf"(?P<sum>{_MINUTES}(?:\+{_MINUTES})+) ?min(?:s|utes?|uten)?"
    rf"|(?P<hours_sum>{_HOURS}(?:\+{_HOURS})+) ?(?:hrs?|hours?|h|std|stunden?|godz|heures?))\b|"
    r"(?P<hours>[0-9]{1,2}) ?h(?:rs?|ours?)? ?(?P<rest>[0-5][0-9])(?: ?m(?:ins?)?)?\b"
    r"|(?P<long>[0-9]{1,2}(?:[.,][0-9]{1,2})?) ?(?:hrs?|hours?|h|std|stunden?|godz|heures?)\b"
    r"|(?P<minutes>[0-9]{1,4}) ?(?:min(?:s|utes?|uten)?|(?P<short>m))\b"
    r"|(?P<part>three quarters of an|quarter of an|half an|an) hour(?! and)\b"
    rf"|(?P<count>{'|'.join(_COUNTS)}) (?P<counted>hours?|min(?:ute)?s)\b(?P<half> and a half)?"
    rf"|(?<!\w)(?<!every )(?<!each )(?:labour|time) (?P<bare>[0-9]{{1,3}}(?:\+{_MINUTES})*)"
    rf"(?![\w.,]*[0-9])(?! ?[€£$%h])(?! ?(?:{CURRENCY_SIGN})(?!\w))(?! ?\+ ?[€£$0-9])"
    r"(?: ?min(?:s|utes?)?\b)?"
    r"|(?<=\btook )(?P<took>[0-9]{1,2}[.,][0-9]{1,2})(?![\w.,]*[0-9])(?! ?[\w€£$%])"
    r")(?: gone)?\.?",
    re.IGNORECASE,
)
_PARTS = {"three quarters of an": 45, "quarter of an": 15, "half an": 30, "an": 60}
_ENDS = compiled(r"[;!?()\n]|[.,](?![0-9])|(?<![0-9])[.,]| [-–] ")
_BESIDE = frozenset(
    [
        "and",
        "plus",
        "labour",
        "labor",
        "time",
        "total",
        "took",
        "taken",
        "dauer",
        "charge",
        "charged",
        "invoice",
        "invoiced",
        "extra",
        "diag",
        "diagnosis",
        "diagnostics",
        "me",
        "job",
        "cost",
        "gone",
        "all",
        "in",
        "on",
        "this",
        "work",
        "arbeit",
        "arbeitszeit",
        "czas",
        "about",
        "approx",
        "looking",
        "at",
        "it",
        "spent",
        "too",
        "long",
        "so",
        "far",
        "the",
        "of",
    ]
)
_NOT_LABOUR = compiled(
    r"\b(?:test(?:s|ed)?|holds?|held|wait(?:ed|ing)?|after|for|idled?|idling|runs?|ran|running|soak"
    r"|soaked|drove|drive|left|within|every|over|disconnect\w*|cool\w*|dry|dried|\w*balanced|parked"
    r"|lost|had|until|under|since|charg(?:ed|ing)|stood|warm(?:ed)?|water)\b",
    re.IGNORECASE,
)
_UP_TO = compiled(r"[0-9] ?(?:h\w*|m\w*)? ?(?:[-–—/]|to|or|bis|oder|à|ou|do) ?$", re.IGNORECASE)
"""Behind this stands the longer of two times, and which it was is not told."""
_OR_MORE = compiled(r" ?(?:[-–—/]|to|or|bis) ?[0-9]", re.IGNORECASE)
_SIGNED = compiled(r"\s+[A-Z]{2}\s*")
"""Who did it, behind how long it took."""
_JUST_BEFORE = 4
_NEAR = 12
_IN_VIEW = 120
"""Characters on either side in which it is looked for what took so long."""
_LATER = compiled(
    r" *(?:later|ago|idle|hot|cold|test|soak|run|cooling|drive|short|were|was|of\b|at\b|till|until"
    r"|bef)",
    re.I,
)


@dataclass(frozen=True, slots=True)
class Labour:
    """How many minutes some work took."""

    minutes: int


def find_labour(text: str) -> list[tuple[Labour, Place]]:
    """Find how long work took: times that stand alone, or behind what was done.

    A time that something was tested, run, left or waited for is none; of two times, as in ``40-50
    min``, none is told.

    Examples
    --------
    >>> [(labour.minutes, tuple(place)) for labour, place in find_labour("new hose, 1h20")]
    [(80, (10, 14))]
    >>> find_labour("ran 20 min, then died")
    []
    >>> [labour.minutes for labour, _ in find_labour("labour 95, 1h20")]
    [80]
    """
    ends = [0, *(end for match in _ENDS.finditer(text) for end in match.span()), len(text)]
    found, piece, works = [], 0, is_work(text)
    for match in _TIME.finditer(text):
        while ends[piece + 1] <= match.start():
            piece += 1
        stop = max(ends[piece + 1], match.end())
        shorter = _UP_TO.search(text, max(0, match.start() - _NEAR), match.start())
        if shorter or _OR_MORE.match(text, match.end()):
            continue
        before = text[max(ends[piece], match.start() - _IN_VIEW) : match.start()]
        behind = text[match.end() : min(stop, match.end() + _IN_VIEW)]
        if match["bare"] or _is_labour(
            before,
            behind,
            alone=bool(match["short"]),
            in_hours=works and "." in (match["long"] or ""),
        ):
            found.append((Labour(_minutes(match)), Place(*match.span())))
    bare = [each for each in found if _BARE_LABOUR.fullmatch(text[slice(*each[1])])]
    return [each for each in found if each not in bare] if len(bare) < len(found) else found


_BARE_LABOUR = compiled(r"[^\W\d_]+[\s:=]*[0-9]{1,4}", re.IGNORECASE)
"""Beside a time with its unit a number behind *labour* tells money: ``labour 95, 1h20``."""


def _is_labour(before: str, behind: str, *, alone: bool, in_hours: bool) -> bool:
    words = re.findall(r"[^\W\d_]+", f"{before} {behind}")
    if re.search(
        r"\b(?:labour|labor|took(?: me)?|dauer|arbeitszeit|spent|worked) $", before, re.IGNORECASE
    ):
        return True
    if all(word.casefold() in _BESIDE or (word.isupper() and len(word) <= 2) for word in words):
        return True
    if _SIGNED.fullmatch(behind) and not _NOT_LABOUR.search(
        " ".join(before.split()[-_JUST_BEFORE:])
    ):
        return True
    if _NOT_LABOUR.search(before) or _LATER.match(behind):
        return False
    if not alone and leading(behind.lstrip(), DONE):
        return True  # "tail lamp 90 min swapped"
    return (in_hours and not behind.strip()) or (not alone and is_work(before))


def _minutes(match: re.Match[str]) -> int:
    if added := match["sum"] or match["bare"]:
        return sum(map(int, added.split("+")))
    if hours := match["hours_sum"]:
        return round(60 * sum(float(each) for each in hours.replace(",", ".").split("+")))
    if match["hours"]:
        return 60 * int(match["hours"]) + int(match["rest"])
    if long := match["long"] or match["took"]:
        return round(60 * float(long.replace(",", ".")))
    if count := match["count"]:
        times = _COUNTS[count.casefold()] + (0.5 if match["half"] else 0)
        return round(times * (60 if match["counted"].casefold().startswith("h") else 1))
    return _PARTS[match["part"].casefold()] if match["part"] else int(match["minutes"])
