"""What is told of a case at each stage: at the counter, at the bench, and after its tests."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from kb.case import Complaint, Job
from kb.intake.said_fine import system_at_fault
from kb.intake.wording import Wording

AskedAs = Callable[[Job], Complaint]
"""What of a case is asked."""


def stages(wording: Wording) -> Mapping[str, AskedAs]:
    """Return what is asked at each stage, by name, in the order in which it comes to be known.

    At the counter there are the words, the car and the conditions; at the bench the codes and the
    readings as found as well. Until then the system is guessed, as the program does where nobody
    tells it: the one on record was often settled by the cause. At the last the tests are told, too,
    with what was seen.

    Examples
    --------
    >>> list(stages(Wording.default()))
    ['at the counter', 'at the bench', 'tests made']
    """

    def at_the_bench(job: Job) -> Complaint:
        guessed = system_at_fault(job.complaint, wording, job.codes)
        return replace(Complaint.of(job), system=guessed)

    def at_the_counter(job: Job) -> Complaint:
        return at_the_bench(replace(job, codes=(), readings=()))

    return {
        "at the counter": at_the_counter,
        "at the bench": at_the_bench,
        "tests made": Complaint.so_far,
    }
