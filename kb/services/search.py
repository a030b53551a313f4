"""Searching past jobs by words, code, vehicle, part, technician and day."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from kb.bounds import check_text
from kb.case import Job, TroubleCode
from kb.errors import InvalidField, Notice
from kb.intake.codes import find_codes, parse_code
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.progress import Progress
from kb.recall.cards import passages
from kb.recall.search import CardsFound, search_cards
from kb.safety.hazards import Situation, cautions, hazards
from kb.safety.job_words import JobWords
from kb.services.indexing import current_cards, shop_wording
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

_WORD = compiled(r"[^\W_]+(?:[-./+:][^\W_]+)*")
_NOT_SHOWN = compiled(r"\[(?:not shown|must never be done)[^\]]*\]")
"""A line or a mark of `kb.safety.igniter_screen.line_for`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """What is looked for; what is given must all fit, of `words` any.

    `part` must stand in what was repaired, in the cause or in the notes; `since` and `until` are
    days of opening, both included; `state` is as `Job.state`.
    """

    words: str = ""
    codes: tuple[str, ...] = ()
    vehicle: str | None = None
    part: str | None = None
    technician: str | None = None
    state: str | None = None
    since: date | None = None
    until: date | None = None

    def __post_init__(self) -> None:
        check_text("words", self.words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hit:
    """A passage of a job that has what was looked for: which field, and from where to where."""

    field: str
    text: str
    marks: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundJob:
    """One job found, with how many of the words it has; `complaint` as the customer told it."""

    number: int
    opened: date
    vehicle: str
    state: str
    complaint: str
    words: int
    hits: tuple[Hit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchAnswer:
    """Jobs found, best first, under the cautions that come before them.

    Attributes
    ----------
    words : int
        How many words were looked for.
    found : int
        How many jobs have any of them, and `with_all` every one.
    total : int
        How many jobs the store holds.
    """

    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    words: int
    found: int
    with_all: int
    total: int
    jobs: tuple[FoundJob, ...]


def search(
    address: str,
    wanted: Search,
    settings: Settings,
    *,
    limit: int = 10,
    progress: Progress | None = None,
) -> SearchAnswer:
    """Find past jobs, open or closed, those with most of the words first.

    Raises
    ------
    KbError
        If the store cannot be opened, or nothing or no code can be read in what is looked for.
    """
    lifted = find_codes(wanted.words)
    codes = (*map(parse_code, wanted.codes), *lifted.codes)
    if wanted == Search():
        raise InvalidField(
            "words",
            wanted.words,
            "says nothing to look for; give words, or an option such as --since 2026",
        )
    with UnitOfWork(open_store(address), read_only=True) as work:
        wording = shop_wording(work)
        cards = current_cards(work, address, wording, settings, progress)
        among = _among(work, wanted)
        found = search_cards(lifted.rest, codes, cards, wording, among)
        if among is None and not (codes or found.words):
            raise InvalidField("words", wanted.words, "holds no word to look for; give one")
        jobs = work.jobs.get_many(found.numbers[:limit])
    return SearchAnswer(
        cautions=_cautions(wanted.words, codes, jobs, wording),
        notices=tuple(_notices(found, len(cards))),
        words=len(found.words),
        found=len(found.numbers),
        with_all=sum(held == len(found.words) for held in found.held),
        total=len(cards),
        jobs=tuple(
            _found(job, held, found, codes, wording)
            for job, held in zip(jobs, found.held, strict=False)
        ),
    )


def _among(work: UnitOfWork, wanted: Search) -> Sequence[int] | None:
    """Return the jobs that fit with what is not in their words; None where nothing is asked."""
    asked = {
        "state": wanted.state,
        "vehicle": wanted.vehicle,
        "part": wanted.part,
        "technician": wanted.technician,
        "since": wanted.since,
        "until": wanted.until,
    }
    if not any(asked.values()):
        return None
    return work.jobs.numbers_with(**asked)  # type: ignore[arg-type]


def _cautions(
    words: str, codes: tuple[TroubleCode, ...], jobs: Sequence[Job], wording: Wording
) -> tuple[str, ...]:
    """Return the cautions for what is looked for, then the gravest of all that is told."""
    asked = Situation(said=(words,), codes=codes)
    told = asked
    for job in jobs:
        told |= Situation.of_job(job)
    every = (each for each in hazards(told, wording) if each.always)
    return tuple(cautions(list(dict.fromkeys([*hazards(asked, wording), *every]))))


def _notices(found: CardsFound, total: int) -> Iterator[str]:
    if not total:
        yield Notice.NO_JOBS
    for typed, known in found.read_as.items():
        yield f"No past job says '{typed}'; read as '{known}', too."


def _found(
    job: Job, held: int, found: CardsFound, codes: Sequence[TroubleCode], wording: Wording
) -> FoundJob:
    words = JobWords.of(job, wording)
    shown = words.shown_job(job)
    looked_for = frozenset[str]().union(*found.words, (each.code.lower() for each in codes))
    hits = (
        Hit(field=field, text=text, marks=tuple(_marks(text, looked_for, wording)))
        for field, text in passages(shown)
    )
    return FoundJob(
        number=job.number or 0,
        opened=job.opened,
        vehicle=shown.vehicle.label,
        state=job.state,
        complaint=words.named(job.complaint_as_typed),
        words=held,
        hits=tuple(hit for hit in hits if hit.marks),
    )


def _marks(text: str, words: frozenset[str], wording: Wording) -> Iterator[tuple[int, int]]:
    """Yield from where to where words stand that are looked for, or mean one that is.

    Words of a line that stands in place of others are none.
    """
    lines = [match.span() for match in _NOT_SHOWN.finditer(text)]
    for match in _WORD.finditer(text):
        if any(start <= match.start() < end for start, end in lines):
            continue
        meant = {*wording.tokens(match.group()), match.group().lower().partition("-")[0]}
        if not words.isdisjoint(meant):
            yield match.span()
