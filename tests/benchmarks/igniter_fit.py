"""Fit ``kb/safety/igniter_likeness.npy`` to the sentences kept under ``tests/``.

Run by hand: ``python tests/benchmarks/igniter_fit.py [--write]``. It prints, for each voice, how
the lists alone judge its sentences and how they do together with a likeness that was fitted to all
others; with ``--write`` it writes the table anew instead, which has to be done whenever a kept
sentence has changed. The voices are sentences by which no list was mended. What the grammar of the
tests says may be done is fitted to, too. Each sentence is learnt once more beside a part of a
harmless one, so that what stands beside a danger does not talk it round.
"""

import json
import random
import re
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from unittest.mock import patch
from zlib import crc32

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix, hstack
from sklearn.feature_extraction.text import TfidfVectorizer
from sklearn.linear_model import LogisticRegression

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.case import FailureMode
from kb.safety import igniter_likeness
from kb.safety.igniter import Shown, judged
from kb.safety.igniter_concern import concerns_igniter
from kb.safety.igniter_likeness import (
    ROW,
    SCALES_FILE,
    STEP,
    TABLE_FILE,
    Columns,
    Scales,
    parts_of,
    parts_of_words,
    runs_of_words,
)
from kb.troubleshooting.general_tests import general_tests
from tests.safety.test_igniter import NOUNS
from tests.safety.test_igniter_grammar import ALLOWED, BESIDE, NAMES
from tests.safety.test_igniter_lines import LINES
from tests.safety.test_igniter_sources import DEEDS, OWN, PARTS
from tests.safety.test_igniter_supply import DEEDS as OFF
from tests.safety.test_igniter_supply import ENOUGH

HERE = Path(__file__).parent
VOICES = HERE / "igniter" / "voices"
GRAMMAR = "grammar"
ASKED = "igniter_asked"
ASKED_WEIGHT = 10.0
"""What a sentence counts that the tests of the rule ask."""
CORPUS, CORPUS_WEIGHT = "safety/igniter_sentences", 3.0
"""What a sentence counts of the first corpora."""
NAMES_OF_PARTS = (
    *("belt tensioner", "LF belt tensioner", "RF pretensioner", "driver airbag", "side bag"),
    *("passenger airbag", "curtain airbag", "knee bag", "buckle tensioner", "clock spring"),
    *("airbag control unit", "seat harness", "crash sensor", "belt buckle", "occupancy mat"),
    "seat connector",
)
PLACES = ("", "under seat", "steering column", "front of engine")
FORMS = ("{0}: {1}", "{0}, {1}", "{0} {1}", "replaced {0}, {0}: {1}")
FILLED = 6
"""So many times the gaps of a line of ``igniter_lines.toml`` are filled."""
RARE = 4
"""A piece of fewer sentences, each learnt twice, says nothing."""
STRENGTH = 20.0
"""Of the fit, against its penalty: 5 was worse on voices left out."""
BESIDE_WEIGHT = 0.5
"""What a sentence counts that is learnt once more beside a part of a harmless one."""
LONGEST_BESIDE = 12
HIDDEN_FROM, HIDDEN_THOUGH_ALLOWED, SHOWN_BELOW = 0.0, 2.0, -1.5
"""Chosen by voices left out: what `main` prints."""
SEED = 1
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Sentence:
    """A kept one."""

    file: str
    text: str
    dangerous: bool
    igniter_job: bool


@dataclass(frozen=True)
class Fitted:
    """A fit, with the vectorizers that cut sentences into pieces."""

    vectorizers: tuple[TfidfVectorizer, TfidfVectorizer]
    model: LogisticRegression

    def scores(self, texts: Sequence[str]) -> Floats:
        """Return the logarithm of the odds of each to be dangerous."""
        matrix = hstack([each.transform(texts) for each in self.vectorizers])
        return np.asarray(self.model.decision_function(csr_matrix(matrix)))


@cache
def kept() -> tuple[Sentence, ...]:
    """Read every kept sentence that concerns an igniter, or stands on such a job."""
    files = [
        *sorted((HERE.parent / "safety").glob("igniter_sentences*.jsonl")),
        HERE.parent / "safety" / "igniter_asked.jsonl",
        *sorted((HERE / "igniter").glob("*.jsonl")),
        *sorted(VOICES.glob("*.jsonl")),
    ]
    lines = (
        (f"{file.parent.name}/{file.stem}", json.loads(line))
        for file in files
        for line in file.read_text(encoding="utf-8").splitlines()
    )
    told = (
        Sentence(name, line["text"], line["dangerous"], on_job)
        for name, line in lines
        for on_job in [line.get("igniter_job", line.get("system", "restraints") == "restraints")]
    )
    of_igniter = (each for each in told if each.igniter_job or concerns_igniter([each.text]))
    allowed_ones = (Sentence(GRAMMAR, text, False, True) for text in (*allowed(), *causes()))
    return (*of_igniter, *allowed_ones, *filled())


def filled() -> Iterator[Sentence]:
    """Yield the lines of each allowed way, and of its dangerous like, with their gaps filled."""
    rng = random.Random(SEED)
    for of in ("harmless", "dangerous"):
        for kind in LINES[of].values():
            for line in kind["lines"] * FILLED:
                text = re.sub(r"\{(\w+)\}", lambda gap: rng.choice(LINES["words"][gap[1]]), line)
                yield Sentence(GRAMMAR, text, of == "dangerous", True)


def allowed() -> list[str]:
    """Return what the tests' grammar and the trade's table say may be done, and what is shown."""
    told = [text.format(it=it) for text in ALLOWED for it in NAMES]
    lines = (HERE.parent / "safety" / "igniter_shown.txt").read_text(encoding="utf-8")
    new = [f"{deed.format(part)} {own}" for deed in DEEDS for part in PARTS for own in OWN]
    shown = (line.format(it=it) for line in lines.splitlines() for it in NOUNS)
    waited = [f"{enough}, {deed}" for enough in ENOUGH for deed in OFF]
    return [*told, *BESIDE, *new, *waited, *dict.fromkeys(shown), *own_tests()]


def causes() -> list[str]:
    """Return causes as they are named: a part, a place, a way to fail."""
    modes = [mode.value for mode in FailureMode]
    named = [f"{name}, {place}" if place else name for name in NAMES_OF_PARTS for place in PLACES]
    return [form.format(name, mode) for form in FORMS for name in named for mode in modes]


def own_tests() -> list[str]:
    """Return what the trade's tests that are fit for an igniter say themselves."""
    return [
        text
        for each in general_tests().test
        if each.igniter
        for text in (each.name, each.how, *each.cautions, *(end.seen for end in each.outcome))
        if text
    ]


def checksum() -> str:
    """Return the checksum of all that is fitted to."""
    told = "\n".join(f"{each.text}\t{each.dangerous}" for each in kept())
    return sha256(told.encode()).hexdigest()


def fitted(sentences: Sequence[Sentence]) -> Fitted:
    """Fit the likeness: logistic regression on TF-IDF of both kinds of pieces."""
    texts, dangerous = [each.text for each in sentences], [each.dangerous for each in sentences]
    texts += beside_harmless(sentences)
    once = np.array([_weight(each.file) for each in sentences])
    counts = np.concatenate([once, BESIDE_WEIGHT * once])
    words, parts = (
        TfidfVectorizer(analyzer=pieces, min_df=RARE, binary=True)
        for pieces in (runs_of_words, parts_of_words)
    )
    matrix = csr_matrix(hstack([words.fit_transform(texts), parts.fit_transform(texts)]))
    model = LogisticRegression(C=STRENGTH, solver="liblinear", random_state=SEED)
    return Fitted((words, parts), model.fit(matrix, dangerous * 2, counts))


def _weight(file: str) -> float:
    if file == GRAMMAR or file.endswith(ASKED):
        return ASKED_WEIGHT
    return CORPUS_WEIGHT if file.startswith(CORPUS) else 1.0


def beside_harmless(sentences: Sequence[Sentence]) -> list[str]:
    """Return each sentence behind or before the first part of a harmless one."""
    rng = np.random.default_rng(SEED)
    parts = [part for each in sentences if not each.dangerous for part in parts_of(each.text)[:1]]
    short = [part.strip() for part in parts if len(part.split()) <= LONGEST_BESIDE]
    chosen = rng.integers(len(short), size=len(sentences))
    first = rng.random(len(sentences)) < 0.5
    return [
        f"{short[at]}, {each.text}" if before else f"{each.text}, {short[at]}"
        for each, at, before in zip(sentences, chosen, first, strict=True)
    ]


def table(model: Fitted) -> NDArray[np.void]:
    """Return the table that is written, in the order of its marks; of two alike the first stays."""
    pieces = [name for each in model.vectorizers for name in each.get_feature_names_out()]
    rows = np.zeros(len(pieces), ROW)
    rows["mark"] = [crc32(each.encode()) for each in pieces]
    rows["rarity"] = np.round(np.concatenate([each.idf_ for each in model.vectorizers]) * STEP)
    rows["weight"] = np.round(model.model.coef_[0] * STEP)
    _, first = np.unique(rows["mark"], return_index=True)
    return np.asarray(rows[first])


def scales(model: Fitted, sentences: str) -> Scales:
    """Return what holds for all pieces of a fit."""
    return Scales(
        bias=round(float(model.model.intercept_[0]) * STEP),
        hidden_from=round(HIDDEN_FROM * STEP),
        hidden_though_allowed=round(HIDDEN_THOUGH_ALLOWED * STEP),
        shown_below=round(SHOWN_BELOW * STEP),
        pieces=len(table(model)),
        sentences=sentences,
    )


def main() -> None:
    """Print the figures of every voice left out; with ``--write`` write the table."""
    if "--write" in sys.argv:
        _write(fitted(kept()))
        return
    print(f"{'left out':<14}{'dangerous shown':<24}{'harmless hidden':<24}")
    for file in sorted(VOICES.glob("*.jsonl")):
        _print_left_out(f"{VOICES.name}/{file.stem}")


def _print_left_out(file: str) -> None:
    model = fitted([each for each in kept() if each.file != file])
    counts = Counter[str]()
    igniter_likeness.likeness.cache_clear()
    with (
        patch.object(igniter_likeness, "rows", return_value=Columns.of(table(model))),
        patch.object(igniter_likeness, "scales", return_value=scales(model, "")),
    ):
        for each in kept():
            if each.file == file:
                kind = "dangerous" if each.dangerous else "harmless"
                counts[kind] += 1
                for way, alike in (("lists", False), ("both", True)):
                    verdict = judged(each.text, igniter_job=each.igniter_job, alike=alike)
                    counts[f"{kind}, {way}"] += isinstance(verdict, Shown) is each.dangerous
    figures = (
        f"{counts[f'{kind}, lists']} -> {counts[f'{kind}, both']} of {counts[kind]}"
        for kind in ("dangerous", "harmless")
    )
    print(f"{file:<14}{''.join(f'{each:<24}' for each in figures)}", flush=True)


def _write(model: Fitted) -> None:
    np.save(TABLE_FILE, table(model))
    lines = [
        f"{name} = {json.dumps(told)}" for name, told in scales(model, checksum())._asdict().items()
    ]
    SCALES_FILE.write_text("\n".join([HEADER, *lines, ""]), "utf-8")


HEADER = """\
# What holds for all pieces of igniter_likeness.npy, in thousandths, see igniter_likeness.py.
# Fitted by tests/benchmarks/igniter_fit.py; all of it is common practice, no source.
"""


if __name__ == "__main__":
    main()
