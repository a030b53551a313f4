"""Whose readings speak."""

from datetime import date

from kb.bands.bands import Band, BandLevel
from kb.bands.levels import all_makes, deciding, draw_bands
from kb.bands.limits import Worse
from kb.bands.measured import Taken, item_words
from kb.case import Job, Quantity, Vehicle
from kb.errors import Notice
from tests.bands.circuits import (
    GOOD_VALUES,
    KIRI,
    LIDO,
    READINGS,
    WORDS,
    good,
    reading,
)

TESSEL = Vehicle(make="Corvane", model="Tessel")


def bands(taken: list[Taken], condition: str | None = None) -> dict[BandLevel, Band]:
    asked = reading(2.2, condition=condition)
    drawn = draw_bands(asked, LIDO, taken, WORDS, READINGS, Worse.BOTH)
    return {band.level: band for band in drawn}


def test_this_model_this_make_all_makes() -> None:
    taken = good(vehicle=LIDO) + good((2.5,) * 3, vehicle=TESSEL) + good((2.0,) * 4, vehicle=KIRI)
    drawn = bands(taken)
    assert list(drawn) == [BandLevel.MODEL, BandLevel.MAKE, BandLevel.ALL]
    assert [band.count + band.set_aside for band in drawn.values()] == [8, 11, 15]
    assert drawn[BandLevel.MODEL].jobs == tuple(range(100, 108))


def test_too_few_do_not_speak_but_are_counted() -> None:
    drawn = bands(good((2.2, 2.3), vehicle=LIDO) + good(vehicle=KIRI))
    assert not drawn[BandLevel.MODEL].speaks
    assert drawn[BandLevel.MODEL].count == 2
    assert drawn[BandLevel.ALL].speaks


def test_one_other_model_of_the_make_decides_last() -> None:
    tessel, kiri, haru = (
        good(vehicle=each) for each in (TESSEL, KIRI, Vehicle(make="Sunato", model="Haru"))
    )
    drawn = bands(tessel + kiri + haru)
    assert [band.models for band in drawn.values()] == [0, 1, 3]
    assert deciding(tuple(drawn.values()), READINGS).level is BandLevel.ALL
    own = bands(good(vehicle=LIDO) + kiri)
    assert deciding(tuple(own.values()), READINGS).level is BandLevel.MODEL
    silent = bands([])
    assert not deciding(tuple(silent.values()), READINGS).speaks


def test_a_condition_with_readings_enough_speaks_alone() -> None:
    warm = good(condition="warm")
    cold = good(tuple(2 * value for value in GOOD_VALUES), condition="cold")
    alone = bands(warm + cold, condition="warm")[BandLevel.ALL]
    assert (alone.count, alone.notices.count(Notice.VARIOUS_CONDITIONS)) == (8, 0)
    mixed = bands(warm + cold)[BandLevel.ALL]
    assert mixed.count == 16
    assert Notice.VARIOUS_CONDITIONS in mixed.notices


def test_bands_of_a_whole_shop() -> None:
    jobs = [
        Job(
            number=number,
            vehicle=LIDO,
            opened=date(2024, 1, 1),
            complaint="lamp on",
            readings=(
                reading(value, proved_good=True),
                reading(60 + number, proved_good=True, quantity=Quantity.TEMPERATURE),
                reading(value, proved_good=True, item="horn") if number < 4 else reading(9.0),
            ),
        )
        for number, value in enumerate(GOOD_VALUES, start=1)
    ]
    drawn = all_makes(jobs, WORDS, READINGS)
    words = item_words("pretensioner circuit", WORDS)
    speaking = {kind for kind, band in drawn.items() if band.speaks}
    assert speaking == {(words, Quantity.RESISTANCE), (words, Quantity.TEMPERATURE)}
    band = drawn[words, Quantity.RESISTANCE]
    assert band.scale.logarithmic
    assert band.low is not None
    assert band.high is not None
    assert min(GOOD_VALUES) * 0.7 < band.low < band.high < max(GOOD_VALUES) * 1.4
