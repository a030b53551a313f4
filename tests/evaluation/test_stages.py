"""What of a case is told when: nothing that came to be known later."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Complaint, Job, Stage, System
from kb.evaluation.stages import stages
from kb.intake.wording import Wording
from tests.recall.shop import CASES
from tests.strategies import jobs

TOLD = stages(Wording.default())


@given(jobs())
def test_every_stage_tells_what_the_one_before_told(job: Job) -> None:
    counter, bench, made = (asked_as(job) for asked_as in TOLD.values())
    assert (counter.codes, counter.readings, counter.tests, bench.tests) == ((), (), (), ())
    assert counter.text == bench.text == made.text == job.complaint
    assert bench.codes == made.codes == job.codes
    assert bench.readings == made.readings
    assert all(reading.stage is Stage.AS_FOUND for reading in made.readings)
    assert made == Complaint.so_far(job)


@pytest.mark.parametrize("stage", ["at the counter", "at the bench"])
@given(system=st.sampled_from(System))
def test_the_system_on_record_is_not_told_before_the_tests(stage: str, system: System) -> None:
    asked = {TOLD[stage](replace(CASES[0], system=each)).system for each in (None, system)}
    assert len(asked) == 1
