"""Whose readings speak: this model's, this make's, those of all makes."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from kb.bands.bands import Band, BandLevel, ReadingSample, learn, scale_for
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
from kb.case import Job, Reading, Vehicle, same_text
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
        by_model[_even(each.vehicle.make), _even(each.vehicle.model)].append(value)
    model = (_even(vehicle.make), _even(vehicle.model))
    others = [values for name, values in by_model.items() if name != model]
    groups = {
        BandLevel.MODEL: [each for each in good if _same_make(each[0], vehicle, model=True)],
        BandLevel.MAKE: [each for each in good if _same_make(each[0], vehicle)],
        BandLevel.ALL: good,
    }
    bands = []
    for level, group in groups.items():
        sample = ReadingSample(
            values=tuple(value for _, value in group), jobs=numbers_of(each for each, _ in group)
        )
        lent = others if level is BandLevel.MODEL else ()
        band = learn(sample, level, scale, settings, worse=worse, others=lent)
        models = {(_even(each.vehicle.make), _even(each.vehicle.model)) for each, _ in group}
        band = replace(band, models=len(models))
        conditions = {condition_words(each.reading, wording) for each, _ in group}
        if various and len(conditions) > 1:
            band = replace(band, notices=(*band.notices, Notice.VARIOUS_CONDITIONS))
        bands.append(band)
    return tuple(bands)


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
    """Draw the normal band of everything measured, over all makes.

    Parameters
    ----------
    jobs
        The shop's jobs.
    wording : Wording
        Brings the names of an item to one.
    settings : ReadingSettings

    Returns
    -------
    mapping of (item words, quantity) to Band
        A band without numbers where too few good readings speak.
    """
    by_kind: dict[Kind, list[float]] = defaultdict(list)
    for each, value in goods(taken_on(jobs)):
        by_kind[kind_of(each.reading, wording)].append(value)
    return {
        kind: learn(
            ReadingSample(values=tuple(values)), BandLevel.ALL, scale_for(kind[1], values), settings
        )
        for kind, values in by_kind.items()
    }


def _even(text: str | None) -> str:
    return " ".join((text or "").casefold().split())


def _same_make(each: Taken, vehicle: Vehicle, *, model: bool = False) -> bool:
    same = same_text(each.vehicle.make, vehicle.make)
    return same and (not model or same_text(each.vehicle.model, vehicle.model))
