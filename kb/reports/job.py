"""One job as a page: its sheet, a draft of it before it is stored, and its history."""

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import msgspec
from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from kb.case import (
    UNREADABLE,
    Attempt,
    Cause,
    Confirmation,
    Contact,
    DiagnosticTest,
    Job,
    JobEntry,
    LaterVisit,
    Link,
    Reading,
    Stage,
    TroubleCode,
    Vehicle,
)
from kb.intake.account import Account, Fine, FixVerdict, Lift
from kb.intake.costs import PartsCost
from kb.intake.distances import Distance
from kb.intake.durations import Labour
from kb.intake.forms import kind_at
from kb.intake.parts import numbered_parts
from kb.intake.positions import find_position
from kb.local_time import local
from kb.reports import layout
from kb.reports.labels import day, plural, shortened
from kb.reports.labels import reading as reading_line
from kb.safety.job_dangers import DONE_HERE
from kb.safety.job_words import FIT, NO_FIX, JobWords, is_hidden
from kb.store.history import ADDED, ERASED, TAKEN_BACK, Change, Difference

if TYPE_CHECKING:  # a page of causes needs neither
    from kb.services.drafts import Draft
    from kb.services.lookup import History, JobList, JobSheet

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
    "void": "Void",
}
LABEL_WIDTH = 10
NUMBER_WIDTH = 4
Fact = tuple[str, str, str]
"""Field of a job, its label, and what is known."""
TypedFact = tuple[tuple[int, int], str, str]
"""Entry and place in it where something was typed, its field, and what is known."""


def render_sheet(sheet: "JobSheet", *, verbatim: bool = False) -> RenderableType:
    """Lay out all that is known of a job, cautions first.

    With `verbatim` as it was written, even what nobody should do again.
    """
    job, words = sheet.job, _words(sheet)
    unsafe = sheet.unvouched
    return layout.page(
        *layout.cautions(sheet.cautions),
        Text(f"Job {job.number}, {state(job)}", style="bold"),
        _numbered(job if verbatim else words.shown_job(job), _marks(sheet), sheet.undone),
        *layout.notices(unvouched_lines(unsafe if verbatim else words.steps_of(job, unsafe))),
        *layout.notices([DONE_HERE] if sheet.dangerous else [MAY_BE] if sheet.withheld else []),
        *layout.notices([LOST_WORDS.format(job.number)] if job.complaint == UNREADABLE else []),
        *layout.notices(
            [f"{back_line(sheet.back)} kb job follow-up {job.number} same fault (or another fault)"]
            if sheet.back
            else []
        ),
        *layout.notices(sheet.found_since),
        *layout.notices([denied_line(sheet.denied)] if sheet.denied else []),
        *layout.notices([again_line(sheet.again)] if sheet.again else []),
        Text(
            f"To change what has a number: kb job edit {job.number} NUMBER TEXT; to take it out: "
            f"kb job remove {job.number} NUMBER; the last entry: kb undo",
            style="dim",
        ),
    )


LOST_WORDS = (
    "What was complained of could not be read any more, and was kept nowhere else: the job counts "
    "without those words. If somebody knows them: kb job edit {} --set complaint=…"
)


def back_line(back: LaterVisit) -> str:
    """Say that a car came back for something alike, which nobody has judged."""
    if back.told_of == back.number:
        return (
            f"On {day(back.opened)} a comeback was told of the earlier #{back.number}, though this "
            "fix was on the car by then: not judged."
        )
    return f"Back on {day(back.opened)} for something alike, #{back.number}: not judged."


def again_line(visit: LaterVisit) -> str:
    """Say that a later job proved the same cause: the fix did not hold, though nobody said so."""
    return (
        f"Came back: #{visit.number} of {day(visit.opened)} proved the same cause. It counts as a "
        "comeback."
    )


def denied_line(visit: LaterVisit) -> str:
    """Say that a later job proved the same cause, though somebody said it was for another fault."""
    return (
        f"#{visit.number} of {day(visit.opened)} was said to be for another fault, and proved the "
        "same cause; the answer counts. Correct what is wrong."
    )


MAY_BE = (
    "What is not shown here may have been a dangerous step: read it, and make sure that nothing "
    "of it is left on the car. It is no proof and no fix."
)


def part_line(sheet: "JobSheet", field: str) -> str:
    """Return what stands on a job's page for one of its fields."""
    shown = _words(sheet).shown_job(sheet.job)
    return next(text for name, _, text in sheet_facts(shown) if name == field)


def _words(sheet: "JobSheet") -> JobWords:
    """Return what makes the words of a job fit to be printed here."""
    return replace(JobWords.of(sheet.job), igniter_job=sheet.igniter_job)


def unvouched_lines(steps: Iterable[str]) -> Iterator[str]:
    """Say that nobody confirmed what makes some steps safe, in one line."""
    told = list(dict.fromkeys(steps))
    if told:
        named = ", ".join(f"“{name}”" for name in told)
        verb, them = ("was", "it") if len(told) == 1 else ("were", "them")
        yield f"{named} {verb} done without a confirmation of what makes {them} safe."


def render_draft(draft: "Draft") -> RenderableType:
    """Lay out what was understood: a whole new job, or what would change in a stored one.

    It is masked as the page of the job will be. What was told stands in the order it was typed.
    """
    words = JobWords.of(draft.job)
    words = replace(words, igniter_job=words.igniter_job or draft.igniter_job, number=None)
    told = _fit_account(draft, words) if draft.account else Account()
    if draft.base is None:
        rows = _new_rows(draft, words, told)
        heading = "Understood as a new job"
    else:
        rows = _changed_rows(draft, words)
        heading = f"Understood for job {draft.job.number}, {car(draft.base.vehicle)}"
    return layout.page(
        *layout.cautions(draft.cautions),
        Text(heading, style="bold"),
        _grid([*rows, *layout.listed("", kept_lines(told))]),
        *layout.notices(draft.notices),
    )


def _fit_account(draft: "Draft", words: JobWords) -> Account:
    """Return what became of the words of a draft, fit to be shown."""
    told, shown = draft.account or Account(), words.shown_job(draft.job)
    open_entry = draft.job.entries[-1:] == shown.entries[-1:]

    def fit(lift: Lift) -> Lift:
        if isinstance(lift.fact, Fine):
            return replace(lift, fact=replace(lift.fact, what=words.shown(lift.fact.what)))
        plain = isinstance(lift.fact, str) and open_entry
        return lift if plain else replace(lift, fact=words.shown_part(lift.fact))

    return Account(tuple(map(fit, told.lifted)), tuple(map(fit, told.kept)), told.asked)


def kept_lines(told: Account) -> list[str]:
    """Return what of a line is said to be well, and what may be a fact but stays words."""
    fine = [item_line(lift.fact) for lift in told.lifted if isinstance(lift.fact, Fine)]
    words = dict.fromkeys(map(_lifted, told.kept))  # "cyl 3" told twice is shown once
    kept = [f"kept as words only: {'; '.join(words)}"] if words else []
    return [*fine, *kept]


def _lifted(lift: Lift) -> str:
    return lift.fact if isinstance(lift.fact, str) else item_line(lift.fact)


def render_list(jobs: "JobList") -> RenderableType:
    """Lay out a list of jobs, two lines each at most."""
    if not jobs.jobs:
        return Text("No such job." if jobs.total else "The store holds no job yet.")
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("Job", justify="right", no_wrap=True)
    table.add_column("Opened", no_wrap=True)
    table.add_column("Vehicle", ratio=2)
    table.add_column("Complaint, and what it was", ratio=5)
    for job in (_listed(each, each.number in jobs.igniter_jobs) for each in jobs.jobs):
        what = Text(shortened(" ".join(job.complaint_as_typed.split()), 70))
        what.append(
            f"\n{job.cause.label if job.cause and not job.void else job.state}", style="dim"
        )
        tag = f"{job.vehicle.ref} " if job.vehicle.ref else ""
        table.add_row(str(job.number), day(job.opened), f"{tag}{job.vehicle.label}", what)
    counted = f"{plural(len(jobs.jobs), 'job')} of {jobs.total:,}, the last opened first"
    return layout.page(*layout.cautions(jobs.cautions), table, Text(counted, style="dim"))


def _listed(job: Job, igniter_job: bool) -> Job:
    words = JobWords.of(job)
    return replace(words, igniter_job=words.igniter_job or igniter_job).shown_job(job)


def render_history(history: "History", *, verbatim: bool = False) -> RenderableType:
    """Lay out every change of a job, oldest first; with `verbatim` as it was written."""
    words = JobWords(number=history.job, igniter_job=history.igniter_job, of_drive=history.of_drive)
    fit = None if verbatim else words
    hidden = history.hidden
    return layout.page(
        *layout.cautions(history.cautions),
        Text(f"Job {history.job}, {plural(len(history.changes), 'change')}", style="bold"),
        layout.labelled(
            [(_moment(each), Text(change_line(each, fit, hidden))) for each in history.changes]
        ),
        *([] if verbatim or not history.hidden else [_unmasked(history.job)]),
    )


def _unmasked(job: int) -> Text:
    """Say where what a history does not show can be read, though the job has it no more."""
    return Text(f"As it was written, under its caution: kb job history {job} --verbatim", "dim")


def state(job: Job) -> str:
    """Return the state of a job with its days."""
    if job.void is not None:
        until = f", closed {day(job.closed)}" if job.closed else ""
        return f"VOID: it counts nowhere; opened {day(job.opened)}{until}"
    if job.closed is None:
        return f"open since {day(job.opened)}"
    return f"{job.state} {day(job.closed)}, opened {day(job.opened)}"


def _grid(rows: Iterable[layout.Row]) -> RenderableType:
    return layout.labelled(rows, width=LABEL_WIDTH)


def _marks(sheet: "JobSheet") -> dict[str, str]:
    """Return what stands behind the facts that open or count for nothing."""
    told = marks_of_confirmations(sheet.ended, sheet.imported)
    marks = {f"confirmations[{place}]": mark for place, mark in told.items()}
    marks |= {field: f"counts for nothing: {why}" for field, why in sheet.uncounted.items()}
    return {field: f" ({mark})" for field, mark in marks.items()}


def marks_of_confirmations(ended: Iterable[int], imported: Iterable[int]) -> dict[int, str]:
    """Return what stands behind confirmations that open nothing, by their places."""
    return dict.fromkeys(ended, "ended") | dict.fromkeys(imported, "imported, opens nothing here")


def _numbered(job: Job, marks: Mapping[str, str], undone: Collection[int]) -> RenderableType:
    """Lay out every fact with the number by which it is changed, and its mark."""
    number_of = {part.field: part.number for part in numbered_parts(job)}
    rows = (
        (
            f"{number_of.get(field, ''):>2}  {label}",
            Text(text + marks.get(field, "")),
        )
        for field, label, text in sheet_facts(job, undone)
    )
    return layout.labelled(rows, width=LABEL_WIDTH + NUMBER_WIDTH)


def sheet_facts(job: Job, undone: Collection[int] = ()) -> Iterator[Fact]:
    """Yield every fact that is known, in the order of the work; see `typed_lines`."""
    km = f"{job.odometer_km:,} km" if job.odometer_km is not None else None
    yield "vehicle", "Vehicle", _vehicle(job.vehicle)
    yield from _known(job, odometer_km=km, complaint=job.complaint_as_typed)
    yield from _known(job, "system", "conditions", "technician")
    yield from _items(job, "codes", "readings", "circuit", "tests", "confirmations")
    if job.cause is not None:
        yield "cause", "Cause", cause_line(job.cause)
    yield from _known(job, "proved_by")
    yield from _items(job, "attempts", "contacts")
    if job.reproduced is not None:
        seen = "seen to occur here" if job.reproduced else "never reproduced here"
        yield "reproduced", "Occurred", seen
    yield from _known(job, "notes", "void")
    typed = enumerate(typed_lines(job, undone))
    yield from (("entries", "" if place else "Typed", text) for place, text in typed)


def _edited_facts(job: Job) -> Iterator[str]:
    """Yield the facts that an edit may change: of what was typed, masked lines may be alike."""
    return (text for field, _, text in sheet_facts(job) if field != "entries")


def typed_lines(job: Job, undone: Collection[int] = ()) -> list[str]:
    """Return what was typed on a job, but for its complaint, its notes, and what was taken back."""
    shown = (job.complaint_as_typed, job.notes)
    return [
        _entry(each)
        for place, each in enumerate(job.entries)
        if each.text not in shown and place not in undone
    ]


def _known(job: Job, *names: str, **said: str | None) -> Iterator[Fact]:
    texts = {name: getattr(job, name) for name in names} | said
    yield from ((name, LABELS[name], text) for name, text in texts.items() if text is not None)


def _items(job: Job, *names: str) -> Iterator[Fact]:
    for name in names:
        for place, item in enumerate(getattr(job, name)):
            yield f"{name}[{place}]", "" if place else LISTS[name], item_line(item)


def _new_rows(draft: "Draft", words: JobWords, told: Account) -> Iterator[layout.Row]:
    """Yield what is known of a new job, and what its words told in the order they were typed."""
    job = words.shown_job(draft.job)
    typed = [*_typed_facts(draft, job), *_typed_conditions(job, told)]
    known = {field for _, field, _ in typed}
    for field, label, text in sheet_facts(job):
        if field not in known and field.partition("[")[0] not in LISTS:
            yield label, Text(text)
    yield from _in_order(typed)


def _typed_conditions(job: Job, told: Account) -> Iterator[TypedFact]:
    """Yield the conditions of a job, if they stand so in its complaint."""
    conditions = job.conditions or ""
    for lift in told.lifted:
        if isinstance(lift.fact, str) and lift.fact.casefold() == conditions.casefold():
            yield (0, lift.place.start), "conditions", conditions


def _typed_facts(draft: "Draft", shown: Job) -> Iterator[TypedFact]:
    """Yield what the lists of a job, as it is shown, hold more, and where it was typed."""
    for name in LISTS:
        old = getattr(draft.base, name) if draft.base else ()
        if not _is_longer(old, getattr(draft.job, name)):
            continue
        for item in getattr(shown, name)[len(old) :]:
            said = getattr(item, "said", None)
            place = (said.entry, said.start) if said else (len(shown.entries), 0)
            yield place, name, item_line(item)


def _in_order(facts: Iterable[TypedFact], sign: str = "") -> Iterator[layout.Row]:
    """Yield facts in the order they were typed, each kind named where it begins."""
    before = ""
    for _, name, text in sorted(facts, key=lambda fact: fact[0]):
        label = LISTS.get(name) or LABELS[name]
        yield "" if name == before else label, Text(f"{sign}{text}")
        before = name


def _changed_rows(draft: "Draft", words: JobWords) -> Iterator[layout.Row]:
    """Yield what a draft adds or changes, masked where nobody should repeat it."""
    job, base = words.shown_job(draft.job), draft.base or draft.job
    pairs = zip(_edited_facts(base), _edited_facts(words.shown_job(base)), strict=True)
    page = dict(pairs)
    added = list(_typed_facts(draft, job))
    grown = {name for _, name, _ in added}
    yield from _in_order(added, "+ ")
    if job.cause is not None and base.cause is None:
        yield "Cause", Text(cause_line(job.cause))
    for change in draft.changes:
        root = change.field.split(".")[0].split("[")[0]
        if change.field.endswith(".said"):
            continue  # where it was typed, and not what
        if ".proofs[" in change.field:
            yield "Proof", Text(f"+ {change.new}")
        elif change.field in LABELS:
            yield LABELS[change.field], Text(_from_to(change, words, page))
        elif root not in {*grown, "entries"} and not (root == "cause" and base.cause is None):
            told = _from_to(change, words, page)
            whole = root in LISTS and "." not in change.field
            yield (LISTS[root], Text(told)) if whole else ("", Text(f"{change.field}: {told}"))


def _is_longer(old: Sequence[Any], new: Sequence[Any]) -> bool:
    return len(new) > len(old) and new[: len(old)] == old


def item_line(item: object) -> str:
    """Return a part of a job in one line."""
    return _LINES[type(item)](item)


def cause_line(cause: Cause) -> str:
    """Return a cause in one line, with its position and the words it was told in."""
    label = f"{cause.label} ({cause.position})" if cause.position else cause.label
    return f"{label} “{cause.words}”" if cause.words else label


def car(vehicle: Vehicle) -> str:
    """Name a car: its key tag, and what it is."""
    return FIT.shown_vehicle(vehicle).tagged


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
    cured = {True: "cured", False: "did not cure", None: "not told whether it cured"}[attempt.cured]
    hidden = attempt.cured is None and is_hidden(attempt)
    said = attempt.words if attempt.words and _says_more(attempt.words, attempt.label) else None
    return _joined(
        attempt.label,
        _where(attempt),
        NO_FIX if hidden else cured,
        attempt.verified and f"verified: {attempt.verified}",
        attempt.proofs and not hidden and f"proved: {', '.join(attempt.proofs)}",
        attempt.supposed and f"tried for {attempt.supposed.label}",
        attempt.part_maker and f"part made by {attempt.part_maker}",
        f"parts {attempt.parts_cost:,.2f}" if attempt.parts_cost is not None else None,
        _minutes(attempt.minutes),
        said and f"“{said}”",
    )


def _where(attempt: Attempt) -> str | None:
    """Where on the car a fix was, which is no part of the name that rates count it by."""
    return find_position(re.split("[,;:]", attempt.words)[0])[0] if attempt.words else None


def _says_more(words: str, label: str) -> bool:
    """Whether the words of a fix tell more than its name, and that it cured."""
    return not set(re.findall(r"\w+", words.casefold())) <= {*label.casefold().split(), "cured"}


def _contact(contact: Contact) -> str:
    return _joined(
        f"{day(contact.on)} {contact.outcome}",
        f"{contact.odometer_km:,} km" if contact.odometer_km is not None else None,
        f"as job {contact.job}" if contact.job else None,
        contact.words and f"“{contact.words}”",
        contact.by and f"told by {contact.by}",
    )


def _entry(entry: JobEntry) -> str:
    at = f"{local(entry.at):%Y-%m-%d %H:%M} " if entry.at else ""
    who = f"{at}{entry.by or ''}".rstrip()
    return f"{who}: {entry.text}" if who else entry.text


def _link(link: Link) -> str:
    return _joined(f"{link.name} ({link.kind})", link.shorting_bars and "shorting bars")


def _confirmation(told: Confirmation) -> str:
    return f"{told.what}, {told.by} {local(told.at):%Y-%m-%d %H:%M}: {told.step}"


def _why_fine(told: Fine) -> str:
    if told.in_vain:
        return "said to be replaced in vain"
    if told.is_new:
        return "said to be new, so less likely, not ruled out"
    if told.is_clean:
        return "said to be cleaned in vain"
    return "seen to work" if told.works else "said to be fine"


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
    JobEntry: _entry,
    Distance: lambda told: f"odometer {told.km:,} km",
    Labour: lambda told: f"{told.minutes:,} min",
    PartsCost: lambda told: f"parts {told.total:,.2f}",
    FixVerdict: lambda told: "cured" if told.cured else "not cured",
    Fine: lambda told: f"{told.what}: {_why_fine(told)}",
}


def _minutes(minutes: int | None) -> str | None:
    return None if minutes is None else f"{minutes:,} min"


def _joined(*parts: object) -> str:
    return ", ".join(str(part) for part in parts if part)


def _moment(change: Change) -> str:
    return f"{local(change.at):%Y-%m-%d %H:%M} {change.who or ''}".rstrip()


def change_line(change: Change, words: JobWords | None, hidden: Collection[str] = ()) -> str:
    """Return a change in one line, fit to be shown; without `words` to judge by as it is.

    `hidden` are parts of the job that its page does not show, see `hidden_parts`.
    """
    if change.field == ADDED:
        return "stored"
    if change.field == TAKEN_BACK:
        return f"took entry {change.new} back"
    if change.field == ERASED:
        return "a text that names a person or a car was erased"
    return f"{field_label(change.field)}: {_from_to(change, words, hidden=hidden)}"


def _from_to(
    change: Change | Difference,
    words: JobWords | None,
    page: Mapping[str, str] = MappingProxyType({}),
    hidden: Collection[str] = (),
) -> str:
    """Return what a field was and is, as the `page` shows it, else masked by its words."""
    named = change.field.partition("[")[0] in _NAMES
    is_hidden = change.field.split(".")[0] in hidden

    def fit(value: Any) -> str:
        said = _said(change.field, value)
        if words is None:
            return said
        shown = page.get(said) or (words.named(said) if named else words.shown(said))
        return words.line(said) if is_hidden and shown == said else shown

    return fit(change.new) if change.old is None else f"{fit(change.old)} → {fit(change.new)}"


_NAMES = frozenset(["complaint", "conditions", "technician", "confirmations"])
"""Fields that may tell values, as `JobWords.named` lets them, or are in the program's own words."""


def _said(field: str, value: Any) -> str:
    """Return a JSON value of a field; a whole part of a job as its page has it."""
    if isinstance(value, dict) and (kind := kind_at(field)) in _LINES:
        with suppress(msgspec.ValidationError):  # an older program may have written it
            return item_line(msgspec.convert(value, kind))
    return _value(value)


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
    "entries": "Typed",
}


def _value(value: Any) -> str:
    """Return a JSON value as people write it; what is not there as a dash."""
    if value is None or value in ([], ()):
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        told = (f"{key} {_value(part)}" for key, part in value.items() if part and key != "said")
        return _joined(*told)
    if isinstance(value, list | tuple):
        return "; ".join(map(_value, value))
    return str(value)
