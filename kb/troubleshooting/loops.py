"""Which circuit a part is on: what a test at one tells nothing of another.

Where nobody told the circuit of a job, the table beside this module says what lies on the loops
of the restraints; other parts are on different circuits where their names plainly speak of
different parts of the car.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

import msgspec

from kb.case import Cause, Job, LinkKind, System
from kb.intake.lifting import known_phrases
from kb.intake.subjects import subjects_of, trade_subjects
from kb.intake.wording import Wording
from kb.tables import read_table
from kb.troubleshooting.general_tests import general_tests

TABLE = Path(__file__).with_name("loops.toml")
_NONE: frozenset[str] = frozenset()
_MOST_CACHED = 5_000
"""Names whose circuits are kept in mind: more than the parts and places of any shop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """One circuit of the table; `end` is the part that all of it leads to, if it has one.

    A job is about that if it says one of the words that it is `called`.
    """

    name: str
    words: tuple[str, ...]
    end: str | None = None
    called: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LoopsTold:
    """The loops that a job is told to be about, none where it may be any, and where they end."""

    loops: frozenset[str] = frozenset()
    ends: tuple[str, ...] = ()


ANY = LoopsTold()
"""What a job is about that tells no loop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loops:
    """The whole table; what the fields mean is written at its head."""

    loop: tuple[Loop, ...]
    nameless: tuple[str, ...]
    shared: tuple[str, ...]


@cache
def loops_table() -> Loops:
    """Read the table, once."""
    return msgspec.convert(read_table(TABLE), Loops)


def loops_told(job: Job, wording: Wording) -> LoopsTold:
    """Return what a job is told to be about.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Vehicle
    >>> def told(text):
    ...     job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint=text)
    ...     return loops_told(job, Wording.default())
    >>> told("driver airbag open")
    LoopsTold(loops=frozenset({'driver airbag'}), ends=('driver airbag',))
    >>> told("seat heating dead").ends
    ()
    """
    text = f"{job.complaint}; {job.conditions or ''}"
    loops = loops_at(text, wording)
    said = f" {' '.join(_singular(wording.tokens(text)))} "
    ends = tuple(
        each.end
        for each in loops_table().loop
        if each.end and each.name in loops and any(f" {words} " in said for words in _called(each))
    )
    return LoopsTold(loops, ends) if ends else ANY  # a place alone, as a seat, tells no loop


def _called(loop: Loop) -> Iterator[str]:
    wording = Wording.default()
    yield from (" ".join(_singular(wording.tokens(words))) for words in loop.called)


def loops_of(cause: Cause, wording: Wording) -> frozenset[str]:
    """Return the loops that the part of a cause may be on; none where it may be on any.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> cause = Cause(component="airbag connector", location="A pillar",
    ...               failure_mode=FailureMode.OPEN)
    >>> loops_of(cause, Wording.default())
    frozenset({'curtain airbag'})
    """
    named = loops_at(cause.component, wording)
    if named or not set(wording.tokens(cause.component)) <= set(loops_table().nameless):
        return named
    return loops_at(cause.location or "", wording)


def is_off(cause: Cause, told: LoopsTold, wording: Wording) -> bool:
    """Whether a part plainly is on none of the loops that a job is told to be about."""
    own = loops_of(cause, wording)
    return bool(own and told.loops) and own.isdisjoint(told.loops)


def are_apart(one: Cause, other: Cause, wording: Wording) -> bool:
    """Whether two parts plainly are on different circuits.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> def part(name): return Cause(component=name, failure_mode=FailureMode.OPEN)
    >>> wording = Wording.default()
    >>> are_apart(part("cooling fan connector"), part("door lock"), wording)
    True
    >>> [are_apart(part("seat connector"), part(name), wording)
    ...  for name in ("clock spring", "pretensioner", "airbag control unit")]
    [True, False, False]
    """
    loops = loops_of(one, wording), loops_of(other, wording)
    if all(loops):
        return loops[0].isdisjoint(loops[1])
    systems = (
        _systems_of(one.component, wording),
        _systems_of(other.component, wording),
    )
    return all(systems) and systems[0].isdisjoint(systems[1])


def ends_behind(plug: str, told: LoopsTold, wording: Wording) -> tuple[str, ...]:
    """Return the parts that a job is about and that hang behind a plug."""
    through = loops_at(plug, wording) & told.loops
    ends = {each.end for each in loops_table().loop if each.name in through}
    return tuple(end for end in told.ends if end in ends)


@lru_cache(maxsize=_MOST_CACHED)
def loops_at(text: str, wording: Wording) -> frozenset[str]:
    """Return the loops that words tell of.

    Examples
    --------
    >>> sorted(loops_at("buckle", Wording.default()))
    ['belt buckle switch', 'belt pretensioner']
    """
    found = known_phrases(_singular(wording.tokens(text)), _phrases(wording))
    return _NONE.union(*(each for each in found if isinstance(each, frozenset)))


@lru_cache(maxsize=4)
def _phrases(wording: Wording) -> Mapping[tuple[str, ...], frozenset[str]]:
    found: dict[tuple[str, ...], frozenset[str]] = {}
    for loop in loops_table().loop:
        for phrase in loop.words:
            words = _singular(wording.tokens(phrase))
            found[words] = found.get(words, _NONE) | {loop.name}
    return found


def _singular(words: Iterable[str]) -> tuple[str, ...]:
    """Drop the s of plurals and of what is somebody's: the driver's airbag."""
    return tuple(word.removesuffix("s") for word in words)


@lru_cache(maxsize=_MOST_CACHED)
def _systems_of(part: str, wording: Wording) -> frozenset[System]:
    """Return the systems that the name of a part plainly speaks of; none of what serves many."""
    table = general_tests()
    serving = (*loops_table().shared, *table.feeds, *table.kinds[LinkKind.CONTROL_UNIT])
    told = f" {' '.join(wording.tokens(part))} "
    if any(f" {' '.join(wording.tokens(word))} " in told for word in serving):
        return frozenset()
    return frozenset(trade_subjects()[name][0] for name in subjects_of(part, wording, plainly=True))
