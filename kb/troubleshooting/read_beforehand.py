"""Tests that were made before anybody proposed them: their value is told among the readings.

A current of 340 mA in a complaint of a battery that is flat by morning is what the test would read,
so it is not proposed, and speaks as its outcome does.
"""

from collections.abc import Iterator
from dataclasses import replace

from kb.bands.limits import find_limit, trade_limits
from kb.bands.measured import ends_of, item_words
from kb.case import DiagnosticTest, Job, Reading, Stage
from kb.intake.wording import Wording
from kb.troubleshooting.general_tests import (
    GeneralOutcome,
    GeneralTest,
    Leaves,
    Says,
    general_tests,
)
from kb.troubleshooting.testing import key_of


def with_tests_read(job: Job, signs: frozenset[str], wording: Wording) -> Job:
    """Return a job with the tests of which its readings tell the outcome.

    Parameters
    ----------
    signs : frozenset of str
        What kind of trouble the job shows, see `kb.troubleshooting.fitting.signs_of`.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Vehicle
    >>> from kb.intake.readings import parse_reading
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="battery flat by morning",
    ...           readings=(parse_reading("draw 340 mA"),))
    >>> [test.seen for test in with_tests_read(job, frozenset({"drain"}), Wording.default()).tests]
    ['asleep more flows than should']
    """
    found = tuple(_tests_read(job, signs, wording))
    return replace(job, tests=(*job.tests, *found)) if found else job


def _tests_read(job: Job, signs: frozenset[str], wording: Wording) -> Iterator[DiagnosticTest]:
    made = {key_of(test.name) for test in job.tests}
    for general in general_tests().test:
        if general.measures and general.name not in made and signs.intersection(general.only_for):
            outcomes = [_outcome_of(each, general, job, wording) for each in job.readings]
            told = list(dict.fromkeys(filter(None, outcomes)))
            if len(told) == 1:
                yield _as_told(general, told[0])


def _outcome_of(
    reading: Reading, general: GeneralTest, job: Job, wording: Wording
) -> GeneralOutcome | None:
    """Return what a reading says of a test that measures it; None where it is none, or unclear."""
    words = item_words(reading.item, wording)
    if reading.stage is not Stage.AS_FOUND or all(
        words != item_words(each, wording) for each in general.measures
    ):
        return None
    state = reading.condition or general.measured_in
    says = _says(replace(reading, condition=state), job, wording)
    return next((each for each in general.outcome if says and each.value is says), None)


def _says(reading: Reading, job: Job, wording: Wording) -> Says | None:
    line = find_limit(reading, job.vehicle, trade_limits(), wording).line
    if line is None or not line.says_a_figure or reading.value is None:
        return None
    ends = ends_of(reading)
    if all(map(line.side_of, ends)):
        return Says.FAULTY
    return Says.GOOD if all(map(line.passes, ends)) else None


def _as_told(general: GeneralTest, outcome: GeneralOutcome) -> DiagnosticTest:
    here = outcome.leaves is Leaves.HERE
    return DiagnosticTest(
        name=general.name,
        seen=outcome.seen.format(here=general.parts[0]),
        points_to=general.parts if here else (),
        clears=() if here else general.parts,
    )
