"""What a job is on that may hurt: what may be proposed at all, and what is locked until confirmed.

On a circuit with an igniter only the trade's tests that are marked fit for it are proposed, in the
table's own words; nothing a shop or a file calls a test gets that far.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from kb.case import Cause, Job, Precondition, System
from kb.intake.items import item_key
from kb.intake.wording import Wording
from kb.safety.cautions import systems_of
from kb.safety.igniter import about_igniter, may_be_proposed
from kb.troubleshooting.testing import Candidate


@dataclass(frozen=True, slots=True)
class Guard:
    """Whether a job is on the restraints, and whether on high voltage."""

    restraint: bool
    high_voltage: bool

    @classmethod
    def of(
        cls, job: Job, causes: Sequence[Cause], systems: Sequence[System], wording: Wording
    ) -> Self:
        """Judge by systems, and by words as written and as the shop's vocabulary reads them."""
        words = [job.complaint, *(link.name for link in job.circuit)]
        words += [reading.item for reading in job.readings]
        words += [f"{cause.component} {cause.location or ''}" for cause in causes]
        known = systems_of(job.codes, [job.system, *systems])
        return cls(
            restraint=System.RESTRAINTS in known
            or about_igniter([*words, *(item_key(text, wording) for text in words)]),
            high_voltage=System.HIGH_VOLTAGE in known,
        )

    @property
    def systems(self) -> tuple[System, ...]:
        """Systems whose cautions come before anything proposed."""
        held = {System.RESTRAINTS: self.restraint, System.HIGH_VOLTAGE: self.high_voltage}
        return tuple(system for system, yes in held.items() if yes)

    def allows(self, candidate: Candidate) -> bool:
        """Whether a test may be proposed at all."""
        if self.restraint and (candidate.general is None or not candidate.general.igniter):
            return False
        return self.may_say(candidate.title)

    def comes_first(self, candidate: Candidate | None) -> bool:
        """Whether a test comes before anything else: on the restraints, a look."""
        general = candidate.general if candidate else None
        return self.restraint and general is not None and general.first

    def may_say(self, text: str) -> bool:
        """Whether these words may stand in a proposal."""
        return may_be_proposed(text, restraint=self.restraint)

    def needs(self, candidate: Candidate | None) -> tuple[Precondition, ...]:
        """Return what must hold before a test, or, without one, before a fix."""
        general = candidate.general if candidate else None
        touched = general is None or general.hands_on
        wanted = list(general.needs) if general else []
        if touched and self.high_voltage:
            wanted.insert(0, Precondition.HIGH_VOLTAGE_OFF)
        if touched and self.restraint:
            wanted.insert(0, Precondition.SUPPLY_OFF)
        return tuple(dict.fromkeys(wanted))


def unconfirmed(needs: Sequence[Precondition], title: str, job: Job) -> tuple[Precondition, ...]:
    """Return what is not confirmed for a step; doing the step uses its confirmation up."""
    done = sum(test.name == title for test in job.tests)
    done += sum(attempt.label == title for attempt in job.attempts)
    return tuple(
        need
        for need in needs
        if sum(each.what is need and each.step == title for each in job.confirmations) <= done
    )
