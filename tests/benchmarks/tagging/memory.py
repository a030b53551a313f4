"""What runs of words were confirmed to name, counted by the run, its ends and its neighbours."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from tests.benchmarks.tagging.named import ConfirmedText, candidates

Facet = tuple[str, str]
"""A side of a run, and the words there: ``("run", "air filter")``, ``("left", "replace")``."""
NOTHING = "nothing"
"""The kind of a run that names nothing."""
_DOUBT = 0.5
"""So many sightings are added to those of a facet: what was seen once is not taken for certain."""


def outer(words: Sequence[str], at: int) -> str:
    """Return the word in small letters at a place, or what stands for the text's edge there."""
    if at < 0:
        return "^"
    return words[at].casefold() if at < len(words) else "$"


def facets(words: Sequence[str], start: int, end: int) -> tuple[Facet, ...]:
    """Return the sides of a run that are remembered.

    Examples
    --------
    >>> facets(["Clean", "air", "filter"], 1, 3)
    (('run', 'air filter'), ('first', 'air'), ('last', 'filter'), ('left', 'clean'), ('right', '$'))
    """
    within = [word.casefold() for word in words[start:end]]
    return (
        ("run", " ".join(within)),
        ("first", within[0]),
        ("last", within[-1]),
        ("left", outer(words, start - 1)),
        ("right", outer(words, end)),
    )


@dataclass(frozen=True, slots=True)
class Memory:
    """How often each facet was seen on a run of each kind, `NOTHING` included."""

    seen: Mapping[Facet, Mapping[str, int]]

    @classmethod
    def of(cls, texts: Iterable[ConfirmedText]) -> "Memory":
        """Count the runs of confirmed texts."""
        seen: dict[Facet, Counter[str]] = defaultdict(Counter)
        for facet, kind in chain.from_iterable(map(_sightings, texts)):
            seen[facet][kind] += 1
        return cls(seen)

    def without(self, text: ConfirmedText) -> "Memory":
        """Return what is remembered of one text's facets from all the others.

        A text that is learnt from must not be told its own answer by what was learnt from it.
        """
        own = Memory.of([text]).seen
        left = {
            facet: {kind: count - own[facet].get(kind, 0) for kind, count in kinds.items()}
            for facet in own
            if (kinds := self.seen.get(facet))
        }
        return Memory(left)

    def shares(self, facet: Facet) -> Iterator[tuple[str, float]]:
        """Return each kind that a facet was seen with, and its share; nothing if never seen."""
        kinds = self.seen.get(facet, {})
        total = sum(kinds.values())
        for kind, count in kinds.items():
            if count:
                yield kind, count / (total + _DOUBT)


def _sightings(text: ConfirmedText) -> Iterator[tuple[Facet, str]]:
    kinds = {(run.start, run.end): run.kind for run in text.runs}
    for start, end in candidates(text.words):
        kind = kinds.get((start, end), NOTHING)
        for facet in facets(text.words, start, end):
            yield facet, kind
