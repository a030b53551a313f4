"""Fit the weights of ``kb/safety/igniter_likeness.py`` to the sentences kept under ``tests/``.

Run by hand after sentences were added: ``python tests/benchmarks/igniter_fit.py [--write]``. It
prints how the likeness alone judges every file of ``igniter/`` when fitted to all the others, and
writes the weights fitted to all of them if told to.
"""

import json
import sys
from pathlib import Path

import numpy as np
from scipy.sparse import csr_matrix
from sklearn.linear_model import LogisticRegression

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.intake.items import trade_wording
from kb.safety.igniter import concerns_igniter
from kb.safety.igniter_clauses import clauses_of
from kb.safety.igniter_likeness import ENOUGH, HEAD, PLACES, WEIGHTS, places_of

HERE = Path(__file__).parent
INVERSE_PENALTY = 10.0
MOST = 127
UNSEEN = "ninth"
"""Kept to measure by: never fitted to."""


def main() -> None:
    """Print the figures of every file left out; with ``--write`` write the weights."""
    own = [each for each in sorted((HERE / "igniter").glob("*.jsonl")) if each.stem != UNSEEN]
    kept = sorted((HERE.parent / "safety").glob("igniter_sentences*.jsonl"))
    read = {file: _read(file) for file in [*kept, *own]}
    for left_out in own:
        fitted = _fit([row for file, rows in read.items() if file != left_out for row in rows])
        chances = fitted.predict_proba(_matrix([places for places, _ in read[left_out]]))[:, 1]
        dangerous = np.array([each for _, each in read[left_out]])
        missed = int(((chances < ENOUGH) & dangerous).sum())
        hidden = int(((chances >= ENOUGH) & ~dangerous).sum())
        print(f"{left_out.stem:<8}{missed} of {dangerous.sum()} dangerous missed; ", end="")
        print(f"{hidden} of {(~dangerous).sum()} harmless taken for such")
    if "--write" in sys.argv:
        _write(_fit([row for rows in read.values() for row in rows]))


def _read(file: Path) -> list[tuple[set[int], bool]]:
    """Read the sentences that the rule judges: places of their traits, and whether dangerous."""
    lines = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    return [
        (places_of(clauses_of(line["text"], trade_wording())), line["dangerous"])
        for line in lines
        if line.get("igniter_job", line.get("system", "restraints") == "restraints")
        or concerns_igniter([line["text"]])
    ]


def _matrix(rows: list[set[int]]) -> csr_matrix:
    ends = np.cumsum([0, *map(len, rows)])
    worth = np.concatenate([np.full(len(row), len(row) ** -0.5) for row in rows])
    return csr_matrix((worth, [at for row in rows for at in row], ends), (len(rows), PLACES))


def _fit(rows: list[tuple[set[int], bool]]) -> LogisticRegression:
    fitted = LogisticRegression(C=INVERSE_PENALTY, solver="liblinear", random_state=0)
    return fitted.fit(_matrix([places for places, _ in rows]), [each for _, each in rows])


def _write(fitted: LogisticRegression) -> None:
    weights = fitted.coef_[0]
    step = float(np.abs(weights).max()) / MOST
    steps = np.rint(weights / step).astype(np.int8)
    WEIGHTS.write_bytes(HEAD.pack(float(fitted.intercept_[0]), step) + steps.tobytes())


if __name__ == "__main__":
    main()
