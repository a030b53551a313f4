"""Whom to ask whether a fix held."""

from rich.console import RenderableType
from rich.text import Text

from kb.reports import layout
from kb.reports.labels import day, percent, plural, shortened
from kb.services.follow_up import FollowUps, ToAsk

LONGEST = 44
"""Characters of a complaint: with the car it fits one line."""


def render(found: FollowUps) -> RenderableType:
    """Lay out the cars to ask after, the riskiest first."""
    if not found.total:
        return Text("Nobody is due: every fix was heard of, or is too new or too old to ask about.")
    return layout.page(
        opening(found),
        layout.labelled([row for each in found.cars for row in rows(each)]),
        Text("Ask one after the other at a terminal, or: kb job follow-up JOB held", "dim"),
    )


def opening(found: FollowUps) -> RenderableType:
    """Say how many are due, how many of them are shown, and what the list goes by."""
    shown = f", the first {len(found.cars)}" if len(found.cars) < found.total else ""
    heading = f"{plural(found.total, 'car')} to ask after{shown}"
    return layout.page(
        *layout.cautions(found.cautions),
        Text(heading, "bold"),
        *layout.notices([_explained(found)]),
    )


def _explained(found: FollowUps) -> str:
    return (
        "The figure is the chance that the fix has failed unheard within its first "
        f"{found.horizon_days} days, by what this fix and its like did here. The list goes by "
        f"that chance, times {found.grave:g} for restraints, brakes, steering and high voltage; "
        "cars that came back with something alike come first."
    )


def rows(each: ToAsk) -> list[layout.Row]:
    """Return one car: what was done, since when nothing is known, what it came for since."""
    known = (
        f"last good after {plural(each.good_until, 'day')}" if each.good_until else "not heard of"
    )
    told = [
        f"{each.car}: {shortened(' '.join(each.complaint.split()), LONGEST)}",
        f"{each.cause} → {each.fix}",
        f"handed over {day(each.closed)}, {plural(each.days, 'day')} ago; {known}",
    ]
    if each.visit:
        found = f", found {each.visit.cause}" if each.visit.cause else ""
        said = shortened(" ".join(each.visit.complaint.split()), LONGEST)
        told.append(f"came again {day(each.visit.opened)} as #{each.visit.job}: “{said}”{found}")
    first, *more = told
    head = Text.assemble((f"#{each.job}  ", "bold"), first)
    return [(percent(each.risk), head), *(("", Text(line)) for line in more)]
