"""Which tests settled past jobs of such a complaint, and how likely each settles this one.

What a technician reaches for first is what found the fault on the last jobs of the kind. The share
of the tested jobs that a test settled is taken from those that had a suspect, drawn towards that
of all jobs like this one, whatever they turned out to be; the latter alone speaks for a cause that
nobody suspects. What a test would tell between the suspects counts beside that, both per minute.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from kb.case import Cause
from kb.intake.wording import Wording
from kb.troubleshooting.circuit import names
from kb.troubleshooting.decision import Choice, Kind, Problem, information
from kb.troubleshooting.testing import TestedCase, key_of

QUICK, SIMILAR = 0.5, 0.75
"""A test that takes at most so much of another's time comes before it if it is worth at least so
much of what that is: nobody begins with an hour where ten minutes do nearly as well (by judgement;
on the demonstration shop a worth by the root of the time finds three jobs in a hundred fewer)."""


@dataclass(frozen=True, slots=True)
class Settled:
    """Of so many jobs that were tested, how many each test settled, by the name it is one under."""

    times: Mapping[str, int]
    jobs: int

    def share(self, test: str, start: float = 0.0, pull: float = 0.0) -> float:
        """Return the share that a test settled, drawn to `start` as by so many jobs more."""
        counted = self.jobs + pull
        return (self.times.get(test, 0) + pull * start) / counted if counted else start


def settled(cases: Iterable[TestedCase], wording: Wording) -> Settled:
    """Count the tests that pointed to what proved true, once a job; untested jobs do not count."""
    times: Counter[str] = Counter()
    jobs = 0
    for case in cases:
        cause = case.cause
        if cause is None or not case.tests:
            continue
        jobs += 1
        times.update(
            {
                key_of(test.name)
                for test in case.tests
                if any(names(part, cause, wording) for part in test.points_to)
            }
        )
    return Settled(times, jobs)


@dataclass(frozen=True, slots=True)
class WhatSettles:
    """What settled the jobs of each suspect, in their order, and those like this one.

    `pull` is the number of jobs as which the like ones count beside a suspect's own.
    """

    of_suspects: tuple[Settled, ...]
    like: Settled
    pull: float

    @classmethod
    def of(
        cls,
        causes: Sequence[Cause],
        history: Iterable[TestedCase],
        like: Iterable[TestedCase],
        wording: Wording,
        pull: float,
    ) -> "WhatSettles":
        """Count on the closed jobs that had one of the causes, and on those like this one."""
        had: dict[tuple[str, str, str], list[TestedCase]] = defaultdict(list)
        for case in history:
            if case.cause is not None:
                had[case.cause.key].append(case)
        every = tuple(settled(had[cause.key], wording) for cause in causes)
        return cls(every, settled(like, wording), pull)

    def chance(self, test: str, weights: Sequence[float]) -> float:
        """Return the chance that a test settles it.

        The first weights are the chances of the suspects, the last that it is none of them.
        """
        usual = self.like.share(test)
        shares = [each.share(test, usual, self.pull) for each in self.of_suspects]
        return sum(w * share for w, share in zip(weights, [*shares, usual], strict=True))

    def in_order(
        self,
        ranked: Sequence[Choice],
        keys: Mapping[str, str],
        problem: Problem,
        besides: float,
    ) -> list[Choice]:
        """Put the tests among the choices in order, each in the place of a test.

        Whether a test comes before a fix is decided already. Of tests that one comes first which
        brings most in its time: the chance that it settles the job, and the bits that it tells. A
        job takes `besides` minutes whatever is tested, so that a few minutes more matter little;
        yet much the quicker of two that are worth nearly the same comes first. `keys` are the names
        that tests are one under.
        """
        worth = {
            test.name: (
                self.chance(keys[test.name], problem.weights)
                + sum(problem.weights) * information(problem.weights, test)
            )
            / (test.cost + besides)
            for test in problem.tests
        }
        tests = [choice for choice in ranked if choice.kind is Kind.TEST]
        tests.sort(key=lambda choice: (-worth[choice.name], choice.expected))
        minutes = {test.name: test.cost for test in problem.tests}
        left = iter(quick_first([choice.name for choice in tests], worth, minutes))
        known = {choice.name: choice for choice in tests}
        return [known[next(left)] if choice.kind is Kind.TEST else choice for choice in ranked]


def quick_first(
    names: Iterable[str], worth: Mapping[str, float], minutes: Mapping[str, float]
) -> list[str]:
    """Put in front of a test those behind it that take half the time and are worth nearly as much.

    Examples
    --------
    >>> quick_first(["water", "look"], {"water": 1.0, "look": 0.9}, {"water": 40, "look": 10})
    ['look', 'water']
    """
    found: list[str] = []
    for name in names:
        place = len(found)
        while place and (
            minutes[name] <= QUICK * minutes[found[place - 1]]
            and worth[name] >= SIMILAR * worth[found[place - 1]]
        ):
            place -= 1
        found.insert(place, name)
    return found
