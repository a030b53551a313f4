"""A plug that was moved with the supply on, as the fields of a job tell it only together.

*Unplugged the yellow connector: green crust* is a test like others, until a note tells that the key
was on throughout, or the conditions that the engine ran. All of it is common practice, no source.
"""

from dataclasses import dataclass
from typing import Self

from kb.case import OF_OTHERS, Attempt, DiagnosticTest, Job, outcome_told
from kb.safety.hidden_fault import told_on
from kb.safety.igniter_told import (
    goes_on,
    is_moved,
    is_on_again,
    is_running,
    tells_off,
    under_power,
)


@dataclass(frozen=True, slots=True)
class LiveWork:
    """What a job tells of its supply beside its tests and fixes.

    Attributes
    ----------
    stayed : bool
        It was on all the while.
    running : bool
        By the job's conditions it was on as tests were made; nothing tells that it was off.
    back : bool
        It came on, in a field of its own: what a fix tells to come next came after that.
    """

    stayed: bool = False
    running: bool = False
    back: bool = False

    @classmethod
    def of(cls, job: Job) -> Self:
        """Return what a job that concerns an igniter tells."""
        told = [*told_on(job), *filter(None, [job.conditions])]
        alone = [job.notes, *(each.text for each in job.entries if each.kind not in OF_OTHERS)]
        return cls(
            stayed=under_power(told),
            running=is_running(job.conditions or "") and not tells_off(told),
            back=any(is_on_again(text) for text in alone if text),
        )

    def is_live(self, text: str) -> bool:
        """Whether a text tells a plug moved, on a job that tells the supply to be on."""
        return self != NO_LIVE_WORK and is_moved(text)

    def is_test(self, test: DiagnosticTest) -> bool:
        """Whether a test moved a plug under power."""
        return (self.stayed or self.running) and is_moved(outcome_told(test.name, test.seen))

    def is_fix(self, attempt: Attempt) -> bool:
        """Whether a fix did."""
        words = attempt.words or ""
        if self.back and goes_on(words) and is_moved(words):
            return True
        return self.stayed and is_moved(", ".join(filter(None, (attempt.label, words))))

    def told(self, job: Job) -> str | None:
        """Return the words of the first test or fix of a job that did; None if none did."""
        tests = (outcome_told(each.name, each.seen) for each in job.tests if self.is_test(each))
        fixes = (each.words or each.label for each in job.attempts if self.is_fix(each))
        return next(tests, None) or next(fixes, None)


NO_LIVE_WORK = LiveWork()
