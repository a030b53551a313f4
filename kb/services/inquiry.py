"""What is asked of the past, and what is to be said of any answer."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Self

from kb.bounds import check_text
from kb.case import Cause, Complaint, Job
from kb.diagnosis.diagnose import Diagnosis, Knowledge, diagnose, query_of
from kb.errors import InvalidField, Notice
from kb.intake.account import Account
from kb.intake.bare import what_is_missing
from kb.intake.codes import facts, parse_code
from kb.intake.grammar import with_article
from kb.intake.readings import parse_reading
from kb.intake.shoptalk import Understood, understand
from kb.recall.features import Query
from kb.recall.recall import Recalled, nearest
from kb.safety.hazards import Hazard, Situation, cautions, hazards
from kb.safety.job_words import FIT, JobWords
from kb.services.past_jobs import situation_of
from kb.settings import Settings
from kb.store.unit_of_work import UnitOfWork

MOST_MODELS = 3
"""So many other models are named as the source of what is told of a new one: one line holds
them."""
WORTH_A_CAUTION = 0.1
"""What is less likely than one in ten brings no cautions but the gravest, as a list too long to be
read warns of nothing (by judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a technician typed.

    Attributes
    ----------
    job : int or None
        Ask with what a job of the store says, too; it is not recalled itself.
    since : date or None
        Only past jobs opened on or after this day.

    Raises
    ------
    InvalidField
        Where it holds signs that no job could hold.
    """

    text: str = ""
    codes: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    vehicle: str | None = None
    job: int | None = None
    since: date | None = None

    def __post_init__(self) -> None:
        check_text("complaint", self.text)
        check_text("vehicle", self.vehicle or "")


@dataclass(frozen=True, slots=True)
class Inquiry:
    """What was asked, and of what; jobs opened before `since`, or `without`, are not looked at."""

    known: Knowledge
    typed: str
    account: Account
    complaint: Complaint
    on: date
    since: date | None
    without: tuple[int, ...]
    notices: tuple[str, ...]

    def diagnosed(self) -> Diagnosis:
        """Ask the past cases."""
        return diagnose(
            self.complaint, self.known, on=self.on, since=self.since, without=self.without
        )

    @property
    def query(self) -> Query:
        """What is held against the past."""
        return query_of(self.complaint, self.known.models, self.on)

    def nearest(self) -> Recalled:
        """Ask every past job, where it is these that are known."""
        known = self.known
        return nearest(
            self.query,
            known.index,
            known.wording,
            known.settings.recall,
            since=self.since,
            without=self.without,
        )


def inquire(
    work: UnitOfWork, known: Knowledge, question: Question, *, as_it_came: bool = False
) -> Inquiry:
    """Understand a question; with `as_it_came` about a job's complaint without the tests since."""
    job = None if question.job is None else work.jobs.get(question.job)
    before = Complaint()
    if job is not None:
        told = replace(job, readings=JobWords.of(job).sound_readings(job))
        before = Complaint.of(told) if as_it_came else Complaint.so_far(told)
    complaint, understood = _understood(work, question, before, known)
    said = job.complaint_as_typed if job else None
    return Inquiry(
        known=known,
        typed="\n".join(filter(None, (said, question.text))),
        account=understood.account,
        complaint=complaint,
        on=date.today() if job is None else job.opened,
        since=question.since,
        without=() if question.job is None else (question.job,),
        notices=understood.notices,
    )


def _understood(
    work: UnitOfWork, question: Question, before: Complaint, known: Knowledge
) -> tuple[Complaint, Understood]:
    """Turn what was typed, and the complaint it belongs to, into one complaint."""
    understood = understand(
        question.text,
        codes=tuple(parse_code(text) for text in question.codes),
        readings=tuple(parse_reading(text) for text in question.readings),
        vehicle=question.vehicle,
        vehicles=work.jobs.vehicles() if question.vehicle else (),
        models=known.models if question.vehicle else (),
        wording=known.wording,
    )
    now = understood.complaint
    complaint = replace(
        now,
        text="\n".join(filter(None, (before.text, now.text))),
        codes=(*before.codes, *now.codes),
        readings=(*before.readings, *now.readings),
        vehicle=now.vehicle if question.vehicle else before.vehicle,
        conditions=now.conditions or before.conditions,
        system=before.system or now.system,
        tests=before.tests,
    )
    if not (complaint.codes or complaint.readings):
        missing = (
            what_is_missing(complaint.text, work.jobs.vehicles, known.models, known.wording)
            if complaint.text.strip()
            else "says nothing; give words, --code, --reading or --job"
        )
        if missing:
            raise InvalidField("complaint", complaint.text, missing)
    return complaint, understood


def not_known(recalled: Recalled) -> tuple[str, ...]:
    """Say which words and codes no past job has, and what is known of them all the same."""
    words = [
        f"No past job says '{typed}'; read as '{known}', too."
        for typed, known in recalled.read_as.items()
    ]
    codes = [f"No past job has {code} ({facts(code).words})." for code in recalled.strange_codes]
    return (*words, *codes) if recalled.cases else ()


def from_other_cars(asked: Inquiry, recalled: Recalled, near: Sequence[Job]) -> tuple[str, ...]:
    """Say plainly that the evidence comes from other cars, and from which, for a new model."""
    vehicle = asked.complaint.vehicle
    if not (recalled.new_model and near and vehicle.model):
        return ()
    makes = Counter(
        " ".join(filter(None, (car.make, car.model))) or "unknown"
        for car in (FIT.shown_vehicle(job.vehicle) for job in near)
    )
    named = [f"{label} {times}" for label, times in makes.most_common(MOST_MODELS)]
    others = len(makes) - len(named)
    more = f" and {others} other models" if others > 1 else " and one other model" if others else ""
    platform = {same.model for same in asked.query.platform_cars if same.model}
    shared = f" {', '.join(sorted(platform))} on the same platform." if platform else ""
    return (
        f"The shop never had {with_article(vehicle.model)}: this comes from like jobs on other "
        f"cars ({', '.join(named)}{more}), so the chances are lower.{shared}",
    )


def of_the_store(recalled: Recalled, settings: Settings) -> tuple[str, ...]:
    """Say that there are no cases, none alike, or few."""
    if not recalled.cases:
        return (Notice.EMPTY_STORE,)
    if not recalled.neighbours:
        return (Notice.NOTHING_SIMILAR,)
    if recalled.cases < settings.diagnosis.few_jobs:
        return (Notice.FEW_JOBS,)
    return ()


def not_kept(known: Knowledge) -> tuple[str, ...]:
    """Say what beside the store could not be kept, or cannot be read."""
    unkept = () if known.index.kept else (known.index.unkept,)
    return (*unkept, Notice.WEIGHTS_LOST) if known.weights_lost else unkept


@dataclass(frozen=True, slots=True)
class InSight:
    """A suspect or a past job that stands on the page: what it tells of hazards, how likely."""

    situation: Situation
    chance: float

    @classmethod
    def of_job(cls, job: Job, chance: float = 0) -> Self:
        """A past job that is told."""
        return cls(situation_of([job]), chance)

    @classmethod
    def of_suspect(cls, cause: Cause, like: Sequence[Job], chance: float) -> Self:
        """A cause that is told, and none of the like jobs that had it.

        Beside what its own words tell it is of the systems that most of those jobs were on, or
        that are likely by them.
        """
        counted = Counter(job.system for job in like if job.system is not None)
        of = [
            system
            for system, jobs in counted.items()
            if 2 * jobs > len(like) or chance * jobs >= WORTH_A_CAUTION * len(like)
        ]
        return cls(Situation.of_causes([cause], of), chance)


def cautions_for(
    asked: Inquiry, in_sight: Sequence[InSight], folded: Sequence[Job] = ()
) -> tuple[str, ...]:
    """Cautions for what was asked, then for what is in sight, the likeliest first.

    The first of the complaint and that of the first suspect are never folded away; what is hardly
    likely brings the gravest alone. What only `folded` jobs concern gravely is named in a line.
    """
    wording, complaint = asked.known.wording, Situation.of_complaint(asked.complaint)
    own = hazards(complaint, wording)
    suspect = hazards(in_sight[0].situation, wording)[:1] if in_sight else ()
    first = [replace(each, always=True) for each in dict.fromkeys([*own[:1], *suspect])]
    rest = [*own]
    for each in sorted(in_sight, key=lambda told: -told.chance):
        found = hazards(complaint | each.situation, wording)
        rest += [one for one in found if one.always or each.chance >= WORTH_A_CAUTION]
    named = {each.key for each in first}
    told = [*first, *(each for each in dict.fromkeys(rest) if each.key not in named)]
    return (*cautions(told), *_of_folded(told, hazards(situation_of(folded), wording)))


def _of_folded(told: Sequence[Hazard], folded: Sequence[Hazard]) -> tuple[str, ...]:
    """Return the line that names what only jobs concern that are not in sight; none if none."""
    said = {each.caution for each in told}
    graver = (each.title for each in folded if each.always and each.caution not in said)
    titles = ", ".join(dict.fromkeys(graver))
    return (f"Jobs not shown also concern: {titles}; see --detail",) * bool(titles)
