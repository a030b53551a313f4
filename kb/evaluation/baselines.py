"""Plain ways to rank causes, for the tool to be held against.

The most common cause, neighbours by words, classifiers: each is given the same known cases and the
same complaints as the tool, in the words as they were typed, without the shop's wording. The
neighbours go by words alone; the classifiers are told everything a complaint carries. What a plain
way says is the share of its vote, or the class chance, made to sum to one.
"""

import re
import warnings
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from math import log2
from typing import Any, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from kb.case import Complaint, Job, Reading
from kb.recall.hashing import Keys, key
from kb.recall.index import cause_key, spoken

Floats = NDArray[np.float64]
Chances = dict[int, float]
"""Cause key to chance, likeliest first; a cause that is not in it has none."""
MANY = 1500
"""With more cases than this the classifiers leave words out that only one case has, so that a
fit stays within seconds; in an evaluation they learn from so many only."""


class Baseline(Protocol):
    """A plain way to rank causes."""

    @property
    def name(self) -> str:
        """What it is called on the page."""

    def rank(self, known: Sequence[Job], asked: Sequence[Complaint]) -> list[Chances]:
        """Rank the causes of complaints by known cases (`Job.is_case`), oldest first.

        The chances of each complaint sum to one, or there is none at all.
        """


@dataclass(frozen=True, slots=True)
class MostCommon:
    """Whatever is asked: the causes by how often the shop had them."""

    name: str = "most common cause"

    def rank(self, known: Sequence[Job], asked: Sequence[Complaint]) -> list[Chances]:
        """Return the share of each cause; of equal shares the one seen last comes first."""
        shares = _shares((cause, 1.0) for cause in reversed(_causes(known)))
        return [shares for _ in asked]


Texts = Sequence[Sequence[str]]


def bm25(texts: Texts, questions: Texts, *, k1: float = 1.2, b: float = 0.75) -> Iterable[Floats]:
    """Yield for each question the BM25 score of every text, shape (n_texts,).

    `k1` and `b` say how soon a repeated word saturates, and how much a long text is held against
    it.

    References
    ----------
    Robertson & Zaragoza (2009). The probabilistic relevance framework: BM25 and beyond.
    Foundations and Trends in Information Retrieval 3(4), 333-389. The inverse document frequency
    is Lucene's form of it, as in Kamphuis, de Vries, Boytsov & Lin (2020). Which BM25 do you mean?
    ECIR, 28-34.
    """
    from sklearn.feature_extraction.text import CountVectorizer  # noqa: PLC0415

    counter = CountVectorizer(analyzer=list, dtype=np.float64)
    counts = counter.fit_transform(texts).tocsc()
    asked = counter.transform(questions)
    held, lengths = counts.getnnz(axis=0), counts.sum(axis=1).A1
    idf = np.log(1 + (len(texts) - held + 0.5) / (held + 0.5))
    damped = k1 * (1 - b + b * lengths / lengths.mean())
    counts.data *= np.repeat(idf, held) / (counts.data + damped[counts.indices])
    return (row.toarray().ravel() for row in asked @ counts.T)


def tfidf(texts: Texts, questions: Texts) -> Iterable[Floats]:
    """Yield for each question the TF-IDF cosine of every text, shape (n_texts,)."""
    from sklearn.feature_extraction.text import TfidfVectorizer  # noqa: PLC0415

    vectors = TfidfVectorizer(analyzer=list, sublinear_tf=True)
    rows = vectors.fit_transform(texts)
    return (row.toarray().ravel() for row in vectors.transform(questions) @ rows.T)


@dataclass(frozen=True, slots=True)
class Neighbours:
    """The cases whose words are most like those asked vote with their likeness."""

    name: str
    likeness: Callable[[Texts, Texts], Iterable[Floats]]
    neighbours: int = 10

    def rank(self, known: Sequence[Job], asked: Sequence[Complaint]) -> list[Chances]:
        """Return each cause's share of the nearest cases' likeness."""
        texts, causes = [words(each) for each in _told(known, asked)], _causes(known)
        if not any(texts):
            return [{} for _ in asked]
        likeness = self.likeness(texts, [words(each) for each in asked])
        return [_vote(row, causes, self.neighbours) for row in likeness]


@dataclass(frozen=True, slots=True)
class LogisticRegression:
    """A linear classifier on words, word pairs, characters and every recorded field.

    With `calibrated` its scores are divided by one temperature, fitted by cross-validation in
    which equal texts stay together. A sigmoid a class, the other usual way, needs several jobs of
    every cause, which a workshop does not have.

    References
    ----------
    Guo, Pleiss, Sun & Weinberger (2017). On calibration of modern neural networks. ICML, 1321-1330.
    """

    name: str = "logistic regression"
    calibrated: bool = False
    strength: float = 5.0
    """Inverse of the penalty."""
    folds: int = 3
    newest: int | None = None
    """So many cases are learnt from at most, the newest; None for all."""

    def rank(
        self,
        known: Sequence[Job],
        asked: Sequence[Complaint],
        days: Sequence[date] | None = None,
    ) -> list[Chances]:
        """Return the class chances; where days are told, the day of a case is a fact as well."""
        known = known[-self.newest :] if self.newest else known
        causes = np.array(_causes(known), dtype=np.uint64)
        if len(np.unique(causes)) < 2:
            return MostCommon().rank(known, asked)
        fit = _fit(self.strength, tuple(known), tuple(asked), days and tuple(days))
        heat = self._temperature(fit.rows, causes, fit.texts) if self.calibrated else 1.0
        chances = np.exp(_normalised(fit.scores / heat))
        named = fit.classes.tolist()
        return [_shares(zip(named, row.tolist(), strict=True)) for row in chances]

    def _temperature(self, rows: Any, causes: Keys, texts: Sequence[str]) -> float:
        """Return the temperature at which held-out cases have the least log loss."""
        from scipy.optimize import minimize_scalar  # noqa: PLC0415
        from sklearn.model_selection import GroupKFold  # noqa: PLC0415

        folds = min(self.folds, len(set(texts)))
        splits = GroupKFold(folds).split(texts, groups=texts) if folds > 1 else ()
        held: list[tuple[Floats, NDArray[np.intp]]] = []
        for kept, left in splits:
            told = left[np.isin(causes[left], causes[kept])]
            if len(told) and len(np.unique(causes[kept])) > 1:
                classes, scores = _scores(self.strength, rows[kept], causes[kept], rows[told])
                held.append((scores, np.searchsorted(classes, causes[told])))

        def loss(log_heat: float) -> float:
            cooled = ((_normalised(scores / np.exp(log_heat)), true) for scores, true in held)
            return -sum(float(each[np.arange(len(true)), true].sum()) for each, true in cooled)

        if not held:
            return 1.0
        return float(np.exp(minimize_scalar(loss, bounds=(-3, 3), method="bounded").x))


class _Fit(NamedTuple):
    """The cases as rows with their texts, and what a classifier fitted on them says.

    `classes` are the causes, shape (k,); `scores` the log-chance of each for each question,
    shape (n_questions, k).
    """

    rows: Any
    texts: tuple[str, ...]
    classes: Keys
    scores: Floats


@lru_cache(maxsize=1)
def _fit(
    strength: float,
    known: tuple[Job, ...],
    asked: tuple[Complaint, ...],
    days: tuple[date, ...] | None,
) -> _Fit:
    """Fit on known cases; kept until the next, as the calibrated way asks the same as the plain."""
    told = _told(known, asked)
    opened = [job.opened for job in known] if days else None
    rows, questions = _turned(*_features((told, opened), (asked, days)))
    causes = np.array(_causes(known), dtype=np.uint64)
    classes, scores = _scores(strength, rows, causes, questions)
    return _Fit(rows, tuple(map(typed, told)), classes, scores)


def _scores(strength: float, rows: Any, causes: Keys, questions: Any) -> tuple[Keys, Floats]:
    """Fit on rows and return the classes, and the log-chance of each for each question."""
    from sklearn.linear_model import LogisticRegression as Linear  # noqa: PLC0415

    model = Linear(C=strength)
    with _one_thread(), warnings.catch_warnings():
        # That most causes have one job only is how workshops are, and no news.
        warnings.simplefilter("ignore")
        model.fit(rows, causes)
    return model.classes_, np.maximum(model.predict_log_proba(questions), -100.0)


BASELINES: tuple[Baseline, ...] = (
    MostCommon(),
    Neighbours("BM25 neighbours", bm25),
    Neighbours("TF-IDF neighbours", tfidf),
    LogisticRegression(newest=MANY),
    LogisticRegression(name="calibrated regression", calibrated=True, newest=MANY),
)


def typed(complaint: Complaint) -> str:
    """Return everything said of a complaint as one text in small letters: words, codes, tests."""
    tests = (f"{test.name} {test.seen}" for test in complaint.tests)
    return "\n".join((spoken(complaint), *map(str, complaint.codes), *tests)).lower()


def words(complaint: Complaint) -> list[str]:
    """Return the words of `typed`: letters and digits that stand together."""
    return re.findall(r"\w+", typed(complaint))


def facts(complaint: Complaint, day: date | None = None) -> dict[str, float]:
    """Return what a complaint carries beside its words, each as a feature that is there or not.

    A measured value is told to the nearest power of two, a day by its year and month, and by the
    month of its car.
    """
    vehicle = complaint.vehicle
    named = {
        "make": vehicle.make,
        "model": vehicle.model,
        "engine": vehicle.engine,
        "year": vehicle.year,
        "car": vehicle.key,
        "system": complaint.system,
    }
    told = [f"{name} {value}" for name, value in named.items() if value is not None]
    told += [f"code {code}" for code in complaint.codes]
    told += [f"code {code.code}" for code in complaint.codes]
    told += [f"family {code.family}" for code in complaint.codes]
    told += [f"reading {taken.item} {_size(taken)}" for taken in complaint.readings]
    told += [f"test {test.name} {test.seen}" for test in complaint.tests]
    if day is not None:
        told += [f"in {day:%Y}", f"in {day:%Y-%m}"]
        told += [f"car {vehicle.key} in {day:%Y-%m}"] if vehicle.key else []
    return dict.fromkeys((fact.lower() for fact in told), 1.0)


Dated = tuple[Sequence[Complaint], Sequence[date] | None]
"""Complaints, and the days they came in on, if those are to be told."""


def _features(known: Dated, asked: Dated) -> tuple[Any, Any]:
    """Lay complaints out as sparse rows: words and pairs, characters, facts."""
    from scipy.sparse import hstack  # noqa: PLC0415
    from sklearn.feature_extraction import DictVectorizer  # noqa: PLC0415
    from sklearn.feature_extraction.text import TfidfVectorizer  # noqa: PLC0415

    texts, questions = ([spoken(each).lower() for each in some] for some, _ in (known, asked))
    told, asking = (_dated_facts(*some) for some in (known, asked))
    facts_reader = DictVectorizer()
    blocks = [(facts_reader.fit_transform(told), facts_reader.transform(asking))]
    if any(re.search(r"\w", text) for text in texts):
        least = 1 if len(texts) <= MANY else 2
        pairs = TfidfVectorizer(
            token_pattern=r"\w+",  # noqa: S106  no password
            ngram_range=(1, 2),
            sublinear_tf=True,
            min_df=least,
        )
        characters = TfidfVectorizer(
            analyzer="char_wb", ngram_range=(3, 5), sublinear_tf=True, min_df=least
        )
        blocks += [
            (each.fit_transform(texts), each.transform(questions)) for each in (pairs, characters)
        ]
    rows, wanted = (hstack(side, "csr") for side in zip(*blocks, strict=True))
    return rows, wanted


def _dated_facts(some: Sequence[Complaint], days: Sequence[date] | None) -> list[dict[str, float]]:
    """Return the facts of each, with one that all have, so that none is without any."""
    when: Sequence[date | None] = days or [None] * len(some)
    return [{**facts(each, day), "any": 1.0} for each, day in zip(some, when, strict=True)]


def _turned(rows: Any, questions: Any) -> tuple[Any, Any]:
    """Turn the axes so that few rows need no more columns than there are rows.

    A penalty on squared weights does not see how the axes lie, so the fit is the same one, found
    in a fraction of the time. More rows than `MANY` are left as they are.
    """
    if rows.shape[0] > min(MANY, rows.shape[1]):
        return rows, questions
    with _one_thread():
        squares, axes = np.linalg.eigh((rows @ rows.T).toarray())
    kept = squares > 1e-10 * squares[-1]
    axes, lengths = axes[:, kept], np.sqrt(squares[kept])
    # Single precision moves chances by a ten-thousandth, and takes little more than half the time.
    turned = (axes * lengths).astype(np.float32)
    return turned, ((questions @ rows.T) @ axes / lengths).astype(np.float32)


def _one_thread() -> AbstractContextManager[object]:
    """Keep linear algebra to one thread.

    On a busy machine the many small steps of a fit take twenty times as long with two.
    """
    from threadpoolctl import threadpool_limits  # noqa: PLC0415

    limits: AbstractContextManager[object] = threadpool_limits(limits=1)
    return limits


def _normalised(scores: Floats) -> Floats:
    """Return log-chances, shape (n, k), that are as far apart as the scores."""
    from scipy.special import log_softmax  # noqa: PLC0415

    return np.asarray(log_softmax(scores, axis=1))


def _told(known: Sequence[Job], asked: Sequence[Complaint]) -> list[Complaint]:
    """Return what the known cases tell; what tests showed only if it is told of any asked."""
    tested = any(complaint.tests for complaint in asked)
    return [Complaint.so_far(job) if tested else Complaint.of(job) for job in known]


def _causes(known: Sequence[Job]) -> list[int]:
    return [key(cause_key(job)) for job in known]


def _vote(scores: Floats, causes: Sequence[int], neighbours: int) -> Chances:
    """Let the best rows vote for their cause; of equal scores the newer case counts as better."""
    order = np.lexsort((-np.arange(len(scores)), -scores))[:neighbours]
    return _shares((causes[row], float(scores[row])) for row in order if scores[row] > 0)


def _shares(votes: Iterable[tuple[int, float]]) -> Chances:
    """Add votes up and divide by their sum; of equal sums the cause voted for first comes first."""
    sums: dict[int, float] = defaultdict(float)
    for cause, vote in votes:
        sums[cause] += vote
    total = sum(sums.values())
    ranked = sorted(sums, key=lambda cause: -sums[cause])
    return {cause: sums[cause] / total for cause in ranked if sums[cause] > 0}


def _size(taken: Reading) -> str:
    if not taken.value:
        return taken.relation.value if taken.value is None else "0"
    sign = "-" if taken.value < 0 else ""
    return f"{sign}2^{round(log2(abs(taken.value)))}"
