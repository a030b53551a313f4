"""Whether a sentence is told wholly in the words of a kind that is harmless beside an igniter.

A clock spring that hangs on nothing, a switch on a wheel whose bag is locked away, a load that was
not left in: each is told in few words, and every clause of a sentence must be one of its kind's
forms from the first word to the last. So no word that somebody adds is overlooked: it makes the
sentence none of the kind, and the rule judges it. The kinds stand in ``igniter_wholly.toml``
beside this module, to be read and edited by the trade; all of it is common practice, no source.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

import msgspec

from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.igniter_clauses import words_of
from kb.tables import read_table

TABLE = Path(__file__).with_name("igniter_wholly.toml")
_PARTING = frozenset([",", ":", "."])
_TOKEN = compiled(r"(?:<([a-z ]+)>|\(([^)]+)\)|([^ ?*+<>()]+))([?*+]?)")
_NUMBERS = {
    "#low": r"(?:0[.,]\d+|1(?:[.,][0-4]\d?)?)",
    "#supply": r"(?:9|1[0-5])(?:[.,]\d+)?",
    "#drop": r"0[.,][01]\d*",
    "#": r"\d+(?:[.,]\d+)?",
}
"""What may stand for each kind of number; an igniter has more ohms than a low one."""
_MOST_CLAUSES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    needs: tuple[str, ...]
    clauses: dict[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    groups: dict[str, tuple[str, ...]]
    kind: tuple[_Entry, ...]


@dataclass(frozen=True, slots=True)
class _Kind:
    """The forms of a kind's clauses, by what each tells, and what a sentence of it must tell."""

    forms: Mapping[str, re.Pattern[str]]
    needs: frozenset[str]

    def has(self, clauses: Iterable[str]) -> bool:
        """Whether every clause is of the kind, and all is told that it needs."""
        told = set[str]()
        for clause in clauses:
            here = {name for name, form in self.forms.items() if form.fullmatch(clause)}
            if not here:
                return False
            told |= here
        return self.needs <= told


@lru_cache(maxsize=20_000)
def is_wholly_harmless(sentence: str, wording: Wording) -> bool:
    """Whether every clause of a sentence is told in the words of one harmless kind.

    Parameters
    ----------
    sentence : str
        One sentence that somebody typed.
    wording : Wording
        The trade's and the shop's own words.

    Examples
    --------
    >>> from kb.intake.items import trade_wording
    >>> is_wholly_harmless("no load left in", trade_wording())
    True
    >>> is_wholly_harmless("no load left in, squib 2.1", trade_wording())
    False
    """
    clauses = _clauses(words_of(sentence, wording))
    if not 0 < len(clauses) <= _MOST_CLAUSES:
        return False
    return any(kind.has(clauses) for kind in _kinds())


def _clauses(words: Sequence[str]) -> list[str]:
    """Return what stands between marks, a space behind each word."""
    clauses: list[list[str]] = [[]]
    for word in words:
        if word in _PARTING:
            clauses.append([])
        else:
            clauses[-1].append(word)
    return [f"{' '.join(each)} " for each in clauses if each]


@cache
def _kinds() -> tuple[_Kind, ...]:
    file = msgspec.convert(read_table(TABLE), _File)
    return tuple(
        _Kind(
            {name: _form(forms, file.groups) for name, forms in each.clauses.items()},
            frozenset(each.needs),
        )
        for each in file.kind
    )


def _form(forms: Iterable[str], groups: Mapping[str, Sequence[str]]) -> re.Pattern[str]:
    """Make a pattern of forms; every word of it takes the space behind it along."""
    return re.compile("|".join(_sequence(form, groups) for form in forms))


def _sequence(form: str, groups: Mapping[str, Sequence[str]]) -> str:
    return "".join(
        f"(?:{_phrases(_members(name, groups) if name else (word or words).split('|'))}){often}"
        for name, words, word, often in _TOKEN.findall(form)
    )


def _members(name: str, groups: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """Yield the phrases of a group, and of the groups that it names."""
    for each in groups[name]:
        if each.startswith("<"):
            yield from _members(each.strip("<>"), groups)
        else:
            yield each


def _phrases(phrases: Iterable[str]) -> str:
    return "|".join(map(_phrase, sorted(phrases, key=len, reverse=True)))


def _phrase(phrase: str) -> str:
    return "".join(f"{_NUMBERS.get(word) or re.escape(word)} " for word in phrase.split())
