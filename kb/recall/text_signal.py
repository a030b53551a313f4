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
from array import array
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain, pairwise
from typing import Any, Self

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
ROWS_AT_ONCE, ENTRIES_AT_ONCE = 1_000, 1_000_000
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
    texts: Iterable[Tokens], character_share: float = CHARACTER_SHARE
) -> tuple[TextModel, Postings]:
    """Fit a model on texts, one a row, and post them.

    N-grams have `character_share` of the cosine. No text is held longer than it takes to read it.
    """
    counted = _Counted.of(texts)
    documents = len(counted.starts) - 1
    model = TextModel(
        words=counted.words.known(documents),
        grams=counted.grams.known(documents),
        documents=documents,
        character_share=character_share,
        common_words=counted.common_words(),
    )
    return model, counted.posted(model)


def post(texts: Iterable[Tokens], model: TextModel) -> Postings:
    """Post a few further texts under a fitted model, without fitting again.

    Words that the model has never seen are posted too, so that a new text is found by them.
    """
    return _Counted.of(texts).posted(model)


def matrix(texts: Sequence[Tokens], model: TextModel) -> Any:
    """Return the weights of some texts as a scipy CSR array, a row a text and a column a term."""
    from scipy.sparse import csr_array, hstack  # noqa: PLC0415  slow to import, for fitting only

    counted = _Counted.of(texts)
    blocks = []
    whole = (counted.words, counted.grams.whole())
    for counts, (_, terms, share) in zip(whole, model.blocks, strict=True):
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

    @property
    def frequency(self) -> NDArray[np.intp]:
        """How many rows hold each term, shape (n_terms,)."""
        return np.bincount(self.terms, minlength=len(self.keys))

    def known(self, documents: int) -> Terms:
        return _known(self.keys, self.frequency, documents)

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

    def repeated(self) -> "_Counts":
        """Return those that a row holds more than once."""
        return self.at(np.flatnonzero(self.times > 1))

    def at(self, places: NDArray[np.intp]) -> "_Counts":
        """Return those at some places."""
        terms, rows, times = self.terms[places], self.rows[places], self.times[places]
        return replace(self, terms=terms, rows=rows, times=times)

    def lists(self) -> "_Lists":
        """List the rows of each term by how often they hold it."""
        times, rows = self.times.copy(), self.rows.copy()
        for some in self._whole_terms():
            order = np.lexsort((times[some], self.terms[some]))
            times[some], rows[some] = times[some][order], rows[some][order]
        new = (self.terms[1:] != self.terms[:-1]) | (times[1:] != times[:-1])
        first = np.flatnonzero(np.append(True, new)[: len(times)])
        starts = np.append(first, len(times)).astype(np.int32)
        return _Lists(self.keys, self.terms[first], times[first], starts, rows)

    def _whole_terms(self) -> Iterator[slice]:
        """Yield where entries stand that are sorted together, all of a term among them."""
        first = 0
        while first < len(self.terms):
            after = self.terms[min(first + ENTRIES_AT_ONCE, len(self.terms)) - 1] + 1
            end = int(np.searchsorted(self.terms, after))
            yield slice(first, end)
            first = end


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
    own: Places
    """Where each word of the vocabulary stands among the terms of `words`."""
    grams: "_GramCounts"
    inside: _Counts
    """The n-grams of words: these are the rows."""

    @classmethod
    def of(cls, texts: Iterable[Tokens]) -> "_Counted":
        vocabulary: dict[str, int] = {}
        ids, ends = array("i"), array("i", [0])
        for tokens in texts:
            ids.extend(vocabulary.setdefault(word, len(vocabulary)) for word in tokens)
            ends.append(len(ids))
        text, starts = (np.array(each, dtype=np.int32) for each in (ids, ends))
        names = list(vocabulary)
        inside = _count_inside(names)
        words, own = _count_words(names, text, starts)
        return cls(
            vocabulary=names,
            starts=starts,
            text=text,
            words=words,
            own=own,
            grams=_GramCounts.of(inside, text, starts),
            inside=inside,
        )

    def posted(self, model: TextModel) -> Postings:
        """Post the texts under a model, which may be fitted on them."""
        word_idf = model.words.worth(self.words.keys, model.strange)
        gram_idf = model.grams.worth(self.inside.keys, model.strange)
        words = self.words.lists()
        word_of = np.full(len(self.words.keys), -1, dtype=np.int32)
        word_of[self.own] = np.arange(len(self.own))
        single = np.flatnonzero(word_of[words.terms] >= 0).astype(np.int32)
        repeated = self.grams.repeated.lists()
        return Postings(
            words=words.holders(word_idf, lambda times: 1 + np.log(times)),
            grams=self.inside.lists().holders(gram_idf, lambda times: times),
            repeated=repeated.holders(gram_idf, lambda times: 1 + np.log(times) - times),
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
        common = np.flatnonzero(self.words.frequency[self.own] >= least)
        words = sorted(self.vocabulary[place] for place in common.tolist())
        return np.frombuffer("\n".join(words).encode(), dtype=np.uint8)


@dataclass(frozen=True, slots=True)
class _GramCounts:
    """How often each row holds each n-gram: by those of its words, some thousand rows at a time.

    They are counted anew whenever they are asked for, since nobody has the room to hold them all.
    """

    keys: Keys
    text: Places
    starts: Places
    grams: Places
    """The n-grams of each word, word after word, as often as it has them."""
    first: Places
    """Where those of each word start."""
    frequency: NDArray[np.intp]
    repeated: _Counts

    @classmethod
    def of(cls, inside: _Counts, text: Places, starts: Places) -> Self:
        order = np.argsort(inside.rows, kind="stable")
        grams, owners = (
            np.repeat(each[order], inside.times[order]) for each in (inside.terms, inside.rows)
        )
        none = replace(inside, terms=grams[:0], rows=grams[:0], times=inside.times[:0])
        frequency = np.zeros(len(inside.keys), dtype=np.intp)
        uncounted = cls(
            inside.keys, text, starts, grams, _starts(owners, inside.size), frequency, none
        )
        repeated = []
        for at, part in uncounted._parts():
            frequency += part.frequency
            repeated.append((at, part.repeated()))
        return replace(uncounted, repeated=_by_term(_together(repeated)))

    def known(self, documents: int) -> Terms:
        return _known(self.keys, self.frequency, documents)

    def scales(self, idf: Floats, share: float) -> Floats:
        """Return what brings each row to the length that is the block's share."""
        return np.concatenate([part.scales(idf, share) for _, part in self._parts()])

    def whole(self) -> _Counts:
        """Return the counts of all rows together, where they are few."""
        return _together([*self._parts()])

    def _parts(self) -> Iterator[tuple[int, _Counts]]:
        """Yield the counts of some rows, and the row that is the first of them."""
        size = len(self.starts) - 1
        for start in range(0, max(size, 1), ROWS_AT_ONCE):
            end = min(start + ROWS_AT_ONCE, size)
            words = self.text[self.starts[start] : self.starts[end]]
            spans = Spans(self.first[words], self.first[words + 1])
            rows = np.repeat(np.arange(end - start), np.diff(self.starts[start : end + 1]))
            terms = self.grams[spans.entries()]
            yield start, _counts(self.keys, terms, np.repeat(rows, spans.lengths), end - start)


def _known(names: Keys, frequency: NDArray[np.intp], documents: int) -> Terms:
    idf = 1 + np.log((1 + documents) / (1 + frequency))
    return Terms(keys=names, idf=idf.astype(np.float32))


def _together(parts: Sequence[tuple[int, _Counts]]) -> _Counts:
    """Return the counts of rows that were counted apart, each part behind its first row."""
    return _Counts(
        keys=parts[0][1].keys,
        terms=np.concatenate([part.terms for _, part in parts]),
        rows=np.concatenate([part.rows + np.int32(at) for at, part in parts]),
        times=np.concatenate([part.times for _, part in parts]),
        size=sum(part.size for _, part in parts),
    )


def _by_term(counts: _Counts) -> _Counts:
    order = np.argsort(counts.terms, kind="stable")
    return counts.at(order)


def _count_inside(vocabulary: Sequence[str]) -> _Counts:
    """Count the character n-grams of each word."""
    grams: dict[str, int] = {}
    cut, ends = array("i"), array("i", [0])
    for word in vocabulary:
        cut.extend(grams.setdefault(gram, len(grams)) for gram in _grams(word))
        ends.append(len(cut))
    words = np.repeat(np.arange(len(vocabulary)), np.diff(ends))
    names, place = _by_key(keys(grams))
    return _counts(names, place[np.array(cut, dtype=np.int32)], words, len(vocabulary))


def _count_words(vocabulary: Sequence[str], text: Places, starts: Places) -> tuple[_Counts, Places]:
    """Count words and word pairs, and return where each word stands among them."""
    size, known = len(starts) - 1, max(len(vocabulary), 1)
    rows = np.repeat(np.arange(size, dtype=np.int32), np.diff(starts))
    inside = rows[1:] == rows[:-1]
    of_pairs = text[:-1].astype(np.int64)
    of_pairs *= known
    of_pairs += text[1:]
    of_pairs = of_pairs[inside]
    pairs = distinct(of_pairs)
    pair_of = np.searchsorted(pairs, of_pairs).astype(np.int32)
    del of_pairs
    names, place = _by_key(
        keys(
            chain(
                (f"w {word}" for word in vocabulary),
                (f"w {vocabulary[p // known]} {vocabulary[p % known]}" for p in _listed(pairs)),
            )
        )
    )
    own = place[: len(vocabulary)]
    terms = np.concatenate([own[text], place[len(vocabulary) :][pair_of]])
    return _counts(names, terms, np.concatenate([rows, rows[1:][inside]]), size), own


def _listed(values: NDArray[np.int64]) -> Iterator[int]:
    """Yield numbers as Python has them, some at a time."""
    for first in range(0, len(values), ENTRIES_AT_ONCE):
        yield from values[first : first + ENTRIES_AT_ONCE].tolist()


def _counts(names: Keys, terms: NDArray[Any], rows: NDArray[Any], size: int) -> _Counts:
    together = terms.astype(np.int64)
    together *= size
    together += rows
    together.sort()
    first = np.flatnonzero(np.append(True, together[1:] != together[:-1])[: len(together)])
    times = np.diff(first, append=len(together))
    together = together[first]
    return _Counts(
        keys=names,
        terms=(together // max(size, 1)).astype(np.int32),
        rows=(together % max(size, 1)).astype(np.int32),
        times=np.minimum(times, MOST_TIMES).astype(np.uint16),
        size=size,
    )


def _by_key(names: Keys) -> tuple[Keys, Places]:
    """Order keys, ascending, and return the place of each among them."""
    order = np.argsort(names)
    place = np.empty(len(names), dtype=np.int32)
    place[order] = np.arange(len(names))
    return names[order], place


def _starts(owners: NDArray[Any], size: int) -> Places:
    """Return where the entries of each owner start, in an array ordered by owner."""
    counts = np.bincount(owners, minlength=size) if len(owners) else np.zeros(size, np.int64)
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)
