"""What keeps coming back, as a page for the foreman and as CSV."""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import fields
from io import StringIO

from rich.console import RenderableType
from rich.text import Text

from kb.case import Action
from kb.intake.grammar import agreeing, with_article
from kb.intake.sheets import guarded
from kb.rates.waste import Waste
from kb.recurrence.change import Trend
from kb.recurrence.pattern import (
    AgeBeside,
    AlertLevel,
    Counts,
    FaultOfGroup,
    Growth,
    Incomparable,
    OneRecorder,
    Pattern,
    Sight,
)
from kb.reports import layout
from kb.reports.fixes import counts, rate
from kb.reports.labels import brief, day, job_list, period, plural, shortened
from kb.services.countermeasures import Countermeasures
from kb.services.scan import RecurringFault, Scan

CAVEAT = "The shop sees what its customers bring, not every car on the road."
KEY = (
    "Each car counts once and is compared with cars of other models, seen in the same years and "
    "weighed by age and distance, or just counted where that makes less of it. Times: how many "
    "times as often as them, drawn towards once where cars are few, at least: its low end. "
    "ACT: about 1 in 20 such lines is luck, or how models differ anyway; apart: as sure, but no "
    "other car ever had it; watch: about 1 in 5. Growing, fading: said of 1 in 20 that is steady. "
    "On these jobs, in vain on them: counted by job; in the whole shop: a car once for a fix."
)
NOTHING = "Of no fault is it sure enough that it befalls a make or model more often than others."
INCOMPARABLE = "Cannot be compared by age, and so no fact yet"
BESIDE = {
    AgeBeside.OLDER: "{whose} are older than the rest: it may come with the age",
    AgeBeside.NEWER: "{whose} are newer than the rest: {why}",
    AgeBeside.APART: "no other car was seen at their age and distance: it may come with that",
    AgeBeside.UNKNOWN: "how old they are is of most of them not written down",
}
MOST_FACTS = 4
"""Facts on the first page."""
MOST_JOBS = 8
"""Job numbers told of one fact on the first page."""
MOST_TO_CALL = 60
"""Cars that never had it, the last seen first: what a day's telephone calls come to."""
MOST_DONE = 4
"""Things done told of one fact on the first page."""
MOST_YEARS = 6
"""Years told of one fact, the latest ones."""
MOST_WORDS = 64
"""Characters of a complaint on the first page."""
LABELS = {AlertLevel.ACT: "ACT", AlertLevel.WATCH: "watch", AlertLevel.APART: "apart"}

_FACTS = [field.name for field in fields(Pattern)]
_TABLES = {
    "level",
    "counts",
    "all_time",
    "if_apart",
    "if_joined",
    "anywhere",
    "modes",
    "years",
    "months",
    "change",
    "one_recorder",
    "engine",
    "models",
    "spared_jobs",
}
_COUNTS = ("since", "until", "observed", "group_vehicles", "others_observed", "other_vehicles")
_CHANGE = ("trend", "about", "earliest", "latest", "last")
COLUMNS = ("level", *(name for name in _FACTS if name not in _TABLES), *_COUNTS, *_CHANGE)
"""Of the CSV: whatever is known of a pattern, but for what is a table itself."""


def render(scan: Scan, *, detail: bool = False) -> RenderableType:
    """Lay out a scan: what was looked at, then one block a fact, what is live first.

    With `detail` every fact and every job number, instead of the surest facts and some numbers.
    """
    shown = scan.facts if detail else foremost(scan.facts, MOST_FACTS)
    left = len(scan.facts) - len(shown)
    return layout.page(
        *(layout.cautions(scan.cautions) if shown or scan.incomparable else []),
        Text(_heading(scan), "bold"),
        Text(CAVEAT),
        *layout.notices((*scan.notices, *unsure(scan))),
        *_blocks(scan, shown, detail=detail),
        *_incomparable(scan),
        *([] if shown or not scan.cases else [Text(line) for line in nothing(scan)]),
        *([Text(f"{left} more: --detail", "dim")] if left else []),
        *([Text(line, "dim") for line in [sights(scan)] if line and scan.cases]),
        *([Text(KEY, "dim")] if shown else []),
    )


def foremost(facts: Sequence[RecurringFault], most: int) -> list[RecurringFault]:
    """Return so many facts in their order: what is to be acted on before all else."""
    urgency = [AlertLevel.ACT, AlertLevel.APART, AlertLevel.WATCH]
    places = sorted(range(len(facts)), key=lambda at: (urgency.index(facts[at].pattern.level), at))
    return [facts[place] for place in sorted(places[:most])]


def nothing(scan: Scan) -> Iterator[str]:
    """Say that nothing is named, and what came nearest to it."""
    yield NOTHING
    if scan.nearest is not None:
        fact = scan.nearest
        yield f"The nearest is {fact.group}: {fact.fault}, {excess(fact)}."


def incomparable(told: Incomparable) -> str:
    """Say how many had it, and why they cannot be held against the others."""
    why = "perhaps how it is used" if told.wears else "perhaps how they are built"
    beside = BESIDE[told.beside].format(whose=f"all {told.model or told.make}", why=why)
    few = f"{told.untagged} of {plural(len(told.jobs), 'job')} without key tag or VIN"
    untagged = f"; {few}: perhaps of fewer cars" if told.untagged else ""
    return f"{plain_counts(told, told.counts)}; {beside}{untagged}"


def to_csv(scan: Scan) -> str:
    """Encode the facts as CSV (RFC 4180); several values of one cell are set off by blanks."""
    sheet = StringIO(newline="")
    writer = csv.writer(sheet)
    writer.writerow(COLUMNS)
    for fact in scan.facts:
        writer.writerow([_cell(_value(fact.pattern, column)) for column in COLUMNS])
    return sheet.getvalue()


def excess(pattern: Pattern) -> str:
    """Return the counts as people say them, and how surely they are an excess."""
    low, one = pattern.at_least, pattern.one_recorder
    least = f"at least {brief(low)}" if round(low, 1) > 1 else "perhaps no more often"
    joined = pattern.if_joined
    alike = "" if one is None or one.stands_out else ", if all write it down alike"
    if joined and joined.observed < pattern.counts.observed:
        alike += ", if these are as many cars"
    return (
        f"{counted(pattern, pattern.counts)}: {brief(pattern.times)} times as often, {least}; "
        f"{_luck(pattern.false_alarms)}{alike}"
    )


def change(told: Growth) -> str:
    """Say whether it grows, and since when, and when it last came."""
    return "; ".join(part for part in (_trend(told), _last(told)) if part)


def _trend(told: Growth) -> str:
    if told.about is None or told.earliest is None or told.latest is None:
        vague = told.trend in {Trend.GROWING, Trend.FADING}
        return f"{told.trend}; since when cannot be told" if vague else str(told.trend)
    since = _often(told.after) if told.after else f"none of {plural(told.jobs_since or 0, 'job')}"
    return (
        f"{told.trend} since about {told.about:%Y-%m} ({told.earliest:%Y-%m} to "
        f"{told.latest:%Y-%m}); before {_often(told.before)}, since {since}"
    )


def _last(told: Growth) -> str:
    if told.last is None:
        return ""
    silent = f", none in {plural(told.jobs_since_last, 'job')} since" if told.stopped else ""
    return f"last {day(told.last)}{silent}"


def _often(jobs: float | None) -> str:
    """Say in how many of a group's jobs a fault came."""
    if jobs is None:
        return "none"
    return f"1 in {jobs:.0f} jobs" if jobs >= 1.5 else "in nearly all jobs"


def monday(fact: RecurringFault) -> str:
    """Return one line of what to do."""
    pattern, known = fact.pattern, fact.countermeasures
    told = [_look(fact), _better(known), _judge(known), _stock(pattern, known)]
    line = "; ".join(part for part in told if part)
    return line and line[0].upper() + line[1:]


def _look(fact: RecurringFault) -> str:
    """Say on which cars it is worth a look, and with what; on none as long as it is not sure."""
    pattern, known = fact.pattern, fact.countermeasures
    if pattern.change.stopped and pattern.change.last:
        return f"only watch it: none since {day(pattern.change.last)}"
    if pattern.level is AlertLevel.WATCH and pattern.wears:
        return "only watch it"
    if pattern.level is AlertLevel.WATCH:
        test = f" ({known.test.what})" if known.test else ""
        return f"only watch it: think of it when {with_article(pattern.group)} comes with it{test}"
    if not known.spared:
        return ""
    about = "about " if pattern.if_apart or pattern.if_joined else ""
    cars = f"{about}{plural(known.spared, 'car')} seen and never had it"
    took = f"{known.test.what}{_took(known.test.minutes, None, ', {}')}" if known.test else ""
    test = f" ({took})" if took else ""
    engine = f" {pattern.engine.engine}" if pattern.engine and pattern.engine.is_all else ""
    return f"look at it on every {pattern.group}{engine} that comes in{test}: {cars}"


def _heading(scan: Scan) -> str:
    about = f" in {scan.system}" if scan.system else ""
    span = period(scan.since, scan.until)
    return f"What keeps coming back{about}, from {plural(scan.cases, 'case')}{span}"


def unsure(scan: Scan) -> Iterator[str]:
    """Say what is not sure about whose car it was."""
    if scan.untagged:
        alone = agreeing(scan.unread, "counts as a car", "count as a car each")
        alone = f"; {alone}, as one of these is not written down" if scan.unread else ""
        yield (
            f"{plural(scan.untagged, 'job')} without key tag or VIN, taken for "
            f"{plural(scan.folded, 'car')} by model, year and odometer{alone}"
        )
    if scan.to_come:
        yield (
            f"{agreeing(scan.to_come, 'case is', 'cases are')} said to be of a day to come and "
            "left out of this: kb job list"
        )
    if scan.without_cause:
        yield (
            f"{agreeing(scan.without_cause, 'job was', 'jobs were')} closed without a cause: not "
            "counted in this"
        )
    if scan.proposed:
        yield (
            f"{agreeing(scan.proposed, 'card has', 'cards have')} a proposed cause only, and in "
            "none of this such a card counts until somebody confirms it (kb review)"
        )


def _blocks(
    scan: Scan, shown: Sequence[RecurringFault], *, detail: bool
) -> Iterator[RenderableType]:
    """Yield the facts under a heading for each window, where there are several."""
    for window in scan.windows:
        facts = [fact for fact in shown if fact.pattern.counts.window == window]
        if not facts:
            continue
        yield Text()
        if len(scan.windows) > 1:
            live = window is scan.windows[0]
            title = f"Since {day(window.since)}" if live else "Over all years"
            yield Text(title, "bold")
        yield layout.labelled(row for fact in facts for row in _rows(fact, detail=detail))


def _incomparable(scan: Scan) -> Iterator[RenderableType]:
    """Yield what stands out where model and age go together, under a heading of its own."""
    if scan.incomparable:
        yield Text()
        yield Text(INCOMPARABLE, "bold")
        yield layout.labelled(
            row
            for each in scan.incomparable
            for row in (
                ("?", Text(f"{each.group}: {each.fault}", "bold")),
                ("", Text(incomparable(each))),
                ("", Text(job_list(each.jobs, MOST_JOBS), "dim")),
            )
        )


def _rows(fact: RecurringFault, *, detail: bool) -> list[tuple[str, Text]]:
    pattern = fact.pattern
    most = len(pattern.jobs) if detail else MOST_JOBS
    lines = [
        excess(pattern),
        _proposed(fact),
        also(pattern),
        particulars(pattern),
        whose_cars(pattern),
        f"{_years(pattern)}; {change(pattern.change)}",
        *helps(fact.countermeasures, detail=detail),
    ]
    return [
        (LABELS[pattern.level], Text(f"{pattern.group}: {pattern.fault}", "bold")),
        *(("", Text(line)) for line in lines if line),
        ("", Text(f"Monday: {monday(fact)}", "bold")),
        ("", Text(job_list(pattern.jobs, most), "dim")),
        *([("", Text(seen_last(pattern), "dim"))] if detail and is_to_call(pattern) else []),
    ]


def is_to_call(pattern: Pattern) -> bool:
    """Whether cars that never had a fact are to be named."""
    return pattern.level is AlertLevel.ACT and bool(pattern.spared_jobs)


def seen_last(pattern: Pattern) -> str:
    """Name the last jobs of the cars that never had it: whom to call where it cannot wait."""
    return f"never had it, last seen: {job_list(pattern.spared_jobs, MOST_TO_CALL)}"


def _proposed(fact: RecurringFault) -> str:
    """Return how many cards that nobody confirmed may be of it, beside the jobs that are."""
    if not fact.proposed:
        return ""
    jobs = len(fact.pattern.jobs)
    return (
        f"{plural(jobs, 'job')} confirmed, {fact.proposed:,} proposed and counted in none of this"
    )


def counted(pattern: Pattern, seen: Counts) -> str:
    """Return counts as people say them: so many of these, so many of the others."""
    return plain_counts(pattern, seen, *_guessed(pattern, seen))


def plain_counts(
    fault: FaultOfGroup, seen: Counts, having: str | None = None, group: str | None = None
) -> str:
    """Return them with the group's own in other words, where these are given."""
    return (
        f"{having or seen.observed} of {group or seen.group_vehicles} {fault.model or fault.make}, "
        f"{seen.others_observed} of {seen.other_vehicles} other cars"
    )


def _guessed(pattern: Pattern, seen: Counts) -> tuple[str, str]:
    """Return the cars of a group that had it, and all of them, marked where they are guesses."""
    every = [each for each in (pattern.counts, pattern.if_apart, pattern.if_joined) if each]
    having = "" if len({each.observed for each in every}) == 1 else "about "
    group = "" if len({each.group_vehicles for each in every}) == 1 else "about "
    return f"{having}{seen.observed}", f"{group}{seen.group_vehicles}"


def _luck(false_alarms: float) -> str:
    """Say what share of such lines is luck."""
    if false_alarms < 0.01:
        return "hardly a line like this is a false alarm"
    if false_alarms > 0.5:
        return "most lines like this are false alarms"
    return f"of lines like this about 1 in {round(1 / false_alarms)} is a false alarm"


def also(pattern: Pattern) -> str:
    """Return the counts of all time, and of the part wherever it sits, where these are others."""
    told = [
        pattern.all_time and f"over all years {counted(pattern, pattern.all_time)}",
        pattern.anywhere
        and f"wherever {pattern.component} sits, {counted(pattern, pattern.anywhere)}",
    ]
    return "; ".join(part for part in told if part)


def particulars(pattern: Pattern) -> str:
    """Say how it failed, on how many cars again, and what must be borne in mind."""
    several = pattern.failure_mode is None and len(pattern.modes) > 1
    one = pattern.one_recorder
    told = [
        several and _modes(pattern),
        pattern.came_again
        and f"{'about ' if pattern.untagged else ''}{plural(pattern.came_again, 'car')} "
        "more than once",
        pattern.only_here
        and ("only here" if pattern.wears else "only here: perhaps no other is built so"),
        one
        and f"{one.jobs} of {plural(len(pattern.jobs), 'job')} recorded by one person, of all jobs "
        f"{one.share:.0%}: {_recorded(pattern.group, one)}",
        _engine(pattern),
        _models(pattern),
        apart_from_age(pattern),
        pattern.refuted
        and f"{plural(len(pattern.refuted), 'more job')} found wrong, back with another cause "
        f"({job_list(pattern.refuted, MOST_JOBS)})",
        pattern.set_aside
        and f"{' and '.join(pattern.set_aside)} left out of the others: it is known there too",
    ]
    return "; ".join(str(part) for part in told if part)


def _engine(pattern: Pattern) -> str:
    told = pattern.engine
    if told is None:
        return ""
    whose = f"all {told.known}" if told.is_all else f"{told.vehicles} of {told.known}"
    return (
        f"{whose} whose engine is known are {told.engine}, of all {pattern.model or pattern.make} "
        f"{told.group_vehicles} of {told.group_known}"
    )


def _models(pattern: Pattern) -> str:
    """Name the models of a make that had it: one of them, misspelt, may be all of it."""
    return ", ".join(f"{each.vehicles} {each.model}" for each in pattern.models)


def _recorded(group: str, one: OneRecorder) -> str:
    if one.stands_out:
        return f"of the cars of that one, too, {group} had it more often than others"
    return "perhaps others do not write it down"


def apart_from_age(pattern: Pattern) -> str:
    """Say that model and age cannot be told apart, where too few others are of the age."""
    few = pattern.of_its_age
    if few is None:
        return ""
    others = {0: "none of the others is", 1: "only 1 of the others is"}.get(
        few, f"only {few} of the others are"
    )
    return f"{others} of its age: it may come with the age, not with the {_kind(pattern)}"


def _kind(pattern: Pattern) -> str:
    return "model" if pattern.model else "make"


def _modes(pattern: Pattern) -> str:
    told = ", ".join(f"{mode.vehicles} {mode.failure_mode}" for mode in pattern.modes)
    twice = sum(mode.vehicles for mode in pattern.modes) - pattern.counts.observed
    return f"{told} ({plural(twice, 'car')} both ways)" if twice > 0 else told


def whose_cars(pattern: Pattern) -> str:
    """Say what is not known where visits have no tag."""
    if not pattern.untagged:
        return ""
    apart, joined = pattern.if_apart, pattern.if_joined
    told = [
        f"{pattern.untagged} of {plural(len(pattern.jobs), 'job')} without key tag or VIN",
        apart and f"{apart.observed} of {apart.group_vehicles} if no two are one car's",
        joined
        and f"{joined.observed} of {joined.group_vehicles} if those without odometer are as few "
        "cars' as may be",
        "whether such a car came back is seen only where a job names it",
    ]
    return "; ".join(part for part in told if part)


def _years(pattern: Pattern) -> str:
    years = pattern.years[-MOST_YEARS:]
    told = ", ".join(f"{year.vehicles}/{year.cases}" for year in years)
    span = f"{years[0].year}–{years[-1].year}" if len(years) > 1 else str(years[0].year)
    return f"new cars of all jobs {span}: {told}"


def helps(known: Countermeasures, *, detail: bool) -> Iterator[str]:
    """Yield what was said, what settled it, what cured it and what did not."""
    if known.said:
        yield f"said: “{shortened(known.said, 999 if detail else MOST_WORDS)}”"
    if known.codes:
        yield "codes: " + ", ".join(f"{each.what} ({each.jobs})" for each in known.codes)
    if known.test:
        yield f"settled by: {known.test.what} ({plural(known.test.jobs, 'job')})"
    yield from _here(known.here, detail=detail)
    if known.fixes:
        yield f"in the whole shop, for {known.cause}:"
    for fix in known.fixes:
        took = _took(fix.minutes, fix.parts_cost, " ({} each)")
        yield f"- {fix.label}: {counts(fix)}; {rate(fix)}{took}"


def _here(rows: Sequence[Waste], *, detail: bool) -> Iterator[str]:
    """Yield what was done on these jobs, whichever way it failed."""
    for title, found in (
        ("on these jobs", [_done(row) for row in rows if row.cured]),
        ("in vain on them", [_vain(row) for row in rows if row.in_vain and not row.cured]),
    ):
        shown = found if detail else found[:MOST_DONE]
        more = f"; {len(found) - len(shown)} more: --detail" if len(shown) < len(found) else ""
        if shown:
            yield f"{title}: {'; '.join(shown)}{more}"


def _done(row: Waste) -> str:
    told = [
        f"{row.what} cured {row.cured}",
        row.came_back and f"{row.came_back} came back",
        row.not_judged and f"{row.not_judged} back, not judged",
        row.unheard and f"{row.unheard} not heard of",
        row.in_vain and f"{row.in_vain} in vain",
        row.of_one_car and "what failed of it was one car's",
    ]
    return ", ".join(str(part) for part in told if part)


def _vain(row: Waste) -> str:
    many = "once" if row.in_vain == 1 else f"{row.in_vain} times"
    each = " in all" if row.in_vain > 1 else ""
    many += ", all on one car" if row.of_one_car else ""
    return f"{row.what}, {many}{_took(row.minutes, row.parts_cost, ' ({}' + each + ')')}"


def _took(minutes: float | None, cost: float | None, form: str) -> str:
    """Return what was written down of minutes and parts in a form; nothing where nothing was."""
    told = [minutes and f"{minutes:.0f} min", cost and f"parts {cost:,.0f}"]
    line = ", ".join(part for part in told if part)
    return form.format(line) if line else ""


def _better(known: Countermeasures) -> str:
    """Say what held better than what has come back, and what may do as well."""
    if not known.fixes:
        return ""
    first = known.fixes[0]
    best, back = first.label, len(first.came_back)
    told = [
        2 * back > first.cured_at_handover
        and f"no fix known here holds: {best} came back {back} of {first.cured_at_handover} times",
        known.better_than and f"{best} has held better than {known.better_than}",
        known.as_good and f"{known.as_good} may do as well as {best}",
    ]
    return "; ".join(part for part in told if part)


def _judge(known: Countermeasures) -> str:
    """Say how many cars are back without anybody saying whether it was for the same."""
    waiting = sum(row.not_judged for row in known.here)
    return f"{plural(waiting, 'return')} to be judged: kb job follow-up" if waiting else ""


def _stock(pattern: Pattern, known: Countermeasures) -> str:
    replaced = known.fixes and known.fixes[0].action is Action.REPLACED
    if pattern.level is AlertLevel.WATCH or known.parts < 2 or not replaced:
        return ""
    since = day(pattern.counts.window.since)
    return f"{pattern.component}: {known.parts} fitted on these jobs since {since}"


def sights(scan: Scan) -> str:
    """Say what so few cars could not have shown."""
    if not scan.sights:
        return ""
    most, middle = scan.sights[0], scan.sights[len(scan.sights) // 2]
    told = _sight(most)
    if middle is not most:
        told += f", {_sight(middle)}, and with fewer cars still more"
    return f"Would not show, of a fault that 1 car in 20 has: {told}."


def _sight(each: Sight) -> str:
    return f"with {each.vehicles} {each.group} an excess under {brief(each.times)} times"


def _value(pattern: Pattern, column: str) -> object:
    if column in {"since", "until"}:
        return getattr(pattern.counts.window, column)
    if column in _COUNTS:
        return getattr(pattern.counts, column)
    return getattr(pattern.change if column in _CHANGE else pattern, column)


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, tuple):
        return " ".join(map(str, value))
    return guarded(f"{value:.4g}" if isinstance(value, float) else str(value))
