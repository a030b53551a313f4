"""What keeps coming back, as a page for the foreman and as CSV."""

import csv
from dataclasses import fields
from io import StringIO

from rich.console import RenderableType
from rich.text import Text

from kb.intake.sheets import guarded
from kb.recurrence.pattern import AlertLevel, Pattern
from kb.reports import layout
from kb.reports.labels import brief, job_list, one_in, period, plural
from kb.services.scan import Scan

CAVEAT = "The shop sees what its customers bring, not every car on the road."
KEY = (
    "Each car counts once. Expected: by the group's share of all cars of like age seen here. "
    "At least: the low end of what the excess may be. Luck: how often chance brings so many. "
    "Cars/jobs: new cars with the fault among all jobs on the group, year by year."
)
NOTHING = "No fault stands out: none hits a make or model clearly more often than its share."
MOST_PATTERNS = 6
"""Facts on the first page."""
MOST_JOBS = 10
"""Job numbers told of one fact on the first page."""
MOST_YEARS = 6
"""Years told of one fact, the latest ones."""

_FACTS = (field.name for field in fields(Pattern))
COLUMNS = ("level", *(name for name in _FACTS if name not in {"level", "modes", "years"}))
"""Of the CSV: whatever is known of a pattern, but for what is a table itself."""


def render(scan: Scan, *, detail: bool = False) -> RenderableType:
    """Lay out a scan: what was looked at, then one block a fact, alerts first.

    With `detail` every fact and every job number, instead of the surest facts and some numbers.
    """
    shown = scan.patterns if detail else scan.patterns[:MOST_PATTERNS]
    left = len(scan.patterns) - len(shown)
    return layout.page(
        Text(_heading(scan), "bold"),
        Text(CAVEAT),
        *layout.notices(scan.notices),
        *([Text()] if shown else []),
        layout.labelled(row for pattern in shown for row in _rows(pattern, detail)),
        *([] if shown or not scan.cases else [Text(NOTHING)]),
        *([Text(f"{left} more: --detail", "dim")] if left else []),
        *([Text(KEY, "dim")] if shown else []),
    )


def to_csv(scan: Scan) -> str:
    """Encode the facts as CSV (RFC 4180); several values of one cell are set off by blanks."""
    sheet = StringIO(newline="")
    writer = csv.writer(sheet)
    writer.writerow(COLUMNS)
    for pattern in scan.patterns:
        writer.writerow([_cell(getattr(pattern, column)) for column in COLUMNS])
    return sheet.getvalue()


def _heading(scan: Scan) -> str:
    about = f" in {scan.system}" if scan.system else ""
    span = period(scan.since, scan.until)
    return f"What keeps coming back{about}, from {plural(scan.cases, 'case')}{span}"


def _rows(pattern: Pattern, detail: bool) -> list[tuple[str, Text]]:
    label = "ALERT" if pattern.level is AlertLevel.ALERT else "watch"
    most = len(pattern.jobs) if detail else MOST_JOBS
    return [
        (label, Text(f"{pattern.group}: {pattern.fault}", "bold")),
        ("", Text(_excess(pattern))),
        *(("", Text(line)) for line in [_particulars(pattern)] if line),
        ("", Text(_years(pattern))),
        ("", Text(job_list(pattern.jobs, most), "dim")),
    ]


def _excess(pattern: Pattern) -> str:
    return (
        f"{plural(pattern.observed, 'car')}, {brief(pattern.expected)} expected: "
        f"{brief(pattern.times)}×, at least {brief(pattern.at_least)}×; "
        f"luck {one_in(pattern.chance)}"
    )


def _particulars(pattern: Pattern) -> str:
    several = pattern.failure_mode is None and len(pattern.modes) > 1
    told = [
        several and ", ".join(f"{mode.vehicles} {mode.failure_mode}" for mode in pattern.modes),
        pattern.came_again and f"{plural(pattern.came_again, 'car')} more than once",
        pattern.only_here and "only here: perhaps no other is built so",
        pattern.set_aside and f"compared without {', '.join(pattern.set_aside)}",
    ]
    return "; ".join(str(part) for part in told if part)


def _years(pattern: Pattern) -> str:
    years = pattern.years[-MOST_YEARS:]
    told = ", ".join(f"{year.vehicles}/{year.cases}" for year in years)
    span = f"{years[0].year}–{years[-1].year}" if len(years) > 1 else str(years[0].year)
    return f"cars/jobs {span}: {told}; {pattern.trend}"


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, tuple):
        return " ".join(map(str, value))
    return guarded(f"{value:.4g}" if isinstance(value, float) else str(value))
