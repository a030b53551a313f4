"""Which sentences are told wholly in the words of a kind that is harmless beside an igniter.

A clock spring that hangs on nothing, a switch on a wheel whose bag is locked away, a load that was
not left in: each is told in few words, and every clause of a sentence must be one of its kind's
forms from the first word to the last. So no word that somebody adds is overlooked: it makes the
sentence none of the kind, and the rule judges it. The kinds stand in ``igniter_wholly.toml``
beside this module, to be read and edited by the trade; all of it is common practice, no source.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path

import msgspec

from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.igniter_clauses import words_of
from kb.tables import read_table

TABLE = Path(__file__).with_name("igniter_wholly.toml")
_PARTING = frozenset([",", ":", "."])
_TOKEN = compiled(r"<([a-z ]+)>([?*+]?)|([(|])|(\)[?*+]?)|([^ ?*+<>()|]+)(\??)")
_NUMBERS = {
    "#low": r"(?:0[.,]\d+|1(?:[.,][0-4]\d?)?)",
    "#supply": r"(?:9|1[0-5])(?:[.,]\d+)?",
    "#drop": r"0[.,][01]\d*",
    "#tens": r"\d{2,}(?:[.,]\d+)?",
    "#k": r"\d+ k\d+",
    "#code": r"[bcpu]\d[0-9a-f]{3}(?:-[0-9a-f]{2})?",
    "#": r"\d+(?:[.,]\d+)?",
}
"""What may stand for each kind of number; an igniter has more ohms than a low one."""
_MOST_CLAUSES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    by: tuple[str, ...]
    needs: tuple[str, ...]
    clauses: dict[str, tuple[str, ...]]
    alone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    groups: dict[str, tuple[str, ...]]
    kind: tuple[_Entry, ...]


@dataclass(frozen=True, slots=True)
class _Kind:
    """The forms of a kind's clauses, by what each tells, and what a sentence of it must tell.

    None is looked for where no word stands `by` which the kind is known, and of one that stands
    `alone` none where a text tells more.
    """

    by: frozenset[str]
    forms: Mapping[str, re.Pattern[str]]
    needs: frozenset[str]
    alone: bool

    def has(self, clauses: Iterable[str]) -> bool:
        """Whether every clause is of the kind, and all is told that it needs."""
        told = set[str]()
        for clause in clauses:
            here = {name for name, form in self.forms.items() if form.fullmatch(clause)}
            if not here:
                return False
            told |= here
        return self.needs <= told


def wholly_harmless(sentences: Sequence[str], wording: Wording) -> list[bool]:
    """Tell for every sentence of a text whether it is told wholly in the words of a harmless kind.

    Parameters
    ----------
    sentences : sequence of str
        What somebody typed. What a kind needs may stand in the next sentence, if that is wholly
        of the kind, too: *resistor found in the plug. Taken out, new bag fitted*.
    wording : Wording
        The trade's and the shop's own words.

    Examples
    --------
    >>> from kb.intake.items import trade_wording
    >>> wholly_harmless(["no load left in", "no load left in, squib 2.1"], trade_wording())
    [True, False]
    """
    whole = len(sentences) == 1
    harmless = [_is_of_a_kind((each,), wording, whole=whole) for each in sentences]
    for at, both in enumerate(pairwise(sentences)):
        if not all(harmless[at : at + 2]) and _is_of_a_kind(both, wording, whole=False):
            harmless[at : at + 2] = [True, True]
    for at, after in enumerate(sentences[1:]):
        harmless[at] &= harmless[at + 1] or not _goes_on(words_of(after, wording))
    return harmless


def _goes_on(words: Sequence[str]) -> bool:
    """Whether a sentence tells more of the deed before it: *Then the squib*, *Same at the bag*."""
    return not _GOING_ON.isdisjoint(words[:_SOON])


_GOING_ON = frozenset(
    [
        "then",
        "also",
        "and",
        "same",
        "likewise",
        "next",
        "ditto",
        "too",
        "plus",
        "afterwards",
        "their",
    ]
)
_SOON = 3


@lru_cache(maxsize=20_000)
def _is_of_a_kind(sentences: tuple[str, ...], wording: Wording, *, whole: bool) -> bool:
    clauses = [clause for each in sentences for clause in _clauses(words_of(each, wording))]
    if not 0 < len(clauses) <= _MOST_CLAUSES:
        return False
    words = {word for clause in clauses for word in clause.split()}
    kinds = (each for each in _kinds() if whole or not each.alone)
    return any(kind.has(clauses) for kind in kinds if not kind.by.isdisjoint(words))


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
            frozenset(each.by),
            {name: _form(forms, file.groups) for name, forms in each.clauses.items()},
            frozenset(each.needs),
            each.alone,
        )
        for each in file.kind
    )


def _form(forms: Iterable[str], groups: Mapping[str, Sequence[str]]) -> re.Pattern[str]:
    """Make a pattern of forms; every word of it takes the space behind it along."""
    return compiled(_any_of(forms, groups))


def _any_of(forms: Iterable[str], groups: Mapping[str, Sequence[str]]) -> str:
    return "|".join(_sequence(form, groups) for form in forms)


def _sequence(form: str, groups: Mapping[str, Sequence[str]]) -> str:
    """Make a pattern of one form, the forms of a group in the place of its name."""
    parts: list[str] = []
    for name, often, opens, closes, word, maybe in _TOKEN.findall(form):
        if name:
            parts.append(f"(?:{_any_of(groups[name], groups)}){often}")
        elif word:
            parts.append(f"(?:{_NUMBERS.get(word) or re.escape(word)} ){maybe}")
        else:
            parts.append(opens.replace("(", "(?:") or closes)
    return "".join(parts)
