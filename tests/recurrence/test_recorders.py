"""Who recorded most of some jobs: told only where luck does not bring it."""

from collections import Counter
from datetime import date

from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import hypergeom

from kb.case import Job, Vehicle
from kb.recurrence.recorders import burst, recorder_of


def job(who: str | None) -> Job:
    return Job(vehicle=Vehicle(), opened=date(2025, 1, 1), complaint="c", technician=who)


people = st.lists(st.sampled_from(["AA", "A.A.", "b b", None]), max_size=12)


@given(people, people, st.floats(0.001, 0.5))
def test_a_burst_is_a_majority_that_the_hypergeometric_law_does_not_bring(
    some: list[str | None], rest: list[str | None], level: float
) -> None:
    """Held against scipy's law, half of just so many counted."""
    jobs = [job(who) for who in some]
    recorded = Counter(recorder_of(each) for each in (*jobs, *map(job, rest)))
    found = burst(jobs, recorded, level)
    by = Counter(who for each in jobs if (who := recorder_of(each)))
    person, count = by.most_common(1)[0] if by else ("", 0)
    if 2 * count <= len(jobs):
        assert found is None
        return
    law = hypergeom(recorded.total(), recorded[person], len(jobs))
    chance = float(law.sf(count) + law.pmf(count) / 2)
    if abs(chance - level) > 1e-9:
        assert (found is not None) is (chance < level)
    if found is not None:
        assert (found.recorder, found.jobs) == (person, count)
        assert found.share == recorded[person] / recorded.total()


def test_initials_are_one_person_with_dots_and_blanks_between() -> None:
    assert len({recorder_of(job(who)) for who in ("Y.Y.", "yy", "y y")}) == 1
    assert recorder_of(job(None)) == ""
