"""What is reported of a recurring fault."""

from dataclasses import dataclass
from enum import StrEnum

from kb.case import FailureMode
from kb.recurrence.association import Trend


class AlertLevel(StrEnum):
    """How surely an excess is one."""

    ALERT = "alert"
    WATCH = "watch"


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeCount:
    """How many of a pattern's vehicles failed in one way."""

    failure_mode: FailureMode
    vehicles: int


@dataclass(frozen=True, slots=True, kw_only=True)
class YearCount:
    """Vehicles that first came with the fault in a year, and all cases of their group then."""

    year: int
    vehicles: int
    cases: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """One fault that one group of vehicles has more often than its share.

    Attributes
    ----------
    failure_mode : FailureMode or None
        None if the excess is one of all ways of failing together; `modes` tells them apart.
    model : str or None
        None if the excess is one of all models of the make together.
    observed, expected : int, float
        Vehicles of the group with the fault, seen and to expect by its share.
    group_vehicles, fault_vehicles, vehicles : int
        Vehicles of the group, with the fault, and in all.
    set_aside : tuple of str
        Other groups with an excess of the same part; their vehicles are not counted in these.
    times, at_least : float
        Observed / expected, and the lower end of its shrunken 95 % interval.
    chance : float
        One-sided exact p-value of so many by luck alone.
    false_alarms : float
        That p-value adjusted for all combinations looked at.
    only_here : bool
        No other vehicle had the fault: perhaps no other is built that way.
    trend, trend_chance : Trend, float or None
        Whether the fault takes a growing share of the group's cases, with its p-value.
    came_again : int
        Vehicles that came with it more than once.
    jobs : tuple of int
        The jobs behind it, oldest first.
    """

    component: str
    location: str | None
    failure_mode: FailureMode | None
    make: str
    model: str | None
    level: AlertLevel
    observed: int
    expected: float
    group_vehicles: int
    fault_vehicles: int
    vehicles: int
    set_aside: tuple[str, ...]
    times: float
    at_least: float
    chance: float
    false_alarms: float
    only_here: bool
    modes: tuple[ModeCount, ...]
    trend: Trend
    trend_chance: float | None
    years: tuple[YearCount, ...]
    came_again: int
    jobs: tuple[int, ...]

    @property
    def fault(self) -> str:
        """One line: ``seat connector, under seat: high resistance``."""
        where = f", {self.location}" if self.location else ""
        how = f": {self.failure_mode}" if self.failure_mode else ""
        return f"{self.component}{where}{how}"

    @property
    def group(self) -> str:
        """Make and, if it is one model's, model."""
        return f"{self.make} {self.model}" if self.model else self.make
