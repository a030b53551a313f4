"""Every past job as a card, open or closed, with a cause or without one.

A card is found by what came in, as a case is, and by everything else that is written on it: notes,
tests, what was done and how it ended. So a shop is answered from old job cards before anybody has
told a cause.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import ClassVar, Self

import numpy as np

from kb.case import UNREADABLE, Job, TroubleCode, Vehicle
from kb.intake.card_facts import codes_in_words
from kb.intake.wording import Wording
from kb.recall import linear, tests_signal
from kb.recall import reading_signal as readings
from kb.recall import text_signal as text
from kb.recall.hashing import Keys, key
from kb.recall.index import Index, Segment, print_of, segment, sound_cases
from kb.recall.spans import Floats
from kb.settings import Settings


@dataclass(frozen=True, slots=True)
class CardSegment(Segment):
    """Some jobs as columns; `causes` is 0 for a job without one.

    Attributes
    ----------
    written : Postings
        Everything that is written on each job (`written_on`).
    """

    written: text.Postings

    def told(self, terms: Keys, weights: Floats) -> Floats:
        """Return each row's cosine with the words asked, of what came in or of all, the greater."""
        came_in = self.complaint.cosines(terms, weights)
        return np.fmax(came_in, self.written.cosines(terms, weights))


@dataclass(frozen=True, slots=True)
class Cards(Index):
    """All jobs that count, to be asked as cases are (`kb.recall.recall.nearest`).

    The text model knows the words of all that is written; there is no linear model of causes.
    """

    base: CardSegment
    recent: CardSegment
    file: ClassVar[str] = "cards.index"
    lists: ClassVar[frozenset[str]] = Index.lists | {"attempts", "contacts", "entries"}

    @staticmethod
    def takes(job: Job) -> bool:
        """Whether a job belongs into the index: all but void ones do."""
        return job.void is None

    @staticmethod
    def print_of(job: Job) -> int:
        """Return what tells a job from the same one edited, as every word of a card counts."""
        return key(repr((print_of(job), *passages(job))))

    @classmethod
    def fit(
        cls,
        cases: Sequence[Job],
        wording: Wording,
        settings: Settings,
        *,
        sequence: int = 0,
        mark: str = "",
    ) -> Self:
        """Fit an index on jobs, with numpy alone; see `Index.fit`."""
        model, written = text.fit(
            (wording.tokens(written_on(job)) for job in cases), settings.recall.character_share
        )
        widths = readings.fit_widths(cases, wording, settings.readings)
        base = _card_segment(cases, wording, model, widths, written)
        return cls(
            model=model,
            widths=widths,
            agreement=tests_signal.fit(base.tests, base.causes),
            linear=linear.EMPTY,
            base=base,
            recent=cls._laid_out((), wording, model, widths),
            superseded=np.zeros(len(cases), dtype=np.bool_),
            sequence=sequence,
            mark=mark,
        )

    @classmethod
    def _laid_out(
        cls,
        cases: Sequence[Job],
        wording: Wording,
        model: text.TextModel,
        widths: readings.WidthColumns,
    ) -> CardSegment:
        written = text.post((wording.tokens(written_on(job)) for job in cases), model)
        return _card_segment(cases, wording, model, widths, written)


def _card_segment(
    jobs: Sequence[Job],
    wording: Wording,
    model: text.TextModel,
    widths: readings.WidthColumns,
    written: text.Postings,
) -> CardSegment:
    prints = np.array([Cards.print_of(job) for job in jobs], dtype=np.uint64)
    sound = sound_cases(map(_with_codes, jobs))
    laid_out = segment(sound, prints, wording, model, widths)
    columns = {each.name: getattr(laid_out, each.name) for each in fields(laid_out)}
    return CardSegment(**columns, written=written)


def _with_codes(job: Job) -> Job:
    """Return a job with the codes that stand in its words only, as on an old card."""
    more = codes_in_words(job)
    return replace(job, codes=(*job.codes, *more)) if more else job


def written_on(job: Job) -> str:
    """Return all the words of a job: what came in, of which car, what was done, how it ended."""
    return "\n".join(words for _, words in passages(job))


def passages(job: Job) -> Iterator[tuple[str, str]]:
    """Yield everything that is written on a job, each with the field it is from.

    The entries are left out: what was lifted from them stands in the job's fields.
    """
    for field, words in _passages(job):
        told = ", ".join(filter(None, words))
        if told:
            yield field, told


def _passages(job: Job) -> Iterator[tuple[str, tuple[str | None, ...]]]:
    typed = job.complaint_as_typed
    yield "complaint", (None if typed == UNREADABLE else typed,)
    yield "vehicle", (job.vehicle.ref, *_names(job.vehicle))
    yield "conditions", (job.conditions,)
    yield "codes", tuple(dict.fromkeys(name for each in job.codes for name in _code_names(each)))
    for reading in job.readings:
        yield "readings", (reading.place, reading.typed, reading.method, reading.condition)
    for test in job.tests:
        yield "tests", (test.name, test.seen)
    yield "notes", (job.notes,)
    for attempt in job.attempts:
        yield "attempts", (attempt.label, attempt.part_maker, attempt.words, attempt.verified)
    if job.cause is not None:
        yield "cause", (job.cause.label, job.cause.position, job.cause.words)
    yield "proved_by", (job.proved_by,)
    for contact in job.contacts:
        yield "contacts", (contact.words,)
    yield "technician", (job.technician,)


def _code_names(code: TroubleCode) -> tuple[str, ...]:
    """Return a code as it is written with its failure type, and without."""
    return (str(code), code.code)


def _names(car: Vehicle) -> tuple[str | None, ...]:
    return (car.make, car.model, car.engine)
