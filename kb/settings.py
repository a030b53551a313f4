"""Every weight, threshold and horizon of the program, in one place.

Settings are passed into the rooms that reason as arguments; nothing reads them from inside the
mathematics. The defaults are for one workshop with a few hundred to a few thousand jobs. Those of
recall and diagnosis lie near what is learnt from the demonstration shop and from open work orders
(``tests/benchmarks/recall.py``). Of the others, those without a reason beside them are by
judgement.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

CONFIRMATION_HOURS = 4.0
"""How long it counts at most that somebody confirmed what makes a step safe (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Weight:
    """What the similarity of two jobs in one signal says of their having the same cause."""

    slope: float
    """Log-odds that one unit of similarity adds."""
    neutral: float
    """Similarity that says nothing: less speaks against the same cause, more for it."""


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
    """What each signal weighs. The values lie between those learnt from the demonstration shop and
    from open work orders (`kb.evaluation.learning`)."""
    least_similarity: Mapping[str, float] = field(
        default_factory=lambda: {"complaint": 0.06, "codes": 0.3, "readings": 0.2, "tests": 0.55}
    )
    """Level that at least one of these signals must reach for a past job to be worth showing."""
    least_chance: float = 0.02
    """A past job less likely than this to share the cause is not recalled."""
    character_share: float = 0.3
    """Share of the character n-grams in the likeness of two texts; the rest is the words'."""
    read_unknown_words: bool = True
    """Whether a word that no case has is also read as the known word that is one edit away."""
    vote_power: float = 1.7
    """Power of the odds of a shared cause with which a job votes. The higher it is, the more easily
    a few near jobs outvote many others."""
    vote_most: float = 3.0
    """A job counts at most as so many of the likeliest job of any other cause: a complaint in the
    very words of one case does not outvote many like ones. The demonstration shop and the
    excavators are ranked alike with 3, 5 or no bound; with 3, a handful of like jobs holds its own
    (by judgement)."""
    vote_always: float = 1 / 3
    """A job's vote is never cut below that of this chance, so that the only like job is not drowned
    by the noise of unlike ones."""
    linear_least: int = 100
    """Least number of cases for which a linear model is fitted."""
    linear_most: int = 10_000
    """Most cases that the linear model is fitted on, the newest ones."""
    linear_causes: int = 500
    """Most causes that the linear model knows, the most frequent ones."""
    linear_dimensions: int = 400
    """Dimensions to which the linear model reduces the words."""
    linear_strength: float = 10.0
    """Inverse of the penalty on the linear model's weights."""
    linear_tolerance: float = 1e-4
    """Steepness at which the fitting of the linear model stops. At 1e-3 a first chance of the
    demonstration shop moves by up to 0.095 when one case is added; tighter than this moves it no
    less."""
    prior_spread: float = 1.0
    """Standard deviation, in log-odds, of a shop's own weights around the defaults."""
    learn_most: int = 1_500
    """Most cases that are asked when weights are learnt."""
    learn_least: int = 150
    """Least number of cases from which weights are learnt."""
    always_fitted: int = 2_000
    """Up to so many cases the index of cases is fitted again before a question whenever one is new
    or changed. A case that the linear model has not learnt moves the first chance of a complaint in
    its own words by up to 0.5 (`tests/benchmarks/unfitted.py`). Likewise the index of all jobs:
    with one in five of 120 or 500 not fitted the chance of the nearest moved by up to 0.07, with
    ten of 976 by 0.007; fitting takes a second a thousand jobs."""
    unfitted_share: float = 0.01
    """Share of the cases above these that may be new or changed. Of 5,000 made-up cases with 30 not
    fitted, 3 of 200 others moved by more than 0.05, and 12 of the 30 in their own words, by up to
    0.33; fitting takes some 14 s there, which nobody is to wait for at every question."""
    refit_share: float = 0.2
    """Share of the jobs that may change in whatever way before an index is fitted again."""
    refit_least: int = 10
    """Changed jobs for which the index is never fitted again, whatever their share."""
    refit_most: int = 500
    """Changed jobs above which the index is always fitted again, whatever their share."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DiagnosisSettings:
    """How causes and fixes are judged."""

    pool_jobs: float = 0.7
    """Weight of the recalled jobs' votes when they are pooled with the linear model."""
    pool_model: float = 0.75
    """Weight of the linear model in that pool, were there any number of cases of each cause."""
    pool_pull: float = 1.0
    """With so many cases of a cause on average the model's weight is half of that (chosen on the
    demonstration shop and the excavators, with 2 and 27 cases a cause)."""
    pool_jobs_more: float = 0.7
    """Added to the votes' weight as the model's falls."""
    pool_floor_jobs: float = 0.003
    """Added to every share of the votes, so that a cause of no recalled job is not ruled out."""
    pool_floor_model: float = 0.0001
    """Added to every chance that the linear model gives, for the same reason."""
    named: float = 5.0
    """Added to the logarithm of a cause's chance where the complaint is all of its own words."""
    subject: float = 1.5
    """Added to it where the cause, or all its cases, are about what the complaint is about."""
    shown: float = 6.0
    """Added to it where a faulty reading speaks for all of the cause's words. A cause with its
    place has two thirds of them: such a value is then taken to be fifty times as often read on it
    as on another (by judgement, no source)."""
    said_fine: float = 3.0
    """Taken from it where the complaint says of all the cause's words that they are fine: a part
    is named in half of its words, and what people call fine is at fault once in four or five (by
    judgement, no source)."""
    first_shift: float = 0.0
    """Added to the log-odds of the first cause's chance, so that it comes true as often as said."""
    first_slope: float = 1.0
    """Factor of those log-odds, taken before the shift is added."""
    unseen_intercept: float = -1.0
    """Added to the log-odds of 'not seen before', which begin as the share of causes seen once."""
    unseen_weights: Mapping[str, float] = field(
        default_factory=lambda: {
            "near": -0.1,
            "first": -0.3,
            "named": -0.3,
            "alike": -0.2,
            "subject": -0.2,
        }
    )
    """Added to them for each unit of a measure of strangeness
    (`kb.diagnosis.causes.strangeness`)."""
    unseen_system: float = -0.4
    """The same of the measure ``system``. It is not learnt: what is learnt from are causes hidden,
    and the shop has others of their systems."""
    usual_near: Mapping[int, float] = field(default_factory=dict)
    """How near the nearest job usually is for the cases of a cause: cause key to log-odds of a
    shared cause. It is empty until the shop has learnt it."""
    usual_near_of_any: float = 0.0
    """The same for a cause that is not among those."""
    new_model_first: float = -0.4
    """Added to the log-odds of the first cause's chance if the shop never had the model."""
    new_model_shift: float = 0.2
    """Added to the log-odds of 'not seen before' if the shop never had the model."""
    prior_spread: float = 0.5
    """Standard deviation of a shop's own values around these defaults."""
    few_jobs: int = 50
    """Number of cases below which every chance is called rough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RateSettings:
    """How fixes are rated."""

    horizons_days: tuple[int, ...] = (90, 365)
    """Days without a return of the complaint after which a fix has held, the shortest first."""
    horizons_km: tuple[int, ...] = (4_000, 15_000)
    """The same in kilometres: about as far as a car goes in 90 days and in a year."""
    would_tell: float = 0.9
    """How many of the customers whose fault is back say so when the car is in for something else
    (common practice, no source). Such a visit counts as heard of by this share, and by the rest as
    not heard of: it proves that the car runs, and not by itself that the fault stayed away. At 1 it
    would be taken for an answer. At 0 cars that hold were heard of only if asked after, while those
    that fail come by themselves, so that every rate would be too dark."""
    silence_days: int | None = None
    """Days of silence after which a car counts as held. None means that silence tells nothing,
    which is the only unbiased choice."""
    least_fixes: int = 10
    """Least number of different fixes in the store for one to tell of another."""
    confidence: float = 0.95
    """Coverage of every interval printed of a rate, and of what an evaluation measured."""
    least_known: int = 3
    """Repairs whose fate at a horizon must be known for a fix rate to be printed as a number, or
    compared with another, at that horizon."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowUpSettings:
    """Which customers are to be asked whether a fix held."""

    first_days: int = 14
    """Days after the handover before which nobody is asked."""
    last_days: int = 420
    """Days after the handover beyond which nobody is asked any more: a year, and some time to ask
    how it ended."""
    rest_days: int = 30
    """Days for which a car rests that was asked after in vain (common practice, no source)."""
    grave: float = 2.0
    """Factor of what an answer is worth on what brakes, steers, restrains or carries high voltage.
    """


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingSettings:
    """How a reading is judged by the readings of good items."""

    content: float = 0.95
    """Share of all good readings that a normal band is to hold: as reference limits of a laboratory
    do (common practice there, no source)."""
    confidence: float = 0.90
    """How sure it must be that the band holds that share. At 0.95 bands of ten readings would be
    too wide to call anything bad (by judgement)."""
    least: int = 5
    """Least number of good readings that speak."""
    least_models: int = 3
    """Least number of models whose readings decide on another model. Readings of fewer decide only
    if nothing else can."""
    borrow_below: int = 30
    """Number of good readings below which a model borrows the spread of the other models."""
    least_borrowed: int = 10
    """Degrees of freedom that the other models must have to lend their spread."""
    outlier_share: float = 0.2
    """Largest share of good readings that may be set aside as mislabelled: with more, nobody can
    say which of them are the good ones (by judgement)."""
    outlier_level: float = 0.05
    """Chance that one is set aside where none is mislabelled."""
    doubtful_to: float = 1.5
    """Distance from the middle up to which a reading outside the band is doubtful and not bad, in
    half-widths of the band."""
    tails_from: float = 1.13
    """Ratio of the standard to the median deviation from which readings may hide bad ones. By
    simulation 5% of clean samples of 500 come so far, and more than 95% of those with a tenth
    mislabelled."""
    widened_from: float = 0.02
    """How much more than its content a band must be expected to hold to be called widened."""
    least_pairs: int = 30
    """Least number of good pairs that say how far twins may differ."""
    twin_ratio: float = 0.15
    """How far twins may differ, as a ratio, while there are fewer pairs (common practice)."""
    odd_ratio: float = 2.0
    """So many times more or less than all others of a car is no spread any more (by judgement)."""
    least_repeats: int = 3
    """Number of circuits on which a value must stand to be a placeholder."""
    least_on_one_car: int = 2
    """The same for circuits of the one car that is asked about."""
    extreme_from: float = 2.0
    """Distance from the middle, in half-widths, from which a repeated value is a placeholder."""
    near: float = 0.1
    """Past readings no farther than this from a value are near it, as a share of the value's
    distance from the middle (by judgement)."""
    near_without_band: float = 0.02
    """The same as a ratio of the values, where no band speaks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecurrenceSettings:
    """When a fault counts as recurring."""

    least_vehicles: int = 3
    """Least number of different vehicles that make a pattern."""
    recent_months: int = 24
    """Months up to the last job that are looked at beside all time."""
    least_ratio: float = 1.5
    """Times the rest's rate that are worth a foreman's attention; what may be less is no fact."""
    excess_scale: float = 0.8
    """Mean of the logarithm of what an excess is beyond that: one in ten is more than six times as
    much again (by judgement: a small shop shows excesses of twenty times or none)."""
    excesses: float = 7.0
    """Facts of such an excess that a shop has before anything is seen, or `excess_share` of all
    that is looked at where that is more (by judgement): what they explain does not tell how much
    models differ by nature."""
    excess_share: float = 0.003
    """See `excesses`: who looks at more has more that is worth telling."""
    whole_make: float = 5.0
    """Times as little as one of a model counts an alarm of all models of a make together: models
    are built apart (by judgement)."""
    act_level: float = 0.05
    """False alarms, by luck or nature, to expect among all facts to act on."""
    watch_level: float = 0.2
    """False alarms, by luck or nature, to expect among all facts to watch."""
    attainable: float = 0.05
    """What could not be less likely than this, were all of it the group's, is not looked at."""
    suspect_level: float = 0.01
    """Chance by luck below which a group is suspected."""
    aside_level: float = 0.001
    """Chance by luck below which a group is no yardstick for others (by judgement)."""
    spread: float = 0.3
    """How much groups differ by nature, in shares of the rate, before the shop's own counts tell
    (by judgement)."""
    spread_doubt: float = 0.5
    """Standard deviation of the logarithm of what is believed of that before (by judgement)."""
    least_expected: float = 1.0
    """Cars to expect from which a count tells of that spread."""
    usual_share: float = 0.2
    """Share of cars that have a fault up to which counts tell of it: of what most have, none can
    have much more."""
    ratio_spread: float = 1.0
    """Standard deviation of log rate ratios before anything is seen: five times more, or less, is
    what 9 of 10 keep within (by judgement)."""
    confidence: float = 0.95
    """Coverage of the interval of a rate ratio whose low end is told."""
    change_confidence: float = 0.9
    """Coverage of the interval in which a change began."""
    sight_rate: float = 0.05
    """Share of vehicles that have a fault, for which is told how far off a group must be to show:
    that of what an ordinary workshop sees often (by judgement)."""
    recorder_level: float = 0.01
    """One-sided p-value below which so many jobs of one person are no luck."""
    stopped_level: float = 0.01
    """Chance by luck of so many jobs without a fault below which it is told to have stopped."""
    engine_level: float = 0.01
    """One-sided p-value below which so many cars with one engine are no luck."""
    false_alarms_a_year: float = 0.1
    """Chance, in a year of weekly looks, that anything chosen to be watched is told by luck (by
    judgement: once in ten years); told in `kb watch --help` as well."""
    watch_planned: int = 20
    """Cars with a watched fault that a year's critical value is planned for at least."""
    watch_growth: float = 3.0
    """Times as many as in the year before the watch began that it is planned for."""
    trend_level: float = 0.05
    """Two-sided p-value below which a fault is called growing or fading."""
    least_for_trend: int = 5
    """Least number of vehicles for which a change is looked for."""
    age_band: int = 5
    """Width, in years of age, of the bands within which vehicles are compared: about as long as a
    generation is built (common practice, no source)."""
    least_of_age: int = 20
    """Other cars of an age and distance from which it can be told whether a fault comes with the
    model or with the age (by judgement)."""
    wear_pull: float = 1.0
    """Cars with a fault that "as often at any age and distance" counts for, beside those of an age
    and distance that had it (chosen on simulated shops)."""
    km_band: int = 200_000
    """Width, in km, of such bands where the odometer was read: an ordinary car's life (common
    practice, no source)."""
    most_km_a_day: int = 60
    """Fastest pace, in km a day over months, at which a car without a tag is taken to have come
    again: most are driven less (common practice, no source; with the tags of the demonstration
    shop taken away it tells their number best)."""
    trip_km: int = 1_000
    """What such a car may have gone besides, soon after a visit (by judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleshootingSettings:
    """What the next step of an open job is weighed with."""

    most_causes: int = 8
    """Most suspects; the other causes are counted with what was not seen before. The plan grows
    with every one, and a page has no room for more."""
    least_chance: float = 0.01
    """Least chance of a suspect before anything was tested; what is less likely is counted there,
    too."""
    right: float = 0.75
    """How often a test of the shop's own leaves the true cause standing, before its jobs tell: it
    is made at the car by somebody who knows why, but nobody says how well (by guess)."""
    pull: float = 4.0
    """Number of past tests as which the start counts, this one's or that of the table of general
    tests: with as many tests of its own the shop counts as much (by judgement)."""
    settles_pull: float = 1.0
    """Number of jobs as which those like this one count beside a suspect's own, when it is told
    which test settles it (chosen on the demonstration shop: of 625 jobs 1 finds four more than 4).
    """
    besides_test: float = 100.0
    """Minutes that a job takes beside the test that comes next, when tests are compared by what
    they bring in their time (chosen there: 30 finds nine jobs fewer)."""
    silence: float = 1.0
    """A past job whose cause was proved without the test counts as so many tests that told nothing,
    since the test may have been made and left no word (by judgement)."""
    test_minutes: int = 20
    """Minutes of a test that neither the shop nor the table knows: most tests of the table take 5
    to 30."""
    off_circuit: float = 0.1
    """Factor of the chance of a suspect that lies outside the circuit, once the circuit is told:
    who tells it may err (by guess)."""
    in_links: float = 0.5
    """Share of what was not seen before that then lies in the links of the circuit, in equal
    parts."""
    confirmation_hours: float = CONFIRMATION_HOURS
    """How long it counts at most that somebody confirmed what makes a locked step safe."""
    few_cases: int = 3
    """Most cases of a cause at which a look or a test comes before a new part for it: so few tell
    little of how often it is this part (by judgement)."""
    unlock_minutes: float = 15.0
    """Minutes it takes to make a locked test safe, by guess; the manufacturer says how long."""
    cure: float = 0.8
    """Chance that a repair cures its cause where nobody here has tried it."""
    cure_pull: float = 2.0
    """Number of repairs as which that chance counts: two of the shop's own count as much (by
    judgement)."""
    cure_by_new_part: float = 0.97
    """The same for a new part and a fault of that very part: where it did not cure, the part is
    hardly what is faulty. Common practice, no source."""
    new_part_pull: float = 10.0
    """Number of repairs as which that chance counts: only a shop where new parts often did not cure
    takes the part for faulty still."""
    cure_otherwise: float = 0.02
    """Chance that a fix cures what it is not for: something was moved or reseated on the way (by
    guess)."""
    money_per_minute: float = 1.0
    """Cost of a minute of work in the shop's currency, by which parts are weighed as minutes."""
    from_scratch: float = 240.0
    """Minutes to find a cause that is none of the suspects. Mending it then costs what
    the suspects' repairs do on average."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MendingSettings:
    """When writing to a job is asked about first."""

    old_days: int = 90
    """A job opened so many days ago is old: whoever writes to it says that it is the one."""
    moved_hours: float = 12
    """So long after somebody else wrote to a job, unasked changes by number are checked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EvaluationSettings:
    """How much of a large store is asked again."""

    most_questions: int = 1_000
    """Most past cases asked again. So many tell shares to 3 points, 95% sure."""
    stretch: int = 200
    """Of more questions so many in a row are asked: before each stretch all ways are fitted anew,
    which takes longer than to ask it (by judgement)."""
    most_cases: int = 10_000
    """Of more cases only so many, the newest, are looked at, and the newer half of them asked: what
    it takes grows no further with the store."""


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
    mending: MendingSettings = field(default_factory=MendingSettings)
    evaluation: EvaluationSettings = field(default_factory=EvaluationSettings)
