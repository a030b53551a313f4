"""What a job is on that may hurt: what may be proposed at all, and what is locked until confirmed.

On a circuit with an igniter only the trade's tests that are marked fit for it are proposed, in the
table's own words; nothing a shop or a file calls a test gets that far.
"""

from collections.abc import Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from typing import Self

from kb.case import Cause, FailureMode, Job, LinkKind, Precondition, System
from kb.intake.wording import Wording
from kb.safety.hazards import Situation, hazards, is_raised
from kb.safety.igniter import may_be_proposed
from kb.safety.igniter_concern import about_circuit, about_igniter
from kb.safety.stand_ins import stands_in
from kb.troubleshooting.circuit import kind_of
from kb.troubleshooting.fitting import HIGH_VOLTAGE, is_driven, is_of_plugs
from kb.troubleshooting.general_tests import GeneralTest, general_tests
from kb.troubleshooting.testing import Candidate

_ON_THE_STEP = frozenset(["fuel", "fuel_jet", "springs", "refrigerant", "gas_struts"])
"""Keys of hazards at which a step must never be done (`kb.safety.never`)."""
_TURNING = frozenset(["fans", "running_engine"])
_OPENED = frozenset(["hot_coolant", "hot_oil", "lamp_voltage", "flying_springs", "air_suspension"])
"""Keys of hazards of what is opened or taken off: they stand on a fix."""
_LET_OUT = {
    "fuel": Precondition.FUEL_LET_DOWN,
    "fuel_jet": Precondition.FUEL_LET_DOWN,
    "refrigerant": Precondition.REFRIGERANT_OUT,
}
"""What must be let out before a part with such a hazard is taken off."""
_DRY = frozenset(["relay", "fuse", "sensor", "switch", "cap", "flap", "gauge", "software", "unit"])
"""Words of parts of such systems that hold nothing of it, as their plugs and wires do."""
_LEADING = frozenset([LinkKind.HARNESS, LinkKind.CLOCK_SPRING, LinkKind.CONNECTOR])


@dataclass(frozen=True, slots=True)
class Guard:
    """Whether a job is on the restraints, and whether on high voltage.

    Where it is `only_suspected` on high voltage, by nothing but what past jobs had, what is no part
    of it stays unlocked.
    """

    restraint: bool
    high_voltage: bool
    only_suspected: bool = False

    @classmethod
    def of(
        cls, job: Job, causes: Sequence[Cause], systems: Sequence[System], wording: Wording
    ) -> Self:
        """Judge by all that is on record, and by the suspects.

        That a car is a hybrid locks nothing: what is worked on has to be of the high voltage. Nor
        does a part that some cars drive by it, a compressor, on a job of another system where
        neither car nor words speak of such a drive; on a car that has one it always is.
        """
        own = Situation.of_job(job)
        if job.system is not None and not is_raised(System.HIGH_VOLTAGE, own, wording):
            systems = [each for each in systems if each is not System.HIGH_VOLTAGE]
        driven = is_raised(System.HIGH_VOLTAGE, Situation(vehicles=own.vehicles), wording) and any(
            is_driven(each, wording) for each in causes
        )
        suspects = Situation.of_causes(causes, systems)
        situation = replace(own | suspects, vehicles=())
        plainly = driven or is_raised(System.HIGH_VOLTAGE, replace(own, vehicles=()), wording)
        suspected = is_raised(System.HIGH_VOLTAGE, situation, wording)
        return cls(
            restraint=is_raised(System.RESTRAINTS, situation, wording),
            high_voltage=plainly or suspected,
            only_suspected=suspected and not plainly,
        )

    @property
    def systems(self) -> tuple[System, ...]:
        """Systems whose cautions come before anything proposed."""
        held = {System.RESTRAINTS: self.restraint, System.HIGH_VOLTAGE: self.high_voltage}
        return tuple(system for system, yes in held.items() if yes)

    def allows(self, candidate: Candidate) -> bool:
        """Whether a test may be proposed at all.

        On high voltage none of the shop's that the trade does not know: no lock fits all of them,
        as one wants it dead and another running.
        """
        general = candidate.general
        if self.restraint and (candidate.own or general is None or not general.igniter):
            return False
        if self.high_voltage and general is None:
            return False
        return self.may_say(candidate.title)

    def signs(self) -> frozenset[str]:
        """Return what the job shows beside its words, as the table of tests names it."""
        return frozenset([HIGH_VOLTAGE] if self.high_voltage else [])

    def comes_first(self, candidate: Candidate | None) -> bool:
        """Whether a test comes before anything else: on the restraints, a look."""
        general = candidate.general if candidate else None
        return self.restraint and general is not None and general.first

    def looks(self) -> tuple[GeneralTest, ...]:
        """Return the tests that come first whatever is suspected: on the restraints, a look."""
        return tuple(test for test in general_tests().test if self.restraint and test.first)

    def may_say(self, text: str) -> bool:
        """Whether these words may stand in a proposal."""
        return may_be_proposed(text, restraint=self.restraint)

    def may_mend(self, component: str) -> bool:
        """Whether a fix of a part may be proposed: not of what stands in for an igniter."""
        return self.may_say(component) and not (self.restraint and stands_in(component))

    def cautions_at(
        self,
        parts: Iterable[str],
        wording: Wording,
        *,
        beside: AbstractSet[str] = frozenset(),
    ) -> tuple[str, ...]:
        """Return the cautions that stand on a step at some parts, beside those of its page.

        High voltage has its locks, and what is hot or lifted is told of the whole job. `beside` are
        keys of hazards that are told of, too.
        """
        found = hazards(Situation(named=tuple(parts)), wording)
        return tuple(each.caution for each in found if each.key in _ON_THE_STEP | beside)

    def cautions_on_own(self, test: str, parts: Iterable[str], wording: Wording) -> tuple[str, ...]:
        """Return what stands on a test of the shop's own: nothing tells how it is made."""
        return self.cautions_at([test, *parts], wording, beside=_TURNING)

    def cautions_of(self, general: GeneralTest) -> tuple[str, ...]:
        """Return the cautions of a test, with those of high voltage and of an igniter's circuit."""
        table = general_tests()
        low = (
            (table.high_voltage.twelve_volt,) if self.high_voltage and is_of_plugs(general) else ()
        )
        if not self.restraint:
            return (*low, *general.cautions)
        told = table.restraints
        touched = (told.touched,) if general.hands_on else ()
        bag = (told.bag,) if Precondition.AIRBAG_OFF in general.needs else ()
        return (*low, *touched, *bag, *general.cautions, *general.on_restraints)

    def cautions_on_fix(self, fix: str, wording: Wording) -> tuple[str, ...]:
        """Return what stands on a fix: of its part, and on the restraints of them."""
        found = self.cautions_at([fix], wording, beside=_OPENED)
        if not self.restraint:
            return found
        told = general_tests().restraints
        with_bag = kind_of(fix, wording) is LinkKind.CLOCK_SPRING or _is_bag(fix, wording)
        return (*found, told.touched, *((told.bag,) if with_bag else ()))

    def is_igniter(self, part: str, wording: Wording) -> bool:
        """Whether a part is an igniter or holds one, and is no plug, lead or control unit of it."""
        itself = kind_of(part, wording) is LinkKind.COMPONENT
        return self.restraint and itself and about_igniter([part])

    def is_of_restraints(self, part: str, wording: Wording) -> bool:
        """Whether a part is of an igniter's circuit: the maker says what is done to it."""
        if not self.restraint:
            return False
        return about_circuit(part) or kind_of(part, wording) in _LEADING

    def needs(
        self, general: GeneralTest | None, parts: Iterable[str], wording: Wording
    ) -> tuple[Precondition, ...]:
        """Return what must hold before a test at some parts, or, without one, before a fix.

        A fix may take off a part that holds fuel or refrigerant.
        """
        parts = list(parts)
        needed = self.needs_of(general)
        if general is None:
            let_out = (each for part in parts for each in _let_out(part, wording))
            needed = tuple(dict.fromkeys((*needed, *let_out)))
        if not self.only_suspected or any(_is_live(part, wording) for part in parts):
            return needed
        return tuple(each for each in needed if each is not Precondition.HIGH_VOLTAGE_OFF)

    def needs_of(self, general: GeneralTest | None) -> tuple[Precondition, ...]:
        """Return what must hold before a test of the trade, or before anything else."""
        touched = general is None or general.hands_on
        wanted = list(general.needs) if general else []
        if touched and self.high_voltage:
            wanted.insert(0, Precondition.HIGH_VOLTAGE_OFF)
        if touched and self.restraint:
            wanted.insert(0, Precondition.SUPPLY_OFF)
        return tuple(dict.fromkeys(wanted))


def _let_out(part: str, wording: Wording) -> Iterator[Precondition]:
    """Yield what must be let out before a part is taken off: nothing before a plug or a sensor."""
    itself = kind_of(part, wording) is LinkKind.COMPONENT
    if itself and _DRY.isdisjoint(wording.tokens(part)):
        found = hazards(Situation(named=(part,)), wording)
        yield from (_LET_OUT[each.key] for each in found if each.key in _LET_OUT)


def _is_live(part: str, wording: Wording) -> bool:
    """Whether a part is of high voltage, or one that some cars drive by it."""
    named = Situation(named=(part,))
    driven = is_driven(Cause(component=part, failure_mode=FailureMode.UNKNOWN), wording)
    return driven or is_raised(System.HIGH_VOLTAGE, named, wording)


def _is_bag(part: str, wording: Wording) -> bool:
    """Whether a part, or what is done to it, is by its last word a bag."""
    return wording.tokens(part)[-1:] in (["airbag"], ["bag"])
