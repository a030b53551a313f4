"""The shop's list of vehicles, and one vehicle, as pages."""

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from kb.case import VehicleModel
from kb.intake.vin import VinFacts
from kb.reports import layout
from kb.reports.job import render_list
from kb.safety.job_words import FIT
from kb.services.lookup import JobList
from kb.services.vehicles import VehicleSheet

EMPTY = (
    "The shop's list has no vehicle yet; kb vehicle add MAKE MODEL adds one. Cars of past jobs are "
    "known without it."
)


def render_models(models: Sequence[VehicleModel]) -> RenderableType:
    """Lay out the list, one line a generation."""
    if not models:
        return Text(EMPTY)
    table = Table(box=None, pad_edge=False, header_style="bold")
    for heading in ("Make and model", "Generation", "Years", "Platform", "Engines", "Drive"):
        table.add_column(heading)
    for line in models:
        table.add_row(
            Text(f"{line.make} {line.model}"),
            Text(line.generation or ""),
            Text(_years(line)),
            Text(line.platform or ""),
            Text(", ".join(line.engines)),
            Text((line.handedness or "").removesuffix("-hand drive")),
        )
    return table


def render_vehicle(sheet: VehicleSheet) -> RenderableType:
    """Lay out what is known of a vehicle, and its last jobs under their cautions."""
    vehicle = FIT.shown_vehicle(sheet.vehicle)
    rows = [("Vehicle", vehicle.label), ("Key tag", vehicle.ref or "")]
    rows += list(_vin_rows(sheet.vin)) if sheet.vin else []
    label = "On the list" if len(sheet.lines) == 1 else "One of"
    rows += [("" if place else label, _line(line)) for place, line in enumerate(sheet.lines)]
    jobs = JobList(jobs=sheet.jobs, total=sheet.all_jobs, igniter_jobs=sheet.igniter_jobs)
    whose = "Jobs of this car" if sheet.is_one_car else "Last jobs of such cars"
    return layout.page(
        *layout.cautions(sheet.cautions),
        layout.labelled((label, Text(text)) for label, text in rows if text),
        *layout.notices(sheet.notices),
        *([Text(), Text(whose, "bold"), render_list(jobs)] if sheet.jobs else []),
    )


def _vin_rows(facts: VinFacts) -> Iterator[tuple[str, str]]:
    yield "VIN", f"{facts.vin}; maker {facts.vin[:3]}, {facts.region}"
    if facts.check_digit_right is None:
        yield "", "check digit and model year are not prescribed there, so none is read"
        return
    yield "", f"check digit {'right' if facts.check_digit_right else 'wrong'}"
    if facts.years:
        first, *others = map(str, facts.years)
        rest = f", or {' or '.join(others)} if it is a heavy one" if others else ""
        yield "", f"model year {first}{rest}"


def _line(line: VehicleModel) -> str:
    told = (line.label, line.platform and f"platform {line.platform}", ", ".join(line.engines))
    return FIT.named("; ".join(part for part in (*told, line.handedness) if part))


def _years(line: VehicleModel) -> str:
    if line.first_year is None and line.last_year is None:
        return ""
    return f"{line.first_year or ''}–{line.last_year or ''}"
