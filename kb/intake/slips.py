"""Which word of a list another word is a slip of, found without a look at every word."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Self


@dataclass(frozen=True, slots=True, eq=False)
class Slips:
    """Words to be found by slips of them: a letter left out, put in, changed, or two swapped.

    Two words that are so many slips apart (optimal string alignment) become one by as many letters
    left out of either (Garbe's symmetric deletion, from memory). So the words are kept by all that
    is left of them then, and few are compared.

    Examples
    --------
    >>> slips = Slips.of(["squib", "squirt"], most=1)
    >>> slips.nearest("sqiub"), slips.nearest("squid"), slips.nearest("horn")
    ('squib', 'squib', None)
    """

    words: Sequence[str]
    most: int
    places: Mapping[str, Sequence[int]]

    @classmethod
    def of(cls, words: Iterable[str], *, most: int) -> Self:
        """Make a table of words, for at most so many slips."""
        known, places = tuple(words), defaultdict[str, list[int]](list)
        for place, word in enumerate(known):
            for left in _shortened(word, most):
                places[left].append(place)
        return cls(known, most, dict(places))

    def nearest(self, word: str) -> str | None:
        """Return the word that a word is nearest to, the first of equally near ones, or None."""
        near = {at for left in _shortened(word, self.most) for at in self.places.get(left, ())}
        if not near:
            return None
        from rapidfuzz import process  # noqa: PLC0415  most words are near none
        from rapidfuzz.distance import OSA  # noqa: PLC0415

        words = [self.words[at] for at in sorted(near)]
        found = process.extractOne(word, words, scorer=OSA.distance, score_cutoff=self.most)
        return None if found is None else str(found[0])


def _shortened(word: str, most: int) -> set[str]:
    """Return a word with up to so many letters left out."""
    found = shorter = {word}
    for _ in range(most):
        shorter = {each[:at] + each[at + 1 :] for each in shorter for at in range(len(each))}
        found = found | shorter
    return found
