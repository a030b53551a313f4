"""What is reported of a recurring fault."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from kb.case import FailureMode
from kb.recurrence.change import Trend


class AlertLevel(StrEnum):
    """How surely a fault befalls a group more often than the rest.

    What is as sure as what is to be acted on, but was never seen on another group, stands apart: it
    may be how the group is built.
    """

    ACT = "act"
    WATCH = "watch"
    APART = "only here"


@dataclass(frozen=True, slots=True)
class Window:
    """The days that are looked at, both included."""

    since: date
    until: date


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeCount:
    """How many of a pattern's vehicles failed in one way."""

    failure_mode: FailureMode
    vehicles: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CarsOfModel:
    """How many of a pattern's vehicles are of one model."""

    model: str
    vehicles: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineCount:
    """Most vehicles that had it have one engine, more than luck explains.

    They are `vehicles` of the `known` whose engine is written down; of the group's vehicles of
    which it is, `group_vehicles` of `group_known` have it.
    """

    engine: str
    vehicles: int
    known: int
    group_vehicles: int
    group_known: int

    @property
    def is_all(self) -> bool:
        """Whether no vehicle with another engine had it."""
        return self.vehicles == self.known


@dataclass(frozen=True, slots=True, kw_only=True)
class YearCount:
    """Vehicles that first came with the fault in a year, and all cases of their group then."""

    year: int
    vehicles: int
    cases: int


@dataclass(frozen=True, slots=True)
class MonthCount:
    """Vehicles that first came with the fault in a month, and how many were to be expected.

    Expected are as many of the group's cases as of all others' cases had it over the same days.
    """

    year: int
    month: int
    vehicles: int
    expected: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """Vehicles seen in a window, of a group and of all others, and those with the fault."""

    window: Window
    observed: int
    group_vehicles: int
    others_observed: int
    other_vehicles: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """Whether, and since about when, a fault takes another share of its group's work.

    A car's jobs count until it first had the fault. `about` lies between `earliest` and `latest`
    with the confidence of the settings; `before` and `after` are the group's jobs for one with the
    fault (None where there was none), `jobs_since` those since `about`. All but `trend` and
    `chance`, its two-sided p-value, are None where no change is told, or where its interval holds
    half of all those jobs or more. `last` is the day a car last came with it first, and
    `jobs_since_last` are those jobs since; it has `stopped` if so many without it are no luck.
    """

    trend: Trend
    chance: float | None = None
    about: date | None = None
    earliest: date | None = None
    latest: date | None = None
    before: float | None = None
    after: float | None = None
    jobs_since: int | None = None
    last: date | None = None
    jobs_since_last: int = 0
    stopped: bool = False


@dataclass(frozen=True, slots=True)
class OneRecorder:
    """Most jobs of a fact are one person's, who recorded `share` of all jobs of the window.

    `stands_out` if among that person's own cars, too, those of the group have it more often than
    luck explains: then it is not that others do not write it down.
    """

    jobs: int
    share: float
    stands_out: bool


@dataclass(frozen=True, slots=True)
class Sight:
    """How many times as often a fault would have to befall a group of so many vehicles to show."""

    group: str
    vehicles: int
    times: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultOfGroup:
    """A fault and the group of vehicles that has it.

    `failure_mode` is None if all ways of failing are meant together, `model` is None if all models
    of the make are.
    """

    component: str
    location: str | None
    failure_mode: FailureMode | None
    make: str
    model: str | None

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


class AgeBeside(StrEnum):
    """How old a group is beside all others, of whose age and distance no other vehicle was seen.

    `UNKNOWN` where of most vehicles with the fault no year is written down.
    """

    OLDER = "older"
    NEWER = "newer"
    APART = "apart"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Incomparable(FaultOfGroup):
    """A fault that plain counts make stand out, where the model and its age cannot be told apart.

    No other vehicle was seen at the age and distance at which most of the group had it. `untagged`,
    `wears` and `jobs` are as of a `Pattern`.
    """

    counts: Counts
    beside: AgeBeside
    untagged: int
    wears: bool
    jobs: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern(FaultOfGroup):
    """One fault that befalls one group of vehicles more often than all others.

    Attributes
    ----------
    counts : Counts
        Of the window in which it was found.
    all_time : Counts or None
        Of all time, where it was found in a window of its own.
    untagged : int
        Of the jobs behind it, those without key tag or VIN: whose car it was is a guess.
    if_apart : Counts or None
        What `counts` would be if every untagged visit were another car's; None if the group's
        vehicles would be the same.
    if_joined : Counts or None
        What they would be if visits that neither tag nor odometer tells apart were as few cars' as
        may be; None if the group's vehicles would be the same. What is to be acted on is so then,
        too.
    anywhere : Counts or None
        Those of the component wherever it sits, whichever way it failed; None if it was found at
        one location.
    spared : int
        Vehicles of the group that were seen in the window and never had it, at any time; where all
        that had it have one engine, without those that are known to have another.
    spared_jobs : tuple of int
        The last job of each of these, the newest first: whom to call.
    engine : EngineCount or None
        None unless most that had it have one engine, more than luck explains.
    models : tuple of CarsOfModel
        Of a fact of a whole make, the models that had it.
    expected : float
        Vehicles of the group that would have the fault, if it befell it as often as the others.
    set_aside : tuple of str
        Other groups with an excess of the same part; their vehicles are not counted in these.
    of_its_age : int or None
        Other vehicles as old, and gone as far, as most that had it; None where they are enough to
        tell whether it comes with the model or with the age.
    times, at_least : float
        Rate of the group by that of the others, shrunken, and its low end.
    chance : float
        One-sided exact mid-p value of so many by luck alone.
    spread, by_nature : float
        How much models were seen to differ by nature in its window, in shares of a rate, and the
        same chance by luck and by that.
    false_alarms : float
        About how many of all facts that are at least as striking are false; their share is no more.
    only_here : bool
        No other vehicle had the fault: perhaps no other is built that way.
    wears : bool
        It is a part that wears in use, or was mostly found worn: that tells nothing of how the
        group is built.
    came_again : int
        Vehicles that came with it more than once.
    one_recorder : OneRecorder or None
        None unless one person recorded more of it than luck explains.
    jobs : tuple of int
        The jobs behind it, oldest first.
    refuted : tuple of int
        Jobs of the group that it was said to be, until the car was back with another cause; they
        count in nothing else.
    """

    level: AlertLevel
    counts: Counts
    all_time: Counts | None
    untagged: int
    if_apart: Counts | None
    if_joined: Counts | None
    anywhere: Counts | None
    spared: int
    spared_jobs: tuple[int, ...]
    engine: EngineCount | None
    models: tuple[CarsOfModel, ...]
    expected: float
    set_aside: tuple[str, ...]
    of_its_age: int | None
    times: float
    at_least: float
    chance: float
    spread: float
    by_nature: float
    false_alarms: float
    only_here: bool
    wears: bool
    modes: tuple[ModeCount, ...]
    change: Growth
    years: tuple[YearCount, ...]
    months: tuple[MonthCount, ...]
    came_again: int
    one_recorder: OneRecorder | None
    jobs: tuple[int, ...]
    refuted: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recurrences:
    """All recurring faults, and what was looked at for them.

    `incomparable` faults stand out where a group's age cannot be told from its model; none of them
    is a pattern.
    `nearest` is what came nearest to being one, where there is none.
    `looked_at` combinations of a fault and a group could have shown something; `untagged` jobs
    without a key tag were taken for `folded` cars, the `unread` of them that nothing tells apart
    for one each. `sights` are of the models with most vehicles
    in the first window, for a fault that `RecurrenceSettings.sight_rate` of the others have.
    """

    patterns: tuple[Pattern, ...]
    incomparable: tuple[Incomparable, ...]
    nearest: Pattern | None
    looked_at: int
    spread: float
    untagged: int
    unread: int
    folded: int
    sights: tuple[Sight, ...]
