"""What speaks for a run of words naming something: its words, neighbours, what is remembered."""

from collections.abc import Iterator, Sequence

import numpy as np

from kb.intake.wording import Wording
from tests.benchmarks.tagging.memory import NOTHING, Memory, facets, outer
from tests.benchmarks.tagging.trade import trade_marks
from tests.benchmarks.tagging.word_space import Floats, WordSpace

Features = dict[str, float]

_NEAR, _FAR = 0.5, 0.3
"""What the ends of a word count beside the word itself, and those of a neighbour (by judgement)."""


def features_of(
    words: Sequence[str], start: int, end: int, memory: Memory, wording: Wording
) -> Features:
    """Return named features of the run from `start` to before `end`, most of them 1."""
    within = [word.casefold() for word in words[start:end]]
    left, right = outer(words, start - 1), outer(words, end)
    size = str(end - start)
    many = "one" if end - start == 1 else "several"
    plain = [
        f"size {size}",
        f"run {' '.join(within)}",
        *(f"holds {word}" for word in within),
        *(f"{prefix}last {within[-1]}" for prefix in ("", f"{many} ")),
        *(f"{prefix}first {within[0]}" for prefix in ("", f"{many} ")),
        *(f"{prefix}left {left}" for prefix in ("", f"{many} ", f"{size} ")),
        *(f"{prefix}right {right}" for prefix in ("", f"{many} ", f"{size} ")),
        f"over the end {within[-1]} {right}",
        f"over the start {left} {within[0]}",
        *(f"shape {shape}" for shape in _shapes(words[end - 1])),
        *_trade(within, left, right, wording),
    ]
    found = dict.fromkeys(plain, 1.0)
    found[f"far left {outer(words, start - 2)}"] = _NEAR
    found[f"far right {outer(words, end + 1)}"] = _NEAR
    for place, word, weight in (
        ("last", within[-1], _NEAR),
        (f"{many} last", within[-1], _NEAR),
        ("first", within[0], _NEAR),
        ("left", left, _FAR),
        ("right", right, _FAR),
    ):
        found |= dict.fromkeys((f"{place} {affix}" for affix in _affixes(word)), weight)
    for side, told in facets(words, start, end):
        shares = list(memory.shares((side, told)))
        found |= {f"{side} was {kind}": share for kind, share in shares}
        if not shares:
            found[f"{side} is new"] = 1.0
    return found


def place_of(words: Sequence[str], start: int, end: int, space: WordSpace) -> Floats:
    """Return where a run's first and last word and its neighbours lie, runs of one word apart.

    Shape (8 times the dimensions of the space,).
    """
    ends = (words[start].casefold(), words[end - 1].casefold())
    beside = (outer(words, start - 1), outer(words, end))
    lie = np.concatenate([space.of(word) for word in (*ends, *beside)])
    none = np.zeros_like(lie)
    return np.concatenate([lie, none] if end - start == 1 else [none, lie])


def _trade(within: Sequence[str], left: str, right: str, wording: Wording) -> Iterator[str]:
    for place, word in (
        ("first", within[0]),
        ("last", within[-1]),
        ("left", left),
        ("right", right),
    ):
        for mark in trade_marks(word, wording) or (NOTHING,):
            yield f"{place} is {mark}"
            if place in ("first", "last"):
                yield f"{place} of {len(within)} is {mark}"


def _affixes(word: str) -> Iterator[str]:
    for length in (2, 3, 4):
        yield f"-{word[-length:]}"
    for length in (3, 4):
        yield f"{word[:length]}-"


def _shapes(word: str) -> Iterator[str]:
    if word.isupper():
        yield "capitals"
    if any(map(str.isdigit, word)):
        yield "digits"
    if not any(map(str.isalpha, word)):
        yield "no letters"
