"""Cautions: common practice, no source."""

from kb.case import System, TroubleCode
from kb.safety.cautions import CAUTIONS, cautions_for, systems_of


def test_every_dangerous_system_has_cautions() -> None:
    assert set(System) - set(CAUTIONS) == {System.OTHER}
    for system in CAUTIONS:
        assert cautions_for([system])


def test_restraints_come_first_and_no_caution_twice() -> None:
    lines = cautions_for([System.IGNITION, System.RESTRAINTS, System.RESTRAINTS])
    assert "Airbags" in lines[0]
    assert len(set(lines)) == len(lines)


def test_a_restraint_code_alone_brings_the_cautions() -> None:
    # SAE J2012 keeps B00xx for restraints; maker-defined B1xxx may be anything
    systems = systems_of([TroubleCode(code="B0012")], [None, System.COOLING])
    assert System.RESTRAINTS in systems
