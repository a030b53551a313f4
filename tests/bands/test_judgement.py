"""Verdicts on readings."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.bands.bands import BandLevel
from kb.bands.judgement import Finding, Verdict, VerdictReason, judge
from kb.bands.limits import Limit, Worse, trade_limits
from kb.bands.measured import Taken
from kb.case import Quantity, Reading, Relation, Stage, Vehicle
from tests.bands.circuits import KIRI, LIDO, READINGS, WORDS, good, reading
from tests.strategies import any_of, readings


def verdict(
    asked: Reading,
    history: list[Taken] | None = None,
    same_car: tuple[Reading, ...] = (),
    limits: tuple[Limit, ...] = (),
) -> Verdict:
    past = good() if history is None else history
    return judge(asked, LIDO, past, WORDS, READINGS, same_car=same_car, limits=limits)


@pytest.mark.parametrize(
    ("value", "finding", "reason"),
    [
        (2.2, Finding.GOOD, VerdictReason.INSIDE),
        (6.1, Finding.BAD_HIGH, VerdictReason.FAR_OUTSIDE),
        (0.3, Finding.BAD_LOW, VerdictReason.FAR_OUTSIDE),
        (0.0, Finding.BAD_LOW, VerdictReason.FAR_OUTSIDE),
        (2.75, Finding.DOUBTFUL, VerdictReason.JUST_OUTSIDE),
        (None, Finding.OPEN, VerdictReason.BEYOND),
    ],
)
def test_by_this_model(value: float | None, finding: Finding, reason: VerdictReason) -> None:
    given = verdict(reading(value))
    assert (given.finding, given.reason) == (finding, reason)
    assert given.by == (None if value is None else BandLevel.MODEL)


def test_the_nearest_level_with_readings_enough_decides() -> None:
    assert verdict(reading(2.2), good(vehicle=KIRI)).by is BandLevel.ALL
    silent = verdict(reading(2.2), good((2.2, 2.3)))
    assert (silent.finding, silent.reason) == (Finding.CANNOT_TELL, VerdictReason.SILENT)
    assert [said.band.count for said in silent.said] == [2, 2, 2]


def test_a_twin_doubts_what_the_band_lets_pass() -> None:
    asked, twin = reading(2.45, "left front"), reading(2.1, "right front")
    assert verdict(asked).finding is Finding.GOOD
    given = verdict(asked, same_car=(twin,))
    assert (given.finding, given.reason) == (Finding.DOUBTFUL, VerdictReason.UNLIKE_TWIN)
    assert (given.by, given.twin, given.twin_stands) == (BandLevel.TWIN, twin, True)


def test_a_twin_makes_a_doubtful_one_bad() -> None:
    asked, twin = reading(2.75, "left front"), reading(2.1, "right front")
    given = verdict(asked, same_car=(twin,))
    assert (given.finding, given.reason) == (Finding.BAD_HIGH, VerdictReason.OUTSIDE_AND_UNLIKE)


def test_a_twin_that_is_itself_out_of_order_proves_nothing() -> None:
    asked, twin = reading(2.2, "left front"), reading(7.0, "right front")
    given = verdict(asked, same_car=(twin,))
    assert (given.finding, given.twin_stands) == (Finding.GOOD, False)


def test_other_models_yield_to_a_like_twin() -> None:
    asked, twin = reading(2.75, "left front"), reading(2.7, "right front")
    given = verdict(asked, good(vehicle=KIRI), (twin,))
    assert (given.finding, given.reason) == (Finding.GOOD, VerdictReason.BUT_LIKE_TWIN)
    assert verdict(asked, good(vehicle=LIDO), (twin,)).finding is Finding.DOUBTFUL


def test_limits_only_where_the_history_is_silent() -> None:
    line = Limit(
        items=("pretensioner",),
        quantity=Quantity.RESISTANCE,
        source="s",
        least=2.0,
        most=3.0,
        bad_above=5.0,
    )
    assert verdict(reading(1.95), limits=(line,)).finding is Finding.GOOD
    for value, finding, reason in (
        (1.95, Finding.BAD_LOW, VerdictReason.PAST_LIMIT),
        (2.5, Finding.GOOD, VerdictReason.WITHIN_LIMIT),
        (4.0, Finding.DOUBTFUL, VerdictReason.BETWEEN),
        (5.1, Finding.BAD_HIGH, VerdictReason.PAST_LIMIT),
    ):
        silent = verdict(reading(value), [], limits=(line,))
        assert (silent.finding, silent.reason, silent.by) == (finding, reason, None)


def test_without_anything_a_twin_can_only_raise_a_doubt() -> None:
    asked = reading(2.2, "left front")
    like = verdict(asked, [], (reading(2.2, "right front"),))
    assert (like.finding, like.reason) == (Finding.CANNOT_TELL, VerdictReason.LIKE_TWIN)
    unlike = verdict(asked, [], (reading(6.2, "right front"),))
    assert (unlike.finding, unlike.reason) == (Finding.DOUBTFUL, VerdictReason.UNLIKE_TWIN)


@pytest.mark.parametrize(
    ("asked", "finding"),
    [
        (reading(9.0, relation=Relation.ABOVE), Finding.BAD_HIGH),
        (reading(1.0, relation=Relation.ABOVE), Finding.CANNOT_TELL),
        (reading(1.0, relation=Relation.BELOW), Finding.BAD_LOW),
        (reading(2.1, upper=2.3, relation=Relation.RANGE), Finding.GOOD),
        (reading(2.1, upper=5.3, relation=Relation.RANGE), Finding.CANNOT_TELL),
    ],
)
def test_bounds_and_ranges_are_no_numbers(asked: Reading, finding: Finding) -> None:
    given = verdict(asked)
    assert given.finding is finding
    assert all(said.apart is None for said in given.said)


def test_a_side_that_does_no_harm() -> None:
    only_low = Limit(
        items=("pretensioner",), quantity=Quantity.RESISTANCE, source="s", worse=Worse.LOW
    )
    assert verdict(reading(900.0), limits=(only_low,)).finding is Finding.GOOD
    assert verdict(reading(None), limits=(only_low,)).finding is Finding.GOOD
    assert verdict(reading(0.1), limits=(only_low,)).finding is Finding.BAD_LOW


def test_a_placeholder_is_no_fault() -> None:
    ceiling = [
        replace(each, reading=reading(12.7, condition="not fitted"))
        for each in good(vehicle=LIDO)[:3]
    ]
    given = verdict(reading(12.7), good() + ceiling)
    assert (given.finding, given.reason) == (Finding.PLACEHOLDER, VerdictReason.REPEATED)
    assert given.placeholder is not None
    single = verdict(reading(12.7), good() + ceiling[:1])
    assert (single.finding, single.placeholder) == (Finding.BAD_HIGH, None)


def test_past_readings_near_the_value_with_their_causes() -> None:
    bad = [
        Taken(
            reading=reading(value, proved_good=False, stage=stage),
            vehicle=LIDO,
            job=job,
            cause="seat connector, under seat: high resistance",
        )
        for job, value, stage in (
            (1, 6.0, Stage.AS_FOUND),
            (2, 6.3, Stage.DURING_TEST),
            (3, 6.1, Stage.AFTER_FIX),
            (4, 3.2, Stage.AS_FOUND),
        )
    ]
    past = verdict(reading(6.1), good() + bad).past
    assert [each.job for each in past] == [1, 2]
    assert {each.cause for each in past} == {"seat connector, under seat: high resistance"}
    goods = verdict(reading(2.2), good() + bad).past
    assert goods
    assert all(each.good and each.cause is None for each in goods)


@given(
    readings(), any_of(Vehicle), st.lists(readings(), max_size=12), st.lists(readings(), max_size=3)
)
def test_whatever_was_measured_there_is_a_verdict(
    asked: Reading, vehicle: object, past: list[Reading], beside: list[Reading]
) -> None:
    taken = [
        Taken(reading=replace(each, item=asked.item, quantity=asked.quantity), vehicle=LIDO, job=1)
        for each in past
    ]
    given = judge(
        asked,
        vehicle,  # type: ignore[arg-type]
        taken,
        WORDS,
        READINGS,
        same_car=beside,
        limits=trade_limits(),
    )
    assert given.finding in Finding
    assert given.reason in VerdictReason
    spoken = [said for said in given.said if said.band.speaks]
    if asked.relation is not Relation.EXACT:
        assert all(said.apart is None for said in given.said)
    elif given.by not in {None, BandLevel.TWIN}:
        assert given.by in {said.band.level for said in spoken}


@given(st.floats(0.01, 100), st.floats(1.0, 10))
def test_farther_out_is_never_judged_better(value: float, factor: float) -> None:
    order = [Finding.GOOD, Finding.DOUBTFUL, Finding.BAD_HIGH]
    near, far = max(value, 2.2), max(value, 2.2) * factor
    findings = [verdict(reading(each)).finding for each in (near, far)]
    assert order.index(findings[0]) <= order.index(findings[1])


def of_item(item: str, value: float, quantity: Quantity, **more: object) -> Reading:
    return Reading(item=item, quantity=quantity, typed=f"{value}", value=value, **more)  # type: ignore[arg-type]


def mat(value: float, condition: str | None) -> Reading:
    return of_item("occupancy mat", value, Quantity.RESISTANCE, condition=condition)


MATS = [
    Taken(reading=replace(mat(value, state), proved_good=True), vehicle=LIDO, job=number)
    for number, (value, state) in enumerate(
        [(value, "empty") for value in (2900.0, 3000.0, 3050.0, 3100.0, 2950.0, 3000.0)]
        + [(value, "occupied") for value in (16.0, 17.0, 15.5, 16.5, 16.0, 15.8)],
        start=200,
    )
]


@pytest.mark.parametrize(
    ("value", "condition", "finding"),
    [
        (3000.0, "empty", Finding.GOOD),
        (16.0, "occupied", Finding.GOOD),
        (16.0, "empty", Finding.BAD_LOW),
        (3000.0, "sat on", Finding.BAD_HIGH),
        (3000.0, None, Finding.CANNOT_TELL),
    ],
)
def test_a_mat_empty_and_one_sat_on_have_bands_of_their_own(
    value: float, condition: str | None, finding: Finding
) -> None:
    given = verdict(mat(value, condition), MATS)
    assert given.finding is finding
    assert given.needs == (("empty", "occupied") if condition is None else ())


@pytest.mark.parametrize(
    ("value", "position", "twin", "history", "finding"),
    [
        (1.9, "left front", 1.9, [], Finding.GOOD),
        (2.8, "left front", 2.8, [], Finding.GOOD),
        (2.8, "left front", 1.9, [], Finding.DOUBTFUL),
        (45.0, "left front", 45.0, [], Finding.BAD_HIGH),
        (2.2, None, None, [], Finding.CANNOT_TELL),
        (2.2, None, None, good(vehicle=KIRI), Finding.CANNOT_TELL),
        (2.2, None, None, good(vehicle=LIDO), Finding.GOOD),
        (6.1, None, None, good(vehicle=LIDO), Finding.BAD_HIGH),
    ],
)
def test_an_igniter_is_judged_by_its_twin_and_model_never_by_all_makes(
    value: float,
    position: str | None,
    twin: float | None,
    history: list[Taken],
    finding: Finding,
) -> None:
    beside = () if twin is None else (reading(twin, "right front"),)
    given = verdict(reading(value, position), history, beside, trade_limits())
    assert given.finding is finding
    assert BandLevel.ALL not in {said.band.level for said in given.said}


def test_a_diesels_compression_is_not_held_against_a_petrol_engines() -> None:
    def taken(value: float, engine: str, number: int) -> Taken:
        told = of_item("compression", value, Quantity.PRESSURE, proved_good=True)
        return Taken(reading=told, vehicle=replace(KIRI, engine=engine, ref=None), job=number)

    past = [taken((12 + n / 10) * 1e5, "1.4 petrol", 300 + n) for n in range(8)]
    diesel = replace(LIDO, engine="2.0 diesel")
    asked = of_item("compression", 25e5, Quantity.PRESSURE)
    given = judge(asked, diesel, past, WORDS, READINGS, limits=trade_limits())
    assert (given.finding, given.reason) == (Finding.GOOD, VerdictReason.WITHIN_LIMIT)
    unknown = judge(asked, LIDO, past, WORDS, READINGS, limits=trade_limits())
    assert (unknown.finding, unknown.needs) == (Finding.CANNOT_TELL, ("petrol", "diesel"))


def test_what_a_side_without_harm_lets_pass_is_held_under_the_limit() -> None:
    line = Limit(
        items=("pretensioner",),
        quantity=Quantity.RESISTANCE,
        source="s",
        worse=Worse.LOW,
        bad_above=100.0,
    )
    given = verdict(reading(900.0), limits=(line,))
    assert (given.finding, given.reason) == (Finding.BAD_HIGH, VerdictReason.PAST_LIMIT)
    assert verdict(reading(90.0), limits=(line,)).finding is Finding.GOOD


@pytest.mark.parametrize(
    ("value", "finding", "reason"),
    [
        (2.2, Finding.GOOD, VerdictReason.WITHIN_LIMIT),
        (2.7, Finding.GOOD, VerdictReason.WITHIN_LIMIT),
        (3.4, Finding.DOUBTFUL, VerdictReason.UNLIKE_OTHERS),
        (1.95, Finding.BAD_LOW, VerdictReason.PAST_LIMIT),
    ],
)
def test_a_limit_goes_before_other_makes_unless_they_are_far_off(
    value: float, finding: Finding, reason: VerdictReason
) -> None:
    line = Limit(
        items=("pretensioner",), quantity=Quantity.RESISTANCE, source="s", least=2.0, most=3.5
    )
    given = verdict(reading(value), good(vehicle=KIRI), limits=(line,))
    assert (given.finding, given.reason) == (finding, reason)


def test_what_wears_is_judged_by_the_limit_alone() -> None:
    new = [
        Taken(
            reading=of_item("brake pad", mm / 1000, Quantity.LENGTH, proved_good=True),
            vehicle=LIDO,
            job=400 + mm,
        )
        for mm in (9, 10, 10, 11, 10, 9, 11, 10)
    ]
    asked = of_item("brake pad", 0.004, Quantity.LENGTH)
    given = verdict(asked, new, limits=trade_limits())
    assert (given.finding, given.reason) == (Finding.GOOD, VerdictReason.WITHIN_LIMIT)


def test_a_band_of_mixed_conditions_does_not_overrule_a_limit_whose_state_is_told() -> None:
    line = Limit(
        items=("starter control",),
        quantity=Quantity.VOLTAGE,
        source="test",
        least=9.6,
        most=12.2,
        when=("cranking",),
    )
    asked = volts(11.9, "cranking")
    mixed = [
        taken
        for value, state in ((10.0, "cranking, hot"), (10.1, "cranking, wet"))
        for taken in good(
            [value, value + 0.02, value - 0.02],
            KIRI,
            item="starter control",
            quantity=Quantity.VOLTAGE,
            condition=state,
        )
    ]
    told = {"item": "starter control", "quantity": Quantity.VOLTAGE}
    resting = good([12.5, 12.6, 12.7] * 4, KIRI, **told)
    found = judge(asked, LIDO, [*mixed, *resting], WORDS, READINGS, limits=[line])
    assert found.finding is Finding.GOOD
    assert found.said[-1].band.speaks
    assert all(each.typed != "12.6 ohm" for each in found.past)
    alike = good(
        [10.0, 10.02, 10.04, 9.98] * 3,
        KIRI,
        item="starter control",
        quantity=Quantity.VOLTAGE,
        condition="cranking",
    )
    found = judge(asked, LIDO, alike, WORDS, READINGS, limits=[line])
    assert found.reason is VerdictReason.UNLIKE_OTHERS


def volts(value: float, condition: str) -> Reading:
    told = {"item": "starter control", "quantity": Quantity.VOLTAGE, "condition": condition}
    return reading(value, typed=f"{value} V", **told)
