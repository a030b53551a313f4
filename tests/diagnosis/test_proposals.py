from collections.abc import Collection, Sequence
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from kb.cards.proposed import ProposedCase
from kb.case import Action, Cause, Complaint, FailureMode, Job, Quantity, Reading, Vehicle
from kb.diagnosis.diagnose import Diagnosis, Knowledge, diagnose
from kb.diagnosis.proposals import Unreviewed
from kb.intake.wording import Wording
from kb.recall.cards import Cards
from kb.recall.index import Index, key_of
from kb.settings import Settings

WORDING, SETTINGS = Wording.default(), Settings()
DAY = date(2026, 3, 2)
PLUG = Cause(component="lock plug", failure_mode=FailureMode.HIGH_RESISTANCE)
MOTOR = Cause(component="lock motor", failure_mode=FailureMode.WORN)
LOW = "motor feed 4.1 V. cleaned lock plug"
GOOD = "motor feed 12.2 V. replaced lock motor"


def asked(notes: Sequence[str], *volts: float) -> Diagnosis:
    """Ask about a door of cards that differ in their notes, the last one's cause a motor's."""
    jobs = {
        number: Job(
            number=number, vehicle=Vehicle(), opened=DAY, complaint="door lock dead", notes=each
        )
        for number, each in enumerate(notes, start=1)
    }

    def looked_up(numbers: Collection[int]) -> list[Job]:
        return [jobs[number] for number in numbers]

    cases = {
        number: ProposedCase(
            number=number,
            action=Action.REPLACED,
            component="lock",
            cause=MOTOR if "motor." in f"{job.notes}." else PLUG,
            chance=0.5,
        )
        for number, job in jobs.items()
    }
    cards = Unreviewed(
        index=Cards.fit(list(jobs.values()), WORDING, SETTINGS), cases=cases, jobs=looked_up
    )
    known = Knowledge(
        wording=WORDING,
        index=Index.fit([], WORDING, SETTINGS),
        settings=SETTINGS,
        unreviewed=cards,
    )
    readings = tuple(
        Reading(item="motor feed", quantity=Quantity.VOLTAGE, value=value, typed=f"{value} V")
        for value in volts
    )
    return diagnose(Complaint(text="door lock dead", readings=readings), known, on=DAY)


def test_readings_in_the_words_of_cards_tell_them_apart() -> None:
    low, good = asked([LOW, GOOD], 4.0), asked([LOW, GOOD], 12.3)
    nearest, nearest_good = low.recalled.neighbours[0], good.recalled.neighbours[0]
    assert (nearest.number, nearest.cause) == (1, key_of(PLUG))
    assert (nearest_good.number, nearest_good.cause) == (2, key_of(MOTOR))
    assert nearest.vote > low.recalled.neighbours[1].vote
    assert "readings" in {part.signal for part in nearest.parts}
    assert nearest.proposed


@given(st.permutations([LOW, GOOD, "customer waits, replaced lock motor"]))
def test_without_a_reading_asked_none_in_words_says_anything(notes: list[str]) -> None:
    parts = [part.signal for near in asked(notes).recalled.neighbours for part in near.parts]
    assert "readings" not in parts


@given(st.floats(min_value=0.5, max_value=14.0))
def test_what_a_card_proposes_stays_proposed_whatever_was_measured(volts: float) -> None:
    for near in asked([LOW, GOOD], round(volts, 1)).recalled.neighbours:
        assert near.proposed
        assert 0 < near.chance < 1
