"""Every weight, threshold and horizon of the program, in one place.

Settings are passed into the rooms that reason as arguments; nothing reads them from inside the
mathematics. The defaults are for one workshop with a few hundred to a few thousand jobs.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Weight:
    """What one signal weighs: log-odds per unit of similarity away from `neutral`."""

    slope: float
    neutral: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallSettings:
    """How similar past jobs are found."""

    neighbours: int = 40
    """How many past jobs may vote on the cause."""
    intercept: float = -3.3
    """Log-odds that two jobs share their cause when no signal says anything."""
    weights: Mapping[str, Weight] = field(
        default_factory=lambda: {
            "complaint": Weight(slope=5.1, neutral=0.1),
            "codes": Weight(slope=1.4, neutral=0.2),
            "readings": Weight(slope=2.1, neutral=0.3),
            "tests": Weight(slope=20.0, neutral=0.5),
            "vehicle": Weight(slope=0.7, neutral=0.3),
            "conditions": Weight(slope=1.2, neutral=0.2),
            "system": Weight(slope=1.8, neutral=0.7),
        }
    )
    """What each signal weighs, between what the demonstration shop and open work orders taught
    (`kb.evaluation.learning`); ``tests/benchmarks/recall.py`` shows what each of them brings."""
    least_similarity: Mapping[str, float] = field(
        default_factory=lambda: {"complaint": 0.06, "codes": 0.3, "readings": 0.2, "tests": 0.55}
    )
    """A past job is worth showing only if one of these signals reaches its level."""
    least_chance: float = 0.02
    """A past job less likely than this to share the cause is not recalled."""
    character_share: float = 0.3
    """Share of the character n-grams in the likeness of texts, the rest is the words'."""
    read_unknown_words: bool = True
    """Whether a word no case has is read, too, as the known word it is one edit from."""
    vote_power: float = 1.7
    """Power to which the odds of a shared cause vote: high, and the nearest cases outvote many."""
    linear_least: int = 100
    """With fewer cases than this no linear model is fitted."""
    linear_most: int = 10_000
    """It is fitted on at most so many of the newest cases ..."""
    linear_causes: int = 500
    """... and on at most so many causes, the most frequent."""
    linear_dimensions: int = 400
    """Dimensions that the terms are brought down to."""
    linear_strength: float = 10.0
    """Inverse of the penalty on its weights."""
    prior_spread: float = 1.0
    """How far the shop's own weights easily move from the defaults, in log-odds."""
    learn_most: int = 1_500
    """Weights are learnt from the answers to at most so many cases ..."""
    learn_least: int = 150
    """... and not from fewer than so many."""
    refit_share: float = 0.2
    """The index is fitted again once this share of the cases has changed since ..."""
    refit_least: int = 10
    """... but not for fewer changed jobs than this ..."""
    refit_most: int = 500
    """... and always for more than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DiagnosisSettings:
    """How causes and fixes are judged."""

    pool_jobs: float = 0.7
    """How much the recalled jobs' votes count in the pool with the linear model ..."""
    pool_model: float = 0.75
    """... and how much the linear model does."""
    pool_floor_jobs: float = 0.003
    """Added to the votes' shares, so that a cause no recalled job had is not ruled out ..."""
    pool_floor_model: float = 0.0001
    """... and to the linear model's chances."""
    named: float = 5.0
    """What a complaint that is all of a cause's own words adds to the logarithm of its chance."""
    first_shift: float = 0.0
    """Added to the log-odds of the first cause's chance, after these are taken times ..."""
    first_slope: float = 1.0
    """... this: brings that chance to what such chances came true."""
    unseen_intercept: float = -1.0
    """Added to the log-odds of the share of causes seen once, for those of 'not seen before' ..."""
    unseen_weights: Mapping[str, float] = field(
        default_factory=lambda: {"near": -0.1, "first": -0.3, "named": -0.3, "kin": -0.2}
    )
    """... what each measure of strangeness adds to it (`kb.diagnosis.causes.strangeness`)."""
    usual_near: Mapping[int, float] = field(default_factory=dict)
    """Cause -> log-odds of a shared cause that the nearest job usually has for its cases; learnt
    from the shop, empty until then ..."""
    usual_near_of_any: float = 0.0
    """... and for those of any other cause."""
    new_model_first: float = -0.4
    """Added to the log-odds of the first cause's chance for a car of a model never had here ..."""
    new_model_shift: float = 0.2
    """... and the log-odds of 'not seen before' are moved by this."""
    prior_spread: float = 0.5
    """How far the shop's own weights easily move from the defaults."""
    few_jobs: int = 50
    """With fewer cases than this every chance is called rough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RateSettings:
    """How fixes are rated."""

    horizon_days: int = 90
    """A fix has held when the complaint has not returned within this many days."""
    horizon_km: int = 4000
    """The same on the clock of kilometres: about as far as a car goes in 90 days."""
    silence_days: int | None = None
    """A car not heard of for so many days counts as held; None, the only unbiased choice: silence
    tells nothing."""
    least_fixes: int = 10
    """With fewer different fixes than this in the store none tells of another."""
    confidence: float = 0.95
    """Coverage of every printed interval."""
    least_known: int = 3
    """No single number for a fix rate with fewer repairs whose fate at the horizon is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowUpSettings:
    """Which customers are to be asked whether a fix held."""

    first_days: int = 14
    """Nobody is asked sooner after the handover than this ..."""
    last_days: int = 365
    """... or later than this."""
    grave: float = 2.0
    """How much more a fix counts on what brakes, steers, restrains or carries high voltage."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingSettings:
    """How a reading is judged by the readings of good items."""

    content: float = 0.95
    """Share of all good readings that a normal band is to hold ..."""
    confidence: float = 0.90
    """... and how surely."""
    least: int = 5
    """Fewer good readings than this do not speak."""
    least_models: int = 3
    """Readings of fewer models than this decide on another model only if nothing else can."""
    borrow_below: int = 30
    """A model with fewer good readings than this borrows the spread of the other models."""
    least_borrowed: int = 10
    """Degrees of freedom that the other models must have for that."""
    outlier_share: float = 0.2
    """At most this share of good readings may be set aside as mislabelled."""
    outlier_level: float = 0.05
    """Chance with which clean readings lose one of theirs to that."""
    doubtful_to: float = 1.5
    """Half-widths of the band from its middle up to which a reading outside is doubtful."""
    tails_from: float = 1.13
    """Ratio of standard to median deviation from which readings may hide bad ones (by simulation:
    of 500 clean readings 5% come so far, of 500 with a tenth mislabelled more than 95%)."""
    widened_from: float = 0.02
    """A band that is expected to hold so much more than its content is called widened."""
    least_pairs: int = 30
    """Fewer good pairs than this do not say how far twins may differ; until then ..."""
    twin_ratio: float = 0.15
    """... they may differ by this ratio (common practice)."""
    least_repeats: int = 3
    """A value must stand on so many circuits to be a placeholder ..."""
    least_on_one_car: int = 2
    """... or on so many of the car that is asked about."""
    extreme_from: float = 2.0
    """Half-widths from which a repeated value is extreme enough for one."""
    near: float = 0.1
    """Past readings within this share of the distance from the middle are near the same value."""
    near_without_band: float = 0.02
    """The same where no band speaks: within this ratio."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecurrenceSettings:
    """When a fault counts as recurring."""

    least_vehicles: int = 3
    """Fewer different vehicles than this never make a pattern."""
    alert_level: float = 1.0
    """Lower bound of log2(observed / expected) from which a pattern is an alert."""
    watch_level: float = 0.585
    """The same, from which it is watched: log2 of 1.5."""
    suspect_level: float = 0.0
    """The same, above which a group is no yardstick for others with the same fault."""
    year_band: int = 5
    """Model years that are compared with one another: bands of so many years."""
    trend_level: float = 0.05
    """Two-sided p-value below which a fault is called rising or falling."""
    least_for_trend: int = 5
    """With fewer vehicles than this no trend is looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleshootingSettings:
    """What the next step of an open job is weighed with."""

    most_causes: int = 8
    """Likelier causes than this many are one with what was not seen before ..."""
    least_chance: float = 0.01
    """... and so are causes less likely than this, before anything was tested."""
    right: float = 0.75
    """How often a test of the shop's own leaves the true cause standing, before its jobs tell."""
    pull: float = 4.0
    """How many tests that start, the table's or this one, weighs as much as."""
    silence: float = 1.0
    """How much a past job on which a cause was proved without a test speaks for that test's
    telling nothing of it."""
    test_minutes: int = 20
    """Minutes of a test that neither shop nor table knows."""
    off_circuit: float = 0.1
    """Once the circuit is told, chances of suspects outside of it shrink to this share ..."""
    in_links: float = 0.5
    """... and of what was not seen before this share lies in its links, in equal parts."""
    unlock_minutes: float = 15.0
    """Minutes it takes to make a locked test safe, by guess: the manufacturer says how long."""
    cure: float = 0.8
    """Chance that a repair nobody here has tried cures its cause ..."""
    cure_pull: float = 2.0
    """... and how many repairs that weighs as much as."""
    money_per_minute: float = 1.0
    """What a minute of work costs in the shop's currency: parts are weighed as minutes."""
    from_scratch: float = 240.0
    """Minutes to find what is none of the suspects; mending it then costs what their repairs do on
    average."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All settings together."""

    recall: RecallSettings = field(default_factory=RecallSettings)
    diagnosis: DiagnosisSettings = field(default_factory=DiagnosisSettings)
    rates: RateSettings = field(default_factory=RateSettings)
    follow_up: FollowUpSettings = field(default_factory=FollowUpSettings)
    readings: ReadingSettings = field(default_factory=ReadingSettings)
    recurrence: RecurrenceSettings = field(default_factory=RecurrenceSettings)
    troubleshooting: TroubleshootingSettings = field(default_factory=TroubleshootingSettings)
