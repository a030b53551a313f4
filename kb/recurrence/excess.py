"""Faults that befall a group of vehicles more often than the rest, and whether they grow.

A vehicle counts once, however often it came. It is watched in every calendar year in which it was
seen, until it had the fault, and compared with vehicles of other groups of that year, each weighed
by how often others of its age and distance have the fault: what the accused has does not tell what
is usual. A workshop sees only what its customers bring, not the vehicles on the road; an excess is
a fact about its own jobs.
"""

import math
import sys
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from kb.case import Job, System
from kb.recurrence.cars import ToldApart, tell_apart
from kb.recurrence.change import Trend
from kb.recurrence.faults import by_day, visit_of
from kb.recurrence.pattern import (
    AlertLevel,
    Counts,
    Growth,
    Incomparable,
    Pattern,
    Recurrences,
    Window,
)
from kb.recurrence.shop_counts import GroupComparison, rank
from kb.recurrence.shop_facts import ShopFacts
from kb.settings import RecurrenceSettings

_Told = tuple["_Look", GroupComparison, Pattern]
"""A fact in the window that it is told of, and what is told."""


def recurring(
    jobs: Iterable[Job],
    settings: RecurrenceSettings,
    *,
    system: System | None = None,
    windows: Sequence[Window] = (),
    refuted: Collection[int] = (),
) -> Recurrences:
    """Find the faults that befall some group of vehicles more often than all others.

    Faults are components at their location, with and without their failure mode; groups are
    models and makes. Of versions of one fact (one component and location; a model and its make)
    only the one least likely to be luck is reported, the most specific of equals. One bad model
    would hide the next: the vehicles of its group are set aside and the rest compared among
    themselves, until no group is even suspect. Each is then measured against the vehicles of no
    other group reported. Jobs that are no cases are left out; with a system its faults alone are
    reported, but compared with all jobs all the same. Of `refuted` jobs the cause was found wrong
    later: that the car was seen is all they tell.

    Models differ by nature, and in a shop that sees many cars that shows: so many are a false alarm
    if luck and such differences bring them, as much as models are seen to differ in the shop. Over
    all windows together so few false alarms are to be expected among those told: their share is no
    greater. What concerns more vehicles may be told at less. Facts of the first window come first;
    one that was found in an earlier window of the sequence is not told again. Without windows all
    time is looked at.

    References
    ----------
    `kb.recurrence.comparison`; of what could show something only: Gilbert, "A modified false
    discovery rate multiple-comparisons procedure for discrete data", Applied Statistics 54, 2005;
    setting aside: Juhlin et al., "Outlier removal to uncover patterns in adverse drug reaction
    surveillance", Pharmacoepidemiology and Drug Safety 22(10), 2013.
    """
    cases = [job for job in jobs if job.is_case]
    cars = tell_apart(cases, settings)
    if not cases:
        return _findings((), (), None, (), cars)
    in_order = sorted(range(len(cases)), key=lambda place: by_day(cases[place]))
    visits = [visit_of(cases[place], settings) for place in in_order]
    whole = Window(visits[0].job.opened, visits[-1].job.opened)
    of, apart, fewest = (
        [known[place] for place in in_order] for known in (cars.of, cars.apart, cars.fewest)
    )
    shop = partial(ShopFacts, visits, settings=settings, refuted=frozenset(refuted))
    looks = [_Look(shop(of, window), system) for window in windows or (whole,)]
    nearest = _judge(looks, settings)
    guessed = partial(shop, apart) if cars.untagged else None
    joined = partial(shop, fewest) if cars.unread else None
    shops = [look.shop for look in looks if look.shop.window == whole]
    everything = shops[0] if shops else shop(of, whole)
    told = tuple(_if_joined(_told(looks, everything, guessed), joined, settings))
    alone = tuple(_incomparable(looks, settings))
    return _findings(told, alone, None if told else nearest, looks, cars)


def _told(
    looks: Sequence["_Look"], everything: ShopFacts, apart: Callable[[Window], ShopFacts] | None
) -> Iterator[_Told]:
    """Yield what is told of each fact; where cars are guessed, how much rests on the guess."""
    facts = _once(looks)
    if apart is None:
        yield from ((look, cell, look.shop.pattern(cell, everything)) for look, cell in facts)
        return
    windows = {look.shop.window for look, _ in facts}
    if_apart = {each: apart(each) for each in windows | {everything.window}}
    for look, cell in facts:
        pattern = look.shop.pattern(cell, everything)
        whole = if_apart[everything.window]
        yield (
            look,
            cell,
            replace(
                pattern,
                if_apart=_if_other(pattern.counts, if_apart[look.shop.window].counts(cell)),
                change=_sure(pattern.change, whole.change(whole.marked(cell))),
            ),
        )


def _if_other(told: Counts, guessed: Counts) -> Counts | None:
    """Return counts by another guess of whose visits were whose, where it tells of other cars."""
    return None if told.group_vehicles == guessed.group_vehicles else guessed


def _if_joined(
    told: Iterable[_Told],
    joined: Callable[..., ShopFacts] | None,
    settings: RecurrenceSettings,
) -> Iterator[Pattern]:
    """Yield each pattern; what may be one car's, as far as anything tells, is not acted on."""
    if joined is None:
        yield from (pattern for _, _, pattern in told)
        return
    shops: dict[Window, ShopFacts] = {}
    for look, cell, pattern in told:
        window = look.shop.window
        if window not in shops:
            shops[window] = joined(window, spread=look.shop.spread)
        least = shops[window].measured(cell)
        weaker = max(1.0, least.surprise / max(cell.surprise, sys.float_info.min))
        sure = cell.false_alarms * weaker <= settings.act_level
        sure = sure and len(least.cars) >= settings.least_vehicles
        yield replace(
            pattern,
            if_joined=_if_other(pattern.counts, shops[window].counts(cell)),
            level=pattern.level if sure else AlertLevel.WATCH,
        )


def _sure(change: Growth, if_apart: Growth) -> Growth:
    """Return a change that does not hang on which visits are taken for one car's."""
    if change.trend in {Trend.TOO_FEW, if_apart.trend}:
        return change
    return Growth(
        trend=Trend.CARS_UNKNOWN,
        last=change.last,
        jobs_since_last=change.jobs_since_last,
        stopped=change.stopped,
    )


def _once(looks: Sequence["_Look"]) -> list[tuple["_Look", GroupComparison]]:
    """Return each fact in the first window that it was found in, as sure as it is in any."""
    facts: list[tuple[_Look, GroupComparison]] = []
    for look in looks:
        for cell in sorted(look.found, key=rank):
            for place, (first, known) in enumerate(facts):
                if cell.is_version_of(known):
                    sure = min(known.false_alarms, cell.false_alarms)
                    facts[place] = first, replace(known, false_alarms=sure)
                    break
            else:
                facts.append((look, cell))
    return facts


def _findings(
    patterns: tuple[Pattern, ...],
    incomparable: tuple[Incomparable, ...],
    nearest: Pattern | None,
    looks: Sequence["_Look"],
    cars: ToldApart,
) -> Recurrences:
    return Recurrences(
        patterns=patterns,
        incomparable=incomparable,
        nearest=nearest,
        looked_at=sum(len(look.looked_at) for look in looks),
        spread=max((look.shop.spread for look in looks), default=0.0),
        untagged=cars.untagged,
        unread=cars.unread,
        folded=cars.folded,
        sights=looks[0].shop.sights(sum(sum(look.looked_at) for look in looks)) if looks else (),
    )


class _Look:
    """What is found in one window."""

    def __init__(self, shop: ShopFacts, system: System | None) -> None:
        self.shop = shop
        self.looked_at: list[float] = []
        self.found: list[GroupComparison] = []
        self.alone: list[GroupComparison] = []
        for faults in shop.parts(system):
            self.looked_at += shop.attainable(faults)
            self.found += shop.facts(faults)
            self.alone += shop.alone(faults)


def _judge(looks: Sequence[_Look], settings: RecurrenceSettings) -> Pattern | None:
    """Let every look keep what may be told, by all that was looked at; return the surest of all."""
    looked_at = [worth for look in looks for worth in look.looked_at]
    cells = [cell for look in looks for cell in look.found]
    alarms = iter(_false_alarms(cells, looked_at))
    every: list[tuple[GroupComparison, _Look]] = []
    for look in looks:
        judged = [replace(cell, false_alarms=next(alarms)) for cell in look.found]
        every += ((cell, look) for cell in judged)
        look.found = [cell for cell in judged if cell.false_alarms <= settings.watch_level]
    surest = min(every, key=lambda each: (each[0].false_alarms, rank(each[0])), default=None)
    return surest[1].shop.pattern(surest[0], surest[1].shop) if surest else None


def _incomparable(looks: Sequence[_Look], settings: RecurrenceSettings) -> Iterator[Incomparable]:
    """Yield what plain counts make as striking as what is to be watched, each fact once."""
    looked_at = [worth for look in looks for worth in look.looked_at]
    known = [cell for look in looks for cell in look.found]
    cells = [(cell, look) for look in looks for cell in sorted(look.alone, key=rank)]
    for (cell, look), alarms in zip(
        cells, _false_alarms([cell for cell, _ in cells], looked_at), strict=True
    ):
        if alarms <= settings.watch_level and not any(map(cell.is_version_of, known)):
            known.append(cell)
            yield look.shop.incomparable(cell)


def _false_alarms(cells: Sequence[GroupComparison], looked_at: Sequence[float]) -> list[float]:
    """Return for each about how many false alarms, of luck or nature, are as striking.

    Among all that was looked at they are given out by what each counts.

    References
    ----------
    Genovese, Roeder & Wasserman, "False discovery control with p-value weighting", Biometrika
    93(3), 2006.
    """
    every = math.fsum(looked_at)
    return [min(1.0, every * cell.surprise) for cell in cells]
