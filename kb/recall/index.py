"""The index of past cases: columns for every signal, fitted, kept on disk, extended by changes.

An index is a base segment, fitted when cases change, and a small segment of what changed since,
built in memory at each question. In a small store no case is left unfitted, in a large one a few
are (`Index.most_unfitted`); they are recalled by the next command all the same. On disk an index is
one file of plain arrays (`kb.recall.arrays`), read back memory-mapped, checked whole, and never
trusted where a byte of it has changed.
"""

import shutil
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, ClassVar, Self, TypeVar, get_args, get_type_hints

import numpy as np
from numpy.typing import NDArray

from kb.case import Cause, Complaint, Job, Vehicle
from kb.intake.subjects import subjects_of
from kb.intake.wording import Wording
from kb.recall import arrays, linear, naming, tests_signal
from kb.recall import code_signal as codes
from kb.recall import reading_signal as readings
from kb.recall import subject_signal as subjects
from kb.recall import text_signal as text
from kb.recall import vehicle_signal as vehicle
from kb.recall.hashing import Keys, key, keys
from kb.recall.spans import Floats, Lists, Places
from kb.safety.job_words import without_steps
from kb.settings import RecallSettings, Settings

FORMAT = 17
"""Counts up when the arrays change their meaning; an index of another format is not read."""

FILE = "cases.index"
"""Name of the file in the index's folder."""

KEPT = ("model", "widths", "agreement", "linear", "base")
"""Parts of an index that are kept on disk; the rest is made at each question."""

T = TypeVar("T")
H = TypeVar("H", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Segment:
    """Some cases as columns, one row a case; `names` has one a cause.

    Attributes
    ----------
    numbers : ndarray of int64, shape (n,)
        Job numbers.
    causes : ndarray of uint64, shape (n,)
        Keys of the causes.
    systems : ndarray of uint64, shape (n,)
        Keys of the systems, 0 where not recorded.
    opened : ndarray of int32, shape (n,)
        Days, proleptic Gregorian ordinals.
    prints : ndarray of uint64, shape (n,)
        What tells a case from the same one edited, as far as an index looks at it (`print_of`).
    by_cause : Lists
        The rows of each cause, newest number first.
    conditions_of, codes_of, vehicle_of : ndarray of int32, shape (n,)
        Which row of `conditions`, `codes` and `vehicles` is the case's: equal ones are kept once.
    subjects, subjects_of_names : Lists
        The rows of each subject (`kb.intake.subjects`): of the cases whose complaint speaks of it,
        and of the causes in `names` whose own words do.
    """

    numbers: NDArray[np.int64]
    causes: Keys
    systems: Keys
    opened: NDArray[np.int32]
    prints: Keys
    by_cause: Lists
    complaint: text.Postings
    conditions: text.Postings
    conditions_of: Places
    codes: codes.CodeColumns
    codes_of: Places
    vehicles: vehicle.VehicleColumns
    vehicle_of: Places
    readings: readings.ReadingColumns
    tests: tests_signal.TestColumns
    names: naming.Names
    subjects: Lists
    subjects_of_names: Lists

    def __len__(self) -> int:
        return len(self.numbers)

    def told(self, terms: Keys, weights: Floats) -> Floats:
        """Return each row's cosine with the words asked; nan where nothing was said."""
        return self.complaint.cosines(terms, weights)

    def is_even(self) -> bool:
        """Whether all columns have a row a case."""
        sizes = (
            len(self.causes),
            len(self.systems),
            len(self.opened),
            len(self.prints),
            len(self.complaint),
            len(self.conditions_of),
            len(self.codes_of),
            len(self.vehicle_of),
            self.readings.size,
            self.tests.size,
        )
        return set(sizes) == {len(self)}


@dataclass(frozen=True, slots=True)
class Index:
    """All cases that can be recalled.

    Attributes
    ----------
    model : TextModel
        Fitted on the base segment's texts.
    widths : WidthColumns
        Normal bands learnt from the base segment's readings.
    agreement : Agreement
        How often cases of one cause agree in a test, learnt from the base segment.
    linear : LinearModel
        Fitted on the base segment; knows no cause where that is too small.
    superseded : ndarray of bool, shape (len(base),)
        Rows of the base that a recent change made void.
    sequence : int
        Last change of the store that the base includes.
    mark : str
        What the base was made from; an index of another mark must not be asked.
    kept : bool
        Whether it lies on disk, so that the next question need not fit it again.
    unkept : str
        Where it does not, why, and what helps.
    """

    model: text.TextModel
    widths: readings.WidthColumns
    agreement: tests_signal.Agreement
    linear: linear.LinearModel
    base: Segment
    recent: Segment
    superseded: NDArray[np.bool_]
    sequence: int = 0
    mark: str = ""
    kept: bool = True
    unkept: str = ""
    file: ClassVar[str] = FILE
    lists: ClassVar[frozenset[str]] = frozenset({"codes", "readings", "tests", "entries"})
    """Lists of a job that are looked at; it may come without the others."""

    @staticmethod
    def takes(job: Job) -> bool:
        """Whether a job belongs into the index."""
        return job.is_case

    @staticmethod
    def most_unfitted(cases: int, settings: RecallSettings) -> int:
        """Return how many cases may be new or changed before it is fitted again."""
        more = max(cases - settings.always_fitted, 0)
        return min(int(more * settings.unfitted_share), settings.refit_most)

    @staticmethod
    def print_of(job: Job) -> int:
        """Return what tells a job from the same one edited, as far as the index looks at it."""
        return print_of(job)

    def unfitted(self, changed: Sequence[int], cases: Sequence[Job]) -> list[int]:
        """Return which jobs would now be fitted otherwise than they were.

        `changed` are the numbers of all jobs added or edited since, `cases` those of them that the
        index takes now. A call about a case, or a job that was only opened, changes nothing.
        """
        rows = np.flatnonzero(np.isin(self.base.numbers, np.array(changed, dtype=np.int64)))
        numbers, prints = self.base.numbers[rows], self.base.prints[rows]
        fitted = dict(zip(numbers.tolist(), prints.tolist(), strict=True))
        now = {job.number: self.print_of(job) for job in cases}
        return [number for number in changed if fitted.get(number) != now.get(number)]

    def astray(self, jobs: Iterable[Job]) -> list[int]:
        """Return which of some jobs, as they are now, are in it otherwise."""
        wanted = {job.number: self.print_of(job) for job in jobs if job.number is not None}
        found: list[int] = []
        for part, gone in ((self.base, self.superseded), (self.recent, False)):
            rows = np.flatnonzero(np.isin(part.numbers, [*wanted]) & ~np.asarray(gone))
            pairs = zip(part.numbers[rows].tolist(), part.prints[rows].tolist(), strict=True)
            found += [number for number, told in pairs if told != wanted[number]]
        return found

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
        """Fit an index on cases (`Job.is_case`), with scipy.

        `sequence` and `mark` are kept with it.
        """
        sound = sound_cases(cases)
        tokens = partial(_tokens, wording)
        model, postings = text.fit(map(tokens, sound), settings.recall.character_share)
        widths = readings.fit_widths(sound, wording, settings.readings)
        base = segment(sound, prints_of(cases), wording, model, widths, postings)
        return cls(
            model=model,
            widths=widths,
            agreement=tests_signal.fit(base.tests, base.causes),
            linear=linear.fit(sound, base.causes, tokens, model, wording, widths, settings.recall),
            base=base,
            recent=cls._laid_out((), wording, model, widths),
            superseded=np.zeros(len(cases), dtype=np.bool_),
            sequence=sequence,
            mark=mark,
        )

    def with_changes(self, changed: Iterable[int], cases: Sequence[Job], wording: Wording) -> Self:
        """Return this index brought up to date.

        `changed` are the numbers of all jobs added or edited since the base was fitted, `cases`
        those of them that the index takes now.
        """
        gone = np.fromiter(changed, dtype=np.int64)
        return replace(
            self,
            recent=self._laid_out(cases, wording, self.model, self.widths),
            superseded=np.isin(self.base.numbers, gone),
        )

    @classmethod
    def _laid_out(
        cls,
        cases: Sequence[Job],
        wording: Wording,
        model: text.TextModel,
        widths: readings.WidthColumns,
    ) -> Segment:
        """Lay jobs out under a fitted model."""
        return laid_out(cases, wording, model, widths)

    def __len__(self) -> int:
        return int(len(self.base) - self.superseded.sum() + len(self.recent))

    def save(self, folder: Path) -> None:
        """Write the base segment into a folder, replacing an older index in one step.

        Raises
        ------
        OSError
            If that cannot be written; an older index is then left as it was.
        """
        about = {"format": FORMAT, "sequence": self.sequence, "mark": self.mark}
        named = {name: array for part in KEPT for name, array in _arrays(getattr(self, part), part)}
        arrays.write(folder / self.file, about, named)
        _remove_older_forms(folder)

    @classmethod
    def load(cls, folder: Path) -> Self | None:
        """Read an index back, memory-mapped; None if there is no whole one of this format.

        The caller compares `mark` with what its store gives.
        """
        try:
            kept = arrays.read(folder / cls.file)
            if kept.about["format"] != FORMAT:
                return None
            hints = get_type_hints(cls)
            parts = {part: _rebuild(hints[part], part, kept.arrays) for part in KEPT}
            model, widths, base = parts["model"], parts["widths"], parts["base"]
            if not base.is_even():
                return None
            return cls(
                **parts,
                recent=cls._laid_out((), Wording({}), model, widths),
                superseded=np.zeros(len(base), dtype=np.bool_),
                sequence=int(kept.about["sequence"]),
                mark=str(kept.about["mark"]),
            )
        except (OSError, ValueError, KeyError, TypeError):
            return None


def most_changes(cases: int, settings: RecallSettings) -> int:
    """Return how many changed jobs are read along, whatever changed of them."""
    share = int(cases * settings.refit_share)
    return min(max(settings.refit_least, share), settings.refit_most)


def print_of(job: Job) -> int:
    """Return the key of everything that an index of cases looks at in a job."""
    car, codes, readings, tests = _compared(job.vehicle), job.codes, job.readings, job.tests
    told = (car, job.opened, job.complaint, job.conditions, job.system, codes, readings, tests)
    return key(repr((*told, job.cause)))


def spoken(complaint: Complaint) -> str:
    """Return all the words of a complaint: what was said, when it happens, what was measured.

    Questions and cases are put into words by this one function, so a word counts wherever the
    typist left it.
    """
    measured = (reading.place for reading in complaint.readings)
    return "\n".join(filter(None, (complaint.text, complaint.conditions, *measured)))


def _tokens(wording: Wording, job: Job) -> list[str]:
    """Return the words that a case is recalled by."""
    return wording.tokens(spoken(Complaint.of(job)))


def cause_key(job: Job) -> str | None:
    """Return the text whose key stands for the cause of a case."""
    return "\n".join(job.cause.key) if job.cause else None


def key_of(cause: Cause) -> int:
    """Return the key of a cause, as every case's is kept."""
    return key("\n".join(cause.key))


def prints_of(cases: Iterable[Job]) -> Keys:
    """Return `print_of` of cases, shape (n,)."""
    return np.array([print_of(job) for job in cases], dtype=np.uint64)


def sound_cases(cases: Iterable[Job]) -> list[Job]:
    """Return cases as they may be learnt from (`without_steps`)."""
    return [without_steps(job) for job in cases]


def laid_out(
    cases: Sequence[Job], wording: Wording, model: text.TextModel, widths: readings.WidthColumns
) -> Segment:
    """Lay cases out as columns under a fitted model."""
    return segment(sound_cases(cases), prints_of(cases), wording, model, widths)


def segment(
    cases: Sequence[Job],
    prints: Keys,
    wording: Wording,
    model: text.TextModel,
    widths: readings.WidthColumns,
    complaint: text.Postings | None = None,
) -> Segment:
    """Lay sound cases out as columns, with the prints of what they are in the store.

    `complaint` is told where the fitting has posted the texts already.
    """
    if complaint is None:
        complaint = text.post((_tokens(wording, job) for job in cases), model)
    conditions, conditions_of = _distinct([job.conditions or "" for job in cases])
    code_sets, codes_of = _distinct([job.codes for job in cases])
    cars, vehicle_of = _distinct([_compared(job.vehicle) for job in cases])
    numbers = np.array([job.number for job in cases], dtype=np.int64)
    causes = keys(cause_key(job) for job in cases)
    named = {key(cause_key(job)): job.cause for job in cases if job.cause}
    return Segment(
        numbers=numbers,
        causes=causes,
        systems=keys(job.system for job in cases),
        opened=np.array([job.opened.toordinal() for job in cases], dtype=np.int32),
        prints=prints,
        by_cause=_by_cause(causes, numbers),
        complaint=complaint,
        conditions=text.post([wording.tokens(each) for each in conditions], model),
        conditions_of=conditions_of,
        codes=codes.build(code_sets),
        codes_of=codes_of,
        vehicles=vehicle.build(cars),
        vehicle_of=vehicle_of,
        readings=readings.build([Complaint.of(job).readings for job in cases], wording, widths),
        tests=tests_signal.build([job.tests for job in cases], wording),
        names=naming.build(named, wording, model),
        subjects=subjects.post(subjects_of(job.complaint, wording) for job in cases),
        subjects_of_names=subjects.post(
            naming.subjects_of_cause(named[each], wording) for each in sorted(named)
        ),
    )


def _distinct(values: Sequence[H]) -> tuple[list[H], Places]:
    """Return the different values, and for each of all which of these it is."""
    places: dict[H, int] = {}
    of_row = [places.setdefault(value, len(places)) for value in values]
    return list(places), np.array(of_row, dtype=np.int32)


def _compared(car: Vehicle) -> Vehicle:
    """Return what of a car is compared with others."""
    return Vehicle(make=car.make, model=car.model, engine=car.engine, year=car.year)


def _by_cause(causes: Keys, numbers: NDArray[np.int64]) -> Lists:
    rows = np.lexsort((-numbers, causes))
    known, starts = np.unique(causes[rows], return_index=True)
    return Lists(known, np.append(starts, len(rows)).astype(np.int32), rows.astype(np.int32))


def _remove_older_forms(folder: Path) -> None:
    """Remove what formats below 10 kept: a folder of arrays, and a file that named it."""
    (folder / "index.json").unlink(missing_ok=True)
    for old in folder.glob("arrays-*"):
        shutil.rmtree(old, ignore_errors=True)


def _arrays(value: Any, path: str) -> Iterator[tuple[str, NDArray[Any]]]:
    """Yield every array inside nested dataclasses with a name of its own."""
    for field in fields(value):
        inner = getattr(value, field.name)
        name = f"{path}.{field.name}"
        if is_dataclass(inner):
            yield from _arrays(inner, name)
        else:
            yield name, np.asarray(inner)


def _rebuild(kind: type[T], path: str, read: Mapping[str, NDArray[Any]]) -> T:
    """Put nested dataclasses together again from the arrays that `_arrays` named.

    Raises
    ------
    KeyError, TypeError, ValueError
        If an array is missing, of another type, or no number where one is wanted.
    """
    hints = get_type_hints(kind)
    values: dict[str, Any] = {}
    for field in fields(kind):  # type: ignore[arg-type]
        name, hint = f"{path}.{field.name}", hints[field.name]
        if is_dataclass(hint):
            values[field.name] = _rebuild(hint, name, read)  # type: ignore[arg-type]
        elif hint in {int, float}:
            values[field.name] = hint(read[name].item())
        elif read[name].dtype == _number_type(hint):
            values[field.name] = read[name]
        else:
            raise TypeError(name)
    return kind(**values)


def _number_type(hint: Any) -> np.dtype[Any]:
    """Return the type of the numbers of an array, from its annotation ``NDArray[type]``."""
    (number,) = get_args(get_args(hint)[1])
    kind: np.dtype[Any] = np.dtype(number)
    return kind
