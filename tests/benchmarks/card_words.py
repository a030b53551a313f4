"""How well the words of cards are read after a few texts were confirmed.

Run by hand: ``python tests/benchmarks/card_words.py FILE`` (a few minutes on one core). FILE has a
text a line as JSON: `words` in `tokens`, and `spans` of [first word, one past the last, kind, ...],
one inside another at times; made for the work orders of the corpus MaintIE (repository
nlp-tlp/maintie, MIT licence), no row of which is kept here. Counted are spans whose both ends and
kind are right, inner ones included; beside it what remembering the confirmed spans alone reaches,
the longest that fits taken (as memorised spans are counted elsewhere) and with those inside.
"""

import argparse
import json
import random
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.intake.wording import Wording
from tests.benchmarks.asking import progress, target
from tests.benchmarks.tagging.memory import NOTHING, Memory, facets
from tests.benchmarks.tagging.named import ConfirmedText, NamedRun, candidates
from tests.benchmarks.tagging.tagger import RunTagger, go_together
from tests.benchmarks.tagging.word_space import WordSpace

ASKED = 400
AIMS = {50: 0.68, 100: 0.74, 200: 0.78, 500: 0.82}
Runs = list[set[NamedRun]]


def texts_of(path: Path) -> list[ConfirmedText]:
    """Read the texts of a file."""
    told = map(json.loads, path.read_text(encoding="utf-8").splitlines())
    return [
        ConfirmedText(tuple(each["tokens"]), tuple(NamedRun(*span[:3]) for span in each["spans"]))
        for each in told
    ]


def remembered(known: Sequence[ConfirmedText], asked: Sequence[ConfirmedText]) -> Iterator[Runs]:
    """Yield what spans seen before find: the longest one after the other, then all that fit."""
    memory = Memory.of(known).seen
    longest: Runs = []
    nested: Runs = []
    for text in asked:
        found = set()
        for start, end in candidates(text.words):
            kinds = Counter(memory.get(facets(text.words, start, end)[0], {}))
            nothing = kinds.pop(NOTHING, 0)
            if kinds.total() and kinds.total() >= nothing:
                found.add(NamedRun(start, end, kinds.most_common(1)[0][0]))
        kept: set[NamedRun] = set()
        inner: set[NamedRun] = set()
        for run in sorted(found, key=lambda run: (run.start, -run.end)):
            if all(run.start >= other.end for other in kept):
                kept.add(run)
            if all(go_together(run, other) for other in inner):
                inner.add(run)
        longest.append(kept)
        nested.append(inner)
    yield longest
    yield nested


def f1(found: Runs, asked: Sequence[ConfirmedText]) -> float:
    """Return the harmonic mean of precision and recall over all spans."""
    true = [set(text.runs) for text in asked]
    right = sum(len(one & other) for one, other in zip(found, true, strict=True))
    return 2 * right / (sum(map(len, found)) + sum(map(len, true)))


def main() -> None:
    """Print the figures by the number of texts confirmed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("file", type=Path)
    parser.add_argument("--draws", type=int, default=3)
    parser.add_argument("--first", type=int, default=0, help="seed of the first draw")
    told = parser.parse_args()
    texts = texts_of(told.file)
    space = WordSpace.fit(text.words for text in texts)
    wording = Wording.default()
    print(f"{'confirmed':>10}{'longest seen':>14}{'all seen':>10}{'learnt':>10}")
    for size, aim in AIMS.items():
        figures = []
        for seed in range(told.first, told.first + told.draws):
            progress(f"{size} texts, draw {seed}")
            drawn = random.Random(seed).sample(texts, len(texts))
            asked, known = drawn[:ASKED], drawn[ASKED : ASKED + size]
            tagger = RunTagger.fit(known, space, wording)
            learnt = [
                {run.named for run in runs} for runs in tagger.propose([t.words for t in asked])
            ]
            figures.append([f1(each, asked) for each in (*remembered(known, asked), learnt)])
        longest, nested, learnt_f1 = (sum(each) / len(each) for each in zip(*figures, strict=True))
        print(f"{size:>10}{longest:>14.3f}{nested:>10.3f}{learnt_f1:>10.3f}")
        target(f"{size} texts confirmed", learnt_f1, least=aim)


if __name__ == "__main__":
    main()
