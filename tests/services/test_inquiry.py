"""What stands on a page brings its cautions; sources: none, by judgement."""

from hypothesis import given
from hypothesis import strategies as st

from kb.case import Cause, FailureMode, System
from kb.intake.wording import Wording
from kb.safety.hazards import hazards
from kb.services.inquiry import WORTH_A_CAUTION, InSight
from tests.recall.shop import LATCH, LIDO, case


@given(st.integers(0, 9), st.integers(1, 9), st.floats(0, 1))
def test_a_suspect_is_of_a_system_that_most_of_its_jobs_were_on_or_that_is_likely(
    of_it: int, others: int, chance: float
) -> None:
    odd, plain = (
        case(1, LIDO, "horn dead", system, LATCH)
        for system in (System.HIGH_VOLTAGE, System.BODY_ELECTRICS)
    )
    like = [*[odd] * of_it, *[plain] * others]
    told = InSight.of_suspect(LATCH, like, chance).situation.systems
    share, least = of_it / len(like), WORTH_A_CAUTION
    if share > 0.5 or chance * share > least + 1e-9:
        assert System.HIGH_VOLTAGE in told
    elif chance * share < least - 1e-9:
        assert System.HIGH_VOLTAGE not in told


def test_what_is_in_sight_keeps_its_cautions_however_unlikely() -> None:
    squib = Cause(
        component="clock spring", location="steering column", failure_mode=FailureMode.OPEN
    )
    seen = InSight.of_suspect(
        squib, [case(1, LIDO, "horn dead", System.BODY_ELECTRICS, squib)], 0.01
    )
    assert "restraints" in {each.key for each in hazards(seen.situation, Wording.default())}
