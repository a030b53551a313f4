"""Ask past cases again as if their cause were not known, and keep what would have been said."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from math import ceil
from random import Random

from kb.case import Complaint, Job, Placed, VehicleModel
from kb.diagnosis.diagnose import Knowledge, diagnose
from kb.evaluation.baselines import Baseline
from kb.evaluation.figures import Answer, Truth
from kb.evaluation.stages import AskedAs
from kb.intake.wording import Wording
from kb.progress import Progress
from kb.recall.hashing import key
from kb.recall.index import Index, cause_key, most_changes
from kb.settings import Settings

TOOL = "this program"
"""What the tool is called beside the plain ways."""
NO_OTHERS: Mapping[str, Settings] = {}
NO_STAGES: Mapping[str, AskedAs] = {}
BLOCK_GROWTH = 0.05
"""Questions are asked together until the known cases have grown by this share."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedAgain:
    """One case asked again on the day it came in, with what each way of ranking said.

    `known` cases were closed by then; `model_known` tells whether one of them was on a car of the
    same model, None if it is not recorded. The answers are by name of the way of ranking; the
    tool's is `TOOL`. `stages` are the tool's where less or more of the case was told, see
    `kb.evaluation.stages`.
    """

    job: Job
    truth: Truth
    known: int
    model_known: bool | None
    answers: Mapping[str, Answer]
    stages: Mapping[str, Answer]

    @property
    def has_readings(self) -> bool:
        """Whether it was asked with any reading."""
        return bool(Complaint.of(self.job).readings)


def _places(known: Mapping[int | None, Job], numbers: Collection[int]) -> list[Placed]:
    """Return where on the car some cases were."""
    return [
        Placed(
            number,
            job.cause.location,
            job.cause.component,
            job.cause.failure_mode,
        )
        for number in numbers
        if (job := known.get(number)) and job.cause
    ]


def in_time_order(
    cases: Sequence[Job],
    wording: Wording,
    settings: Settings,
    baselines: Sequence[Baseline] = (),
    *,
    others: Mapping[str, Settings] = NO_OTHERS,
    stages: Mapping[str, AskedAs] = NO_STAGES,
    models: Sequence[VehicleModel] = (),
    least_known: int,
    since: date | None = None,
    most: int | None = None,
    progress: Progress | None = None,
) -> Iterator[AskedAgain]:
    """Ask each case on the day it came in, of nothing but what was closed before that day.

    Questions that follow one another are asked together while the known cases grow by less than
    `BLOCK_GROWTH`; all of them, by whatever way of ranking, are asked of the cases closed before
    the first one's day.

    Nothing is asked until `least_known` cases are known, and none opened before `since`. Of more
    than `most` questions so many are `drawn`. The plain ways are fitted again for every block;
    Good-Turing's share of causes seen once is left for a cause not seen before, as they have no
    word for it themselves. With `others` the tool is asked
    under other weights as well, of the same index, and with `stages` with so much told.
    """
    in_time = questions_in_time(cases, least_known, since)
    questions = drawn(in_time, most, settings.evaluation.stretch)
    blocks = list(blocks_in_time(cases, questions))
    total, done = sum(len(asked) for _, asked in blocks), 0
    index: Index | None = None
    for known, asked in blocks:
        if progress is not None:
            progress(done, total)
        index = grown_index(index, known, wording, settings)
        complaints = [Complaint.of(job) for job in asked]
        # No days: what is asked next is of a month never seen, which only leads plain ways astray.
        plain = [(each.name, each.rank(known, complaints)) for each in baselines]
        times = Counter(key(cause_key(job)) for job in known)
        left = (sum(count == 1 for count in times.values()) + 0.5) / (len(known) + 1)
        past = Knowledge(
            wording=wording,
            index=index,
            models=models,
            settings=settings,
            places=partial(_places, {job.number: job for job in known}),
        )
        for place, job in enumerate(asked):
            cause = key(cause_key(job))
            found = diagnose(complaints[place], past, on=job.opened)
            answers = {TOOL: Answer.of(found.ranking)}
            for name, weights in others.items():
                reweighed = replace(past, settings=weights)
                ranking = diagnose(complaints[place], reweighed, on=job.opened).ranking
                answers[name] = Answer.of(ranking)
            answers |= {name: Answer.leaving(said[place], left) for name, said in plain}
            staged = {
                stage: Answer.of(diagnose(asked_as(job), past, on=job.opened).ranking)
                for stage, asked_as in stages.items()
            }
            done += 1
            if progress is not None:
                progress(done, total)
            yield AskedAgain(
                job=job,
                truth=Truth(cause=cause, new=cause not in times),
                known=len(known),
                model_known=None if job.vehicle.model is None else not found.recalled.new_model,
                answers=answers,
                stages=staged,
            )


TimedQuestion = tuple[int, Job]
"""How many cases were closed before the day of a case, and the case, to be asked again."""


def questions_in_time(
    cases: Sequence[Job], least_known: int, since: date | None
) -> list[TimedQuestion]:
    """Return the cases that can be asked again, in the order in which they came in."""
    closing = _by_closing(cases)
    ready = 0
    found = []
    for job in sorted(cases, key=lambda job: (job.opened, job.number or 0)):
        while (closing[ready].closed or date.max) < job.opened:
            ready += 1
        if ready >= max(least_known, 1) and (since is None or job.opened >= since):
            found.append((ready, job))
    return found


def drawn(
    questions: Sequence[TimedQuestion], most: int | None, stretch: int
) -> Sequence[TimedQuestion]:
    """Draw `most` of more questions, always the same ones, and leave them in order.

    From a random start they are parted evenly, and of every part up to `stretch` in a row are
    drawn: each question has the same chance, few fits serve them all, and stretches at random
    distances do not all fall into one season.

    References
    ----------
    Cochran (1977). Sampling Techniques, 3rd ed., chapters 5 and 9: stratified and cluster sampling.
    """
    count = len(questions)
    if most is None or count <= most:
        return questions
    random = Random(1)  # noqa: S311  no secret
    parts, start = ceil(most / stretch), random.randrange(count)
    places = list[int]()
    for part in range(parts):
        begin, end = count * part // parts, count * (part + 1) // parts
        wanted = most * end // count - most * begin // count
        first = start + begin + random.randint(0, end - begin - wanted)
        places += ((first + nth) % count for nth in range(wanted))
    return [questions[place] for place in sorted(places)]


def blocks_in_time(
    cases: Sequence[Job], questions: Sequence[TimedQuestion]
) -> Iterator[tuple[list[Job], list[Job]]]:
    """Yield known cases, in the order of their closing, with the cases to be asked of them."""
    closing = _by_closing(cases)
    known = 0
    asked: list[Job] = []
    for ready, job in questions:
        if asked and ready > known * (1 + BLOCK_GROWTH):
            yield closing[:known], asked
            asked = []
        if not asked:
            known = ready
        asked.append(job)
    if asked:
        yield closing[:known], asked


def _by_closing(cases: Sequence[Job]) -> list[Job]:
    return sorted(cases, key=lambda job: (job.closed or date.max, job.number or 0))


def grown_index(
    index: Index | None, known: Sequence[Job], wording: Wording, settings: Settings
) -> Index:
    """Bring the tool's index up to the known cases, fitted anew when many are new (`most_changes`).

    A shop's is fitted anew oftener, which would take hours here: what is measured is, if anything,
    worse than what a shop is told.
    """
    recent = () if index is None else known[len(index.base) :]
    if index is None or len(recent) > most_changes(len(index.base), settings.recall):
        return Index.fit(known, wording, settings)
    return index.with_changes([job.number for job in recent if job.number], recent, wording)
