"""Which tests to start with where no cause is suspected, from the table beside this module."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import msgspec

from kb.case import Complaint, System
from kb.intake.said_fine import said_fine
from kb.intake.wording import Wording
from kb.tables import read_table
from kb.troubleshooting.fitting import DANGEROUS, NO_TROUBLE, fits, leads, names_part, signs_told
from kb.troubleshooting.general_tests import GeneralTest, general_tests

TABLE = Path(__file__).with_name("starts.toml")
MOST = 4
"""Tests of the table to start with: a look, and as many more as somebody weighs at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """One line of the table; what the fields mean is written at its head."""

    tests: tuple[str, ...]
    about: tuple[str, ...] = ()
    signs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Starts:
    """The whole table."""

    start: tuple[Start, ...]


@cache
def starts_table() -> Starts:
    """Read the table, once."""
    return msgspec.convert(read_table(TABLE), Starts)


def first_tests(
    complaint: Complaint, systems: Collection[System], wording: Wording
) -> tuple[GeneralTest, ...]:
    """Return the tests to start with where no cause is suspected: a look, then what fits the words.

    Those that need something made safe first are left out, and on a circuit that may have an
    igniter, or high voltage, all but the look. That the engine is a diesel is no trouble.

    Examples
    --------
    >>> said = Complaint(text="radiator leaking")
    >>> [test.name for test in first_tests(said, [System.COOLING], Wording.default())]
    ['visual check', 'pressure test']
    """
    told = (complaint.text, complaint.conditions or "")
    of_words = signs_told(told, complaint.codes, complaint.readings, wording)
    engine = (complaint.vehicle.engine or "",)
    signs = signs_told((*told, *engine), complaint.codes, complaint.readings, wording)
    looks = [test for test in general_tests().test if test.first]
    if not DANGEROUS.isdisjoint(systems):
        return tuple(looks)
    listed = _fitting(_listed(complaint, signs, wording), signs)
    most = MOST if looks[0] in listed[:MOST] else MOST - 1
    fitting = [*listed[:most], *_fitting(_called_for(complaint, of_words, wording), signs)]
    led = [test for test in fitting if leads(test, signs)]
    early = all(test in fitting[:2] for test in looks)
    every = (*led, *(() if early else looks), *fitting)
    return tuple({test.name: test for test in every}.values())


def _fitting(tests: Iterable[GeneralTest], signs: frozenset[str]) -> list[GeneralTest]:
    """Return those tests that fit the trouble and need nothing made safe, each once."""
    fit = {test.name: test for test in tests if fits(test, signs) and not test.needs}
    return list(fit.values())


def _listed(complaint: Complaint, signs: frozenset[str], wording: Wording) -> Iterator[GeneralTest]:
    """Yield what the table has for the signs, and of each subject its first line that fits."""
    known = {test.name: test for test in general_tests().test}
    left = set(said_fine(complaint.text, wording).subjects(wording))
    for each in starts_table().start:
        if signs.issuperset(each.signs) and (not each.about or left.intersection(each.about)):
            left.difference_update(each.about)
            yield from (known[name] for name in each.tests)


def _called_for(
    complaint: Complaint, of_words: frozenset[str], wording: Wording
) -> Iterator[GeneralTest]:
    """Yield the tests that the table lacks and trouble needs, or whose parts the words name."""
    words, troubles = [wording.tokens(complaint.text)], of_words - NO_TROUBLE
    listed = {name for each in starts_table().start for name in each.tests}
    for test in general_tests().test:
        called_for = test.together and troubles.intersection(test.only_for)
        if test.name not in listed and (called_for or names_part(test, words, wording)):
            yield test
