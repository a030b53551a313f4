"""What the matcher is measured on: open work orders, open attributes, the demonstration shop, and
shops made up by rule.

Nothing of the open data is kept in the project. Excavator work orders: package nist-nestor 0.4.4
(public domain), read from the installed package. Soybean (Michalski & Chilausky 1980): example
file of a free package, see `SOYBEAN`.
"""

import csv
from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from importlib.metadata import distribution
from itertools import product
from pathlib import Path
from random import Random
from re import Match, sub

from sklearn.model_selection import GroupKFold, StratifiedKFold

from kb.case import Cause, DiagnosticTest, FailureMode, Job, TroubleCode, Vehicle
from kb.services.demo import demo_address
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

SOYBEAN = """\
The soybean table comes with Debian's package weka. Fetch it without installing it:
    apt-get download weka && dpkg-deb -x weka_*.deb weka
    python tests/benchmarks/recall.py --soybean weka/usr/share/doc/weka/examples/soybean.arff
(unpack it with gunzip first if it ends in .gz)."""
DAY = date(2004, 1, 1)
"""Of cases whose day is not told: one for all."""
Split = tuple[list[Job], list[Job]]
"""The cases known, and the ones asked."""


def work_orders(*, told_all: bool, least: int = 5) -> list[Job]:
    """Return the work orders whose place in the machine is that of at least so many others.

    The cause is the functional location, upper-cased. With `told_all` the asset is the vehicle
    and the day is known; without, there is the text alone.
    """
    table = distribution("nist-nestor").locate_file("nestor/datasets/excavators-cleaned.csv")
    with Path(str(table)).open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    counts = Counter(row["FuncLocation"].upper() for row in rows)
    kept = [
        row
        for row in rows
        if counts[row["FuncLocation"].upper()] >= least and row["OriginalShorttext"].strip()
    ]
    jobs = []
    for number, row in enumerate(kept, start=1):
        day = date.fromisoformat(row["BscStartDate"]) if told_all else DAY
        car = Vehicle(model=row["Asset"], ref=row["Asset"]) if told_all else None
        jobs.append(
            _job(number, row["OriginalShorttext"], row["FuncLocation"].upper(), day, vehicle=car)
        )
    return jobs


def soybean(table: Path) -> list[Job]:
    """Return diseased plants: every attribute that is not missing is a test with what was seen."""
    lines = table.read_text(encoding="utf-8").splitlines()
    names = [line.split()[1].strip("'") for line in lines if line.lower().startswith("@attribute")]
    start = [line.strip().lower() for line in lines].index("@data") + 1
    rows = csv.reader(line for line in lines[start:] if line.strip() and line[0] != "%")
    jobs = []
    for number, row in enumerate(rows, start=1):
        *values, disease = (value.strip() for value in row)
        seen = [pair for pair in zip(names, values, strict=False) if pair[1] != "?"]
        tests = tuple(DiagnosticTest(name=name, seen=value) for name, value in seen)
        jobs.append(_job(number, "plant ill", disease, DAY, tests=tests))
    return jobs


def demonstration_shop() -> list[Job]:
    """Return the cases of the demonstration shop."""
    with UnitOfWork(open_store(demo_address()), read_only=True) as work:
        return list(work.jobs.all(cases_only=True))


def simulated_shop(seed: int, size: int = 900, newness: float = 40.0) -> list[Job]:
    """Return the jobs of a shop whose causes have nothing to do with one another, oldest first.

    Each cause has five words and mostly a code of its own; a complaint has three of these words
    among as many that every cause shares, and mostly the code. A job's cause is a new one with
    chance ``newness / (newness + jobs so far)``, else that of an earlier job at random, so that
    frequent ones become more frequent still (the Chinese restaurant process). By that rule the
    share of new ones among later jobs does not depend on how much later they are.

    References
    ----------
    Aldous (1985). Exchangeability and related topics. Lecture Notes in Mathematics 1117, 1-198.
    """
    random = Random(seed)
    syllables = ["".join(pair) for pair in product("bdfgklmnprstvz", "aeiou")]
    made = ["".join(three) for three in product(syllables, repeat=3)]
    words = iter(random.sample(made, 5 * size + 30))
    shared = [next(words) for _ in range(30)]
    causes: list[tuple[list[str], TroubleCode | None]] = []
    seen: list[int] = []
    jobs = []
    for number in range(1, size + 1):
        if random.random() < newness / (newness + len(seen)):
            code = TroubleCode(code=f"P1{len(causes):03X}") if random.random() < 0.7 else None
            causes.append(([next(words) for _ in range(5)], code))
            seen.append(len(causes) - 1)
        else:
            seen.append(random.choice(seen))
        own, code = causes[seen[-1]]
        said = random.sample(own, 3) + random.sample(shared, 3)
        random.shuffle(said)
        codes = (code,) if code and random.random() < 0.7 else ()
        day = DAY + timedelta(days=number)
        jobs.append(_job(number, " ".join(said), f"part {seen[-1]}", day, codes=codes))
    return jobs


def by_text(jobs: Sequence[Job], folds: int = 5) -> list[Split]:
    """Split so that equal texts, case and ends aside, stand in one fold."""
    texts = [job.complaint.casefold().strip() for job in jobs]
    return _splits(jobs, list(GroupKFold(folds).split(jobs, groups=texts)))


def by_cause(jobs: Sequence[Job], folds: int = 10) -> list[Split]:
    """Split at random so that every fold has each cause's share of cases."""
    causes = [job.cause.component for job in jobs if job.cause]
    drawn = StratifiedKFold(folds, shuffle=True, random_state=0)
    return _splits(jobs, list(drawn.split(jobs, causes)))


def misspelt(job: Job, share: float = 0.3) -> str:
    """Return a complaint in which a share of the words of over three letters is misspelt.

    One letter dropped, doubled, or swapped with the next one, always alike for the same job.
    """
    random = Random(job.number)

    def slip(found: Match[str]) -> str:
        word = found.group()
        if random.random() >= share:
            return word
        way = random.choice(("drop", "double", "swap"))
        if way == "swap":
            unlike = [i for i in range(len(word) - 1) if word[i].lower() != word[i + 1].lower()]
            if unlike:
                at = random.choice(unlike)
                return word[:at] + word[at + 1] + word[at] + word[at + 2 :]
        at = random.randrange(len(word))
        return word[:at] + (word[at] * 2 if way == "double" else "") + word[at + 1 :]

    return sub(r"[^\W\d_]{4,}", slip, job.complaint)


def _job(
    number: int,
    complaint: str,
    cause: str,
    day: date,
    *,
    vehicle: Vehicle | None = None,
    codes: tuple[TroubleCode, ...] = (),
    tests: tuple[DiagnosticTest, ...] = (),
) -> Job:
    return Job(
        number=number,
        vehicle=vehicle or Vehicle(),
        opened=day,
        closed=day,
        complaint=complaint,
        codes=codes,
        tests=tests,
        cause=Cause(component=cause, failure_mode=FailureMode.UNKNOWN),
    )


def _splits(jobs: Sequence[Job], places: Sequence[Sequence[Sequence[int]]]) -> list[Split]:
    return [([jobs[i] for i in known], [jobs[i] for i in asked]) for known, asked in places]
