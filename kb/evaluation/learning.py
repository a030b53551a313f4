"""Weights learnt from a shop's own closed jobs, drawn towards the defaults.

Every case is asked of the other cases. Cases with the same words stay together, so that none is
asked of its own copy. Each is asked twice: as it is, and with its cause hidden as if the shop had
never had it. The answers are used to fit, one after the other:

- what each signal weighs when past jobs are recalled (`_weigh_signals`);
- how much the recalled jobs' votes, the linear model, a cause named and the same subject count
  (`_weigh_opinions`);
- what tells a cause that the shop never had from one it had (`_weigh_strangeness`);
- how much less sure to be of a model the shop never had (`_weigh_new_models`).

Every fit is held near the value in force by a prior, so a small store changes little. What was
learnt is used only if it does better than the defaults on the shop's newest cases (`is_better`).
"""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count
from math import log

import numpy as np
from numpy.typing import NDArray

from kb.case import Complaint, Job, VehicleModel
from kb.diagnosis.causes import (
    by_words_alone,
    log_odds,
    not_seen_before,
    pooled,
    strangeness,
)
from kb.diagnosis.diagnose import query_of
from kb.evaluation.figures import WeightsTrial, figures
from kb.evaluation.replay import TOOL, AskedAgain, in_time_order
from kb.evaluation.stages import AskedAs
from kb.intake.wording import Wording
from kb.progress import Progress, in_parts
from kb.recall.features import Query
from kb.recall.hashing import key
from kb.recall.index import Index, cause_key, spoken
from kb.recall.recall import Compared, Recalled, compare, recall
from kb.settings import DiagnosisSettings, RecallSettings, Settings, Weight
from kb.statistics.logistic import fit_towards

Floats = NDArray[np.float64]

FOLDS = 3
"""Parts into which the cases are divided; each is asked of the others. More would cost more time
and leave each part few cases to be asked."""
MODEL_FOLDS = 6
"""The same for models of cars. With more parts fewer models are missing at once, as when a shop
sees one new model among many that it knows."""
SCALE_SPREAD = 0.3
"""How far the scale between chances and votes easily moves, as a share of itself (by judgement)."""
LEAST_SCALE = 0.2
"""Least share of itself to which that scale may fall: odds then vote with five times the power."""
WORTH_OF_PAIRS = 3.0
"""How many independent pairs the pairs of one case count as: they share a complaint, so there is
much less in them than their number says (by judgement)."""
LEAST_SHARE = 0.002
"""Added to the share of the votes that the true cause gets. Without it a case whose cause cannot
be found would outweigh all others."""
NEWEST_SHARE = 0.25
"""Share of the cases, the newest ones, on which learnt weights are tried: enough to tell, and three
quarters are left to learn from (by judgement)."""
LEARNT_MOST = 10_000
"""Of more cases only so many, the newest, are learnt from, and known when the weights are tried:
what a signal tells is seen in them as well, and an index is fitted a dozen times (by judgement)."""
LEAST_TRIED = 50
"""Where the trial is broken off, it tells something from so many cases on (by judgement)."""
NEWEST_MOST = 500
"""At most so many cases are tried, as each is asked twice and people wait (by judgement)."""
USUAL_PULL = 3.0
"""How many cases of a cause it takes until its own nearness counts as much as that of all causes
together (by judgement)."""
NAMED_UNIT = 4.0
"""Unit in which the weight of naming is fitted. A complaint is seldom more than a quarter like the
words of its cause, so in this unit the weight moves as easily as those of the other opinions."""
CaseQuery = tuple[int, Query]
"""The cause a case proved to have, by key, and what is asked of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LearningSample:
    """One case asked of the others, as it is and with its cause `hidden`.

    `known` tells whether one of the others had its cause.
    """

    cause: int
    known: bool
    as_it_is: Recalled
    hidden: Recalled


@dataclass(frozen=True, slots=True, kw_only=True)
class LearntWeights:
    """Weights learnt without the newest cases, and how they did on these.

    `stopped` tells that somebody had the trial broken off; `measured` is of what was asked by then.
    """

    learnt: Settings
    measured: WeightsTrial
    stopped: bool


def learn(
    cases: Sequence[Job],
    wording: Wording,
    settings: Settings,
    *,
    models: Sequence[VehicleModel] = (),
    asked_as: AskedAs = Complaint.of,
    progress: Progress | None = None,
) -> Settings:
    """Learn weights from numbered cases, of which at most `learn_most` of the settings are asked.

    What is learnt is drawn to the settings in force, as prior means. `asked_as` makes the question
    of a case; by default it holds what was known when the car came in. Whether the result is better
    than those settings is not looked at here: see `is_better`.
    """
    cases = sorted(cases, key=lambda job: (job.opened, job.number or 0))
    total, done = steps_to_learn(len(cases), settings), count(1)

    def step() -> None:
        if progress is not None:
            progress(min(next(done), total), total)

    def question(job: Job) -> CaseQuery:
        return key(cause_key(job)), query_of(asked_as(job), models, job.opened)

    by_words = _by_words([asked_as(job) for job in cases], wording)
    folds = list(_folds(cases, by_words, FOLDS, question, wording, settings))
    settings = replace(settings, recall=_weigh_signals(folds, wording, settings.recall, step))
    samples = [each for fold in folds for each in _ask(*fold, wording, settings.recall, step)]
    settings = replace(settings, diagnosis=_weigh_opinions(samples, settings))
    settings = replace(settings, diagnosis=_weigh_strangeness(samples, settings))
    times = Counter(key(cause_key(job)) for job in cases)
    once = sum(number == 1 for number in times.values())
    # Odds beforehand are those of the whole store, where what is learnt will be used: a store
    # without some models has other causes seen once.
    strange = [
        replace(sample, as_it_is=replace(sample.as_it_is, cases=len(cases), causes_seen_once=once))
        for fold in _folds(cases, *_by_model(cases), question, wording, settings)
        for sample in _ask(*fold, wording, settings.recall, step)
        if sample.as_it_is.new_model
    ]
    return replace(settings, diagnosis=_weigh_new_models(strange, settings))


def steps_to_learn(cases: int, settings: Settings) -> int:
    """Return how many questions are asked to learn from so many cases, about."""
    return 5 * min(cases, settings.recall.learn_most)


def steps_to_try(cases: int) -> int:
    """Return how many of so many cases, the newest, learnt weights are tried on."""
    return min(int(cases * NEWEST_SHARE), NEWEST_MOST)


def is_better(
    cases: Sequence[Job],
    wording: Wording,
    settings: Settings,
    models: Sequence[VehicleModel] = (),
    progress: Progress | None = None,
) -> LearntWeights:
    """Learn without the newest cases, and ask those with the learnt weights and the defaults.

    Raises
    ------
    KeyboardInterrupt
        If it is stopped before `LEAST_TRIED` of them were asked.
    """
    ordered = sorted(cases, key=lambda job: (job.opened, job.number or 0))
    newest = steps_to_try(len(ordered))
    learning, trying = in_parts(progress, steps_to_learn(len(ordered), settings), newest)
    since = ordered[-newest].opened
    learnt = learn(
        [job for job in ordered if job.closed and job.closed < since],
        wording,
        settings,
        models=models,
        progress=learning,
    )
    others = {"learnt": learnt}
    asked: list[AskedAgain] = []
    stopped = False
    try:
        asked.extend(
            in_time_order(
                ordered,
                wording,
                settings,
                others=others,
                models=models,
                least_known=1,
                since=since,
                progress=trying,
            )
        )
    except KeyboardInterrupt:
        if len(asked) < LEAST_TRIED:
            raise
        stopped = True
    truths = [each.truth for each in asked]
    before, after = (
        figures([each.answers[name] for each in asked], truths) for name in (TOOL, *others)
    )
    measured = WeightsTrial(
        questions=len(truths),
        with_defaults=before.log_loss,
        with_learnt=after.log_loss,
        better=after.log_loss < before.log_loss and after.first >= before.first,
    )
    return LearntWeights(learnt=learnt, measured=measured, stopped=stopped)


def _by_words(complaints: Sequence[Complaint], wording: Wording) -> list[int]:
    """Say to which part each complaint belongs, those with the same words to the same."""
    words = [(*wording.tokens(spoken(each)), *each.codes, *each.tests) for each in complaints]
    place = {said: number for number, said in enumerate(dict.fromkeys(words))}
    return [place[said] % FOLDS for said in words]


def _by_model(cases: Sequence[Job]) -> tuple[list[int | None], int]:
    """Say to which of how many parts each case belongs by its model; to none without one."""
    models = dict.fromkeys(job.vehicle.model for job in cases if job.vehicle.model)
    folds = min(len(models), MODEL_FOLDS) if len(models) >= FOLDS else 0
    fold_of = {model: number % folds for number, model in enumerate(models)} if folds else {}
    return [fold_of.get(job.vehicle.model or "") for job in cases], folds


def _folds(
    cases: Sequence[Job],
    parts: Sequence[int | None],
    folds: int,
    question: Callable[[Job], CaseQuery],
    wording: Wording,
    settings: Settings,
) -> Iterator[tuple[Index, list[CaseQuery]]]:
    """Yield for each part an index of the other cases, and what is asked of it.

    Asked are as many of its own cases as one fold may ask, evenly over time.
    """
    for fold in range(folds):
        known = [job for job, part in zip(cases, parts, strict=True) if part != fold]
        asked = [job for job, part in zip(cases, parts, strict=True) if part == fold]
        if known and asked:
            most = min(len(asked), max(1, settings.recall.learn_most // folds))
            places = np.linspace(0, len(asked) - 1, most).astype(int)
            yield Index.fit(known, wording, settings), [question(asked[at]) for at in places]


def _ask(
    index: Index,
    asked: Sequence[CaseQuery],
    wording: Wording,
    settings: RecallSettings,
    step: Callable[[], None],
) -> Iterator[LearningSample]:
    seen = set(index.base.causes.tolist())
    for cause, query in asked:
        known = cause in seen
        found = hidden = _lean(recall(query, index, wording, settings))
        step()
        if known:
            hidden = _lean(recall(query, index, wording, settings, hidden=[cause]))
        step()
        yield LearningSample(cause=cause, known=known, as_it_is=found, hidden=hidden)


def _lean(recalled: Recalled) -> Recalled:
    """Leave out what explains the matches: thousands are kept at once."""
    bare = tuple(replace(neighbour, parts=()) for neighbour in recalled.neighbours)
    return replace(recalled, neighbours=bare)


def _weigh_signals(
    folds: Sequence[tuple[Index, list[CaseQuery]]],
    wording: Wording,
    before: RecallSettings,
    step: Callable[[], None],
) -> RecallSettings:
    """Fit what each signal weighs in the vote, then the chance that two cases share their cause.

    The vote is neighbourhood components analysis (Goldberger, Roweis, Hinton & Salakhutdinov
    2005) with one weight a signal; a logistic regression on the weighed sum gives the chance, and
    the power to which odds vote follows from the two scales.
    """
    pairs = []
    for index, asked in folds:
        for cause, query in asked:
            found = compare(query, index, wording, before)
            step()
            rows = np.flatnonzero(found.worth)
            same = found.causes[rows] == np.uint64(cause)
            if same.any():
                pairs.append((same, _away(found, rows, before)))
    if not pairs:
        return before
    power = before.vote_power
    prior = power * np.array([weight.slope for weight in before.weights.values()])
    voting = _components(pairs, prior, before.prior_spread)
    scores = np.concatenate([away @ voting for _, away in pairs])
    counts = np.concatenate([np.full(len(same), WORTH_OF_PAIRS / len(same)) for same, _ in pairs])
    # The scale may move by its own spread, so it is fitted in units of that.
    unit = SCALE_SPREAD / power / before.prior_spread
    level, units = fit_towards(
        np.column_stack([np.ones(len(scores)), scores * unit]),
        np.concatenate([same for same, _ in pairs]),
        np.array([before.intercept, 1 / (power * unit)]),
        before.prior_spread,
        weights=counts,
    )
    scale = max(float(units) * unit, LEAST_SCALE / power)
    return replace(
        before,
        intercept=float(level),
        vote_power=1 / scale,
        weights={
            name: Weight(slope=float(slope * scale), neutral=weight.neutral)
            for (name, weight), slope in zip(before.weights.items(), voting, strict=True)
        },
    )


def _away(found: Compared, rows: NDArray[np.intp], settings: RecallSettings) -> Floats:
    """Return how far each signal is from neutral, shape (n_rows, n_signals); 0 where missing."""
    columns = [
        np.nan_to_num(found.similarities[name][rows] - weight.neutral)
        for name, weight in settings.weights.items()
    ]
    return np.stack(columns, axis=1).astype(np.float64)


def _components(
    pairs: Sequence[tuple[NDArray[np.bool_], Floats]], prior: Floats, spread: float
) -> Floats:
    """Fit the weights, none below 0, with which the vote's share for the truth is greatest."""
    from scipy.optimize import minimize  # noqa: PLC0415  slow to import

    def penalised(weights: Floats) -> tuple[float, Floats]:
        away = (weights - prior) / spread
        surprise, slope = 0.5 * float(away @ away), away / spread
        for same, apart in pairs:
            scores = apart @ weights
            shares = np.exp(scores - scores.max())
            shares /= shares.sum()
            right = float(shares[same].sum())
            surprise -= log(right + LEAST_SHARE)
            slope -= ((shares * same - shares * right) @ apart) / (right + LEAST_SHARE)
        return surprise, slope

    bounds = [(0.0, None)] * len(prior)
    found = minimize(penalised, prior, jac=True, method="L-BFGS-B", bounds=bounds).x
    return np.asarray(found, dtype=np.float64)


def _weigh_opinions(samples: Sequence[LearningSample], settings: Settings) -> DiagnosisSettings:
    """Fit how much the votes, the linear model, what is named and the subject count."""
    from scipy.optimize import minimize  # noqa: PLC0415  slow to import

    before = replace(settings.diagnosis, first_shift=0.0, first_slope=1.0)
    logs, truths, starts = [], [], [0]
    for sample in samples:
        known = pooled(sample.as_it_is, before) if sample.as_it_is.linear_chances else ()
        if sample.cause not in {each.cause for each in known}:
            continue
        for each in known:
            model = each.by_jobs if each.by_model is None else each.by_model
            logs.append(
                [
                    log(each.by_jobs + before.pool_floor_jobs),
                    log(model + before.pool_floor_model),
                    NAMED_UNIT * each.named,
                    each.at_home,
                ]
            )
            truths.append(each.cause == sample.cause)
        starts.append(len(logs))
    if not logs:
        return settings.diagnosis
    rows, true, begin = np.array(logs), np.array(truths), np.array(starts[:-1])
    prior = np.array(
        [before.pool_jobs, before.pool_model, before.named / NAMED_UNIT, before.subject]
    )

    def penalised(counts: Floats) -> float:
        scores = rows @ counts
        surprise = np.log(np.add.reduceat(np.exp(scores), begin)).sum() - scores[true].sum()
        away = (counts - prior) / before.prior_spread
        return float(surprise + 0.5 * away @ away)

    jobs, model, named, subject = minimize(
        penalised, prior, method="L-BFGS-B", bounds=[(0.0, 3.0)] * 4
    ).x.tolist()
    after = replace(
        before, pool_jobs=jobs, pool_model=model, named=named * NAMED_UNIT, subject=subject
    )
    shift, slope = _set_first_right(samples, after)
    return replace(after, first_shift=shift, first_slope=slope)


def _set_first_right(
    samples: Sequence[LearningSample], settings: DiagnosisSettings
) -> tuple[float, float]:
    """Fit the line from the log-odds of the first cause's chance to those of its being right."""
    plain = replace(settings, first_shift=0.0, first_slope=1.0)
    firsts = [
        (each.cause, pooled(each.as_it_is, plain)[0])
        for each in samples
        if each.known and each.as_it_is.neighbours
    ]
    fitted = fit_towards(
        np.array([[1.0, log_odds(first.chance)] for _, first in firsts]),
        np.array([cause == first.cause for cause, first in firsts]),
        np.array([settings.first_shift, settings.first_slope]),
        settings.prior_spread,
    )
    return float(fitted[0]), max(0.0, float(fitted[1]))


def _weigh_strangeness(samples: Sequence[LearningSample], settings: Settings) -> DiagnosisSettings:
    """Fit what tells a stranger from a known cause.

    Strangers are the known cases with their cause hidden, and those whose cause was new in fact;
    both sides count alike. What is fitted are thus log-odds at even odds beforehand, which is to
    say the logarithm of a likelihood ratio.
    """
    before = settings.diagnosis
    told = [each for each in samples if each.as_it_is.neighbours and each.hidden.neighbours]
    known = [each for each in told if each.known]
    if not known:
        return before
    usual, of_any = _usual_near(known)
    after = replace(before, usual_near=usual, usual_near_of_any=of_any)
    home, strange = [each.as_it_is for each in known], [each.hidden for each in told]
    prior = np.array([before.unseen_intercept, *before.unseen_weights.values()])

    evidence = [strangeness(each, after) for each in (*home, *strange)]
    rows = np.array([[1.0, *(each[name] for name in before.unseen_weights)] for each in evidence])
    # What is not learnt is there already.
    of_system = np.array([before.unseen_system * each["system"] for each in evidence])
    looks = zip((*home, *strange), evidence, (rows @ prior + of_system).tolist(), strict=True)
    level, *slopes = fit_towards(
        rows,
        np.arange(len(home) + len(strange)) >= len(home),
        prior,
        before.prior_spread,
        weights=np.array([len(strange) / len(home)] * len(home) + [1.0] * len(strange)),
        offsets=of_system + np.array([by_words_alone(*each) for each in looks]),
    ).tolist()
    weights = dict(zip(before.unseen_weights, slopes, strict=True))
    return replace(after, unseen_weights=weights, unseen_intercept=level)


def _usual_near(known: Sequence[LearningSample]) -> tuple[dict[int, float], float]:
    """Return by cause, and over all, the log-odds that the nearest job shares a case's cause.

    Where few cases tell of a cause, its own is drawn towards that over all.
    """
    found: dict[int, list[float]] = {}
    for each in known:
        found.setdefault(each.cause, []).append(log_odds(each.as_it_is.neighbours[0].chance))
    of_any = sum(map(sum, found.values())) / len(known)
    usual = {
        cause: (sum(odds) + of_any * USUAL_PULL) / (len(odds) + USUAL_PULL)
        for cause, odds in found.items()
    }
    return usual, of_any


def _weigh_new_models(samples: Sequence[LearningSample], settings: Settings) -> DiagnosisSettings:
    """Fit how much less sure to be of a car whose model was left out of what is known."""
    told = [each for each in samples if each.as_it_is.neighbours]
    if not told:
        return settings.diagnosis
    before = replace(settings.diagnosis, new_model_first=0.0, new_model_shift=0.0)
    recalled = [each.as_it_is for each in told]
    known = [each for each in told if each.known]
    firsts = [pooled(each.as_it_is, before)[0] for each in known]
    fitted = fit_towards(
        np.ones((len(known), 1)),
        np.array([e.cause == first.cause for e, first in zip(known, firsts, strict=True)]),
        np.array([settings.diagnosis.new_model_first]),
        before.prior_spread,
        offsets=np.array([log_odds(first.chance) for first in firsts]),
    )
    after = replace(before, new_model_first=float(fitted[0]))
    # By how much 'not seen before' is to be moved to be printed as often as it comes true.
    said = [not_seen_before(each, strangeness(each, after), after) for each in recalled]
    shifted = fit_towards(
        np.ones((len(told), 1)),
        np.array([not each.known for each in told]),
        np.array([settings.diagnosis.new_model_shift]),
        before.prior_spread,
        offsets=np.array([log_odds(chance) for chance in said]),
    )
    return replace(after, new_model_shift=float(shifted[0]))
