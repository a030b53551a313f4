"""Which outcome of a general test somebody's own words mean, by the phrases of the table."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from kb.patterns import compiled
from kb.troubleshooting.general_tests import GeneralOutcome, GeneralTest

_CLAUSES = compiled(r"[;,]\s|\.\s|\b(?:but|however|whereas|though|although)\b", re.IGNORECASE)
_WORD = compiled(r"[^\W_]+(?:[./-][^\W_]+)*")
_CONTRACTED = compiled(r"n['’]t\b")
_NUMBERED = compiled(r"\bno\.? ?(?=[1-9]\b(?! ?v))")
_CONTRACTIONS = [
    "cannot",
    "cant",
    "couldnt",
    "didnt",
    "doesnt",
    "dont",
    "wont",
    "wouldnt",
    "isnt",
    "wasnt",
    "arent",
    "werent",
    "hasnt",
    "havent",
    "aint",
]
_SAME = {
    **dict.fromkeys(_CONTRACTIONS, "not"),
    **dict.fromkeys(("barely", "hardly", "scarcely"), "not"),
    "nowt": "nothing",
    "earth": "ground",
    "anything": "nothing",
}
"""Words that are one with another here, where only the denial of a verb counts."""
_DENIES = frozenset(["no", "not", "never", "nothing", "none", "without", "neither", "nor"])
_DENIED_WITHIN = 3
"""A phrase so few words behind a denial is denied: *does not seem to follow*."""


@dataclass(frozen=True, slots=True)
class ToldClause:
    """One clause of what was seen, and the outcomes that have a phrase in it."""

    text: str
    outcomes: tuple[GeneralOutcome, ...]

    def says(self, phrases: Sequence[str]) -> bool:
        """Whether one of some phrases stands in it, undenied."""
        words = _words(self.text)
        return any(_stands(phrase, words) for phrase in phrases)


def clauses_told(outcomes: Sequence[GeneralOutcome], text: str) -> tuple[ToldClause, ...]:
    """Return the clauses of a text, each with the outcomes that it plainly tells.

    Examples
    --------
    >>> from kb.troubleshooting.general_tests import general_tests
    >>> turned = next(each for each in general_tests().test if each.name == "turned by hand")
    >>> told = clauses_told(turned.outcome, "alternator spins free, tensioner rough")
    >>> [(each.text, [outcome.leaves.value for outcome in each.outcomes]) for each in told]
    [('alternator spins free', ['elsewhere']), ('tensioner rough', ['here'])]
    """
    clauses = [each.strip() for each in _CLAUSES.split(text) if each.strip()]
    return tuple(
        ToldClause(each, tuple(one for one in outcomes if _tells(one, _words(each))))
        for each in clauses
    )


def _words(clause: str) -> list[str]:
    plain = _NUMBERED.sub("number ", _CONTRACTED.sub(" not", clause.casefold()))
    return [_SAME.get(word, word) for word in _WORD.findall(plain)]


def _tells(outcome: GeneralOutcome, words: Sequence[str]) -> bool:
    return any(_stands(phrase, words) for phrase in outcome.told)


def outcome_told(test: GeneralTest, text: str) -> GeneralOutcome | None:
    """Return the outcome of a test that a text plainly tells, None where none or several.

    A phrase is sought in each clause. It does not count close behind a denial that is none of its
    own, and one that denies may have two words between the denial and the rest of it.

    Parameters
    ----------
    test : GeneralTest
        Its outcomes' `told` are the phrases; a star behind a word stands for any ending.
    text : str
        What was seen, in English.

    Examples
    --------
    >>> from kb.troubleshooting.general_tests import general_tests
    >>> swap = next(each for each in general_tests().test if each.name == "swap left and right")
    >>> outcome_told(swap, "it doesn't follow the coil").leaves.value
    'elsewhere'
    >>> outcome_told(swap, "moved to 2").leaves.value
    'here'
    >>> outcome_told(swap, "moved, then stayed") is None
    True
    """
    told = {id(one): one for each in clauses_told(test.outcome, text) for one in each.outcomes}
    found = list(told.values())
    return found[0] if len(found) == 1 else None


def _stands(phrase: str, words: Sequence[str]) -> bool:
    """Whether a phrase stands in the words of a clause."""
    wanted = phrase.split()
    if wanted[0] == "not":
        return any(
            _begins(wanted[1:], words, place + 1 + between)
            for place, word in enumerate(words)
            if word in _DENIES
            for between in range(_DENIED_WITHIN)
        )
    return any(
        _DENIES.isdisjoint(words[max(0, place - _DENIED_WITHIN) : place])
        for place in _places(wanted, words)
    )


def _places(wanted: Sequence[str], words: Sequence[str]) -> Iterator[int]:
    return (place for place in range(len(words)) if _begins(wanted, words, place))


def _begins(wanted: Sequence[str], words: Sequence[str], place: int) -> bool:
    """Whether wanted words stand from a place on."""
    there = words[place : place + len(wanted)]
    return len(there) == len(wanted) and all(map(_is, wanted, there))


def _is(wanted: str, word: str) -> bool:
    if wanted.endswith("*"):
        return word.startswith(wanted[:-1])
    return word == wanted
