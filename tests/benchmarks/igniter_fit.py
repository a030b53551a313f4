"""Fit ``kb/safety/igniter_likeness.toml`` to the sentences kept under ``tests/``.

Run by hand: ``python tests/benchmarks/igniter_fit.py [--write]``. It prints, for each file, how the
lists alone judge it and how they do together with a likeness that was fitted to all other files,
from a threshold on that was chosen among those; with ``--write`` it writes the table anew instead,
which has to be done whenever a sentence, or a role of a word, has changed. What the grammar of the
tests says may be done is fitted to, too.
"""

import json
import sys
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from sklearn.linear_model import Ridge

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.intake.items import trade_wording
from kb.safety import igniter_likeness
from kb.safety.igniter import Shown, concerns_igniter, judged
from kb.safety.igniter_clauses import clauses_of
from kb.safety.igniter_likeness import LIKENESS_FILE, STEP, LikenessTable, rarity, traits_of
from kb.troubleshooting.general_tests import general_tests
from tests.safety.test_igniter import NOUNS
from tests.safety.test_igniter_grammar import ALLOWED, BESIDE, NAMES
from tests.safety.test_igniter_sources import DEEDS, OWN, PARTS

HERE = Path(__file__).parent
GRAMMAR = "grammar"
RARE = 3
"""A trait of fewer sentences says nothing."""
PENALTY = 0.5
MOST_MORE = 0.02
"""So many harmless ones more may be hidden, of files that were not fitted to."""
FOLDS = 5
"""The other files are left out in so many parts to choose the threshold."""
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Sentence:
    """A kept one, with its traits."""

    file: str
    text: str
    dangerous: bool
    igniter_job: bool
    traits: frozenset[str]


@dataclass(frozen=True)
class Fitted:
    """Traits with the count of sentences and the weight of each."""

    counts: Mapping[str, int]
    weights: Mapping[str, float]
    bias: float
    sentences: int

    def score(self, traits: Collection[str]) -> float:
        """Weigh a sentence."""
        told = [each for each in traits if each in self.counts]
        rare = {each: rarity(self.counts[each], self.sentences) for each in told}
        length = sum(by * by for by in rare.values()) ** 0.5 or 1.0
        return self.bias + sum(self.weights[each] * by for each, by in rare.items()) / length


@cache
def kept() -> tuple[Sentence, ...]:
    """Read every kept sentence that concerns an igniter, or stands on such a job."""
    files = [
        *sorted((HERE.parent / "safety").glob("igniter_sentences*.jsonl")),
        *sorted((HERE / "igniter").glob("*.jsonl")),
    ]
    lines = (
        (file.stem, json.loads(line))
        for file in files
        for line in file.read_text(encoding="utf-8").splitlines()
    )
    told = tuple(
        _sentence(name, line["text"], line["dangerous"], on_job)
        for name, line in lines
        for on_job in [_on_job(line)]
        if on_job or concerns_igniter([line["text"]])
    )
    return told + tuple(_sentence(GRAMMAR, text, False, True) for text in allowed())


def _sentence(file: str, text: str, dangerous: bool, igniter_job: bool) -> Sentence:
    traits = traits_of(clauses_of(text, trade_wording()))
    return Sentence(file, text, dangerous, igniter_job, traits)


def allowed() -> list[str]:
    """Return what the tests' grammar and the trade's table say may be done, and what is shown."""
    told = [text.format(it=it) for text in ALLOWED for it in NAMES]
    lines = (HERE.parent / "safety" / "igniter_shown.txt").read_text(encoding="utf-8")
    new = [f"{deed.format(part)} {own}" for deed in DEEDS for part in PARTS for own in OWN]
    shown = (line.format(it=it) for line in lines.splitlines() for it in NOUNS)
    return [*told, *BESIDE, *new, *dict.fromkeys(shown), *own_tests()]


def own_tests() -> list[str]:
    """Return what the trade's tests that are fit for an igniter say themselves."""
    return [
        text
        for each in general_tests().test
        if each.igniter
        for text in (each.name, each.how, *each.cautions, *(end.seen for end in each.outcome))
        if text
    ]


def _on_job(line: Mapping[str, Any]) -> bool:
    return bool(line.get("igniter_job", line.get("system", "restraints") == "restraints"))


def fitted(sentences: Sequence[Sentence]) -> Fitted:
    """Fit a linear likeness: least squares with a penalty on the weights."""
    stands = Counter(trait for each in sentences for trait in each.traits)
    known = sorted(trait for trait, count in stands.items() if count >= RARE)
    place = {trait: at for at, trait in enumerate(known)}
    rare = np.array([rarity(stands[trait], len(sentences)) for trait in known])
    rows = [sorted(place[trait] for trait in each.traits & place.keys()) for each in sentences]
    worth = [rare[row] / np.linalg.norm(rare[row]) for row in rows]
    ends = np.cumsum([0, *map(len, rows)])
    matrix = csr_matrix(
        (np.concatenate(worth), np.concatenate(rows), ends), (len(rows), len(known))
    )
    told = np.where([each.dangerous for each in sentences], 1.0, -1.0)
    model = Ridge(alpha=PENALTY, solver="sparse_cg", tol=1e-9).fit(matrix, told)
    weights = dict(zip(known, map(float, model.coef_), strict=True))
    counts = {trait: stands[trait] for trait in known}
    return Fitted(counts, weights, float(model.intercept_), len(sentences))


def shown_by_lists(sentences: Iterable[Sentence]) -> list[bool]:
    """Tell which sentences the lists alone would show."""
    return [
        isinstance(judged(each.text, igniter_job=each.igniter_job, alike=False), Shown)
        for each in sentences
    ]


def threshold(scores: Floats, sentences: Sequence[Sentence], shown: Sequence[bool]) -> float:
    """Return the least score from which on few harmless ones more are hidden."""
    harmless = [not each.dangerous for each in sentences]
    told = sorted(
        (by for by, left, fine in zip(scores, shown, harmless, strict=True) if left and fine),
        reverse=True,
    )
    return float(told[int(MOST_MORE * sum(harmless))])


def left_out(sentences: Sequence[Sentence]) -> Floats:
    """Score every sentence by what is fitted to the files of the other parts."""
    files = sorted({each.file for each in sentences} - {GRAMMAR})
    part = {file: at % FOLDS for at, file in enumerate(files)} | {GRAMMAR: -1}
    scores = np.zeros(len(sentences))
    for left in range(min(FOLDS, len(files))):
        model = fitted([each for each in sentences if part[each.file] != left])
        for at, each in enumerate(sentences):
            if part[each.file] == left:
                scores[at] = model.score(each.traits)
    return scores


def table(model: Fitted, enough: float) -> dict[str, Any]:
    """Return the table that is written."""
    return {
        "bias": round(model.bias * STEP),
        "enough": round(enough * STEP),
        "sentences": model.sentences,
        "traits": {
            trait: [count, round(model.weights[trait] * STEP)]
            for trait, count in model.counts.items()
        },
    }


def choice(sentences: Sequence[Sentence], shown: Sequence[bool]) -> float:
    """Choose the threshold among sentences that were each left out of a fit."""
    return threshold(left_out(sentences), sentences, shown)


def main() -> None:
    """Print the figures of every file left out; with ``--write`` write the table."""
    sentences = kept()
    shown = shown_by_lists(sentences)
    if "--write" in sys.argv:
        _write(table(fitted(sentences), choice(sentences, shown)))
        return
    print(f"{'left out':<28}{'dangerous shown':<24}{'harmless hidden':<24}from")
    for file in sorted({each.file for each in sentences} - {GRAMMAR}):
        _print_left_out(file, sentences, shown)


def _print_left_out(file: str, sentences: Sequence[Sentence], shown: Sequence[bool]) -> None:
    others = [at for at, each in enumerate(sentences) if each.file != file]
    rest, rest_shown = [sentences[at] for at in others], [shown[at] for at in others]
    read = table(fitted(rest), choice(rest, rest_shown))
    counts = Counter[str]()
    with patch.object(igniter_likeness, "weights", return_value=LikenessTable(**read)):
        for each, by_lists in zip(sentences, shown, strict=True):
            if each.file == file:
                both = isinstance(judged(each.text, igniter_job=each.igniter_job), Shown)
                kind = "dangerous" if each.dangerous else "harmless"
                counts[kind] += 1
                counts[f"{kind}, lists"] += by_lists is each.dangerous
                counts[f"{kind}, both"] += both is each.dangerous
    told = (
        f"{counts[f'{kind}, lists']} -> {counts[f'{kind}, both']} of {counts[kind]}"
        for kind in ("dangerous", "harmless")
    )
    print(
        f"{file:<28}{''.join(f'{each:<24}' for each in told)}{read['enough'] / STEP:.2f}",
        flush=True,
    )


def _write(read: Mapping[str, Any]) -> None:
    lines = [f'"{trait}" = {told}' for trait, told in read["traits"].items()]
    heads = [f"{name} = {read[name]}" for name in ("bias", "enough", "sentences")]
    LIKENESS_FILE.write_text("\n".join([HEADER, *heads, "", "[traits]", *lines, ""]), "utf-8")


HEADER = """\
# What speaks for a sentence like those that people judged dangerous at an igniter, in thousandths,
# and what against: words (small letters) and roles of words (capitals), alone and in their order;
# ^ begins a sentence, $ ends it, | stands between clauses. Of each, in how many of the kept
# sentences it stands, and its weight.
# Fitted by tests/benchmarks/igniter_fit.py; all of it is common practice, no source.
"""


if __name__ == "__main__":
    main()
