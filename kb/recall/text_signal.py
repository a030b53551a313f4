"""Text similarity: TF-IDF cosine over words, word pairs and character n-grams.

Two blocks are weighted alike: words with word pairs, and the character 3- to 5-grams inside
words that carry misspellings. Term frequencies are sublinear, document frequencies smoothed, each
block has unit length: the forms and defaults of scikit-learn's ``TfidfVectorizer``. One analyser
(`word_features`, `character_features`) serves fitting and asking alike.

A fitted text signal is a `TextModel` (what is known of terms) and `Postings` (which rows hold
them), both plain arrays that can be read back memory-mapped. N-grams lie inside words, so that a
row's are those of its words: which n-grams a word has is kept once, and which words a row has.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kb.recall.hashing import Keys, key, keys
from kb.recall.spans import Floats, Holders, Places, Spans, distinct, look_up

Tokens = Sequence[str]
Features = Callable[[Tokens], Iterator[str]]

SHORTEST_GRAM, LONGEST_GRAM = 3, 5
"""Letters of an n-gram, with the blanks at a word's ends (common practice): shorter ones are in
every text, longer ones do not outlast a misspelling."""
CHARACTER_SHARE = 0.3
"""Share of the character n-grams in the cosine, unless settings say another; the rest is the words'
and word pairs'."""
ROWS_AT_ONCE, ENTRIES_AT_ONCE = 4_000, 1_000_000
"""Texts whose n-grams are counted together, and entries that are weighed together, to keep memory
small."""
MOST_TIMES = 65_535
"""A term that a text holds oftener counts as this often: what two bytes hold."""


def word_features(tokens: Tokens) -> Iterator[str]:
    """Yield every word and every pair of neighbouring words.

    Examples
    --------
    >>> list(word_features(["lamp", "on"]))
    ['w lamp', 'w on', 'w lamp on']
    """
    for token in tokens:
        yield f"w {token}"
    for first, second in pairwise(tokens):
        yield f"w {first} {second}"


def character_features(tokens: Tokens) -> Iterator[str]:
    """Return the character 3- to 5-grams of each word padded with one space at either end.

    Examples
    --------
    >>> list(character_features(["abs"]))
    ['c  ab', 'c abs', 'c bs ', 'c  abs', 'c abs ', 'c  abs ']
    """
    return chain.from_iterable(map(_grams, tokens))


@lru_cache(maxsize=100_000)
def _grams(token: str) -> tuple[str, ...]:
    padded = f" {token} "
    return tuple(
        f"c {padded[start : start + size]}"
        for size in range(SHORTEST_GRAM, LONGEST_GRAM + 1)
        for start in range(len(padded) - size + 1)
    )


def split_by_word(tokens: Tokens, worth: Mapping[int, float]) -> dict[str, float]:
    """Split what the terms of a text are worth among its words.

    A pair of words or an n-gram that several words hold is split evenly among them.

    `worth` is by key of a term, nothing for terms that are not in it; the shares of the words sum
    to the worth of all terms of the text.
    """
    owners: dict[str, set[str]] = defaultdict(set)
    for token in tokens:
        for term in (*word_features([token]), *character_features([token])):
            owners[term].add(token)
    for first, second in pairwise(tokens):
        *_, pair = word_features([first, second])
        owners[pair] |= {first, second}
    shares = dict.fromkeys(tokens, 0.0)
    for term, words in owners.items():
        for word in words:
            shares[word] += worth.get(key(term), 0.0) / len(words)
    return shares


@dataclass(frozen=True, slots=True)
class Terms:
    """What is known of the terms of one block, shape (n_terms,): keys, ascending, and idf.

    The inverse document frequency is ``1 + ln((1 + n) / (1 + df))``.
    """

    keys: Keys
    idf: Floats

    def worth(self, terms: Keys, strange: float) -> Floats:
        """Return the idf of each term, that of a strange one for terms never seen."""
        found, places = look_up(self.keys, terms)
        idf = np.full(len(terms), strange, dtype=np.float32)
        idf[found] = self.idf[places[found]]
        return idf


@dataclass(frozen=True, slots=True)
class TextModel:
    """What is known of terms: inverse document frequencies, and the words that may be read as.

    `words` are words with word pairs, `grams` character n-grams, which make `character_share` of
    the cosine; n texts were fitted on (`documents`). `common_words` is UTF-8 of the words seen at
    least twice, separated by newlines.
    """

    words: Terms
    grams: Terms
    documents: int
    character_share: float
    common_words: NDArray[np.uint8]

    @property
    def blocks(self) -> tuple[tuple[Features, Terms, float], ...]:
        """Each block: its analyser, its terms, and its share of the cosine."""
        return (
            (word_features, self.words, 1 - self.character_share),
            (character_features, self.grams, self.character_share),
        )

    @property
    def strange(self) -> float:
        """The idf of a term never seen, the greatest possible."""
        return 1 + math.log(1 + self.documents)

    def weigh(self, tokens: Tokens) -> tuple[Keys, Floats]:
        """Return the unit-length vector of a text as term keys and weights.

        Terms never seen in fitting carry the greatest idf: they lengthen the vector, so a text of
        strange words is similar to nothing.
        """
        parts = [
            self._block(Counter(features(tokens)), terms, share)
            for features, terms, share in self.blocks
        ]
        return (
            np.concatenate([terms for terms, _ in parts]),
            np.concatenate([weights for _, weights in parts]),
        )

    def _block(self, counts: Counter[str], known: Terms, share: float) -> tuple[Keys, Floats]:
        terms = keys(counts)
        times = np.fromiter(counts.values(), np.float32, len(counts))
        weights = (1 + np.log(times)) * known.worth(terms, self.strange)
        length = float(np.linalg.norm(weights))
        scale = math.sqrt(share) / length if length else 0.0
        return terms, (weights * scale).astype(np.float32)

    def read_as(
        self, tokens: Tokens, is_known: Callable[[str], bool], *, shortest: int = 4
    ) -> dict[str, str]:
        """Return words nobody knows that are one edit away from a word seen at least twice.

        An edit is one letter left out, put in, changed, or two neighbours swapped (optimal string
        alignment). Of several such words the first in alphabetical order is taken. What is not
        fitted may be known elsewhere; `is_known` is asked of the words that have such a near one.
        """
        long = [token for token in dict.fromkeys(tokens) if len(token) >= shortest]
        seen, _ = look_up(self.words.keys, keys(f"w {word}" for word in long))
        unknown = [word for word, known in zip(long, seen, strict=True) if not known]
        if not unknown:
            return {}
        from rapidfuzz.distance import OSA  # noqa: PLC0415  only for a word never seen
        from rapidfuzz.process import extractOne  # noqa: PLC0415

        words = self.common_words.tobytes().decode().split("\n")
        nearest = {
            word: extractOne(word, words, scorer=OSA.distance, score_cutoff=1) for word in unknown
        }
        return {word: match[0] for word, match in nearest.items() if match and not is_known(word)}


@dataclass(frozen=True, slots=True)
class Postings:
    """Texts as columns, one row a text, under a `TextModel`.

    A row weighs a term by ``(1 + ln(times)) * idf``, times the row's scale in the block.

    Attributes
    ----------
    words : Holders
        The rows that hold each word and word pair, by how often they do.
    grams : Holders
        The words, by their place in the vocabulary, that hold each n-gram, by how often they do.
    repeated : Holders
        The rows that hold an n-gram more than once, by how often they do: its worth there less
        that of the row's words one by one.
    single, word, times : ndarray of int32 and float32, shape (n_single,)
        Which lists of `words` are of a word alone, of which one by its place in the vocabulary,
        and how often their rows hold it.
    starts : ndarray of int32, shape (n_rows + 1,)
        Row i has the words ``starts[i]`` to ``starts[i + 1]`` of `text`.
    text : ndarray of int32
        Words by their place in the vocabulary.
    vocabulary : int
        The number of different words.
    word_scales, gram_scales : ndarray of float32, shape (n_rows,)
        What brings each block of a row to the length that is its share of the cosine; 0 for a row
        without text.
    """

    words: Holders
    grams: Holders
    repeated: Holders
    single: Places
    word: Places
    times: Floats
    starts: Places
    text: Places
    vocabulary: int
    word_scales: Floats
    gram_scales: Floats

    def __len__(self) -> int:
        return len(self.word_scales)

    def cosines(self, terms: Keys, weights: Floats) -> Floats:
        """Return each row's cosine with a vector of `TextModel.weigh`; nan without text."""
        of_grams = self.repeated.spread(terms, weights, len(self))
        of_lists = self.grams.spread(terms, weights, self.vocabulary)[self.word] * self.times
        some = np.flatnonzero(of_lists)  # few words have an n-gram of those asked
        self.words.runs(self.single[some]).spread(of_lists[some], self.words.members, of_grams)
        scores = self.words.spread(terms, weights, len(self)) * self.word_scales
        scores += of_grams * self.gram_scales
        scores[self.word_scales == 0] = np.nan
        np.minimum(scores, 1, out=scores)
        return scores

    def along(self, terms: Keys, weights: Floats, of_rows: Floats) -> Floats:
        """Return what each term of a query adds to the sum of cosines, each times its worth.

        `of_rows`, shape (n_rows,), is what the cosine with each row is worth.
        """
        of_grams = of_rows * self.gram_scales
        some = np.flatnonzero(of_grams)
        of_vocabulary = np.zeros(self.vocabulary, dtype=np.float32)
        spans = Spans(self.starts[some], self.starts[some + 1])
        spans.spread(of_grams[some], self.text, of_vocabulary)
        added = self.words.gather(terms, of_rows * self.word_scales)
        added += self.grams.gather(terms, of_vocabulary) + self.repeated.gather(terms, of_grams)
        return added * weights

    def row(self, row: int) -> tuple[Keys, Floats]:
        """Return the terms of one row and their weights, as `TextModel.weigh` gave them."""
        text = self.text[self.starts[row] : self.starts[row + 1]]
        grams = [self.grams.with_member(word) for word in distinct(text)]
        terms = distinct(np.concatenate([self.words.with_member(row), *grams]))
        chosen = np.zeros(len(self), dtype=np.float32)
        chosen[row] = 1
        return terms, self.along(terms, np.ones(len(terms), dtype=np.float32), chosen)

    def holds(self, terms: Keys, rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return for each term whether any of the chosen rows, shape (n_rows,), holds it."""
        if rows.all():  # most often, and a term without a row has no list
            in_words, _ = look_up(self.words.keys, terms)
            return in_words | look_up(self.grams.keys, terms)[0]
        heard = np.zeros(self.vocabulary, dtype=np.float32)
        heard[self.text[np.repeat(rows, np.diff(self.starts))]] = 1
        held = self.words.gather(terms, rows.astype(np.float32)) + self.grams.gather(terms, heard)
        return held > 0


def fit(
    texts: Sequence[Tokens], character_share: float = CHARACTER_SHARE
) -> tuple[TextModel, Postings]:
    """Fit a model on texts, one a row, and post them.

    N-grams have `character_share` of the cosine.
    """
    counted = _Counted.of(texts)
    model = TextModel(
        words=counted.words.known(len(texts)),
        grams=counted.grams.known(len(texts)),
        documents=len(texts),
        character_share=character_share,
        common_words=counted.common_words(),
    )
    return model, counted.posted(model)


def post(texts: Sequence[Tokens], model: TextModel) -> Postings:
    """Post a few further texts under a fitted model, without fitting again.

    Words that the model has never seen are posted too, so that a new text is found by them.
    """
    return _Counted.of(texts).posted(model)


def matrix(texts: Sequence[Tokens], model: TextModel) -> Any:
    """Return the weights of some texts as a scipy CSR array, a row a text and a column a term."""
    from scipy.sparse import csr_array, hstack  # noqa: PLC0415  slow to import, for fitting only

    counted = _Counted.of(texts)
    blocks = []
    for counts, (_, terms, share) in zip((counted.words, counted.grams), model.blocks, strict=True):
        idf = terms.worth(counts.keys, model.strange)
        scales = counts.scales(idf, share)
        weights = (1 + np.log(counts.times)) * idf[counts.terms] * scales[counts.rows]
        shape = (len(texts), len(counts.keys))
        blocks.append(csr_array((weights, (counts.rows, counts.terms)), shape=shape))
    return hstack(blocks, "csr")


@dataclass(frozen=True, slots=True)
class _Counts:
    """How often each row holds each term of a block that it holds, ordered by term and row."""

    keys: Keys
    terms: Places
    rows: Places
    times: NDArray[np.uint16]
    size: int

    def known(self, documents: int) -> Terms:
        frequency = np.bincount(self.terms, minlength=len(self.keys))
        idf = 1 + np.log((1 + documents) / (1 + frequency))
        return Terms(keys=self.keys, idf=idf.astype(np.float32))

    def scales(self, idf: Floats, share: float) -> Floats:
        """Return what brings each row to the length that is the block's share."""
        squares = np.zeros(self.size)
        for first in range(0, len(self.terms), ENTRIES_AT_ONCE):
            some = slice(first, first + ENTRIES_AT_ONCE)
            weights = (1 + np.log(self.times[some], dtype=np.float32)) * idf[self.terms[some]]
            squares += np.bincount(self.rows[some], weights=weights**2, minlength=self.size)
        with np.errstate(divide="ignore"):
            scales = np.sqrt(share / squares)
        return np.where(squares > 0, scales, 0.0).astype(np.float32)

    def lists(self, least: int = 1) -> "_Lists":
        """List the rows of each term by how often they hold it, if that is at least so often."""
        some = np.flatnonzero(self.times >= least)
        order = some[np.lexsort((self.times[some], self.terms[some]))]
        terms, times = self.terms[order], self.times[order]
        new = (terms[1:] != terms[:-1]) | (times[1:] != times[:-1])
        first = np.flatnonzero(np.append(True, new)[: len(terms)])
        starts = np.append(first, len(terms)).astype(np.int32)
        return _Lists(self.keys, terms[first], times[first], starts, self.rows[order])


@dataclass(frozen=True, slots=True)
class _Lists:
    """Rows by term and by how often they hold it: list i is of the term ``keys[terms[i]]``."""

    keys: Keys
    terms: Places
    times: NDArray[np.uint16]
    starts: Places
    rows: Places

    def holders(self, idf: Floats, counts: Callable[[Floats], Floats]) -> Holders:
        """Give each list its worth: the term's idf, times what so many times count."""
        worth = idf[self.terms] * counts(self.times.astype(np.float32))
        return Holders(self.keys[self.terms], self.starts, self.rows, worth)


@dataclass(frozen=True, slots=True)
class _Counted:
    """Texts cut into words and n-grams, and these counted."""

    vocabulary: list[str]
    starts: Places
    text: Places
    words: _Counts
    grams: _Counts
    inside: _Counts
    """The n-grams of words: these are the rows."""

    @classmethod
    def of(cls, texts: Sequence[Tokens]) -> "_Counted":
        vocabulary: dict[str, int] = {}
        flat = chain.from_iterable(texts)
        text = np.array([vocabulary.setdefault(w, len(vocabulary)) for w in flat], dtype=np.int32)
        starts = np.cumsum([0, *map(len, texts)], dtype=np.int32)
        names = list(vocabulary)
        inside = _count_inside(names)
        return cls(
            vocabulary=names,
            starts=starts,
            text=text,
            words=_count_words(names, text, starts),
            grams=_count_grams(inside, text, starts),
            inside=inside,
        )

    def posted(self, model: TextModel) -> Postings:
        """Post the texts under a model, which may be fitted on them."""
        word_idf = model.words.worth(self.words.keys, model.strange)
        gram_idf = model.grams.worth(self.grams.keys, model.strange)
        words = self.words.lists()
        word_of = np.full(len(self.words.keys), -1, dtype=np.int32)
        own = look_up(self.words.keys, keys(f"w {word}" for word in self.vocabulary))[1]
        word_of[own] = np.arange(len(own))
        single = np.flatnonzero(word_of[words.terms] >= 0).astype(np.int32)
        return Postings(
            words=words.holders(word_idf, lambda times: 1 + np.log(times)),
            grams=self.inside.lists().holders(gram_idf, lambda times: times),
            repeated=self.grams.lists(2).holders(gram_idf, lambda times: 1 + np.log(times) - times),
            single=single,
            word=word_of[words.terms[single]],
            times=words.times[single].astype(np.float32),
            starts=self.starts,
            text=self.text,
            vocabulary=len(self.vocabulary),
            word_scales=self.words.scales(word_idf, 1 - model.character_share),
            gram_scales=self.grams.scales(gram_idf, model.character_share),
        )

    def common_words(self, least: int = 2) -> NDArray[np.uint8]:
        rows = np.repeat(np.arange(len(self.starts) - 1), np.diff(self.starts))
        held = np.unique(self.text + rows * len(self.vocabulary)) % max(len(self.vocabulary), 1)
        counts = np.bincount(held, minlength=len(self.vocabulary))
        words = sorted(self.vocabulary[place] for place in np.flatnonzero(counts >= least))
        return np.frombuffer("\n".join(words).encode(), dtype=np.uint8)


def _count_inside(vocabulary: Sequence[str]) -> _Counts:
    """Count the character n-grams of each word."""
    grams: dict[str, int] = {}
    cut = [[grams.setdefault(gram, len(grams)) for gram in _grams(word)] for word in vocabulary]
    words = np.repeat(np.arange(len(cut)), [len(each) for each in cut])
    names, terms = _by_key(keys(grams), np.fromiter(chain.from_iterable(cut), dtype=np.int64))
    return _counts(names, terms, words, len(cut))


def _count_words(vocabulary: Sequence[str], text: Places, starts: Places) -> _Counts:
    """Count words and word pairs."""
    size, known = len(starts) - 1, max(len(vocabulary), 1)
    rows = np.repeat(np.arange(size), np.diff(starts))
    ids = text.astype(np.int64)
    inside = rows[1:] == rows[:-1]
    pairs, pair_of = np.unique((ids[:-1] * known + ids[1:])[inside], return_inverse=True)
    names, terms = _by_key(
        keys(
            chain(
                (f"w {word}" for word in vocabulary),
                (f"w {vocabulary[p // known]} {vocabulary[p % known]}" for p in pairs.tolist()),
            )
        ),
        np.concatenate([ids, len(vocabulary) + pair_of]),
    )
    return _counts(names, terms, np.concatenate([rows, rows[1:][inside]]), size)


def _count_grams(inside: _Counts, text: Places, starts: Places) -> _Counts:
    """Count the character n-grams of rows by those of their words, some thousand rows at a time."""
    size = len(starts) - 1
    order = np.argsort(inside.rows, kind="stable")
    grams, owners = (
        np.repeat(each[order], inside.times[order]) for each in (inside.terms, inside.rows)
    )
    first = _starts(owners, inside.size)
    parts = []
    for start in range(0, max(size, 1), ROWS_AT_ONCE):
        end = min(start + ROWS_AT_ONCE, size)
        words = text[starts[start] : starts[end]]
        spans = Spans(first[words], first[words + 1])
        rows = np.repeat(np.arange(end - start), np.diff(starts[start : end + 1]))
        part = _counts(
            inside.keys, grams[spans.entries()], np.repeat(rows, spans.lengths), end - start
        )
        parts.append((part.terms, (part.rows + start).astype(np.int32), part.times))
    return _Counts(
        keys=inside.keys,
        terms=np.concatenate([terms for terms, _, _ in parts]),
        rows=np.concatenate([rows for _, rows, _ in parts]),
        times=np.concatenate([times for _, _, times in parts]),
        size=size,
    )


def _counts(names: Keys, terms: NDArray[Any], rows: NDArray[Any], size: int) -> _Counts:
    together, times = np.unique(terms.astype(np.int64) * size + rows, return_counts=True)
    return _Counts(
        keys=names,
        terms=(together // max(size, 1)).astype(np.int32),
        rows=(together % max(size, 1)).astype(np.int32),
        times=np.minimum(times, MOST_TIMES).astype(np.uint16),
        size=size,
    )


def _by_key(names: Keys, terms: NDArray[np.int64]) -> tuple[Keys, NDArray[np.int64]]:
    """Order terms by key, ascending; `terms` are places in `names`, before and after."""
    order = np.argsort(names)
    place = np.empty(len(names), dtype=np.int64)
    place[order] = np.arange(len(names))
    return names[order], place[terms]


def _starts(owners: NDArray[Any], size: int) -> Places:
    """Return where the entries of each owner start, in an array ordered by owner."""
    counts = np.bincount(owners, minlength=size) if len(owners) else np.zeros(size, np.int64)
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)
