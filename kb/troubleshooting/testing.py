"""What tests say: how likely each outcome is for each true cause, learnt from closed jobs.

It is counted how often the cause that proved true was among those a test left; the trade's table
gives the start, so that one or two jobs do not make a certainty.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import median
from typing import Protocol

from kb.case import Cause, DiagnosticTest, even
from kb.intake.swaps import swapped_part
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.circuit import Chain, names
from kb.troubleshooting.fitting import (
    ESCAPING_FUEL,
    fits,
    is_never_on,
    lacks,
    may_be_made,
    speaks_of,
)
from kb.troubleshooting.general_tests import GeneralTest, general_tests
from kb.troubleshooting.possible_outcomes import (
    Left,
    PastTest,
    PossibleOutcome,
    everything_of,
    general_outcomes,
    left_by,
    own_outcomes,
    starting_outcomes,
)

Likelihoods = tuple[float, ...]
_PETROL_ALONE = compiled(r"\b(?:noid|spark|sparks)\b")
"""Tests of what a petrol engine alone has: a noid light at a diesel's injectors would meet their
voltage (common practice, no source)."""
FOUND_IN_VAIN = 0.02
"""Share that is left of an outcome that can hardly be: a leak seen where none is, nothing found of
what was seen already (by judgement)."""
_WHERE = compiled(
    r" (?:at|on|in|of|to|for|from|with|by|through|round|around|after|before|over|under)\b"
)
"""What a test is called stands before a word of where or how it was made."""


_HOW_MUCH = compiled(r"(?<! at)(?<! for)(?<! after) \d+(?:[.,]\d+)?(?: ?[a-zµ°%/]{1,4})?$")
"""How far or how long ends the name of a test: it is the same with another amount."""


@dataclass(frozen=True, slots=True)
class TrackRecord:
    """How often a test spoke for and against the cause that proved true."""

    spoke_for: int
    against: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A test that could be made now.

    Attributes
    ----------
    name : str
        Under which it is recorded.
    place : str or None
        The link it is made at.
    general : GeneralTest or None
        Its line in the trade's table.
    own : bool
        Whether it is the shop's own, as it found one of the suspects here, though `general` tells
        how such a test of any part is made.
    right : float
        How often such a test leaves the true cause standing.
    said : TrackRecord
        The counts behind that, over this shop's closed jobs with one of the suspected causes.
    likelihoods : tuple of tuple of float
        For each outcome its chance, given each suspect; behind them, given none of them.
    """

    name: str
    place: str | None
    general: GeneralTest | None
    minutes: float
    own_minutes: int
    right: float
    said: TrackRecord
    outcomes: tuple[PossibleOutcome, ...]
    likelihoods: tuple[Likelihoods, ...]
    own: bool = False

    @property
    def title(self) -> str:
        """Name, and the place it is made at; a test is recorded under it."""
        return f"{self.name}, {self.place}" if self.place else self.name

    @property
    def left_at_best(self) -> Left:
        """What the outcome that finds something leaves of the suspects."""
        return self.outcomes[0].left


class TestedCase(Protocol):
    """What is learnt from of a closed job with a cause, as `kb.case.CaseTests` has it."""

    @property
    def number(self) -> int | None: ...  # noqa: D102
    @property
    def cause(self) -> Cause | None: ...  # noqa: D102
    @property
    def tests(self) -> Sequence[DiagnosticTest]: ...  # noqa: D102


def pasts(cases: Iterable[TestedCase]) -> dict[str, list[PastTest]]:
    """Gather the tests of cases, by the name they are one test under."""
    found: dict[str, list[PastTest]] = defaultdict(list)
    for job in cases:
        if job.cause is not None:
            for test in job.tests:
                found[key_of(test.name)].append(PastTest(job.number, job.cause, test))
    return found


@lru_cache(maxsize=2000)
def key_of(name: str) -> str:
    """Name under which a test is one with others: the table's, else its own, evened out.

    Examples
    --------
    >>> key_of("Wiggle test, seat connector"), key_of("Hand  on the spring")
    ('wiggle test with live reading', 'hand on the spring')
    >>> key_of("smoke test at the intake")
    'smoke test'
    >>> key_of("cleaned and driven 20 km") == key_of("cleaned and driven 30 km")
    True
    """
    plain = even(name.replace("-", " "))
    named = plain.partition(",")[0]
    bare = [named[: word.start()] for word in _WHERE.finditer(named)]
    known = _general_names()
    told = next((known[each] for each in (named, *reversed(bare)) if each in known), None)
    told = told or (known["swap"] if swapped_part(name) else None)
    return told or _HOW_MUCH.sub("", plain)


def said_of(past: Sequence[PastTest], wording: Wording) -> TrackRecord:
    """Count what past tests said of the cause that proved true."""
    told = Counter(_verdict(each, wording) for each in past)
    return TrackRecord(told[True], told[False])


def candidates(
    causes: Sequence[Cause],
    chain: Chain,
    past: Mapping[str, Sequence[PastTest]],
    wording: Wording,
    settings: TroubleshootingSettings,
    signs: frozenset[str] = frozenset(),
    starting: Sequence[GeneralTest] = (),
    wanted: AbstractSet[str] | None = None,
    own: bool = True,
) -> tuple[Candidate, ...]:
    """Every test that could tell suspects apart: the trade's at each place, and the shop's own.

    A test of the trade that is for other parts than these suspects is taken for the shop's own
    where it has found one of them.

    Parameters
    ----------
    causes : sequence of Cause
        The suspects.
    chain : Chain
        Where they lie.
    past : mapping
        From `pasts`, of the closed jobs with one of these causes.
    signs : frozenset of str
        The kinds of trouble, from `kb.troubleshooting.fitting.signs_of`.
    starting : sequence of GeneralTest
        Tests that fit the trouble whatever is suspected, offered where no suspect calls for them.
    wanted : set of str, optional
        The names that tests are one under, of those that are asked for, whether they fit the
        trouble or not; else all that do.
    own : bool
        Whether the shop's own may be among them.
    """
    jobs = {(each.cause.key, each.job) for mine in past.values() for each in mine}
    tested = Counter(key for key, _ in jobs)
    question = _Question(tuple(causes), tested, signs, wording, settings)
    found = [
        question.candidate(general.name, place, general, outcomes, past.get(general.name, ()))
        for general in general_tests().test
        if (fits(general, signs) if wanted is None else general.name in wanted)
        for place, outcomes in general_outcomes(general, causes, chain, wording, signs)
    ]
    offered = {each.name for each in found}
    for key, every in past.items() if own else ():
        if wanted is not None and key not in wanted:
            continue
        mine = [each for each in every if _may_have_found(key, each, wording)]
        on_these = [each for each in mine if each.cause.key in {cause.key for cause in causes}]
        if key not in offered and _is_own(key, on_these, signs, wording):
            name = Counter(each.test.name for each in mine).most_common(1)[0][0]
            outcomes = own_outcomes(mine, causes, wording)
            candidate = question.candidate(name, None, None, outcomes, mine)
            found.append(replace(candidate, general=_of_any_part(key), own=True))
    offered = {key_of(each.name) for each in found}
    found += [
        question.candidate(each.name, None, each, starting_outcomes(each, causes), ())
        for each in starting
        if each.name not in offered and not each.paired
    ]
    return tuple(each for each in found if len(each.outcomes) > 1)


def updated(
    weights: Sequence[float],
    done: Sequence[DiagnosticTest],
    known: Sequence[Candidate],
    causes: Sequence[Cause],
    wording: Wording,
    settings: TroubleshootingSettings,
) -> tuple[float, ...]:
    """Chances after the tests made, by Bayes; the last weight is that of none of the suspects.

    A test that was made twice with the same result counts once. An outcome that was foretold moves
    them as it was foretold to.
    """
    now = list(weights)
    seen: set[tuple[str, Left, Likelihoods]] = set()
    everything = everything_of(causes)
    for test in done:
        left = left_by(test.points_to, test.clears, causes, wording)
        factors = _record_likelihood(test, left, known)
        if factors is None and left != everything:
            right = next((each.right for each in known if _is_one(each, test)), settings.right)
            factors = tuple(right if n in left else 1 - right for n in range(len(now)))
        if factors is None or (key_of(test.name), left, factors) in seen:
            continue
        seen.add((key_of(test.name), left, factors))
        now = [weight * factor for weight, factor in zip(now, factors, strict=True)]
    total = sum(now)
    return tuple(each / total for each in now) if total else tuple(weights)


def _record_likelihood(
    test: DiagnosticTest,
    left: Left,
    known: Sequence[Candidate],
) -> Likelihoods | None:
    """Chance of what a recorded test showed, given each suspect and given none of them.

    It is the outcome of a known test that reads the same, else leaves the same, is of the same
    part, or says the same: a look that finds nothing at a part still leaves what cannot be seen of
    it. None if there is no such outcome.
    """
    said = _parts(test.points_to), _parts(test.clears)
    tested = [
        (*pair, each.place is not None)
        for each in known
        if _is_one(each, test)
        for pair in reversed(list(zip(each.outcomes, each.likelihoods, strict=True)))
    ]
    nothing = {each.general.outcome[-1].seen for each in known if each.general}
    ways: tuple[Callable[[PossibleOutcome], bool], ...] = (
        lambda outcome: _reads(test, outcome) and (not test.points_to or bool(left & outcome.left)),
        lambda outcome: left in (outcome.left, outcome.of),
        lambda outcome: (_parts(outcome.points_to), _parts(outcome.clears)) == said,
        lambda outcome: bool(test.clears) and not test.points_to and outcome.seen in nothing,
    )
    found = (each for way in ways for each in tested if way(each[0]))
    outcome, likelihoods, at_one_place = next(found, (None, (), False))
    if outcome is None:
        return None
    if not outcome.clears:
        return likelihoods
    # a suspect that nobody had in mind when it was made is as little cleared as what none is; one
    # that is cleared besides is the less likely, the likelier it was to be left
    return tuple(
        likelihoods[-1]
        if place in left and place not in outcome.left
        else 1 - chance
        if at_one_place and place in outcome.left and place not in left
        else chance
        for place, chance in enumerate(likelihoods)
    )


def _is_one(candidate: Candidate, test: DiagnosticTest) -> bool:
    return key_of(candidate.name) == key_of(test.name)


def _reads(test: DiagnosticTest, outcome: PossibleOutcome) -> bool:
    """Whether a test was recorded with an outcome in its very words, others behind them or not."""
    return test.seen == outcome.seen or test.seen.startswith(f"{outcome.seen};")


def _parts(names: Iterable[str]) -> frozenset[str]:
    return frozenset(map(even, names))


@dataclass(frozen=True, slots=True)
class _Question:
    """Which suspects are to be told apart, and what is asked with.

    `tested` counts, for each cause, the past jobs that recorded any test; `signs` are the kinds of
    trouble.
    """

    causes: tuple[Cause, ...]
    tested: Mapping[tuple[str, str, str], int]
    signs: frozenset[str]
    wording: Wording
    settings: TroubleshootingSettings

    def candidate(
        self,
        name: str,
        place: str | None,
        general: GeneralTest | None,
        outcomes: tuple[PossibleOutcome, ...],
        past: Sequence[PastTest],
    ) -> Candidate:
        """Put together what table and past tests tell of one test."""
        said = said_of(past, self.wording)
        start, tabled = (
            (general.right, general.minutes)
            if general
            else (self.settings.right, self.settings.test_minutes)
        )
        pull = self.settings.pull
        right = (said.spoke_for + pull * start) / (said.spoke_for + said.against + pull)
        own = [each.test.minutes for each in past if each.test.minutes]
        return Candidate(
            name=name,
            place=place,
            general=general,
            minutes=float(median(own)) if own else float(tabled),
            own_minutes=len(own),
            right=right,
            said=said,
            outcomes=outcomes,
            likelihoods=self._likelihoods(outcomes, past, right, general),
        )

    def _likelihoods(
        self,
        outcomes: Sequence[PossibleOutcome],
        past: Sequence[PastTest],
        right: float,
        general: GeneralTest | None,
    ) -> tuple[Likelihoods, ...]:
        """Chance of each outcome given each cause: counts, drawn towards the test's start.

        Where a test finds things, jobs with a cause that were tested otherwise count a little
        for its telling nothing of that cause: what shows a cause is what technicians reach for.
        One that splits the circuit does so by what is in it.
        """
        lefts = [
            left_by(each.test.points_to, each.test.clears, self.causes, self.wording)
            for each in past
        ]
        count = Counter(lefts)
        usual = [1.0 + _times(count, outcome) for outcome in outcomes]
        if general is not None and not self.signs.isdisjoint(general.sure):
            usual[-1] *= FOUND_IN_VAIN
        elif len(outcomes) > 2:
            usual[-1] += sum(usual)  # where there is much to find, nothing is found most often
        finds = general is None or general.together
        every = list(zip(lefts, past, strict=True))
        columns = [
            self._column(place, right, usual, outcomes, every, finds)
            for place in range(len(self.causes) + 1)
        ]
        if general is not None and general.sees:
            columns = [_seen(place, each, outcomes) for place, each in enumerate(columns)]
        return tuple(zip(*columns, strict=True))

    def _column(
        self,
        place: int,
        right: float,
        usual: Sequence[float],
        outcomes: Sequence[PossibleOutcome],
        past: Sequence[tuple[Left, PastTest]],
        finds: bool,
    ) -> list[float]:
        """Chances of the outcomes if this is the cause; the last place is none of the suspects."""
        start = _start(place, outcomes, usual, right)
        key = self.causes[place].key if place < len(self.causes) else None
        seen = Counter(left for left, each in past if each.cause.key == key)
        here = [_times(seen, outcome) for outcome in outcomes]
        tested = self.tested.get(key, 0) if finds and key is not None else 0
        idle = self.settings.silence * max(tested - seen.total(), 0)
        pull = self.settings.pull
        silent = _silent(place, outcomes, usual, start)
        return [
            (times + pull * chance + idle * often) / (sum(here) + pull + idle)
            for times, chance, often in zip(here, start, silent, strict=True)
        ]


def _times(seen: Mapping[Left, int], outcome: PossibleOutcome) -> int:
    """Return how often past tests left what an outcome does, or blamed the part it tells of."""
    return seen.get(outcome.left, 0) + (seen.get(outcome.of, 0) if outcome.of else 0)


def _start(
    place: int, outcomes: Sequence[PossibleOutcome], usual: Sequence[float], right: float
) -> list[float]:
    """Share `right` out over the outcomes that leave the cause, and the rest over the others."""
    leaves = [place in outcome.left for outcome in outcomes]
    inside = sum(times for times, yes in zip(usual, leaves, strict=True) if yes)
    outside = sum(usual) - inside
    if not inside or not outside:
        return [times / sum(usual) for times in usual]
    return [
        times * (right / inside if yes else (1 - right) / outside)
        for times, yes in zip(usual, leaves, strict=True)
    ]


def _seen(place: int, column: Sequence[float], outcomes: Sequence[PossibleOutcome]) -> list[float]:
    """Chances of the outcomes of a test that sees the fault itself: hardly any blames a good part.

    It rather finds nothing.
    """
    wrong = [place not in each.left and bool(each.points_to) for each in outcomes]
    found = [
        chance * (FOUND_IN_VAIN if bad else 1.0) for chance, bad in zip(column, wrong, strict=True)
    ]
    return [*found[:-1], found[-1] + 1 - sum(found)]


def _silent(
    place: int, outcomes: Sequence[PossibleOutcome], usual: Sequence[float], start: Sequence[float]
) -> list[float]:
    """Chances of the outcomes where the test tells nothing of a cause: as they usually are.

    What blames other parts stays as rare as at the start: a test is recorded most often where it
    found something, and a part found bad so often is not bad where another is the cause.
    """
    others = [
        place not in each.left and (bool(each.points_to) or len(each.left) == 1)
        for each in outcomes
    ]
    kept = sum(often for often, other in zip(usual, others, strict=True) if not other)
    left = 1 - sum(chance for chance, other in zip(start, others, strict=True) if other)
    if not kept:
        return list(start)
    return [
        chance if other else left * often / kept
        for chance, often, other in zip(start, usual, others, strict=True)
    ]


def _verdict(past: PastTest, wording: Wording) -> bool | None:
    if any(names(suspect, past.cause, wording) for suspect in past.test.points_to):
        return True
    if any(names(suspect, past.cause, wording) for suspect in past.test.clears):
        return False
    return None


@lru_cache(maxsize=1)
def _general_names() -> dict[str, str]:
    return {
        even(name.replace("-", " ")): general.name
        for general in general_tests().test
        for name in (general.name, *general.also)
    }


def kin_of(title: str) -> tuple[GeneralTest, ...]:
    """Return the trade's tests one of whose names stands in the title of one it does not know.

    Examples
    --------
    >>> [test.name for test in kin_of("gauge left on for a drive")]
    ['compare with a gauge']
    """
    told = f" {even(title.replace('-', ' '))} "
    return tuple(
        test
        for test in general_tests().test
        if any(f" {even(name.replace('-', ' '))} " in told for name in (test.name, *test.also))
    )


def _of_any_part(key: str) -> GeneralTest | None:
    """Return the trade's test of that name, if it is made alike on whatever part."""
    general = _general_of(key)
    return None if general is None or general.parts else general


def _general_of(key: str) -> GeneralTest | None:
    return next((each for each in general_tests().test if each.name == key), None)


def _may_have_found(key: str, past: PastTest, wording: Wording) -> bool:
    """Whether what a past test spoke for is no part that its like is never made on.

    Nor what a look shows nothing of: it is closed, whatever was seen once it was cut open.
    """
    general = _general_of(key)
    if general is None:
        return True
    if general.first and not speaks_of(general, past.cause, wording):
        return False
    return not any(is_never_on(general, part, wording) for part in past.test.points_to)


def _is_own(key: str, past: Sequence[PastTest], signs: frozenset[str], wording: Wording) -> bool:
    """Whether a test that is not offered as the trade's may be offered as the shop's own.

    Of one that the trade does not know nobody knows whether it makes a spark: none is while fuel
    may escape.
    """
    general = _general_of(key)
    if lacks(key, signs, wording):
        return False
    if general is None:
        of_petrol = "diesel" in signs and _PETROL_ALONE.search(key)
        return not (of_petrol or ESCAPING_FUEL in signs)
    there = [each for each in past if may_be_made(general, each.cause, wording, signs)]
    return fits(general, signs) and said_of(there, wording).spoke_for > 0
