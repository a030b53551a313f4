"""What readings show: on which side of the good ones they lie, and which causes read so."""

from collections.abc import Sequence
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from kb.bands.judgement import judge
from kb.bands.limits import trade_limits
from kb.bands.measured import taken_on
from kb.case import Complaint, Job, Quantity, Reading, Relation
from kb.diagnosis.reading_evidence import ReadingEvidence, Side, reading_evidence
from kb.intake.wording import Wording
from kb.settings import Settings
from tests.recall.shop import CASES, CLOCK_SPRING, SEAT_CONNECTOR, pretensioner
from tests.strategies import readings

WORDING = Wording.default()
GOOD = [
    replace(CASES[0], number=100 + n, readings=(replace(pretensioner(value), proved_good=True),))
    for n, value in enumerate((2.1, 2.2, 2.2, 2.3, 2.3, 2.3, 2.4, 2.5))
]
NEAR = [
    replace(CASES[0], number=1, cause=SEAT_CONNECTOR, readings=(pretensioner(6.0),)),
    replace(CASES[0], number=2, cause=SEAT_CONNECTOR, readings=(pretensioner(8.4),)),
    replace(CASES[0], number=3, cause=CLOCK_SPRING, readings=(pretensioner(2.3),)),
    replace(CASES[0], number=4, cause=CLOCK_SPRING, readings=(pretensioner(5.0),)),
]


def evidence(
    asked: Sequence[Reading], near: list[Job] = NEAR, past: list[Job] = GOOD
) -> tuple[ReadingEvidence, ...]:
    verdicts = [
        judge(
            each,
            CASES[0].vehicle,
            taken_on(past),
            WORDING,
            Settings().readings,
            limits=trade_limits(),
        )
        for each in asked
    ]
    complaint = Complaint(readings=tuple(asked), vehicle=CASES[0].vehicle)
    return reading_evidence(complaint, verdicts, near, WORDING, Settings().readings)


def shown(reading: Reading, near: list[Job] = NEAR) -> ReadingEvidence | None:
    return next(iter(evidence([reading], near)), None)


def test_a_reading_off_the_band_names_the_jobs_and_causes_that_read_so() -> None:
    found = shown(pretensioner(6.1))
    assert found is not None
    assert (found.side, found.good, found.jobs) == (Side.ABOVE, 8, (1, 2, 4))
    assert found.causes == ((SEAT_CONNECTOR.label, 2), (CLOCK_SPRING.label, 1))
    assert found.high is not None
    assert 2.5 < found.high < 3.0


def test_sides() -> None:
    sides = [shown(pretensioner(value)) for value in (0.4, 2.3, 9.0)]
    assert [each and each.side for each in sides] == [Side.BELOW, Side.WITHIN, Side.ABOVE]


def test_open_bounded_and_ranged_readings_are_placed_only_where_that_can_be_told() -> None:
    base = pretensioner(5.0)
    opened = replace(base, relation=Relation.OVER_RANGE, value=None)
    above_five = replace(base, relation=Relation.ABOVE)
    above_one = replace(base, relation=Relation.ABOVE, value=1.0)
    across = replace(base, relation=Relation.RANGE, value=2.2, upper=6.0)
    far = replace(base, relation=Relation.RANGE, value=5.0, upper=6.0)
    found = [shown(each) for each in (opened, above_five, above_one, across, far)]
    assert [each and each.side for each in found] == [
        Side.NOTHING,
        Side.ABOVE,
        None,
        None,
        Side.ABOVE,
    ]


def test_a_control_units_ceiling_is_no_measurement() -> None:
    empty = replace(pretensioner(25.5), item="curtain airbag", condition="not fitted on this car")
    told = [replace(CASES[0], number=200 + n, readings=(empty,)) for n in range(4)]
    curtain = replace(pretensioner(25.5), item="curtain airbag")
    (found,) = evidence([curtain], NEAR, [*GOOD, *told])
    assert (found.side, found.jobs) == (Side.NOTHING, ())


def test_nothing_is_said_of_what_the_shop_has_no_band_for() -> None:
    horn = Reading(item="horn", quantity=Quantity.RESISTANCE, typed="4 ohm", value=4.0)
    assert shown(horn) is None


@given(st.lists(readings(), max_size=3))
def test_any_readings_can_be_asked_with(some: list[Reading]) -> None:
    for found in evidence(some):
        assert found.reading in some
        assert sum(times for _, times in found.causes) == len(found.jobs)


def test_a_battery_while_cranking_is_placed_by_the_limit_for_cranking() -> None:
    low, fine = (
        Reading(
            item="battery",
            quantity=Quantity.VOLTAGE,
            typed=f"{volts} V",
            value=volts,
            condition="cranking",
        )
        for volts in (8.2, 10.2)
    )
    near = [replace(CASES[0], number=9, cause=SEAT_CONNECTOR, readings=(replace(low, value=8.0),))]
    found = evidence([low, fine], near)
    assert [each.side for each in found] == [Side.BELOW, Side.WITHIN]
    assert [each.jobs for each in found] == [(9,), ()]
    assert found[0].good == 0
