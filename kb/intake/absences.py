"""Cures that are told by the absence of something which nobody had complained of: "no leak".

A starter that is fitted without a leak has cured nothing. Which words name the same kind of trouble
stands in ``trouble_kinds.toml`` beside this module.
"""

import re
import tomllib
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from kb.intake.outcome_words import WordRole, clauses, plain_words
from kb.intake.outcomes import judge_attempt
from kb.patterns import compiled

KINDS_FILE = Path(__file__).with_name("trouble_kinds.toml")
_APART = compiled(
    r"[,;()\n]|\.(?!\w)|\s(?:and|und|et|oraz|&|\+)\s"
    r"|\s(?=(?:no|not|without|zero|kein\w*|ohne|sans|pas|bez|brak)\s)",
    re.IGNORECASE,
)
"""Between clauses, and before a denial without a comma: "new hose no leak"."""
_TOLD = (
    *(WordRole.CURED, WordRole.WORKS, WordRole.FINE, WordRole.NICE, WordRole.PROMPT),
    *(WordRole.RUNS, WordRole.STARTS, WordRole.WHOLE, WordRole.OUT, WordRole.FAULT),
)
"""Beside these more is told than that something is absent."""
_OF_NO_SYSTEM = compiled(
    r"\b(?:oil|washer|screen ?wash|fuel|battery|charg(?:e|ing)|brake fluid|temp\w*|coolant|glow"
    r"|beam|interior|courtesy|boot|indicator|fog|head|tail|side|brake|stop|reverse|reversing|plate"
    r"|dash|work) ?(?:level |pressure )?(?:lights?|lamps?|warning)\b",
    re.IGNORECASE,
)
"""Lamps that light without a code."""


def absences(words: str, told: Iterable[str]) -> list[str]:
    """Return what of the words behind a fix tells only the absence of what nobody complained of.

    Parameters
    ----------
    words : str
        Of the fix.
    told : iterable of str
        Everything else that was said of the job: its complaint first.

    Examples
    --------
    >>> absences("topped up coolant, no leak", ["no crank"])
    ['no leak']
    >>> absences("topped up coolant, no leak", ["losing coolant"])
    []
    """
    pieces = pieces_of(words)
    absent = {each: kinds for each in pieces if (kinds := _absent_kinds(each))}
    complained: set[str] = set()
    for text in told if absent else ():
        others = [each for each in pieces_of(text) if not _absent_kinds(each)]
        complained |= _kinds_of(_OF_NO_SYSTEM.sub("", ", ".join(others)), named=False)
    for each in pieces:
        complained |= set() if each in absent else _kinds_of(each, named=True)
    return [each for each, kinds in absent.items() if complained.isdisjoint(kinds)]


def rests_on_absences(words: str, absent: Iterable[str]) -> bool:
    """Whether nothing else in the words behind a fix tells a cure.

    Examples
    --------
    >>> rests_on_absences("new relay, no leak", ["no leak"])
    True
    >>> rests_on_absences("new relay, no leak, starts every time", ["no leak"])
    False
    """
    return not any(map(judge_attempt, set(pieces_of(words)).difference(absent)))


def pieces_of(text: str) -> list[str]:
    """Return the clauses of a text, parted before a denial as well."""
    return [piece for each in _APART.split(text) if (piece := each.strip())]


def _absent_kinds(piece: str) -> set[str]:
    """Return the kinds of trouble that a clause tells to be absent, if it tells nothing more."""
    kinds = _kinds_of(piece, named=True)
    if not kinds or judge_attempt(piece) is not True:
        return set()
    return set() if any(each.has(*_TOLD) for each in clauses(piece)) else kinds


def trouble_kinds(text: str, *, named: bool = False) -> frozenset[str]:
    """Return the kinds of trouble that words speak of, or only those that they name.

    Examples
    --------
    >>> [sorted(trouble_kinds(said)) for said in ("rattle still there", "drips")]
    [['sound'], ['leak']]
    """
    return frozenset(_kinds_of(text, named=named))


def _kinds_of(text: str, *, named: bool) -> set[str]:
    words = plain_words(text)
    return {
        kind
        for kind, patterns in _kinds().items()
        if any(patterns[0 if named else 1].fullmatch(word) for word in words)
    }


@cache
def _kinds() -> dict[str, tuple[re.Pattern[str], re.Pattern[str]]]:
    """Return for each kind of trouble its names, and every word that speaks of it."""
    table = tomllib.loads(KINDS_FILE.read_text("utf-8"))
    return {
        kind: (_any_of(words["named"]), _any_of(f"{words['named']} {words['beside']}"))
        for kind, words in table.items()
    }


def _any_of(words: str) -> re.Pattern[str]:
    return re.compile("|".join(re.escape(word).replace(r"\*", r"\w*") for word in words.split()))
