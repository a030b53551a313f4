"""Where to start with a complaint that is more likely than not of a cause never seen here."""

from collections.abc import Sequence
from dataclasses import dataclass

from kb.case import Complaint, System
from kb.diagnosis.diagnose import Diagnosis
from kb.intake.subjects import trade_subjects
from kb.intake.wording import Wording
from kb.troubleshooting.starts import first_tests

NOT_SEEN = 0.5
"""From this chance of a cause not seen before on, what is told is only the nearest there is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstTest:
    """A general test to start with, and the minutes it usually takes."""

    name: str
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StartingPoint:
    """Where to start where the shop has hardly had the like.

    Attributes
    ----------
    about : tuple of str
        The parts and functions that the complaint is about; empty where its words name none.
    had : bool
        Whether any past cause, or the complaint of any past job, is about one of them.
    systems : tuple of System
        Those of the parts and functions, else the one the complaint is of.
    tests : tuple of FirstTest
        General tests that fit the words, a look first.
    """

    about: tuple[str, ...]
    had: bool
    systems: tuple[System, ...]
    tests: tuple[FirstTest, ...]


def starting_point(diagnosis: Diagnosis, wording: Wording) -> StartingPoint | None:
    """Return where to start, None where the cause has more likely been seen here before."""
    if diagnosis.ranking.not_seen_before < NOT_SEEN:
        return None
    complaint, recalled = diagnosis.query.complaint, diagnosis.recalled
    systems = _systems(recalled.about, complaint)
    return StartingPoint(
        about=recalled.about,
        had=bool(recalled.at_home),
        systems=systems,
        tests=tuple(
            FirstTest(name=test.name, minutes=test.minutes)
            for test in first_tests(complaint, systems, wording)
        ),
    )


def _systems(about: Sequence[str], complaint: Complaint) -> tuple[System, ...]:
    systems = dict.fromkeys(trade_subjects()[each][0] for each in about)
    if not systems and complaint.system:
        return (complaint.system,)
    return tuple(system for system in systems if system is not System.OTHER)
