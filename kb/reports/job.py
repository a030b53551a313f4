"""One job as a page: its sheet, a draft of it before it is stored, and its history."""

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from typing import Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from kb.case import (
    Attempt,
    Cause,
    Confirmation,
    Contact,
    DiagnosticTest,
    Job,
    Link,
    Reading,
    Stage,
    TroubleCode,
    Vehicle,
)
from kb.reports import layout
from kb.reports.labels import day, plural, shortened
from kb.reports.labels import reading as reading_line
from kb.safety.igniter import live_values
from kb.safety.job_words import JobWords
from kb.services.lookup import History, JobList, JobSheet
from kb.services.record import Draft
from kb.store.history import ADDED, Change, Difference

LISTS = {
    "codes": "Codes",
    "readings": "Readings",
    "tests": "Tests",
    "attempts": "Fixes",
    "contacts": "Heard of",
    "circuit": "Circuit",
    "confirmations": "Confirmed",
}
LABELS = {
    "complaint": "Complaint",
    "system": "System",
    "conditions": "Conditions",
    "technician": "Technician",
    "odometer_km": "Odometer",
    "opened": "Opened",
    "closed": "Closed",
    "proved_by": "Proved by",
    "notes": "Notes",
    "reproduced": "Reproduced",
}
LABEL_WIDTH = 10


def render_sheet(sheet: JobSheet, *, verbatim: bool = False) -> RenderableType:
    """Lay out all that is known of a job, cautions first.

    With `verbatim` as it was written, even what nobody should do again.
    """
    job, live = sheet.job, live_values(sheet.job.readings)
    words = JobWords(number=job.number, igniter_job=sheet.igniter_job, live=live)
    return layout.page(
        *layout.cautions(sheet.cautions),
        Text(f"Job {job.number}, {state(job)}", style="bold"),
        _grid(_rows(job if verbatim else words.shown_job(job), sheet.ended)),
        *layout.notices(
            unvouched_lines(sheet.unvouched if verbatim else map(words.named, sheet.unvouched))
        ),
        *layout.notices([DONE] if sheet.dangerous else []),
    )


DONE = (
    "A dangerous step was in fact done on this car and must not be repeated: make sure that "
    "nothing of it is left in the circuit. It is no proof and no fix."
)


def unvouched_lines(steps: Iterable[str]) -> Iterator[str]:
    """Say that nobody confirmed what makes some steps safe, in one line."""
    told = list(dict.fromkeys(steps))
    if told:
        named = ", ".join(f"“{name}”" for name in told)
        verb, them = ("was", "it") if len(told) == 1 else ("were", "them")
        yield f"{named} {verb} done without a confirmation of what makes {them} safe."


def render_draft(draft: Draft) -> RenderableType:
    """Lay out what was understood: a whole new job, or what would change in a stored one."""
    if draft.base is None:
        heading, rows = "Understood as a new job", _rows(draft.job)
    else:
        heading, rows = f"Understood for job {draft.job.number}", _changed_rows(draft)
    return layout.page(
        *layout.cautions(draft.cautions),
        Text(heading, style="bold"),
        _grid(rows),
        *layout.notices(draft.notices),
    )


def render_list(jobs: JobList) -> RenderableType:
    """Lay out a list of jobs, two lines each at most."""
    if not jobs.jobs:
        return Text("No such job." if jobs.total else "The store holds no job yet.")
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("Job", justify="right", no_wrap=True)
    table.add_column("Opened", no_wrap=True)
    table.add_column("Vehicle", ratio=2)
    table.add_column("Complaint, and what it was", ratio=5)
    for job in (JobWords.of(each).shown_job(each) for each in jobs.jobs):
        what = Text(shortened(" ".join(job.complaint.split()), 70))
        what.append(f"\n{job.cause.label if job.cause else job.state}", style="dim")
        tag = f"{job.vehicle.ref} " if job.vehicle.ref else ""
        table.add_row(str(job.number), day(job.opened), f"{tag}{job.vehicle.label}", what)
    counted = f"{plural(len(jobs.jobs), 'job')} of {jobs.total:,}, the last opened first"
    return layout.page(*layout.cautions(jobs.cautions), table, Text(counted, style="dim"))


def render_history(history: History) -> RenderableType:
    """Lay out every change of a job, oldest first."""
    words = JobWords(number=history.job, igniter_job=history.igniter_job)
    return layout.page(
        *layout.cautions(history.cautions),
        Text(f"Job {history.job}, {plural(len(history.changes), 'change')}", style="bold"),
        layout.labelled([(_moment(each), Text(_change(each, words))) for each in history.changes]),
    )


def state(job: Job) -> str:
    """Return the state of a job with its days."""
    if job.closed is None:
        return f"open since {day(job.opened)}"
    return f"{job.state} {day(job.closed)}, opened {day(job.opened)}"


def _grid(rows: Iterable[layout.Row]) -> RenderableType:
    return layout.labelled(rows, width=LABEL_WIDTH)


def _rows(job: Job, ended: Collection[int] = ()) -> Iterator[layout.Row]:
    """Yield every field that is known, in the order of the work."""
    km = f"{job.odometer_km:,} km" if job.odometer_km is not None else None
    texts = {
        "Vehicle": _joined(_vehicle(job.vehicle), km),
        "Complaint": job.complaint,
        "System": job.system,
        "Conditions": job.conditions,
        "Technician": job.technician,
    }
    yield from ((label, Text(text)) for label, text in texts.items() if text)
    for name in ("codes", "readings", "circuit", "tests"):
        yield from layout.listed(LISTS[name], [item_line(item) for item in getattr(job, name)])
    confirmed = enumerate(map(_confirmation, job.confirmations))
    lines = [f"{line} (ended)" if place in ended else line for place, line in confirmed]
    yield from layout.listed(LISTS["confirmations"], lines)
    if job.cause is not None:
        yield "Cause", Text(cause_line(job.cause))
    if job.proved_by:
        yield "Proved by", Text(job.proved_by)
    for name in ("attempts", "contacts"):
        yield from layout.listed(LISTS[name], [item_line(item) for item in getattr(job, name)])
    if job.reproduced is False:
        yield "Occurred", Text("never reproduced here")
    if job.notes:
        yield "Notes", Text(job.notes)


def _changed_rows(draft: Draft) -> Iterator[layout.Row]:
    """Yield what a draft adds or changes; added parts in the words they are shown with."""
    job, base = draft.job, draft.base or draft.job
    added = [name for name in LISTS if _is_longer(getattr(base, name), getattr(job, name))]
    for name in added:
        new = getattr(job, name)[len(getattr(base, name)) :]
        yield from layout.listed(LISTS[name], [f"+ {item_line(item)}" for item in new])
    if job.cause is not None and base.cause is None:
        yield "Cause", Text(cause_line(job.cause))
    for change in draft.changes:
        root = change.field.split(".")[0].split("[")[0]
        if ".proofs[" in change.field:
            yield "Proof", Text(f"+ {change.new}")
        elif change.field in LABELS:
            yield LABELS[change.field], Text(_from_to(change))
        elif root not in added and not (root == "cause" and base.cause is None):
            yield "", Text(_difference(change))


def _is_longer(old: Sequence[Any], new: Sequence[Any]) -> bool:
    return len(new) > len(old) and new[: len(old)] == old


def item_line(item: object) -> str:
    """Return a part of a job in one line."""
    return _LINES[type(item)](item)


def cause_line(cause: Cause) -> str:
    """Return a cause in one line, with its position and the words it was told in."""
    label = f"{cause.label} ({cause.position})" if cause.position else cause.label
    return f"{label} “{cause.words}”" if cause.words else label


def _vehicle(vehicle: Vehicle) -> str:
    return _joined(vehicle.label, vehicle.ref, vehicle.vin and f"VIN {vehicle.vin}")


def _reading(reading: Reading) -> str:
    good = {True: "good", False: "not good", None: None}[reading.proved_good]
    stage = None if reading.stage is Stage.AS_FOUND else reading.stage
    return _joined(reading_line(reading), reading.method, stage, good)


def _test(test: DiagnosticTest) -> str:
    return _joined(
        f"{test.name}: {test.seen}",
        test.points_to and "points to " + " and ".join(test.points_to),
        test.clears and "clears " + " and ".join(test.clears),
        _minutes(test.minutes),
    )


def _attempt(attempt: Attempt) -> str:
    cured = {True: "cured", False: "did not cure", None: None}[attempt.cured]
    return _joined(
        attempt.label,
        cured,
        attempt.verified and f"verified: {attempt.verified}",
        attempt.proofs and f"proved: {', '.join(attempt.proofs)}",
        attempt.supposed and f"tried for {attempt.supposed.label}",
        f"parts {attempt.parts_cost:,.2f}" if attempt.parts_cost is not None else None,
        _minutes(attempt.minutes),
        attempt.words and f"“{attempt.words}”",
    )


def _contact(contact: Contact) -> str:
    return _joined(
        f"{day(contact.on)} {contact.outcome}",
        f"{contact.odometer_km:,} km" if contact.odometer_km is not None else None,
        f"as job {contact.job}" if contact.job else None,
        contact.words and f"“{contact.words}”",
    )


def _link(link: Link) -> str:
    return _joined(f"{link.name} ({link.kind})", link.shorting_bars and "shorting bars")


def _confirmation(told: Confirmation) -> str:
    return f"{told.what}, {told.by} {told.at.astimezone():%Y-%m-%d %H:%M}: {told.step}"


def _code(code: TroubleCode) -> str:
    return f"{code} {code.status}" if code.status else str(code)


_LINES: dict[type, Callable[[Any], str]] = {
    TroubleCode: _code,
    Reading: _reading,
    DiagnosticTest: _test,
    Attempt: _attempt,
    Contact: _contact,
    Link: _link,
    Confirmation: _confirmation,
}


def _minutes(minutes: int | None) -> str | None:
    return None if minutes is None else f"{minutes:,} min"


def _joined(*parts: object) -> str:
    return ", ".join(str(part) for part in parts if part)


def _moment(change: Change) -> str:
    return f"{change.at.astimezone():%Y-%m-%d %H:%M} {change.who or ''}".rstrip()


def _change(change: Change, words: JobWords) -> str:
    """Return a change in one line; what was confirmed is in the program's own words."""
    if change.field == ADDED:
        return "stored"
    told = _from_to(change)
    own = change.field.startswith("confirmations")
    return f"{field_label(change.field)}: {words.named(told) if own else words.shown(told)}"


def _difference(change: Change | Difference) -> str:
    return f"{change.field}: {_from_to(change)}"


def field_label(path: str) -> str:
    """Return a field's path as people say it.

    Examples
    --------
    >>> field_label("proved_by"), field_label("tests[1].name"), field_label("readings[0]")
    ('Proved by', 'Test 2, name', 'Reading 1')
    """
    first, *rest = path.split(".")
    name, _, place = first.partition("[")
    one = _ONE.get(name) if place else LISTS.get(name)
    label = LABELS.get(name) or one or name.replace("_", " ").capitalize()
    numbered = f"{label} {int(place.rstrip(']')) + 1}" if place else label
    parts = [re.sub(r"\[(\d+)\]", lambda at: f" {int(at[1]) + 1}", each) for each in rest]
    return ", ".join([numbered, *(each.replace("_", " ") for each in parts)])


_ONE = {
    "codes": "Code",
    "readings": "Reading",
    "tests": "Test",
    "attempts": "Fix",
    "contacts": "Heard of",
    "circuit": "Link",
    "confirmations": "Confirmed",
}


def _from_to(change: Change | Difference) -> str:
    new = _value(change.new)
    return new if change.old is None else f"{_value(change.old)} → {new}"


def _value(value: Any) -> str:
    """Return a JSON value as people write it; what is not there as a dash."""
    if value is None or value in ([], ()):
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return _joined(*(f"{key} {_value(part)}" for key, part in value.items() if part))
    if isinstance(value, list | tuple):
        return "; ".join(map(_value, value))
    return str(value)
