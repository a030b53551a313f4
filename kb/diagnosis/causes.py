"""From similar cases to chances of causes, with room for what the shop has not seen before.

Each recalled case votes for its cause with a power of its odds of sharing it. Where the store is
large enough for the linear model, the two opinions are pooled: logarithmic pooling (Genest &
Zidek 1986), by which a cause must be likely to both. A cause that the complaint names by its own
words gains by that. What is left is the chance that the cause is none of the shop's known ones:
Good-Turing's share of causes seen once (Good 1953) as the odds beforehand, times how much better
the evidence fits a stranger than a known cause.

References
----------
Genest, C. & Zidek, J. V. (1986). Combining probability distributions: a critique and an annotated
bibliography. Statistical Science 1, 114-135.
Gupta, C. & Ramdas, A. (2022). Top-label calibration and multiclass-to-binary reductions. ICLR.
Good, I. J. (1953). The population frequencies of species and the estimation of population
parameters. Biometrika 40, 237-264.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, log, prod

from kb.recall.naming import alike_causes
from kb.recall.recall import Recalled
from kb.settings import DiagnosisSettings

FARTHEST = 500.0
"""Log-odds beyond this are cut: a double holds exponentials up to about 709."""
UNCOUNTED = 3
"""Cases added as if their cause were new, and as many as if it were known: none seen in n cases
still allows three in n (the rule of three, see `unseen_share`)."""
LEAST_NAMED, LEAST_DOUBT = 0.1, 0.05
"""Added to both sides of the ratios of what is named, and of what is left in doubt, so that nothing
against nothing is 1: small beside a name's usual likeness and doubt (by judgement)."""
LEAST_AT_HOME = 0.1
"""Added to how far causes are about the complaint's subject before its logarithm is taken."""
USUAL_AT_HOME, UNTOLD_AT_HOME = 0.4, 0.25
"""How far the causes in view are about that where nothing is strange, and what a complaint counts
as that speaks of no part or function (chosen on the demonstration shop with systems left out). The
same counts for their systems."""
NOTHING_ABOUT = -1.0
"""The measure ``subject`` below which nothing in view is about what the complaint is about: another
function of the same system is no sign then that the cause is known (by judgement; of 13 such
questions asked of four fifths of the demonstration shop at the counter 7 had a new cause)."""
CLEARLY_STRANGE = log(2)
"""Logarithm of how much likelier the evidence is of a stranger from which on it looks like one. By
words alone, what does not look so is half as likely to be one: where little is told, little that
fits is no sign of a stranger (by judgement, tried on the demonstration shop by halves)."""
LEAST = 1e-6
"""Chances are kept this far from 0 and 1 before their odds are taken: nobody is surer than one in a
million."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseChance:
    """One possible cause.

    Attributes
    ----------
    cause : int
        Its key.
    chance : float
    jobs : tuple of int
        The recalled jobs that spoke for it, nearest first; may be empty where only the linear
        model thinks of it.
    example : int
        A job that had it: the nearest recalled one, else the newest.
    by_jobs : float
        Its share of the recalled jobs' votes.
    by_model : float or None
        Its chance by the linear model, None where that has no say.
    named : float
        How much like its own words the complaint is, 0 to 1.
    at_home : float
        How far it is about what the complaint is about, 0 to 1.
    said_fine : float
        How much it is like what the complaint says is fine, 0 to 1.
    shown : float
        How much it is like what a faulty reading speaks for, 0 to 1.
    """

    cause: int
    chance: float
    jobs: tuple[int, ...]
    example: int
    by_jobs: float
    by_model: float | None = None
    named: float = 0.0
    at_home: float = 0.0
    said_fine: float = 0.0
    shown: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """The causes, likeliest first; with `not_seen_before` and `doubt` their chances sum to one.

    `doubt` is the chance that what is proposed of the cards behind them is wrong.
    """

    causes: tuple[CauseChance, ...]
    not_seen_before: float
    doubt: float = 0.0


def rank(recalled: Recalled, settings: DiagnosisSettings) -> Ranking:
    """Rank the causes of recalled cases; of equal chances that with the newer job comes first."""
    if not recalled.neighbours:
        return Ranking(causes=(), not_seen_before=1.0)
    unseen = not_seen_before(recalled, strangeness(recalled, settings), settings)
    return Ranking(
        causes=tuple(
            replace(each, chance=(1 - unseen) * each.chance) for each in pooled(recalled, settings)
        ),
        not_seen_before=unseen,
    )


def as_they_stand(ranking: Ranking, stands: Mapping[int, float]) -> Ranking:
    """Lower what rests on cases that count less: whose cars came back, or at another place.

    A chance is multiplied by the share of the recalled jobs behind it that stand, half a job added
    to both sides so that it stays in sight.

    Parameters
    ----------
    stands : mapping of int to float
        Share as which a job counts, 0 to 1; one that is not told counts in full.

    Examples
    --------
    >>> one, other = (CauseChance(cause=n, chance=0.45, jobs=(n,), example=n, by_jobs=0.5)
    ...               for n in (1, 2))
    >>> found = as_they_stand(Ranking(causes=(one, other), not_seen_before=0.1), {1: 0.0})
    >>> [(each.cause, round(each.chance, 2)) for each in found.causes]
    [(2, 0.64), (1, 0.21)]
    """
    if not any(job in stands for each in ranking.causes for job in each.jobs):
        return ranking
    weights = [
        each.chance
        * (0.5 + sum(stands.get(job, 1.0) for job in each.jobs))
        / (0.5 + len(each.jobs))
        for each in ranking.causes
    ]
    total = sum(weights) + ranking.not_seen_before
    lowered = (
        replace(each, chance=weight / total)
        for each, weight in zip(ranking.causes, weights, strict=True)
    )
    return replace(
        ranking,
        causes=tuple(sorted(lowered, key=lambda each: -each.chance)),
        not_seen_before=ranking.not_seen_before / total,
    )


def as_proposed(ranking: Ranking, chances: Mapping[int, float]) -> Ranking:
    """Lower what rests on cards that nobody reviewed by the doubt in what is proposed of them.

    Parameters
    ----------
    chances : mapping of int to float
        Of such a card the chance that its proposal is right, 0 to 1; of any other job it is 1.

    Examples
    --------
    >>> one = CauseChance(cause=1, chance=0.8, jobs=(4, 5), example=4, by_jobs=1.0)
    >>> found = as_proposed(Ranking(causes=(one,), not_seen_before=0.2), {5: 0.5})
    >>> round(found.causes[0].chance, 2), found.not_seen_before, round(found.doubt, 2)
    (0.6, 0.2, 0.2)
    """
    sure = [
        sum(chances.get(job, 1.0) for job in each.jobs) / len(each.jobs) if each.jobs else 1.0
        for each in ranking.causes
    ]
    told = [
        replace(each, chance=each.chance * share)
        for each, share in zip(ranking.causes, sure, strict=True)
    ]
    lost = sum(each.chance for each in ranking.causes) - sum(each.chance for each in told)
    return replace(
        ranking,
        causes=tuple(sorted(told, key=lambda each: -each.chance)),
        doubt=ranking.doubt + lost,
    )


def pooled(recalled: Recalled, settings: DiagnosisSettings) -> tuple[CauseChance, ...]:
    """Pool the votes of the recalled jobs and the linear model, as if every cause were known.

    A cause that the linear model has not learnt yet is given the votes' opinion in its place. What
    the complaint names counts after that, in proportion to how much like the cause's words it is,
    and so does its subject, in proportion to how far the cause and its cases are about it.

    Returns
    -------
    tuple of CauseChance
        Likeliest first; their chances sum to one.
    """
    jobs: dict[int, list[int]] = defaultdict(list)
    for neighbour in recalled.neighbours:
        jobs[neighbour.cause].append(neighbour.number)
    shares, model, named = _shares(recalled), _model(recalled), _named(recalled)
    example = {each.cause: each.job for each in recalled.linear_chances}
    found = [
        CauseChance(
            cause=cause,
            chance=chance,
            jobs=tuple(jobs.get(cause, ())),
            example=jobs[cause][0] if cause in jobs else example[cause],
            by_jobs=shares.get(cause, 0.0),
            by_model=model.get(cause),
            named=named.get(cause, 0.0),
            at_home=recalled.at_home.get(cause, 0.0),
            said_fine=recalled.said_fine.get(cause, 0.0),
            shown=recalled.shown.get(cause, 0.0),
        )
        for cause, chance in _chances(recalled, settings).items()
    ]
    ranked = sorted(found, key=lambda each: (-each.chance, -max(each.jobs, default=0)))
    shift = settings.first_shift + (settings.new_model_first if recalled.new_model else 0.0)
    return _first_set_right(ranked, shift, settings.first_slope)


def _first_set_right(
    ranked: Sequence[CauseChance], shift: float, slope: float
) -> tuple[CauseChance, ...]:
    """Bring the first cause's chance to what such chances came true; it stays the first.

    Top-label calibration (Gupta & Ramdas 2022), with Platt's line on the log-odds; the other
    causes share what is left as before.
    """
    first = ranked[0].chance
    if len(ranked) == 1 or first >= 1:
        return tuple(ranked)
    odds = shift + slope * log_odds(first)
    least = ranked[1].chance / (1 - first + ranked[1].chance)
    chance = max(1 / (1 + exp(-odds)), least)
    rest = (1 - chance) / (1 - first)
    return tuple(
        replace(each, chance=each.chance * rest if place else chance)
        for place, each in enumerate(ranked)
    )


def _shares(recalled: Recalled) -> dict[int, float]:
    """Return each cause's share of the recalled jobs' votes."""
    votes: dict[int, float] = defaultdict(float)
    for neighbour in recalled.neighbours:
        votes[neighbour.cause] += neighbour.vote
    total = sum(votes.values())
    return {cause: vote / total for cause, vote in votes.items()}


def _model(recalled: Recalled) -> dict[int, float]:
    return {each.cause: each.chance for each in recalled.linear_chances}


def _named(recalled: Recalled) -> dict[int, float]:
    return {each.cause: each.likeness for each in recalled.named}


def _chances(recalled: Recalled, settings: DiagnosisSettings) -> dict[int, float]:
    """Pool the opinions; what the complaint names and shows, and what it is about, count after."""
    shares, model, named = _shares(recalled), _model(recalled), _named(recalled)
    pool = (
        _pool(shares, model, recalled.cases / len(model), settings)
        if model
        else {cause: log(share) for cause, share in shares.items()}
    )
    scores = {
        cause: score
        + settings.named * named.get(cause, 0.0)
        + settings.subject * recalled.at_home.get(cause, 0.0)
        + settings.shown * recalled.shown.get(cause, 0.0)
        - settings.said_fine * recalled.said_fine.get(cause, 0.0)
        for cause, score in pool.items()
    }
    top = max(scores.values())
    weights = {cause: exp(score - top) for cause, score in scores.items()}
    total = sum(weights.values())
    return {cause: weight / total for cause, weight in weights.items()}


def _pool(
    shares: Mapping[int, float],
    model: Mapping[int, float],
    cases_a_cause: float,
    settings: DiagnosisSettings,
) -> dict[int, float]:
    """Return the logarithm of each cause's chance by both opinions, but for a constant.

    The linear model learns from the cases of a cause: with few of them its opinion counts less, and
    the votes' a little more.
    """
    learnt = cases_a_cause / (cases_a_cause + settings.pool_pull)
    of_jobs = settings.pool_jobs + settings.pool_jobs_more * (1 - learnt)
    of_model = settings.pool_model * learnt
    return {
        cause: of_jobs * log(shares.get(cause, 0.0) + settings.pool_floor_jobs)
        + of_model * log(model.get(cause, shares.get(cause, 0.0)) + settings.pool_floor_model)
        for cause in {**shares, **model}
    }


def strangeness(recalled: Recalled, settings: DiagnosisSettings) -> dict[str, float]:
    """Say how the evidence looks, in the measures that tell a stranger from a known cause.

    Chances are here those before what the complaint names and is about has counted, but for
    ``subject``. The measures are our own:
    ``tests/benchmarks/recall.py --part unseen`` shows what each of them is worth.

    Returns
    -------
    dict of str to float
        ``near``, log-odds that the nearest job shares its cause, less what is usual of cases of
        the causes in view (`usual_near` of the settings); ``first``, log-odds of the first cause's
        chance times that of any recalled job's sharing its cause, as if each were on its own;
        ``named``, logarithm of how far the complaint is like the words of the causes in view,
        against how much of it names any cause; ``alike``, logarithm of how much of the chance that
        the first cause leaves lies with causes of like words: doubt among such (left or right, plug
        or harness) is no sign of a stranger; ``subject``, logarithm of how far the causes in view
        are about what the complaint is about, against what is usual; ``system``, the same of how
        far their cases are of the systems of that, and no more than ``subject`` where nothing in
        view is about it.
    """
    chances = _chances(recalled, replace(settings, named=0.0, subject=0.0))
    first = max(chances, key=lambda cause: chances[cause])
    left = {cause: chance for cause, chance in chances.items() if cause != first}
    alike = alike_causes(first, recalled.names) if left else {}
    among_alike = sum(chance * alike.get(cause, 0.0) for cause, chance in left.items())
    named = sum(each.likeness * chances.get(each.cause, 0.0) for each in recalled.named)
    none = prod(1 - each.chance for each in recalled.neighbours)
    usual = sum(
        chance * settings.usual_near.get(cause, settings.usual_near_of_any)
        for cause, chance in chances.items()
    )
    subject = _in_view(recalled, recalled.at_home, settings)
    system = _in_view(recalled, recalled.same_system, settings)
    return {
        "near": log_odds(recalled.neighbours[0].chance) - usual,
        "first": log_odds(chances[first] * (1 - none)),
        "named": log((named + LEAST_NAMED) / (recalled.naming_share + LEAST_NAMED)),
        "alike": log((among_alike + LEAST_DOUBT) / (sum(left.values()) + LEAST_DOUBT)),
        "subject": subject,
        "system": min(system, subject) if subject < NOTHING_ABOUT else system,
    }


def _in_view(
    recalled: Recalled, at_home: Mapping[int, float], settings: DiagnosisSettings
) -> float:
    """Return the logarithm of how far the causes in view are at home, against what is usual."""
    view = UNTOLD_AT_HOME
    if recalled.about:
        chances = _chances(recalled, settings).items()
        view = sum(chance * at_home.get(cause, 0.0) for cause, chance in chances)
    return log((view + LEAST_AT_HOME) / (USUAL_AT_HOME + LEAST_AT_HOME))


def not_seen_before(
    recalled: Recalled, evidence: Mapping[str, float], settings: DiagnosisSettings
) -> float:
    """Return the chance that the cause is none that any case in question had.

    Bayes' rule: its log-odds are those beforehand (`unseen_share`) and the logarithm of a
    likelihood ratio, linear in `strangeness` but for what `by_words_alone` adds. The ratio was
    learnt where there are many cases, and a few cannot bear it: however known a complaint looks,
    what is left is what the rule of succession leaves after as many cases of which none was new
    (`least_unseen`).

    Returns
    -------
    float
        Between 0 and 1.
    """
    strange = settings.unseen_intercept + settings.unseen_system * evidence["system"]
    strange += _said_fine(recalled, settings)
    strange += sum(weight * evidence[name] for name, weight in settings.unseen_weights.items())
    if recalled.new_model:
        strange += settings.new_model_shift
    odds = log_odds(unseen_share(recalled)) + strange
    odds += by_words_alone(recalled, evidence, strange)
    share = 1 / (1 + exp(-min(max(odds, -FARTHEST), FARTHEST)))
    return max(share, least_unseen(recalled.cases))


def by_words_alone(recalled: Recalled, evidence: Mapping[str, float], strange: float) -> float:
    """Return what is added to the log-odds of a stranger where words alone are told, at most 0.

    `strange` is the logarithm of the likelihood ratio without that: what does not look clearly
    strange (`CLEARLY_STRANGE`) is half as likely to be so, if the causes in view are about what the
    complaint is about: *leaking power steering fluid* stays strange where the plug of an electric
    steering is all that is known.
    """
    at_home = evidence["subject"] >= 0
    return -log(2) if recalled.words_alone and at_home and strange < CLEARLY_STRANGE else 0.0


def least_unseen(cases: int) -> float:
    """Return the least chance that the next cause is a new one, after so many that were not.

    Laplace's rule of succession: an even chance before the first case, 1 in n + 2 after n.

    References
    ----------
    Laplace, P. S. (1774). Mémoire sur la probabilité des causes par les évènemens.

    Examples
    --------
    >>> round(least_unseen(11), 3), round(least_unseen(1000), 3)
    (0.077, 0.001)
    """
    return 1 / (cases + 2)


def _said_fine(recalled: Recalled, settings: DiagnosisSettings) -> float:
    """Return how much likelier what is said to be fine is of a stranger than of a known cause.

    It is the logarithm of the ratio, at least 0: a stranger is taken to be none of those parts, and
    a known cause is one by its chance.
    """
    if not recalled.said_fine:
        return 0.0
    chances = _chances(recalled, replace(settings, said_fine=0.0))
    said = sum(
        chance * exp(-settings.said_fine * recalled.said_fine.get(cause, 0.0))
        for cause, chance in chances.items()
    )
    return -log(said)


def unseen_share(recalled: Recalled) -> float:
    """Return the share of causes seen once, by Good-Turing the chance of meeting a new one.

    Three more seen once than were counted, and three not, are taken to be there: where none was
    seen once in n cases the share may still be 3 / n (rule of three), and a handful of cases tells
    little either way.

    References
    ----------
    Hanley, J. A. & Lippman-Hand, A. (1983). If nothing goes wrong, is everything all right?
    Interpreting zero numerators. JAMA 249, 1743-1745.
    """
    return (recalled.causes_seen_once + UNCOUNTED) / (recalled.cases + 2 * UNCOUNTED)


def log_odds(chance: float) -> float:
    """Return the log-odds of a chance, which is kept a little off 0 and 1."""
    kept = min(max(chance, LEAST), 1 - LEAST)
    return log(kept / (1 - kept))
