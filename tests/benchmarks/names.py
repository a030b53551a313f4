"""Whether names of one thing are found again after every component was said in one of four ways.

Run by hand: ``python tests/benchmarks/names.py`` (a few minutes on one core), ``--draws N`` for
more draws. Every mention of a component in the demonstration shop is said as it is, in other words
of the trade, in another order, or in shorthand, at random. The pairs that are proposed are answered
from the truth, until none is proposed that was not answered before.
"""

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.case import Attempt, Job, even
from kb.recall.alike_names import NamePair, proposed_pairs
from kb.recall.hashing import key
from kb.recall.index import cause_key
from kb.store.names import Vocabulary
from tests.benchmarks import datasets
from tests.benchmarks.asking import DEFAULTS, WORDING, Fold, progress, target

OTHER_WORDS = {
    "connector": "plug",
    "harness": "loom",
    "control unit": "module",
    "lambda sensor": "oxygen sensor",
    "air mass meter": "mass air flow meter",
    "DPF": "particulate filter",
    "EGR valve": "exhaust gas recirculation valve",
    "EPS": "electric power steering",
    "earth": "ground",
    "clock spring": "spiral cable",
    "occupancy mat": "seat occupancy sensor",
    "drop link": "anti-roll bar link",
    "shock absorber": "damper",
    "coil spring": "road spring",
    "brake disc": "brake rotor",
    "bulb": "lamp bulb",
    "tyre": "road tyre",
    "ignition coil": "coil pack unit",
    "spark plug": "sparking plug",
    "starter motor": "starter",
    "handbrake": "parking brake lever",
    "headlamp": "headlight",
    "tailgate": "boot lid",
    "bonnet": "hood",
    "battery": "accumulator",
    "alternator": "generator",
    "hose": "flexible line",
    "pipe": "line",
    "driveshaft": "axle shaft",
    "gasket": "seal ring",
    "seal": "oil seal",
    "switch": "contact switch",
    "relay": "switching relay",
    "lock": "latch mechanism",
    "bush": "bushing",
    "bearing": "roller bearing",
    "pump": "pump unit",
    "sensor": "sender",
    "motor": "drive motor",
    "valve": "control valve",
    "filter": "filter element",
    "fan": "blower fan",
    "cable": "lead",
}
"""Word or phrase -> what else the trade says (by judgement, no source), the first that fits."""
SHORT = {
    "connector": "conn",
    "control unit": "ecu",
    "sensor": "sens",
    "harness": "harn",
    "wheel speed": "wss",
    "battery": "batt",
    "alternator": "alt",
    "pressure": "press",
    "temperature": "temp",
    "high voltage": "hv",
    "gearbox": "gbox",
    "exhaust": "exh",
    "injector": "inj",
    "ignition": "ign",
    "front": "frt",
    "switch": "sw",
    "motor": "mtr",
    "steering": "strg",
    "bearing": "brg",
    "compressor": "comp",
    "air conditioning": "a/c",
    "cylinder": "cyl",
    "manifold": "manif",
    "coolant": "clnt",
    "refrigerant": "refrig",
    "regulator": "reg",
    "valve": "vlv",
    "filter": "filt",
    "absorber": "absrb",
    "suspension": "susp",
    "brake": "brk",
    "terminal": "term",
}
"""Word or phrase -> how it is cut short in writing (by judgement, no source); all that fit."""


def ways(name: str) -> tuple[str, str, str, str]:
    """Return the four ways of saying a component."""
    return name, _other_words(name), _other_order(name), _short(name)


def _other_words(name: str) -> str:
    for said, other in OTHER_WORDS.items():
        if f" {said} " in f" {name} ":
            return f" {name} ".replace(f" {said} ", f" {other} ").strip()
    return name.removesuffix("s") if name.endswith("s") else f"{name}s"


def _other_order(name: str) -> str:
    *before, head = name.split()
    return f"{head}, {' '.join(before)}" if before else f"{name} assy"


def _short(name: str) -> str:
    cut = f" {name} "
    for said, short in SHORT.items():
        cut = cut.replace(f" {said} ", f" {short} ")
    if cut.strip() != name:
        return cut.strip()
    longest = max(name.split(), key=len)
    middle = len(longest) // 2
    return name.replace(longest, longest[:middle] + longest[middle + 1 :])


def renamed(jobs: Sequence[Job], random: Random) -> tuple[list[Job], dict[str, str]]:
    """Return the jobs with every mention said anew, and what each name meant."""
    meant: dict[str, str] = {}

    def say(name: str) -> str:
        said = random.choice(ways(name))
        return said if meant.setdefault(even(said), even(name)) == even(name) else name

    def attempt(each: Attempt) -> Attempt:
        return replace(each, component=say(each.component), supposed=None)

    for job in jobs:  # as it is said in the shop it means what it meant
        for name in names_on(job):
            meant[even(name)] = even(name)
    return [
        replace(
            job,
            cause=job.cause and replace(job.cause, component=say(job.cause.component)),
            attempts=tuple(map(attempt, job.attempts)),
        )
        for job in jobs
    ], meant


def names_on(job: Job) -> Iterator[str]:
    """Yield every component that a job names."""
    if job.cause:
        yield job.cause.component
    yield from (each.component for each in job.attempts)


def answered(jobs: Sequence[Job], meant: dict[str, str]) -> tuple[Vocabulary, int, int]:
    """Answer proposals from the truth; return what was joined, how many were right and wrong."""
    joined: dict[str, str] = {}
    no: set[frozenset[str]] = set()
    right = wrong = 0
    for _ in range(5):
        known = Vocabulary(joined, {})
        pairs = [
            pair
            for pair in proposed_pairs([known.job(job) for job in jobs], WORDING)
            if _pair(pair) not in no
        ]
        progress(f"{len(pairs)} pairs proposed")
        if not pairs:
            break
        for pair in pairs:
            one, other = (even(joined.get(even(n), n)) for n in (pair.name, pair.meant))
            if meant[even(pair.name)] != meant[even(pair.meant)]:
                wrong += 1
                no.add(_pair(pair))
            else:
                right += 1
                if one != other:
                    joined |= {name: other for name, told in joined.items() if told == one}
                    joined[one] = other
    return Vocabulary(joined, {}), right, wrong


def _pair(pair: NamePair) -> frozenset[str]:
    return frozenset((even(pair.name), even(pair.meant)))


def together(jobs: Sequence[Job]) -> dict[int, frozenset[int]]:
    """Return for each job those that count as its cause."""
    of_cause: dict[object, set[int]] = defaultdict(set)
    for job in jobs:
        of_cause[job.cause and job.cause.key].add(job.number or 0)
    return {number: frozenset(same) for same in of_cause.values() for number in same}


def equal_share(jobs: Sequence[Job], others: Sequence[Job]) -> float:
    """Return the share of causes that the same jobs count as in both."""
    one, other = together(jobs), together(others)
    causes = set(one.values())
    return sum(all(other[number] == same for number in same) for same in causes) / len(causes)


def first_right(jobs: Sequence[Job], truths: Sequence[Job], fold: int = 0) -> float:
    """Return how often the first cause is the right one under whatever name, on one fold.

    `truths` are the same jobs as they were said in the shop.
    """
    known, asked = datasets.by_text(truths)[fold]
    said = {job.number: job for job in jobs}
    cause = {key(cause_key(said[job.number])): cause_key(job) for job in truths}
    answers = Fold(([said[job.number] for job in known], asked)).answers(DEFAULTS)
    right = (
        cause.get(max(each.chances, key=each.chances.__getitem__)) == cause_key(job)
        for each, job in zip(answers, asked, strict=True)
        if each.chances
    )
    return sum(right) / len(asked)


def main() -> None:
    """Rename the demonstration shop and have it put right."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--draws", type=int, default=1, help="how many draws")
    parser.add_argument("--first", type=int, default=2, help="the first seed; 0 was chosen on")
    parser.add_argument("--wrong", action="store_true", help="name the wrong proposals")
    parser.add_argument("--ranking", action="store_true", help="ask the ranking, too (one fold)")
    options = parser.parse_args()
    jobs = datasets.demonstration_shop()
    for seed in range(options.first, options.first + options.draws):
        said, meant = renamed(jobs, Random(seed))
        if options.wrong:
            for pair in proposed_pairs(said, WORDING):
                if meant[even(pair.name)] != meant[even(pair.meant)]:
                    print(f"    {pair.name} = {pair.meant}  {pair.why}")
        known, right, wrong = answered(said, meant)
        print(f"\nDraw {seed}: {len(meant)} names, {right} proposals right, {wrong} wrong")
        print(f"  causes counted alike before any answer: {equal_share(jobs, said):.3f}")
        if options.ranking:
            lost = first_right(jobs, jobs) - first_right(said, jobs)
            target("top-1 lost before any answer", lost, most=0.04)
        after = [known.job(job) for job in said]
        target("causes counted alike after the answers", equal_share(jobs, after), least=0.95)
        target("share of wrong proposals", wrong / max(right + wrong, 1), most=0.1)


if __name__ == "__main__":
    main()
