"""A shop of many years, made up from the demonstration shop, to measure speed and size on.

Run by hand: ``python tests/benchmarks/large_shop.py JOBS FILE`` writes that many jobs as JSON
Lines, for ``kb --store STORE import FILE``. Every job is a demonstration job with another day,
other values, and its complaint in other words: some left out, some misspelt, some of an invented
vocabulary in which few words are frequent and most are rare (Zipf's law), as in real notes.

Causes are spread as in a shop (common practice, no source): a few come every month, most are seen
once or twice. They are drawn by the law of Zipf and Mandelbrot, each a cause of the demonstration
shop on a part with a name of its own. Of 100,000 jobs the most frequent cause has some 300.
"""

import sys
from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import accumulate
from pathlib import Path
from random import Random
from typing import Any

import msgspec

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.case import Job
from tests.benchmarks.datasets import demonstration_shop

FIRST_DAY, DAYS = date(2005, 1, 3), 20 * 365
WORDS = 30_000
CAUSES, FLATTENED = 20_000, 50
"""Causes that there are, and the ranks by which the most frequent are brought nearer together."""
LEFT_OUT, MISSPELT = 0.2, 0.1
"""Shares of a complaint's words that are left out and misspelt."""
OWN_WORDS, OWN = 3, 0.5
"""Words in which complaints of one cause agree, and the share of them among the invented words."""
SYLLABLES = [a + b for a in "bdfgklmnprstvz" for b in ("a", "e", "i", "o", "u", "ar", "en", "il")]
Record = dict[str, Any]


class LargeShop:
    """Draws jobs; the same ones for the same seed."""

    def __init__(self, cases: list[Job], seed: int = 0) -> None:
        alike: dict[object, list[Record]] = defaultdict(list)
        for case in cases:
            alike[case.cause and case.cause.key].append(msgspec.to_builtins(case))
        self._causes = sorted(alike.values(), key=len, reverse=True)
        self._random = Random(seed)
        self._words = [
            "".join(self._random.choices(SYLLABLES, k=self._random.randint(2, 4)))
            for _ in range(WORDS)
        ]
        self._frequency = list(accumulate(1 / rank for rank in range(1, WORDS + 1)))
        self._shares = list(accumulate(1 / (rank + FLATTENED) for rank in range(1, CAUSES + 1)))

    def jobs(self, count: int) -> Iterator[Record]:
        """Yield jobs in order of their day, as they stand in a file."""
        for number in range(1, count + 1):
            yield self._job(number, FIRST_DAY + timedelta(days=number * DAYS // count))

    def complaint(self, text: str, own: Sequence[str]) -> str:
        """Say a complaint in other words, some of them its cause's own."""
        random = self._random
        kept = [word for word in text.split() if random.random() >= LEFT_OUT]
        said = [self._misspelt(word) for word in kept]
        for common in self._invented(random.randint(1, 4)):
            word = random.choice(own) if random.random() < OWN else common
            said.insert(random.randint(0, len(said)), word)
        return " ".join(said)

    def _job(self, number: int, opened: date) -> Record:
        (cause,) = self._random.choices(range(CAUSES), cum_weights=self._shares)
        case = self._random.choice(self._causes[cause % len(self._causes)])
        job: Record = msgspec.json.decode(msgspec.json.encode(case))
        moved = opened - date.fromisoformat(job["opened"])
        for name in ("opened", "closed"):
            job[name] = _moved(job[name], moved)
        part, *own = (self._words[(cause * OWN_WORDS + i) % WORDS] for i in range(OWN_WORDS + 1))
        job |= {"number": number, "uid": None, "complaint": self.complaint(job["complaint"], own)}
        job["cause"]["component"] += f" {part}"
        job["vehicle"] |= {"ref": None, "vin": None}
        job["contacts"] = [
            contact | {"on": _moved(contact["on"], moved), "job": None}
            for contact in job["contacts"]
        ]
        for reading in job["readings"]:
            if reading["value"] is not None and reading["relation"] == "exact":
                reading["value"] = round(reading["value"] * self._random.uniform(0.97, 1.03), 3)
        return job

    def _invented(self, count: int) -> list[str]:
        return self._random.choices(self._words, cum_weights=self._frequency, k=count)

    def _misspelt(self, word: str) -> str:
        if len(word) < 4 or self._random.random() >= MISSPELT:
            return word
        place = self._random.randrange(len(word) - 1)
        return word[:place] + word[place + 1] + word[place] + word[place + 2 :]


def _moved(day: str, by: timedelta) -> str:
    return (date.fromisoformat(day) + by).isoformat()


def main() -> None:
    """Write the jobs."""
    count, path = int(sys.argv[1]), Path(sys.argv[2])
    shop = LargeShop(demonstration_shop())
    with path.open("wb") as file:
        for job in shop.jobs(count):
            file.write(msgspec.json.encode(job) + b"\n")


if __name__ == "__main__":
    main()
