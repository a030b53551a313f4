"""A judged reading as a page: the verdict first, then who said what, then past cases."""

from collections import defaultdict
from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from kb.bands.bands import BandLevel
from kb.bands.conditions import conditions
from kb.bands.judgement import BandOpinion, Finding, PastReading, Verdict
from kb.bands.limits import Limit, Worse
from kb.bands.placeholders import Placeholder
from kb.case import Reading
from kb.reports import layout
from kb.reports.labels import brief, job_list, measured, percent, plural, reading
from kb.safety.job_words import FIT
from kb.services.judge import ReadingAnswer

_STYLES = {Finding.GOOD: "bold green", Finding.CANNOT_TELL: "bold"}
MOST_JOBS = 3
"""Job numbers told of one line without --detail."""


def render(answer: ReadingAnswer, *, detail: bool = False) -> RenderableType:
    """Lay out a judged reading; with `detail` every job number and past reading."""
    verdict = answer.verdict
    most = 10_000 if detail else MOST_JOBS
    return layout.page(
        *layout.cautions(answer.cautions),
        layout.labelled([("Asked", Text(_asked(answer)))]),
        *layout.notices(answer.notices),
        Text(
            f"{verdict.finding.upper()}: {_why(verdict)}", _STYLES.get(verdict.finding, "bold red")
        ),
        *_bands(answer, most),
        *_past(verdict, most),
        *_limit(verdict.limit, verdict),
    )


def _bands(answer: ReadingAnswer, most: int) -> list[RenderableType]:
    """Return who said what; of readings in states that exclude one another nothing is said."""
    if answer.verdict.needs:
        return []
    share, surely = percent(answer.content), percent(answer.confidence)
    rows = [(said.band.level, Text(_said(said, answer, most))) for said in answer.verdict.said]
    where = f"Where {share} of this shop's good readings lie ({surely} confidence)"
    return [Text(where), layout.labelled(rows)]


def _asked(answer: ReadingAnswer) -> str:
    parts = [reading(answer.asked)]
    if answer.vehicle.make or answer.vehicle.model:
        parts.append(FIT.shown_vehicle(answer.vehicle).label)
    return " · ".join(parts)


def _why(verdict: Verdict) -> str:
    holder = verdict.placeholder
    if verdict.finding is Finding.PLACEHOLDER and holder is not None:
        return _holder(holder, verdict)
    by = f" ({verdict.by})" if verdict.by else ""
    if verdict.odd is not None:
        by = f" ({_value(verdict.odd.others, verdict.reading)})"
    return f"{verdict.reason}{by}{_needs(verdict.needs)}"


def _needs(states: Sequence[str]) -> str:
    """Return what to add to the reading, states of one kind as alternatives.

    Examples
    --------
    >>> _needs(["petrol", "idle", "cranking"])
    '; say if petrol, and if idle or cranking'
    """
    kinds: dict[str, list[str]] = defaultdict(list)
    for name in states:
        kinds[conditions()[name].kind].append(name)
    asked = ", and if ".join(" or ".join(names) for names in kinds.values())
    return f"; say if {asked}" if asked else ""


def _holder(holder: Placeholder, verdict: Verdict) -> str:
    value = _value(holder.value, verdict.reading)
    told = f", {holder.told} of them told as not fitted" if holder.told else ""
    return (
        f"{value} stands on {plural(holder.circuits, 'circuit')} of {plural(holder.cars, 'car')} "
        f"{'of this make ' if holder.same_make else ''}that nothing was wrong with{told}. It is no "
        "measurement: not fitted, or open if this car has the item. "
        f"{job_list(holder.jobs, MOST_JOBS)}"
    )


def _said(said: BandOpinion, answer: ReadingAnswer, most: int) -> str:
    band, asked = said.band, answer.verdict.reading
    unit = "good pair" if band.level is BandLevel.TWIN else "good reading"
    counted = plural(band.count, unit)
    if not band.speaks:
        return f"{counted}, too few to speak" if band.count else "no good reading"
    lines = [f"{_range(band.low, band.high, asked)}, {_stands(said)}"]
    if band.level is BandLevel.TWIN:
        lines.append(_twin(answer))
    else:
        lines.append(f"middle {_value(band.median, asked)} of {counted}")
    lines += [str(notice) for notice in band.notices]
    jobs = f" {job_list(band.jobs, most)}" if band.jobs else ""
    return "; ".join(lines) + jobs


def _twin(answer: ReadingAnswer) -> str:
    verdict = answer.verdict
    if verdict.twin is None:
        return ""
    where = f" on #{answer.twin_job}" if answer.twin_job else ""
    odd = "" if verdict.twin_stands else ", which is itself out of order and proves nothing"
    return f"{verdict.twinship}, {verdict.twin.position}, reads {verdict.twin.typed}{where}{odd}"


def _stands(said: BandOpinion) -> str:
    if said.apart is None:
        return "no number to compare"
    if said.side is None:
        return "inside"
    way = "above" if said.side is Worse.HIGH else "below"
    return f"{way}: {brief(abs(said.apart))} half-widths from the middle"


def _range(low: float | None, high: float | None, like: Reading) -> str:
    if low is None:
        return f"up to {_value(high, like)}"
    if high is None:
        return f"{_value(low, like)} or more"
    return f"{_value(low, like)} to {_value(high, like)}"


def _value(value: float | None, like: Reading) -> str:
    return "beyond the instrument" if value is None else measured(value, like.quantity, like.typed)


def _past(verdict: Verdict, most: int) -> list[RenderableType]:
    """Return what past readings near the same value turned out to be, most frequent first."""
    groups: dict[str, list[PastReading]] = defaultdict(list)
    for past in verdict.past:
        groups[_turned_out(past)].append(past)
    if not groups:
        return [Text("No past reading of it near this value.")]
    ranked = sorted(groups.items(), key=lambda each: -len(each[1]))
    rows = []
    for name, group in ranked:
        jobs = job_list(sorted({past.job for past in group if past.job is not None}), most)
        rows.append((f"{len(group)} ×", Text(f"{name} {jobs}")))
    return [Text("Past readings near this value turned out to be"), layout.labelled(rows)]


def _turned_out(past: PastReading) -> str:
    if past.good:
        return "a good item"
    if past.good is None:
        return f"not proved either way{', told as not fitted' if past.told_missing else ''}"
    return past.cause or "bad, cause not found"


def _limit(limit: Limit | None, verdict: Verdict) -> list[RenderableType]:
    """Return a figure that is not the shop's experience, apart and with its source."""
    if limit is None:
        return []
    if not limit.says_a_figure:
        told = f"The trade has no figure for that: {limit.condition}. Source: {limit.source}"
        return [Text(told, "dim")] if limit.condition else []
    label = "Textbook figure" if limit.own else "Limit of the trade"
    told = "; ".join(filter(None, (", ".join(limit.when), limit.condition)))
    when = f" ({told})" if told else ""
    return [
        Text(
            f"{label}, not this shop's experience: {_figure(limit, verdict.reading)}{when}. "
            f"Source: {limit.source}",
            "dim",
        )
    ]


def _figure(limit: Limit, like: Reading) -> str:
    """Return what is good, and from where on it is a fault."""
    good = [] if limit.good == (None, None) else [f"good {_range(*limit.good, like)}"]
    faults = (("below", limit.bad_below), ("above", limit.bad_above))
    bad = [f"{way} {_value(value, like)}" for way, value in faults if value is not None]
    return ", ".join((*good, *([f"a fault {' or '.join(bad)}"] if bad else [])))
