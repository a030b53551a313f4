"""How good the ranking is on the store's own past, beside plain ways to rank."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from kb.case import Job
from kb.errors import Notice
from kb.evaluation.baselines import BASELINES, MANY
from kb.evaluation.compare import Comparison, LossComparison, compare, compare_losses
from kb.evaluation.figures import Answer, Figures, Truth, chance_of, figures, loss_of, rank_of
from kb.evaluation.in_short import in_short
from kb.evaluation.replay import TOOL, AskedAgain, in_time_order, questions_in_time
from kb.evaluation.stages import stages
from kb.progress import Progress
from kb.services.indexing import shop_wording
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

LEAST_KNOWN = 30
"""Cases that must be known before the first question, unless another number is asked for: a shop's
first month or two, before which it has seen nothing twice (by judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way of ranking: its figures, and how the program compares with it.

    `program_first` compares how often the first cause is right, `program_loss` the log loss of the
    chances given to what proved true; both are None for the program itself.
    """

    name: str
    figures: Figures
    program_first: Comparison | None
    program_loss: LossComparison | None


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionKind:
    """Questions of one kind, as ``without codes`` of the group ``codes``; the program's way first.

    `new` of them had a cause that no known case had.
    """

    group: str
    name: str
    questions: int
    new: int
    ways: tuple[Way, ...]

    def way(self, name: str) -> Way:
        """Return the way of that name."""
        return next(way for way in self.ways if way.name == name)


@dataclass(frozen=True, slots=True, kw_only=True)
class StageFigures:
    """The program's figures where so much of each case was told; see `kb.evaluation.stages`."""

    name: str
    figures: Figures


@dataclass(frozen=True, slots=True, kw_only=True)
class JobAsked:
    """What the program said of one job, for whoever wants to count again.

    Attributes
    ----------
    chance : float or None
        Of the first cause; None where no cause was named.
    place : int or None
        Of the cause that proved true, from 1; None where it was not named.
    new : bool
        No known case had that cause.
    not_seen_before : float
        Chance of a cause that no known case had.
    to_truth : float
        Chance that was given to what proved true.
    """

    job: int | None
    chance: float | None
    place: int | None
    new: bool
    not_seen_before: float
    to_truth: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluation:
    """What a replay of the store's cases showed.

    `cases` are in the store, `least_known` of those looked at were known before the first question;
    `newest` tells how many, the newest, these were where not all were looked at. `whole`
    are all questions, `strata` parts of them; it and the days are None if nothing could be asked.
    `stages` are the same questions with less or more told of them, the least first.
    `questions` could have been asked, before some were drawn or somebody had it stopped.
    `rival` is the plain way that had the most first causes right; strata are held against it.
    `confidence` is the coverage of every interval. `in_short` says in a sentence what it comes to.
    `asked` has every question of `whole`, in the order in which they were asked.
    """

    cases: int
    least_known: int
    questions: int
    first_asked: date | None
    last_asked: date | None
    notices: tuple[str, ...]
    whole: QuestionKind | None
    strata: tuple[QuestionKind, ...]
    stages: tuple[StageFigures, ...]
    rival: str | None
    confidence: float
    newest: int | None = None
    in_short: str | None = None
    asked: tuple[JobAsked, ...] = ()


def evaluate(
    address: str,
    settings: Settings,
    *,
    since: date | None = None,
    least_known: int = LEAST_KNOWN,
    baselines: bool = True,
    progress: Progress | None = None,
) -> Evaluation:
    """Ask every case of a store on the day it came in, and measure what would have been said.

    Nothing is asked until `least_known` cases are closed, and no case opened before `since`;
    earlier ones are known all the same. With `baselines` the plain ways are asked the same. Of more
    questions than `most_questions` of the settings so many are drawn; of more cases than its
    `most_cases` the newest are looked at, and asked once half of them are known.

    Raises
    ------
    KeyboardInterrupt
        If it is stopped before anything was asked; later, what is known so far is returned.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        count = work.jobs.count_cases()
        looked_at = max(settings.evaluation.most_cases, 2 * least_known)
        if is_cut := count > looked_at:
            cases = work.jobs.select(state="closed", limit=looked_at)
            least_known = max(least_known, looked_at // 2)
        else:
            cases = list(work.jobs.all(cases_only=True))
        wording = shop_wording(work)
        models = work.models.all()
    most = settings.evaluation.most_questions
    questions = questions_in_time(cases, least_known, since)
    replay = in_time_order(
        cases,
        wording,
        settings,
        BASELINES if baselines else (),
        stages=stages(wording),
        models=models,
        least_known=least_known,
        since=since,
        most=most,
        progress=progress,
    )
    asked, stopped = _until_stopped(replay)
    whole = _stratum("all", "all questions", asked, settings) if asked else None
    plain = [way for way in whole.ways if way.program_first] if whole else []
    return Evaluation(
        cases=count,
        least_known=least_known,
        questions=len(questions),
        first_asked=asked[0].job.opened if asked else None,
        last_asked=asked[-1].job.opened if asked else None,
        notices=(
            *_notices(cases, len(questions), asked, settings, of=count, stopped=stopped),
            *_too_few(whole.way(TOOL).figures if whole else None),
        ),
        whole=whole,
        strata=tuple(_strata(asked, settings)),
        stages=tuple(_stages(asked)),
        rival=max(plain, key=lambda way: way.figures.first).name if plain else None,
        confidence=settings.rates.confidence,
        newest=len(cases) if is_cut else None,
        in_short=in_short(whole.way(TOOL).figures, whole.new) if whole else None,
        asked=tuple(_asked(each.job, each.truth, each.answers[TOOL]) for each in asked),
    )


def _asked(job: Job, truth: Truth, answer: Answer) -> JobAsked:
    return JobAsked(
        job=job.number,
        chance=next(iter(answer.chances.values()), None),
        place=rank_of(truth, answer),
        new=truth.new,
        not_seen_before=answer.not_seen_before,
        to_truth=chance_of(truth, answer),
    )


def _strata(asked: Sequence[AskedAgain], settings: Settings) -> Iterator[QuestionKind]:
    """Yield the parts of the questions that hold any."""
    groups: dict[tuple[str, str], list[AskedAgain]] = {}
    for question in asked:
        for kind in _kinds(question):
            groups.setdefault(kind, []).append(question)
    for group, name in sorted(groups, key=lambda kind: (_GROUPS.index(kind[0]), kind[1])):
        yield _stratum(group, name, groups[group, name], settings)


def _stages(asked: Sequence[AskedAgain]) -> Iterator[StageFigures]:
    """Yield the figures of each stage, if anything was asked."""
    truths = [each.truth for each in asked]
    for name in asked[0].stages if asked else ():
        yield StageFigures(
            name=name, figures=figures([each.stages[name] for each in asked], truths)
        )


_GROUPS = ("cause", "codes", "readings", "model", "system")


def _kinds(question: AskedAgain) -> Iterator[tuple[str, str]]:
    job = question.job
    if not question.truth.new:
        yield "cause", "cause seen before"
    yield "codes", "with codes" if job.codes else "without codes"
    yield "readings", "with readings" if question.has_readings else "without readings"
    models = {True: "model had before", False: "model never had", None: "model not recorded"}
    yield "model", models[question.model_known]
    yield "system", job.system.value if job.system else "system not recorded"


def _stratum(
    group: str, name: str, asked: Sequence[AskedAgain], settings: Settings
) -> QuestionKind:
    return QuestionKind(
        group=group,
        name=name,
        questions=len(asked),
        new=sum(question.truth.new for question in asked),
        ways=tuple(_way(way, asked, settings.rates.confidence) for way in asked[0].answers),
    )


def _way(name: str, asked: Sequence[AskedAgain], confidence: float) -> Way:
    measured = figures([each.answers[name] for each in asked], [each.truth for each in asked])
    if name == TOOL:
        return Way(name=name, figures=measured, program_first=None, program_loss=None)
    ours, theirs = ([(each.truth, each.answers[way]) for each in asked] for way in (TOOL, name))
    right = [[rank_of(*pair) == 1 for pair in way] for way in (ours, theirs)]
    losses = [[loss_of(*pair) for pair in way] for way in (ours, theirs)]
    return Way(
        name=name,
        figures=measured,
        program_first=compare(right[0], right[1], confidence),
        program_loss=compare_losses(losses[0], losses[1], confidence),
    )


def _until_stopped(replay: Iterator[AskedAgain]) -> tuple[list[AskedAgain], bool]:
    """Return what was asked, and whether somebody had it stopped."""
    asked: list[AskedAgain] = []
    try:
        asked.extend(replay)
    except KeyboardInterrupt:
        if not asked:
            raise
        return asked, True
    return asked, False


def _too_few(told: Figures | None) -> Iterator[str]:
    """Say that nobody can tell whether the chances hold, where that is so."""
    if told and told.tells_little and not told.is_off:
        yield (
            f"Whether the chances hold cannot be told from {told.questions:,} questions: honest "
            f"ones, too, may be off by {told.calibration_luck:.2f}."
        )


def _notices(
    cases: Sequence[object],
    questions: int,
    asked: Sequence[AskedAgain],
    settings: Settings,
    *,
    of: int,
    stopped: bool,
) -> Iterator[str]:
    """Yield what the reader must know; `cases` were looked at, `of` so many."""
    most, stretch = settings.evaluation.most_questions, settings.evaluation.stretch
    if not cases:
        yield Notice.NO_CASES
    elif not asked:
        yield Notice.NO_QUESTIONS
    elif len(asked) < settings.diagnosis.few_jobs:
        yield Notice.FEW_QUESTIONS
    if len(cases) < of:
        yield (
            f"Of {of:,} cases the newest {len(cases):,} are looked at, and the newer half of them "
            "is asked: older ones are not known to any way of ranking here."
        )
    if questions > most:
        yield (
            f"Of {questions:,} questions {most:,} are asked, always the same ones, in stretches of "
            f"up to {stretch} in a row, spread evenly over the years."
        )
    if stopped:
        yield (
            f"Stopped after {len(asked):,} of {min(questions, most):,} questions, the oldest; "
            "the newest would tell more of today."
        )
    if asked and asked[-1].known > MANY and len(asked[-1].answers) > 1:
        yield f"The two regressions learn from the newest {MANY:,} cases."
