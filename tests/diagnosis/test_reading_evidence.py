"""What readings show: on which side of the good ones they lie, and which causes read so."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from kb.case import Complaint, Job, Quantity, Reading, Relation
from kb.diagnosis.reading_evidence import ReadingEvidence, Side, reading_evidence
from kb.intake.wording import Wording
from kb.recall.index import Index
from kb.settings import Settings
from tests.recall.shop import CASES, CLOCK_SPRING, SEAT_CONNECTOR, pretensioner
from tests.strategies import readings

WORDING = Wording.default()
GOOD = [
    replace(CASES[0], number=100 + n, readings=(replace(pretensioner(value), proved_good=True),))
    for n, value in enumerate((2.1, 2.2, 2.2, 2.3, 2.3, 2.3, 2.4, 2.5))
]
INDEX = Index.fit(GOOD, WORDING, Settings())
NEAR = [
    replace(CASES[0], number=1, cause=SEAT_CONNECTOR, readings=(pretensioner(6.0),)),
    replace(CASES[0], number=2, cause=SEAT_CONNECTOR, readings=(pretensioner(8.4),)),
    replace(CASES[0], number=3, cause=CLOCK_SPRING, readings=(pretensioner(2.3),)),
    replace(CASES[0], number=4, cause=CLOCK_SPRING, readings=(pretensioner(5.0),)),
]


def shown(reading: Reading, near: list[Job] = NEAR) -> ReadingEvidence | None:
    found = reading_evidence(Complaint(readings=(reading,)), near, INDEX, WORDING)
    return found[0] if found else None


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
    index = Index.fit([*GOOD, *told], WORDING, Settings())
    (found,) = reading_evidence(Complaint(readings=(pretensioner(25.5),)), NEAR, index, WORDING)
    assert (found.side, found.jobs) == (Side.NOTHING, ())


def test_nothing_is_said_of_what_the_shop_has_no_band_for() -> None:
    horn = Reading(item="horn", quantity=Quantity.RESISTANCE, typed="4 ohm", value=4.0)
    assert shown(horn) is None


@given(st.lists(readings(), max_size=3))
def test_any_readings_can_be_asked_with(some: list[Reading]) -> None:
    for found in reading_evidence(Complaint(readings=tuple(some)), NEAR, INDEX, WORDING):
        assert found.reading in some
        assert sum(times for _, times in found.causes) == len(found.jobs)
