"""Every weight, threshold and horizon of the program, in one place.

Settings are passed into the rooms that reason as arguments; nothing reads them from inside the
mathematics. The defaults are for one workshop with a few hundred to a few thousand jobs.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """How similar past jobs are found."""

    neighbours: int = 40
    """How many past jobs may vote on the cause."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnosis:
    """How causes and fixes are judged."""

    horizon_days: int = 90
    """A fix has held when the complaint has not returned within this many days."""
    confidence: float = 0.95
    """Coverage of every printed interval."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recurrence:
    """When a fault counts as recurring."""

    least_vehicles: int = 3
    """Fewer different vehicles than this never make a pattern."""
    alert_level: float = 1.0
    """Lower bound of log2(observed / expected) from which a pattern is an alert."""
    watch_level: float = 0.585
    """The same, from which it is watched: log2 of 1.5."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All settings together."""

    recall: Recall = field(default_factory=Recall)
    diagnosis: Diagnosis = field(default_factory=Diagnosis)
    recurrence: Recurrence = field(default_factory=Recurrence)
