"""Taking changes back gives the job as it was, or says what was changed since."""

from dataclasses import replace

import pytest
from hypothesis import given, settings

from kb.case import Action, Attempt, Job
from kb.intake.reversal import ChangedSince, reversed_job
from kb.store.history import differences
from tests import strategies

TRIED = Attempt(action=Action.CLEANED, component="door plug")


@settings(max_examples=60)
@given(old=strategies.jobs(), new=strategies.jobs())
def test_what_changed_is_taken_back_to_the_letter(old: Job, new: Job) -> None:
    new = replace(new, number=old.number, uid=old.uid)
    assert reversed_job(new, differences(old, new)) == old


@settings(max_examples=40)
@given(job=strategies.jobs(), other=strategies.jobs())
def test_what_was_changed_elsewhere_since_stays(job: Job, other: Job) -> None:
    changed = replace(job, notes="mine", conditions="wet")
    since = replace(changed, complaint=other.complaint, codes=other.codes)
    before = reversed_job(since, differences(job, changed))
    assert before == replace(job, complaint=other.complaint, codes=other.codes)


@given(job=strategies.jobs())
def test_what_was_changed_since_is_refused(job: Job) -> None:
    before, changed = replace(job, notes=None), replace(job, notes="mine")
    since = replace(changed, notes="theirs")
    with pytest.raises(ChangedSince, match="notes"):
        reversed_job(since, differences(before, changed))


@given(job=strategies.jobs())
def test_a_part_that_is_gone_is_refused(job: Job) -> None:
    fresh = replace(job, attempts=(TRIED,))
    changed = replace(job, attempts=(replace(TRIED, minutes=5),))
    gone = replace(job, attempts=())
    with pytest.raises(ChangedSince, match="attempts"):
        reversed_job(gone, differences(fresh, changed))
