"""Whose readings speak: this model's, this make's, those of all makes."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from kb.bands.bands import Band, BandLevel, learn, scale_for
from kb.bands.conditions import conditions, exclude, kinds_of, of_kinds, told_of
from kb.bands.limits import Worse
from kb.bands.measured import (
    Kind,
    Taken,
    condition_words,
    goods,
    kind_of,
    numbers_of,
    same_condition,
    taken_on,
)
from kb.case import Job, Reading, Vehicle, even, same_text
from kb.errors import Notice
from kb.intake.wording import Wording
from kb.settings import ReadingSettings


def draw_bands(
    reading: Reading,
    vehicle: Vehicle,
    mine: Sequence[Taken],
    wording: Wording,
    settings: ReadingSettings,
    worse: Worse,
) -> tuple[Band, ...]:
    """Draw the bands of an item: this model's, this make's, and that of all makes.

    Where the condition of the reading has good readings enough of its own, only those count.
    """
    good = goods(mine)
    alike = [each for each in good if same_condition(each[0].reading, reading, wording)]
    various = len(alike) < settings.least
    if not various:
        good = alike
    scale = scale_for(reading.quantity, (value for _, value in good))
    by_model: dict[tuple[str, str], list[float]] = defaultdict(list)
    for each, value in good:
        by_model[_model(each.vehicle)].append(value)
    others = [values for name, values in by_model.items() if name != _model(vehicle)]
    groups = {
        BandLevel.MODEL: [each for each in good if _same_make(each[0], vehicle, model=True)],
        BandLevel.MAKE: [each for each in good if _same_make(each[0], vehicle)],
        BandLevel.ALL: good,
    }
    bands = []
    for level, group in groups.items():
        band = learn(
            [value for _, value in group],
            level,
            scale,
            settings,
            jobs=numbers_of(each for each, _ in group),
            worse=worse,
            others=others if level is BandLevel.MODEL else (),
        )
        models = {_model(each.vehicle) for each, _ in group}
        band = replace(band, models=len(models))
        conditions = {condition_words(each.reading, wording) for each, _ in group}
        if various and len(conditions) > 1:
            band = replace(band, notices=(*band.notices, Notice.VARIOUS_CONDITIONS))
        bands.append(band)
    return tuple(bands)


def of_state(
    taken: Iterable[Taken], told: frozenset[str], kinds: frozenset[str], *, certain: bool
) -> list[Taken]:
    """Return the readings that may have been taken in the state told.

    `kinds` are those of states in which readings of the item differ; where that is certain, a
    reading that does not tell its state cannot be held against one that does.
    """
    told = of_kinds(told, kinds)
    kept = []
    for each in taken:
        states = of_kinds(told_of(each.reading, each.vehicle), kinds)
        untold = certain and kinds_of(told) - kinds_of(states)
        if not untold and not exclude(told, states):
            kept.append(each)
    return kept


def states_told(
    taken: Iterable[Taken], told: frozenset[str], kinds: frozenset[str]
) -> tuple[str, ...]:
    """Return the states, not told, in which good readings were taken and that exclude one another.

    What such readings are together says nothing of one of unknown state.
    """
    past = {of_kinds(told_of(each.reading, each.vehicle), kinds) for each, _ in goods(taken)}
    apart = {
        name
        for one, other in combinations(past, 2)
        if exclude(one, other)
        for name in one ^ other
        if name not in told
    }
    implied = {name for each in apart for name in conditions()[each].implies}
    return tuple(name for name in conditions() if name in apart - implied)


def deciding(bands: Sequence[Band], settings: ReadingSettings) -> Band:
    """Choose the band that decides: the nearest that speaks.

    Readings of one or two other models only say what those read, so they decide last.
    """
    speaking = [band for band in bands if band.speaks]
    fit = [
        band
        for band in speaking
        if band.level is BandLevel.MODEL or band.models >= settings.least_models
    ]
    return next(iter((*fit, *reversed(speaking))), bands[-1])


def all_makes(
    jobs: Iterable[Job], wording: Wording, settings: ReadingSettings
) -> Mapping[Kind, Band]:
    """Draw the normal band of everything measured on some jobs, over all makes.

    A band is without numbers where too few good readings speak.
    """
    by_kind: dict[Kind, list[float]] = defaultdict(list)
    for each, value in goods(taken_on(jobs)):
        by_kind[kind_of(each.reading, wording)].append(value)
    return {
        kind: learn(values, BandLevel.ALL, scale_for(kind[1], values), settings)
        for kind, values in by_kind.items()
    }


def _model(vehicle: Vehicle) -> tuple[str, str]:
    return even(vehicle.make or ""), even(vehicle.model or "")


def _same_make(each: Taken, vehicle: Vehicle, *, model: bool = False) -> bool:
    same = same_text(each.vehicle.make, vehicle.make)
    return same and (not model or same_text(each.vehicle.model, vehicle.model))
