"""How much a sentence is like those that people judged dangerous at an igniter.

A second judge beside the lists: asked only where they find nothing, so that it hides more and never
shows more. It weighs all words of a sentence, their beginnings and ends, their neighbours and their
roles, by weights fitted to the sentences kept under ``tests/`` (``tests/benchmarks/igniter_fit.py``
fits them anew). All of it is common practice, no source.
"""

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import pairwise
from math import exp, sqrt
from pathlib import Path
from struct import Struct
from zlib import crc32

from kb.safety.igniter_clauses import Clause

WEIGHTS = Path(__file__).with_name("igniter_likeness.bin")
"""The bias, the worth of one step, and a step count for every place of a trait."""
HEAD = Struct("<ff")
PLACES = 1 << 15
"""So many places the traits of sentences share."""
ENOUGH = 0.8
"""From so great a chance on a sentence is taken for a dangerous one."""
_LETTERS = (3, 4, 5)


def likeness(sentence: Sequence[Clause]) -> float:
    """Return the chance that people would have judged a sentence dangerous.

    Parameters
    ----------
    sentence : sequence of Clause
        On a job that concerns an igniter.
    """
    bias, step, weights = _weights()
    places = places_of(sentence)
    weight = bias + step * sum(weights[at] for at in places) / sqrt(len(places))
    return 1 / (1 + exp(-weight))


def places_of(sentence: Sequence[Clause]) -> set[int]:
    """Return the places of a sentence's traits among the weights."""
    return {crc32(trait.encode()) % PLACES for trait in _traits(sentence)}


def _traits(sentence: Sequence[Clause]) -> Iterator[str]:
    """Yield words, word pairs and parts of words, and roles by ones, twos and threes."""
    words = ["^", *(word for each in sentence for word in (each.joiner, *each.words)), "$"]
    roles = ["|", *(role for c in sentence for role in (*(p.role for p in c.pieces), "|"))]
    yield from (f"1 {word}" for word in words)
    yield from (f"2 {one} {two}" for one, two in pairwise(words))
    for word in words:
        whole = f"<{word}>"
        for size in _LETTERS:
            yield from (f"c {whole[at : at + size]}" for at in range(len(whole) - size + 1))
    yield from (f"r {role}" for role in roles)
    yield from (f"r {one} {two}" for one, two in pairwise(roles))
    yield from (f"r {one} {two} {three}" for (one, two), (_, three) in pairwise(pairwise(roles)))


@cache
def _weights() -> tuple[float, float, Sequence[int]]:
    """Read the weights, once."""
    read = WEIGHTS.read_bytes()
    bias, step = HEAD.unpack_from(read)
    return bias, step, memoryview(read)[HEAD.size :].cast("b")
