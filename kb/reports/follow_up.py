"""Whom to ask whether a fix held."""

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from kb.rates.due import Unheard
from kb.reports import layout
from kb.reports.job import item_line
from kb.reports.labels import day, job_list, percent, plural, shortened
from kb.services.drafts import Draft
from kb.services.fixes import withheld
from kb.services.follow_up import FollowUps, Return, ToAsk

LONGEST = 44
"""Characters of a complaint: with the car it fits one line."""
LONGEST_OF_TWO = 300
"""The same where two complaints are held against each other."""


def render(found: FollowUps) -> RenderableType:
    """Lay out the cars to ask after, returns to be judged first."""
    if not found.total:
        return layout.page(
            Text("Nobody is due: every fix was heard of, or is too new or too old to ask about."),
            *layout.notices(_left_out(found)),
        )
    places = enumerate(found.cars, 1)
    return layout.page(
        opening(found),
        layout.labelled([row for place, each in places for row in rows(each, place)]),
        Text("Ask one after the other at a terminal, or: kb job follow-up JOB held", "dim"),
    )


def opening(found: FollowUps) -> RenderableType:
    """Return what stands above the list: cautions, how many, how they are sorted."""
    to_ring = found.total - found.returns
    shown = f", the first {len(found.cars) - found.returns}"
    heading = ", then ".join(
        part
        for part in (
            found.returns and f"{plural(found.returns, 'return')} to judge at the desk",
            to_ring
            and f"{plural(to_ring, 'fix', 'fixes')} to ask after on {plural(found.on_cars, 'car')}"
            f"{shown if len(found.cars) < found.total else ''}",
        )
        if part
    )
    return layout.page(
        *layout.cautions(found.cautions),
        Text(heading, "bold"),
        *layout.notices((*_explained(found), *_left_out(found))),
    )


def _explained(found: FollowUps) -> Iterator[str]:
    if found.returns:
        backs = plural(found.returns, "fix", "fixes")
        yield (
            f"First, after {backs} the car was back with something alike or for the same system, "
            "and nobody has said whether it was the same fault; until then the fix counts as good "
            "up to that day only. "
            "Before the rest come those that the customer said to be the same; then, and among the "
            "others, those of which an answer tells most."
        )
    if found.returns < found.total:
        spans = " and ".join(f"{days} days" for days in found.horizons_days)
        yield (
            "The others go by the points that an answer is expected to take off the 95% ranges of "
            f"the fix's rates at {spans}, times the cases of its cause, as its rates are read "
            f"whenever it comes; times {found.grave:g} for restraints, brakes, steering and high "
            "voltage."
        )


def _left_out(found: FollowUps) -> Iterator[str]:
    yield from (*_rested(found), *_same_car(found), *_not_asked(found), *_past(found))
    yield from _silent(found.unheard)
    yield from withheld(found.withheld)


def _same_car(found: FollowUps) -> Iterator[str]:
    if found.same_car:
        yield (
            f"{plural(found.same_car, 'more fix waits', 'more fixes wait')}: without a key tag, by "
            "model, year and odometer likely on a car that is listed. That it is the same is not "
            "sure."
        )


def _not_asked(found: FollowUps) -> Iterator[str]:
    why = (
        f"too new to ask about: handed over, or heard of, less than {found.first_days} days ago",
        "left out, as an answer would change no rate by a tenth of a point",
    )
    for count, said in zip((found.fresh, found.needless), why, strict=True):
        if count:
            yield f"{plural(count, 'more fix is', 'more fixes are')} {said}."


def _rested(found: FollowUps) -> Iterator[str]:
    if found.rested:
        yield (
            f"{plural(found.rested, 'more fix rests', 'more fixes rest')}: asked after within "
            f"{found.rest_days} days, and nothing learnt."
        )


def _past(found: FollowUps) -> Iterator[str]:
    if found.past:
        yield (
            f"{plural(found.past, 'more fix is', 'more fixes are')} left out, handed over more "
            f"than {found.last_days} days ago: no rate goes beyond {found.horizons_days[-1]} days, "
            "and so late hardly anybody remembers when it came back (common practice). What you "
            "hear of one still counts: kb job follow-up JOB held."
        )


def _silent(unheard: Unheard) -> Iterator[str]:
    if unheard.cars:
        yield (
            f"Never heard of: {unheard.cars:,} of the {plural(unheard.of_cars, 'car')} that left "
            f"cured ({percent(unheard.cars / unheard.of_cars)}), a car without a tag by job. "
            "Such cars are most of what the rates of "
            f"{unheard.resting:,} of {plural(unheard.fixes, 'fix', 'fixes')} for a cause "
            f"({percent(unheard.resting / unheard.fixes)}) rest on: those tell little."
        )


def rows(each: ToAsk, place: int) -> list[layout.Row]:
    """Return one car: what was done, since when nothing is known, what it came for since."""
    told = list(_return(each, each.visit) if each.visit else _plain(each))
    head = Text.assemble((f"#{each.job}  ", "bold"), each.car)
    return [(f"{place}", head), *(("", Text(line)) for line in told)]


def _plain(each: ToAsk) -> Iterator[str]:
    yield f"“{_short(each.complaint, LONGEST)}”"
    yield f"{each.cause} → {each.fix}"
    yield f"handed over {day(each.closed)}, {plural(each.days, 'day')} ago; {_known(each)}"
    if each.perhaps:
        yield f"no key tag: likely, but not surely, the car of {job_list(each.perhaps)}, too"
    grave = ", counted double" if each.grave else ""
    yield (
        f"{each.width * 100:.1f} points off, {plural(each.cases, 'case')}{grave}; "
        f"{'no car with it heard of yet' if each.risk is None else _unheard(each.risk)}"
    )


def _unheard(risk: float) -> str:
    return f"failed unheard: {percent(risk)}"


def _known(each: ToAsk) -> str:
    told = each.good_until and f"said to be good after {plural(each.good_until, 'day')}"
    seen = each.seen_until > each.good_until and (
        f"seen for something else after {plural(each.seen_until, 'day')}"
    )
    nothing = "not told whether it cured" if each.untold else "not heard of"
    return ", ".join(part for part in (told, seen) if part) or nothing


def _return(each: ToAsk, back: Return) -> Iterator[str]:
    yield f"{day(each.opened)} as #{each.job}: “{_short(each.complaint, LONGEST_OF_TWO)}”"
    yield f"found {each.cause} → {each.fix}, handed over {day(each.closed)}"
    if back.visit is None:
        yield f"{day(back.on)} a comeback was told of #{back.told_of}: “{_said(back)}”"
        yield f"though the fix of #{each.job} was on the car by then"
    else:
        early = f", before #{each.job} was handed over" if back.on < each.closed else ""
        yield f"{day(back.on)} as #{back.job}{early}: “{_said(back)}”"
        yield f"found {back.cause}" if back.cause else "no cause told yet"
        if back.told_of is not None:
            yield f"told to be a comeback of #{back.told_of}, though #{each.job} was done by then"


def _said(back: Return) -> str:
    return _short(back.complaint, LONGEST_OF_TWO)


def _short(text: str, most: int) -> str:
    return shortened(" ".join(text.split()), most)


def render_answer(draft: Draft, car: str) -> RenderableType:
    """Lay out what would be stored of an answer: job and car, day, the later job it names."""
    told = f"For job {draft.job.number}, {car}: {item_line(draft.job.contacts[-1])}"
    return layout.page(Text(told), *layout.notices(draft.notices))
