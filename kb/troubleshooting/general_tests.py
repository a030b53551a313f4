"""The trade's general tests, from the table beside this module."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from itertools import chain
from pathlib import Path

import msgspec

from kb.case import FailureMode, LinkKind, Precondition
from kb.tables import read_table

TABLE = Path(__file__).with_name("general_tests.toml")


class Leaves(StrEnum):
    """What an outcome leaves of the suspects, seen from the place where the test is made."""

    HERE = "here"
    ELSEWHERE = "elsewhere"
    FROM_HERE = "from here"
    BEFORE_HERE = "before here"
    ANOTHER_PART = "another part"
    HERE_OR_ITS_FEED = "here or its feed"
    FED_HERE = "what is fed here"


class Says(StrEnum):
    """What a value of a test says of it, by the trade's limits."""

    FAULTY = "faulty"
    GOOD = "good"


@dataclass(frozen=True, slots=True, kw_only=True)
class GeneralOutcome:
    """What may be seen; ``{here}`` stands for the link the test is made at.

    `told` are phrases by which a technician says it, see `kb.troubleshooting.told_outcome`; `value`
    is what a reading of what the test measures says where this is its outcome.
    """

    seen: str
    leaves: Leaves
    told: tuple[str, ...] = ()
    value: Says | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WordedAt:
    """What to do where a test is made at parts with one of these words in their names."""

    how: str
    parts: tuple[str, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class GeneralTest:
    """One line of the table; what the fields mean is written at its head."""

    name: str
    minutes: int
    how: str
    at: tuple[LinkKind, ...]
    right: float
    outcome: tuple[GeneralOutcome, ...]
    also: tuple[str, ...] = ()
    together: bool = False
    hands_on: bool = False
    needs: tuple[Precondition, ...] = ()
    blind: tuple[FailureMode, ...] = ()
    shows: tuple[FailureMode, ...] = ()
    parts: tuple[str, ...] = ()
    also_at: tuple[str, ...] = ()
    reads: str | None = None
    measures: tuple[str, ...] = ()
    measured_in: str | None = None
    never: tuple[str, ...] = ()
    never_at: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()
    only_for: tuple[str, ...] = ()
    not_for: tuple[str, ...] = ()
    leads: tuple[str, ...] = ()
    still: bool = False
    worded: tuple[WordedAt, ...] = ()
    igniter: bool = False
    first: bool = False
    paired: bool = False
    proves: bool = False
    repeated: bool = False
    compares: bool = False
    sees: bool = False
    finds: str | None = None
    tells: str | None = None
    sure: tuple[str, ...] = ()
    live: bool = True
    cautions: tuple[str, ...] = ()
    on_restraints: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleSign:
    """Words of a job that show what kind of trouble it is, unless others stand beside them.

    Where there are `near`, one of these must stand close to one of the words; where it `works`,
    the words must show besides that this subject (`kb.intake.subjects`) does.
    """

    words: tuple[str, ...]
    near: tuple[str, ...] = ()
    works: str | None = None
    unless: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OnRestraints:
    """Cautions on what touches an igniter's circuit, and on what takes a bag off."""

    touched: str
    bag: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OnHighVoltage:
    """Parts that only some cars drive by high voltage, and where on such a job one may touch."""

    twelve_volt: str
    driven: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The whole table. `kinds` are the last words of a name that tell what a thing is.

    `lacks` are parts that a car which shows a sign does not have, `feeds` words of parts that
    carry another's current, `sayings` phrases that outcomes of several tests have in common.
    """

    test: tuple[GeneralTest, ...]
    signs: Mapping[str, tuple[TroubleSign, ...]]
    lacks: Mapping[str, tuple[str, ...]]
    restraints: OnRestraints
    high_voltage: OnHighVoltage
    kinds: Mapping[LinkKind, tuple[str, ...]]
    feeds: tuple[str, ...]
    repair_minutes: Mapping[LinkKind, int]
    sayings: Mapping[str, tuple[str, ...]]


@cache
def general_tests() -> Table:
    """Read the table, once, with the sayings put where outcomes name them."""
    table = msgspec.convert(read_table(TABLE), Table)

    def whole(outcome: GeneralOutcome) -> GeneralOutcome:
        told = (table.sayings[each[1:]] if each[0] == "=" else (each,) for each in outcome.told)
        return replace(outcome, told=tuple(dict.fromkeys(chain.from_iterable(told))))

    tests = (replace(each, outcome=tuple(map(whole, each.outcome))) for each in table.test)
    return replace(table, test=tuple(tests))
