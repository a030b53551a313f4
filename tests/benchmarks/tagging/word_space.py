"""Where words lie by the company they keep and by how they are written, learnt without answers.

Words with the same neighbours, left and right, lie near one another (Schütze 1995), and so do words
with the same runs of letters; each from a truncated singular value decomposition.

References
----------
Schütze, H. (1995). Distributional part-of-speech tagging. Proceedings of the 7th Conference of the
European Chapter of the Association for Computational Linguistics, 141-148.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

DIMENSIONS = 40
"""Of each of the two; chosen once, not searched for."""
_LETTERS = (3, 4)
_BEFORE, _BEHIND = "^", "$"


@dataclass(frozen=True, slots=True)
class WordSpace:
    """A vector for each word in small letters, shape (n_dimensions,); a strange word lies at 0."""

    vectors: Mapping[str, Floats]
    dimensions: int

    def of(self, word: str) -> Floats:
        """Return where a word in small letters lies."""
        found = self.vectors.get(word)
        return np.zeros(self.dimensions, dtype=np.float32) if found is None else found

    @classmethod
    def fit(cls, texts: Iterable[Sequence[str]]) -> "WordSpace":
        """Learn from texts, each the words of one card; none of them need be confirmed."""
        company: dict[str, Counter[str]] = {}
        for text in texts:
            words = [_BEFORE, *(word.casefold() for word in text), _BEHIND]
            for before, word, behind in zip(words, words[1:], words[2:], strict=False):
                company.setdefault(word, Counter()).update((f"{before} _", f"_ {behind}"))
        names = sorted(company)
        blocks = (_reduced([company[name] for name in names]), _reduced(list(map(_letters, names))))
        places = np.hstack(blocks).astype(np.float32)
        return cls(dict(zip(names, places, strict=True)), places.shape[1])


def _letters(word: str) -> Counter[str]:
    whole = f"{_BEFORE}{word}{_BEHIND}"
    return Counter(whole[at : at + n] for n in _LETTERS for at in range(len(whole) - n + 1))


def _reduced(counts: Sequence[Mapping[str, int]]) -> Floats:
    """Return rows of TF-IDF in few dimensions, each of length 1 or all 0."""
    from sklearn.decomposition import TruncatedSVD  # noqa: PLC0415  slow to import
    from sklearn.feature_extraction import DictVectorizer  # noqa: PLC0415
    from sklearn.feature_extraction.text import TfidfTransformer  # noqa: PLC0415
    from sklearn.preprocessing import normalize  # noqa: PLC0415

    if not counts:
        return np.zeros((0, 0), dtype=np.float32)
    table = TfidfTransformer(sublinear_tf=True).fit_transform(
        DictVectorizer().fit_transform(counts)
    )
    dimensions = min(DIMENSIONS, table.shape[1])
    if dimensions < min(table.shape):
        return np.asarray(normalize(TruncatedSVD(dimensions, random_state=0).fit_transform(table)))
    return np.asarray(table.toarray())
