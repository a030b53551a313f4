"""How far a sentence is worded like those that people judged dangerous at an igniter.

A second judge beside the lists: it is asked only where they find nothing, so that it hides more and
never shows more. It weighs the words of a sentence, their neighbours and their roles by the table
``igniter_likeness.toml``, which ``tests/benchmarks/igniter_fit.py`` fits to the sentences kept
under ``tests/``. All of it is common practice, no source.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import pairwise
from math import log, sqrt
from pathlib import Path
from typing import NamedTuple

from kb.safety.igniter_clauses import Clause
from kb.safety.igniter_words import spelt
from kb.tables import read_table

LIKENESS_FILE = Path(__file__).with_name("igniter_likeness.toml")
STEP = 1000
"""Weights stand in the table in steps of one in so many."""
FEWEST = 5
"""So many different words that the table knows a sentence must have to be like any."""
_BACK_IN_SERVICE_WORDS = """
a again all and any at back battery car check checked clean clear cleared codes code comes connected
done drive driven drove erased fault faults fine first for from goes good ignition in is it key km
lamp lead light lights minutes miles negative new no none now of off ok on once out outside over
passed present read reads reconnected retest return returned road run runs scan scanned second
seconds self started starts stays still stored supply switched test tester the then tool turned was
went with
"""
_BACK_IN_SERVICE = frozenset(_BACK_IN_SERVICE_WORDS.split())
"""What the end of a job is told with, the battery on again and the codes read: such words name no
part of an igniter's circuit, no meter and no other deed."""
_BEGIN, _END, _BETWEEN = "^", "$", "|"


class LikenessTable(NamedTuple):
    """The table, read.

    Attributes
    ----------
    bias, enough : int
        What every sentence has, and from where on it is like the dangerous ones.
    sentences : int
        So many were read.
    traits : Mapping[str, Sequence[int]]
        Trait -> in how many of them it stands, and what it weighs.
    """

    bias: int
    enough: int
    sentences: int
    traits: Mapping[str, Sequence[int]]


def is_like_dangerous(sentence: Sequence[Clause]) -> bool:
    """Whether a sentence on a job that concerns an igniter is worded like dangerous ones.

    Parameters
    ----------
    sentence : sequence of Clause
    """
    if all(_is_of_service(word) for clause in sentence for word in clause.words):
        return False
    traits, known = traits_of(sentence), weights().traits
    if sum(each in known and each.isalpha() and each.islower() for each in traits) < FEWEST:
        return False
    return likeness(traits) >= weights().enough / STEP


def _is_of_service(word: str) -> bool:
    return word in _BACK_IN_SERVICE or any(map(str.isdecimal, word))


def likeness(traits: frozenset[str]) -> float:
    """Return how far a sentence is like the dangerous ones: about 1 like them, -1 like the others.

    Rare traits count more, and all of them together as much in a long sentence as in a short one.
    """
    table = weights()
    told = sorted(traits & table.traits.keys())
    rare = [rarity(table.traits[each][0], table.sentences) for each in told]
    weighed = sum(table.traits[each][1] * by for each, by in zip(told, rare, strict=True))
    length = sqrt(sum(by * by for by in rare))
    return (table.bias + (weighed / length if length else 0)) / STEP


def rarity(count: int, sentences: int) -> float:
    """Return the weight of a trait by how few sentences have it: the smoothed logarithm of odds.

    The *idf* of scikit-learn's ``TfidfTransformer``.
    """
    return log((1 + sentences) / (1 + count)) + 1


def traits_of(sentence: Sequence[Clause]) -> frozenset[str]:
    """Return the words of a sentence, in ones and twos, and its roles, in ones, twos and threes.

    Roles stand in capitals, and a bar between clauses.
    """
    return frozenset(_traits(sentence))


def _traits(sentence: Sequence[Clause]) -> Iterator[str]:
    told = (word for each in sentence for word in (each.joiner, *each.words) if word)
    words = [_BEGIN, *map(spelt, told), _END]
    roles = [_BETWEEN]
    for clause in sentence:
        roles += [*(piece.role.upper() for piece in clause.pieces), _BETWEEN]
    yield from words
    yield from roles
    for run in (words, roles):
        yield from (f"{one} {two}" for one, two in pairwise(run))
    yield from map(" ".join, zip(roles, roles[1:], roles[2:], strict=False))


@cache
def weights() -> LikenessTable:
    """Read the table, once."""
    return LikenessTable(**read_table(LIKENESS_FILE))
