"""What the demonstration shop is told of everyday complaints, most of which it never had.

Run by hand: ``python tests/benchmarks/everyday.py``; ``--second``, ``--third`` and ``--fourth`` ask
the later sets, ``--amiss`` prints what is amiss. The complaints in ``everyday/`` are those of a
general workshop, written before the program was asked, each with the words that a fitting cause
must have: one entry of ``fits`` whose every word begins some word of the cause. An answer is good
if its first cause fits, or 'not seen before' has at least a half. The table of subjects was written
after the first set and before the second, by the same hand; the second was asked
once. The third was written to try noises, vibration, smells and what goes wrong over bumps, and the
table mended by it since. The fourth, of all kinds, came last: 52 of its 60 were good when first
asked, and the table was mended by it, too.

``--systems`` asks the cases of every system of a store without that system, by their words, car and
conditions and by all that was found, and the cases of a fifth of a store that lacks those alone;
of both it tells how far the mean of 'not seen before' is from the share of causes that were new.
"""

import json
import re
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.case import Cause, Complaint
from kb.diagnosis.diagnose import Knowledge, diagnose
from kb.evaluation.figures import Answer, Truth
from kb.evaluation.stages import AskedAs, stages
from kb.intake.shoptalk import understand
from kb.services.demo import demo_address
from kb.services.knowledge import shop_knowledge
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.benchmarks import datasets
from tests.benchmarks.asking import DEFAULTS, WORDING, Fold, Table, progress, target

HALF = 0.5
MOST_SHOWN = 3
"""Causes that the first screen shows."""


def fits(cause: Cause, wanted: Sequence[str]) -> bool:
    """Whether the words of a cause are among those wanted."""
    words = re.findall(r"[\w/-]+", cause.label.lower())
    return any(
        all(any(word.startswith(each) for word in words) for each in entry.split())
        for entry in wanted
    )


def ask(text: str, known: Knowledge, work: UnitOfWork) -> tuple[list[tuple[Cause, float]], float]:
    """Return the causes shown of a complaint, and the chance of none seen before."""
    ranking = diagnose(understand(text, wording=known.wording).complaint, known).ranking
    shown = ranking.causes[:MOST_SHOWN]
    jobs = work.jobs.get_many(each.example for each in shown)
    causes = {job.number: job.cause for job in jobs if job.cause}
    return [(causes[each.example], each.chance) for each in shown], ranking.not_seen_before


STAGES: dict[str, AskedAs] = {
    "at the counter": stages(WORDING)["at the counter"],
    "all as found": Complaint.of,
}


def systems_left_out() -> None:
    """Ask for causes of a system that is not there, and for those of a shop that has them all."""
    jobs = datasets.demonstration_shop()
    strange: dict[str, list[tuple[float, bool]]] = {stage: [] for stage in STAGES}
    usual: dict[str, list[tuple[float, bool]]] = {stage: [] for stage in STAGES}
    for system in dict.fromkeys(job.system for job in jobs):
        known = [job for job in jobs if job.system is not system]
        fold = Fold((known, [job for job in jobs if job.system is system]))
        for stage, asked_as in STAGES.items():
            strange[stage] += said_and_new(fold.answers(DEFAULTS, asked_as=asked_as), fold.truths)
        progress(f"without {system}")
    table = Table()
    for split in datasets.by_text(jobs):
        fold = Fold(split)
        for stage, asked_as in STAGES.items():
            answers = fold.answers(DEFAULTS, asked_as=asked_as)
            table.add(stage, answers, fold.truths)
            usual[stage] += said_and_new(answers, fold.truths)
    found = table.show("A fifth of the cases asked of the others")
    for stage, told in found.items():
        unseen, said = told.not_seen_before, [each for each, new in strange[stage] if new]
        silent = sum(each >= HALF for each in said) / len(said)
        print(f"{stage}: not seen before {unseen.when_known:.3f} known, {unseen.when_new:.3f} new")
        target("not seen before off the share of new causes", off(usual[stage]), most=0.05)
        target(f"of {len(said)} questions for a system left out a half", silent, least=0.85)
        print(f"  not seen before off that share with systems left out: {off(strange[stage]):.3f}")


def said_and_new(answers: Sequence[Answer], truths: Sequence[Truth]) -> list[tuple[float, bool]]:
    """Return of every question the chance of a cause not seen before, and whether it was so."""
    pairs = zip(answers, truths, strict=True)
    return [(answer.not_seen_before, truth.new) for answer, truth in pairs]


def off(told: Sequence[tuple[float, bool]]) -> float:
    """Return how far the mean chance said is from the share that came true."""
    return abs(sum(said - came_true for said, came_true in told)) / len(told)


def main() -> None:
    """Ask every complaint and count."""
    if "--systems" in sys.argv:
        systems_left_out()
        return
    later = ("second", "third", "fourth")
    name = next((each for each in later if f"--{each}" in sys.argv), "first")
    file = Path(__file__).with_name("everyday") / f"{name}.jsonl"
    rows = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    counts: Counter[str] = Counter()
    address = demo_address()
    with UnitOfWork(open_store(address), read_only=True) as work:
        known = shop_knowledge(work, address, Settings())
        for row in rows:
            shown, unseen = ask(row["text"], known, work)
            fit = [fits(cause, row["fits"]) for cause, _ in shown]
            first, silent = bool(fit) and fit[0], unseen >= HALF
            counts["first fits"] += first
            counts["one of three fits"] += any(fit)
            counts["not seen before of a half"] += silent
            counts["not seen before of a half though the first fits"] += silent and first
            counts["good"] += first or silent
            if "--all" in sys.argv or ("--amiss" in sys.argv and not (first or silent)):
                told = "; ".join(f"{chance:.0%} {cause.label}" for cause, chance in shown)
                print(f"  {unseen:.0%} {row['text']}: {told}")
    for what, count in counts.items():
        print(f"{what}: {count} of {len(rows)}")
    target("first fits, or not seen before of a half", counts["good"] / len(rows), least=0.95)


if __name__ == "__main__":
    main()
