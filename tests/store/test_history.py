"""What an edit changed."""

from typing import Any

import msgspec
from hypothesis import given, settings

from kb.case import Job
from kb.store.history import differences
from tests import strategies


def walk(value: Any, path: str) -> Any:
    """Follow a path such as ``readings[0].value``; None where it leads nowhere."""
    for step in path.replace("[", ".[").split("."):
        if value is None:
            return None
        if step.startswith("["):
            place = int(step[1:-1])
            value = value[place] if place < len(value) else None
        else:
            value = value[step]
    return value


@settings(max_examples=30)
@given(old=strategies.jobs(), new=strategies.jobs())
def test_every_difference_is_told_with_both_values(old: Job, new: Job) -> None:
    before, after = msgspec.to_builtins(old), msgspec.to_builtins(new)
    told = differences(old, new)
    for change in told:
        assert change.old == walk(before, change.field)
        assert change.new == walk(after, change.field)
        assert change.old != change.new
    roots = {change.field.split(".")[0].split("[")[0] for change in told}
    assert roots == {name for name in before if before[name] != after[name]}


@settings(max_examples=20)
@given(job=strategies.jobs())
def test_a_job_does_not_differ_from_itself(job: Job) -> None:
    assert differences(job, job) == []
