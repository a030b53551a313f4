"""The lesson of a system as a page: cautions, then what the shop's own jobs teach."""

from collections.abc import Iterable, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from kb.case import Contact, Job, Outcome, Quantity, Stage
from kb.reports import layout
from kb.reports.fixes import fix_line
from kb.reports.job import cause_line, item_line
from kb.reports.labels import day, job_list, measured, percent, period, plural
from kb.services.teach import Teaching
from kb.training.lessons import CauseLesson, FailedFirst
from kb.training.reading_lessons import ReadingLesson, Span

MOST_CAUSES, MOST_READINGS, MOST_FAILURES = 6, 8, 5
"""On the page without detail."""
WITHHELD = "Words withheld as dangerous, no proof and no fix:"


def render(taught: Teaching, *, detail: bool = False) -> RenderableType:
    """Lay out a lesson: cautions first, then causes, readings, vain attempts, jobs to read.

    With `detail` everything, with all job numbers, instead of what matters most.
    """
    lesson = taught.lesson
    cases = plural(lesson.cases, "case") + period(lesson.since, lesson.until)
    failures = lesson.failed_first if detail else lesson.failed_first[:MOST_FAILURES]
    return layout.page(
        *layout.cautions(taught.cautions),
        Text(f"Lesson: {lesson.system}, from {cases}", "bold"),
        *layout.notices(taught.notices),
        *_part(
            "What such complaints turned out to be (fix rate: cured and held so long)",
            layout.labelled(_cause_rows(lesson.causes, detail)) if lesson.causes else None,
        ),
        *_part("What it reads when good, and when not", _readings(lesson.readings, detail)),
        *_part(
            "Tried first, and in vain",
            layout.labelled(row for each in failures for row in _failure(each, detail))
            if failures
            else None,
        ),
        *(
            part
            for job in lesson.telling
            for part in _part(
                f"Worth reading: job {job.number}, {job.vehicle.label}, {day(job.opened)}",
                _story(job),
            )
        ),
    )


def _part(heading: str, body: RenderableType | None) -> Iterable[RenderableType]:
    return () if body is None else (Text(), Text(heading, "bold"), body)


def _cause_rows(causes: Sequence[CauseLesson], detail: bool) -> list[layout.Row]:
    shown = causes if detail else causes[:MOST_CAUSES]
    rows = [row for each in shown for row in _cause(each, detail)]
    left = causes[len(shown) :]
    if left:
        cases = sum(len(each.jobs) for each in left)
        rows.append(("", Text(f"{plural(len(left), 'more cause')}, {plural(cases, 'case')}")))
    return rows


def _cause(each: CauseLesson, detail: bool) -> list[layout.Row]:
    head = Text(f"{each.cause.label}  ", "bold") + Text(plural(len(each.jobs), "case"))
    rows: list[layout.Row] = [(percent(each.share), head)]
    marks = [f"“{word}”" for word in each.said] + list(each.codes)
    if marks:
        rows.append(("", Text(f"typical: {', '.join(marks)}")))
    fixes = each.fixes if detail else each.fixes[:1]
    rows += [("", Text(f"fix: {fix_line(fix)}")) for fix in fixes]
    if each.dangerous:
        rows.append(("", Text(f"{WITHHELD} {job_list(each.dangerous, len(each.dangerous))}")))
    if detail:
        rows.append(("", Text(job_list(each.jobs, len(each.jobs)), "dim")))
    return rows


def _readings(readings: Sequence[ReadingLesson], detail: bool) -> RenderableType | None:
    if not readings:
        return None
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("item", ratio=4)
    table.add_column("proved good", ratio=3)
    table.add_column("proved bad", ratio=3)
    for each in readings if detail else readings[:MOST_READINGS]:
        how = f", {each.method}" if each.method else ""
        where = f" @ {each.condition}" if each.condition else ""
        spans = [_span(span, each.quantity, detail) for span in (each.good, each.bad)]
        table.add_row(Text(each.item) + Text(f"{where}{how}", "dim"), *map(Text, spans))
    return table


def _span(span: Span | None, quantity: Quantity, detail: bool) -> str:
    if span is None:
        return "–"
    ends = [measured(end, quantity) for end in (span.low, span.high) if end is not None]
    told = [
        " to ".join(dict.fromkeys(ends)),
        f"{span.over_range} over range" if span.over_range else "",
    ]
    text = ", ".join(part for part in told if part) + f" ({span.readings})"
    return f"{text} {job_list(span.jobs, len(span.jobs))}" if detail else text


def _failure(each: FailedFirst, detail: bool) -> list[layout.Row]:
    lost = [
        f"{each.minutes:.0f} min" if each.minutes else "",
        f"{each.parts_cost:,.2f} of parts" if each.parts_cost else "",
    ]
    spent = " and ".join(part for part in lost if part)
    was = "; ".join(
        miss.cause + (f" ({miss.count})" if miss.count > 1 else "") for miss in each.turned_out
    )
    head = Text(f"{each.fix}  ", "bold") + Text(spent and f"{spent} for nothing")
    rows: list[layout.Row] = [
        (f"{each.failed} of {each.tried}", head),
        ("", Text(f"it was: {was}")),
    ]
    return [*rows, ("", Text(job_list(each.jobs, len(each.jobs)), "dim"))] if detail else rows


def _since(job: Job) -> list[Contact]:
    """Return what was heard since the handover; good news of that very day is too soon to tell."""
    return [
        each
        for each in job.contacts
        if job.closed is None or each.on > job.closed or each.outcome is Outcome.COMEBACK
    ]


def _story(job: Job) -> RenderableType:
    found = [reading for reading in job.readings if reading.stage is not Stage.AFTER_FIX]
    after = [reading for reading in job.readings if reading.stage is Stage.AFTER_FIX]
    rows: list[layout.Row] = [("Complaint", Text(f"“{' '.join(job.complaint_as_typed.split())}”"))]
    parts = {"Codes": job.codes, "Found": found, "Tests": job.tests, "Tried": job.attempts}
    for label, items in parts.items():
        rows += layout.listed(label, map(item_line, items))
    if job.cause is not None:
        rows.append(("It was", Text(cause_line(job.cause))))
    if job.proved_by:
        rows.append(("Proof", Text(job.proved_by)))
    rows += layout.listed("After", map(item_line, after))
    rows += layout.listed("Since", map(item_line, _since(job)))
    return layout.labelled(rows)
