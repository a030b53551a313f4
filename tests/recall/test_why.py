"""What two jobs share, in facts a person can check."""

from dataclasses import replace

from kb.case import Complaint, DiagnosticTest, System, TroubleCode
from kb.intake.wording import Wording
from kb.recall.index import Index
from kb.recall.why import naming_words, why
from kb.settings import Settings
from tests.recall.shop import CASES, KIRI, LIDO, SEAT_CONNECTOR, case, pretensioner

WORDING = Wording.default()


def seen(name: str, text: str) -> DiagnosticTest:
    return DiagnosticTest(name=name, seen=text)


def test_everything_shared_is_named_and_nothing_else() -> None:
    past = replace(
        case(
            7, LIDO, "airbag lamp after valet", System.RESTRAINTS, SEAT_CONNECTOR, "B1234", "B1301"
        ),
        readings=(pretensioner(6.1),),
        tests=(seen("Wiggle test", "value jumps"), seen("look under seat", "dry")),
    )
    model = Index.fit([*CASES, past], WORDING, Settings()).model
    asked = Complaint(
        text="airbag lamp on",
        codes=(TroubleCode(code="B1234"), TroubleCode(code="B1399")),
        readings=(pretensioner(5.8),),
        tests=(seen("wiggle test", "jumps"), seen("look under seat", "green")),
        vehicle=replace(LIDO, year=2020),
    )
    found = why(asked, past, model, WORDING)
    assert {each.word for each in found.words} == {"airbag", "lamp", "pretensioner"}
    assert sum(each.share for each in found.words) <= 1.0 + 1e-9
    assert found.codes == ("B1234", "B13..")
    assert found.readings == (("pretensioner", "5.8 ohm", "6.1 ohm"),)
    assert found.tests == (("wiggle test", "jumps", "value jumps"),)
    assert found.vehicle == ("make", "model")


def test_nothing_shared_is_nothing_named() -> None:
    model = Index.fit(CASES, WORDING, Settings()).model
    found = why(Complaint(text="no crank", vehicle=KIRI), CASES[0], model, WORDING)
    assert not any((found.words, found.codes, found.readings, found.tests, found.vehicle))


def test_the_words_that_name_a_cause_are_told_as_typed_and_no_others() -> None:
    model = Index.fit(CASES, WORDING, Settings()).model
    asked = Complaint(text="lamp on, seat conector green")
    assert set(naming_words(asked, SEAT_CONNECTOR, model, WORDING)) == {"seat", "conector"}
    assert naming_words(Complaint(text="no crank"), SEAT_CONNECTOR, model, WORDING) == ()
