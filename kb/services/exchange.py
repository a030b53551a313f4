"""Import and export: whole files of jobs into a store and out of it."""

import csv
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import IO

import msgspec

from kb.case import Job, System
from kb.errors import UnreadableFile
from kb.files import replacing, write_whole
from kb.intake.forms import job_to_record
from kb.intake.sheets import columns, csv_row, read_mapping
from kb.progress import Progress, counted, untold
from kb.safety.job_words import JobWords
from kb.safety.marks import leave_out_numbers
from kb.services.destinations import check_destination, free_name
from kb.services.import_tally import Reject, Tally
from kb.services.importing import Source, looked_at, settle_numbers, store
from kb.services.indexing import shop_wording
from kb.store.condition import unreadable_rows
from kb.store.database import open_store
from kb.store.transaction import batches
from kb.store.unit_of_work import UnitOfWork


class Form(StrEnum):
    """What an export looks like."""

    JSONL = "jsonl"
    CSV = "csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportResult:
    """What became of a file.

    `already_there` counts jobs that the store holds with the same content; `renumbered` has number
    in the file and in the store of jobs whose number was taken. `rejects_file` is None where there
    are none, and after a dry run.

    Attributes
    ----------
    told_again : tuple of tuple of int
        Lines of rows that say once more what an earlier row says of the same job; its line.
    alike : tuple of tuple of int
        Lines of rows that begin like an earlier row and were kept as jobs of their own; its line.
    never_recalled : tuple of int
        Lines of jobs that have a cause, but no closing day: no question is answered from them.
    """

    path: str
    dry_run: bool
    added: int
    already_there: int
    renumbered: tuple[tuple[int, int], ...]
    rejects: tuple[Reject, ...]
    rejects_file: str | None
    notices: tuple[str, ...]
    told_again: tuple[tuple[int, int], ...] = ()
    alike: tuple[tuple[int, int], ...] = ()
    never_recalled: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportResult:
    """What was written, and where to; None is the stream that was given."""

    path: str | None
    jobs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RawExport:
    """How many rows that cannot be read were written, and where to; None is the stream."""

    path: str | None
    rows: int


def import_file(
    address: str,
    path: Path,
    *,
    mapping: Path | None = None,
    dry_run: bool = False,
    rejects: Path | None = None,
    who: str | None = None,
    progress: Progress | None = None,
) -> ImportResult:
    """Store the jobs of a file.

    Jobs are known by their uid; one without is given a uid made of its number, day, complaint and
    vehicle, so that the same file adds nothing a second time. Rows that say the same are jobs of
    their own, unless they have a number or uid. A job whose number another job has is given the
    next free number, and the contacts of the file that name it are set right.

    Parameters
    ----------
    path : Path
        ``.toml`` with ``[[job]]`` tables, ``.csv``, or JSON Lines under any other name.
    mapping : Path, optional
        What the columns of a foreign CSV file are; see `kb.intake.sheets.SheetMapping`.
    dry_run : bool
        Do everything but keep nothing, in the store or beside the file.
    rejects : Path, optional
        Where to write the jobs that are refused, one JSON object a line with line number, field,
        value, reason and whole row; ``<file>.rejects.jsonl`` if left out, or the next free name.
    """
    if rejects is not None:
        check_destination(rejects, address, sources=(path, *filter(None, (mapping,))), replace=True)
    source = Source(path, read_mapping(mapping) if mapping else None)
    told = progress or untold
    total = 2 * source.count_lines()
    engine = open_store(address)
    jobs = looked_at(source, date.today(), lambda line: told(line, total))
    with UnitOfWork(engine, who=who) as work:
        tally = Tally(settle_numbers(work, jobs))
        for batch in batches(jobs):
            store(work, batch, tally)
            told(total // 2 + batch[-1][0], total)
        tally.look_at_visits(work)
        told(total, total)
        rows = source.rows({each.line for each in tally.rejects}, (line for line, *_ in jobs))
        refused = source.in_columns(tally.rejects)
        kept_in = None if dry_run else _write_rejects(path, rejects, refused, rows)
        if not dry_run:
            work.commit()
    return ImportResult(
        path=str(path),
        dry_run=dry_run,
        added=tally.added,
        already_there=tally.already_there,
        told_again=tuple(tally.told_again),
        alike=tuple(tally.alike),
        never_recalled=tuple(tally.never_recalled),
        renumbered=tuple(tally.renumbered),
        rejects=tuple(refused),
        rejects_file=str(kept_in) if kept_in else None,
        notices=(*source.notices(), *tally.notices()),
    )


def export_file(
    address: str,
    path: Path | IO[str],
    *,
    form: Form = Form.JSONL,
    system: System | None = None,
    since: date | None = None,
    for_people: bool = False,
    progress: Progress | None = None,
) -> ExportResult:
    """Write the jobs of a store to a file, in order of number.

    JSON Lines hold everything and come back exactly; CSV the same, but for texts of nothing but
    blanks and the places where codes were said.

    An existing file is replaced once the new one is whole, the store and its files never. With
    `for_people` what may put a meter, lamp or voltage on an igniter is left out: somebody reads it
    as it goes.

    Raises
    ------
    KbError
        If the store cannot be opened, or the file cannot be written or is the store's.
    """
    if isinstance(path, Path):
        check_destination(path, address, replace=True)
    with UnitOfWork(open_store(address), read_only=True) as work:
        jobs = (
            job
            for job in counted(work.jobs.all(as_typed=True), work.jobs.count(), progress)
            if system in {None, job.system} and (since is None or job.opened >= since)
        )
        if for_people:
            wording = shop_wording(work)
            jobs = (JobWords.of(job, wording).shown_job(job) for job in jobs)
        if not isinstance(path, Path):
            return ExportResult(path=None, jobs=_write(jobs, path, form, for_people=for_people))
        with _written(path) as file:
            count = _write(jobs, file, form, for_people=for_people)
        return ExportResult(path=str(path), jobs=count)


def export_raw(address: str, path: Path | IO[str]) -> RawExport:
    """Write the rows of a store that cannot be read back, as they lie there, a line of JSON each.

    Raises
    ------
    KbError
        As for `export_file`.
    """
    rows = unreadable_rows(address)
    told = b"".join(rows).decode()
    if not isinstance(path, Path):
        path.write(told)
        return RawExport(path=None, rows=len(rows))
    check_destination(path, address, replace=True)
    with _written(path) as file:
        file.write(told)
    return RawExport(path=str(path), rows=len(rows))


@contextmanager
def _written(path: Path) -> Iterator[IO[str]]:
    try:
        with replacing(path) as part, part.open("w", encoding="utf-8", newline="") as file:
            yield file
    except OSError as error:
        raise UnreadableFile(
            f"{path}: cannot be written ({error.strerror}); choose another place"
        ) from error


def _write_rejects(
    source: Path, given: Path | None, rejects: list[Reject], rows: Mapping[int, str]
) -> Path | None:
    if not rejects:
        return None
    path = given or free_name(source.with_name(f"{source.name}.rejects.jsonl"))
    content = b"".join(
        msgspec.json.encode(
            {
                "line": reject.line,
                **({"column": reject.column} if reject.column else {}),
                "field": reject.field,
                "value": reject.value,
                "reason": reject.reason,
                "row": rows.get(reject.line),
            }
        )
        + b"\n"
        for reject in rejects
    )
    try:
        write_whole(path, content, anew=given is None)
    except OSError as error:
        raise UnreadableFile(
            f"{path}: the rejects cannot be written ({error.strerror}); name another place with "
            "--rejects. Nothing was imported."
        ) from error
    return path


def _write(jobs: Iterator[Job], file: IO[str], form: Form, *, for_people: bool) -> int:
    count = 0
    sheet = csv.writer(file)
    if form is Form.CSV:
        sheet.writerow(columns())
    for count, job in enumerate(jobs, start=1):  # noqa: B007
        record = job_to_record(job)
        if for_people:
            leave_out_numbers(record)
        if form is Form.CSV:
            sheet.writerow(csv_row(job, record))
        else:
            file.write(msgspec.json.encode(record).decode() + "\n")
    return count
