"""Names of components that may be of one thing, proposed as pairs; nothing is joined here.

Two names are held against each other word by word, shorthand written out: the same words in any
order and number, a word with a slip, a word cut short, initials. What is left over on one side
makes one a part of the other; what is left over on both sides may be another word for the same.
Both are proposed only where the jobs of the names keep the same company of words, and the second
only where names differ in these words beside several others, or end in the same noun and keep very
much the same company.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

from rapidfuzz.distance import OSA

from kb.case import Job, even
from kb.intake.items import part_key
from kb.intake.known_words import is_known
from kb.intake.wording import Wording
from kb.recall import text_signal
from kb.recall.text_signal import TextModel

LEAST_ALIKE = 0.7
"""Words less alike than this are two words."""
SLIP, CUT, INITIALS = 0.9, 0.8, 0.8
"""How alike a word and its misspelling, its short form, its initials are (by judgement)."""
ITEM, PART, SWAPPED = 0.8, 0.8, 0.7
"""How likely two names of one item of the trade are of one thing, a name and a part of it, names
that differ in a word or two: rounded down from what came true on one draw of
`tests/benchmarks/names.py`, where no part of a name was wrong."""
PART_COMPANY, SAME_COMPANY, VERY_SAME_COMPANY = 0.25, 0.3, 0.4
"""From these cosines of the words on their jobs on, two names keep company; the first is enough for
a part of a name, the last for words that differ in one pair of names only (chosen likewise)."""
SOME_COMPANY = 0.1
"""From here on a pair that differs in two words says anything of these."""
OFTEN = 3
"""Two words are one if they stand beside so many different others alike: *seat plug* and *seat
connector*, *door plug* and *door connector*. Nouns that end a name, and share one other word only,
are parts of one thing: *brake hose* and *brake caliper*."""
Differing = Mapping[frozenset[str], Collection[frozenset[str]]]
"""Two words in which names differ, and what the names have in common each time."""
_FILLING = frozenset(["assy", "assembly", "unit", "the", "a", "of", "on"])
_PLACES = frozenset(
    [
        *("left", "right", "front", "rear", "upper", "lower", "top", "bottom", "inner", "outer"),
        *("inlet", "outlet", "intake", "exhaust", "input", "output", "high", "low", "hot", "cold"),
    ]
)
"""Where and which of several parts: two of these are two parts, whatever their jobs say."""
_SHORTEST_SLIP, _TWO_SLIPS = 3, 8
_MOST_SWAPPED = 2
_LONGEST_CUT = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class NamePair:
    """Two names that may be of one thing; `meant` is the one that more jobs say.

    `jobs` and `meant_jobs` say each; `why` tells in words what speaks for it. `likeness`, 0 to 1,
    orders the pairs and is no chance.
    """

    name: str
    meant: str
    jobs: tuple[int, ...]
    meant_jobs: tuple[int, ...]
    likeness: float
    why: str


@dataclass(frozen=True)
class _Use:
    """A name, the words of it, what its jobs say besides, and which item of the trade it is."""

    name: str
    words: tuple[str, ...]
    jobs: frozenset[int]
    company: tuple[str, ...]
    item: str

    @cached_property
    def initials(self) -> frozenset[str]:
        runs = range(2, len(self.words) + 1)
        return frozenset(
            "".join(word[0] for word in self.words[start : start + size])
            for size in runs
            for start in range(len(self.words) - size + 1)
        )


@dataclass(frozen=True, slots=True)
class _Held:
    """Two names held against each other: how alike the words in common are, and what is left."""

    one: _Use
    other: _Use
    likeness: float
    left: tuple[tuple[str, ...], tuple[str, ...]]


def proposed_pairs(jobs: Iterable[Job], wording: Wording) -> list[NamePair]:
    """Propose pairs of names of components, the surest first."""
    uses = list(_uses(jobs, wording))
    model, _ = text_signal.fit([use.company for use in uses])
    held = list(_held_together(uses, wording))
    differ: dict[frozenset[str], set[frozenset[str]]] = defaultdict(set)
    for each in held:
        if (swapped := _swapped(each)) and _company(each, model) > SOME_COMPANY:
            differ[swapped].add(_in_common(each))
    found = (_judged(each, model, differ) for each in held)
    return sorted(filter(None, found), key=lambda pair: (-pair.likeness, pair.name, pair.meant))


def _uses(jobs: Iterable[Job], wording: Wording) -> Iterator[_Use]:
    spelt: dict[str, str] = {}
    said_on: dict[str, set[int]] = defaultdict(set)
    company: dict[str, list[str]] = defaultdict(list)
    for job in jobs:
        causes = [job.cause.component] if job.cause else []
        words = wording.tokens(" ".join([job.complaint, *(test.name for test in job.tests)]))
        for name in {*causes, *(each.component for each in job.attempts)}:
            key = even(name)
            spelt.setdefault(key, name)
            said_on[key].add(job.number or 0)
            company[key] += words
    for key, name in spelt.items():
        words_of = tuple(_words(name, wording))
        if words_of:
            yield _Use(
                name,
                words_of,
                frozenset(said_on[key]),
                tuple(company[key]),
                part_key(name, wording),
            )


def _words(name: str, wording: Wording) -> Iterator[str]:
    """Yield the words of a name, what stands behind a comma first, in the singular."""
    head, _, before = name.partition(",")
    for word in wording.tokens(f"{before} {head}"):
        if word not in _FILLING:
            yield word[:-1] if len(word) > 3 and word.endswith("s") and word[-2] != "s" else word


def _held_together(uses: Sequence[_Use], wording: Wording) -> Iterator[_Held]:
    """Hold names against each other that have anything in common."""
    alike = _alike_words(sorted({word for use in uses for word in use.words}), wording)
    having: dict[str, set[int]] = defaultdict(set)
    for place, use in enumerate(uses):
        for word in use.words:
            having[word].add(place)
        for told in (*use.initials, use.item):
            having[told].add(place)
    seen: set[tuple[int, int]] = set()
    for place, use in enumerate(uses):
        near = {
            other
            for word in use.words
            for like in (word, use.item, *alike[word])
            for other in having[like]
        }
        for other in near:
            pair = (min(place, other), max(place, other))
            if place != other and pair not in seen:
                seen.add(pair)
                yield _held(uses[pair[0]], uses[pair[1]], alike)


def _alike_words(words: Sequence[str], wording: Wording) -> Mapping[str, Mapping[str, float]]:
    """Return for each word those that may be a slip or a short form of it, or it of them."""
    alike: dict[str, dict[str, float]] = defaultdict(dict)
    for one, other in combinations(words, 2):
        short, long = sorted((one, other), key=len)
        likeness = _slip(one, other, wording) or _cut(short, long, wording)
        if likeness:
            alike[one][other] = alike[other][one] = likeness
    return alike


def _slip(one: str, other: str, wording: Wording) -> float:
    shorter = min(len(one), len(other))
    most = 2 if shorter >= _TWO_SLIPS else 1
    if (
        shorter < _SHORTEST_SLIP
        or one[0] != other[0]
        or OSA.distance(one, other, score_cutoff=most) > most
    ):
        return 0.0
    return 0.0 if is_known(one, wording) and is_known(other, wording) else SLIP


def _cut(short: str, long: str, wording: Wording) -> float:
    """Return how alike a short form is: the beginning, or letters of a word nobody knows."""
    if not 2 <= len(short) <= _LONGEST_CUT or len(long) < len(short) + 2:
        return 0.0
    if long.startswith(short):
        return CUT
    letters = iter(long)
    inside = len(short) > 2 and short[0] == long[0] and all(each in letters for each in short)
    return CUT if inside and not is_known(short, wording) else 0.0


def _held(one: _Use, other: _Use, alike: Mapping[str, Mapping[str, float]]) -> _Held:
    left, right = list(one.words), list(other.words)
    likeness = 1.0
    for word in one.words:
        best = max(right, key=lambda told: _likeness(word, told, alike), default="")
        if best and _likeness(word, best, alike) >= LEAST_ALIKE:
            likeness = min(likeness, _likeness(word, best, alike))
            left.remove(word)
            right.remove(best)
    for short, long in ((left, right), (right, left)):
        for word in list(short):
            run = _run_of_initials(word, long)
            if run:
                likeness = min(likeness, INITIALS)
                short.remove(word)
                del long[run[0] : run[1]]
    return _Held(one, other, likeness, (tuple(left), tuple(right)))


def _likeness(one: str, other: str, alike: Mapping[str, Mapping[str, float]]) -> float:
    return 1.0 if one == other else alike[one].get(other, 0.0) if one in alike else 0.0


def _run_of_initials(word: str, words: Sequence[str]) -> tuple[int, int] | None:
    size = len(word)
    for start in range(len(words) - size + 1):
        run = words[start : start + size]
        if size > 1 and "".join(each[0] for each in run) == word:
            return start, start + size
    return None


def _swapped(held: _Held) -> frozenset[str] | None:
    """Return in what names differ, where that is a word or two on either side of a longer name."""
    one, other = held.left
    few = 0 < len(one) <= _MOST_SWAPPED and 0 < len(other) <= _MOST_SWAPPED
    longer = len(held.one.words) > len(one) and len(held.other.words) > len(other)
    return frozenset((" ".join(one), " ".join(other))) if few and longer else None


def _each_alone(held: _Held) -> bool:
    """Whether each name has a job without the other: jobs of both are alike by themselves."""
    return not (held.one.jobs <= held.other.jobs or held.other.jobs <= held.one.jobs)


def _in_common(held: _Held) -> frozenset[str]:
    """Return the words of a pair that are not swapped: what the swapped words say more of."""
    return frozenset(held.one.words).difference(held.left[0])


def _company(held: _Held, model: TextModel) -> float:
    one, other = (model.weigh(each.company) for each in (held.one, held.other))
    worth = dict(zip(one[0].tolist(), one[1].tolist(), strict=True))
    pairs = zip(other[0].tolist(), other[1].tolist(), strict=True)
    return float(sum(weight * worth.get(term, 0.0) for term, weight in pairs))


def _judged(held: _Held, model: TextModel, differ: Differing) -> NamePair | None:
    told = _by_names(held) or _by_company(held, model, differ)
    return told and _pair(held, *told)


def _by_names(held: _Held) -> tuple[float, str] | None:
    """Return how likely two names are one by themselves, and why; None where they are not."""
    if held.left == ((), ()):
        return held.likeness, "the same words"
    if held.one.item == held.other.item:
        return ITEM, "other names of it in the trade's table"
    return None


def _by_company(held: _Held, model: TextModel, differ: Differing) -> tuple[float, str] | None:
    """Return likewise for names that differ in a word or two, by what their jobs say."""
    one, other = held.left
    heads = held.one.words[-1], held.other.words[-1]
    swapped = _swapped(held)
    if swapped and not swapped <= _PLACES:
        often = len(differ.get(swapped, ())) >= OFTEN
        if not often and (heads[0] != heads[1] or not _each_alone(held)):
            return None
        least = SAME_COMPANY if often else VERY_SAME_COMPANY
        why = f"{' and '.join(sorted(swapped))} on jobs alike"
        return (SWAPPED, why) if _company(held, model) >= least else None
    longer = one or other
    is_part = bool(one) != bool(other) and len(longer) == 1 and longer[0] not in heads
    if is_part and _company(held, model) >= PART_COMPANY:
        return PART, f"part of a name, without {longer[0]}, on jobs alike"
    return None


def _pair(held: _Held, likeness: float, why: str) -> NamePair:
    fewer, more = sorted((held.one, held.other), key=lambda use: (len(use.jobs), use.name))
    return NamePair(
        name=fewer.name,
        meant=more.name,
        jobs=tuple(sorted(fewer.jobs)),
        meant_jobs=tuple(sorted(more.jobs)),
        likeness=likeness,
        why=why,
    )
