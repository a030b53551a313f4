"""What is forbidden, refused or not done is no deed; what goes on behind it is one."""

import pytest

from kb.intake.items import trade_wording
from kb.safety.igniter import Shown, judged
from kb.safety.igniter_acts import Told, dangers_in
from kb.safety.igniter_clauses import clauses_of
from kb.safety.igniter_denied import is_answered_no, is_called_off, tells_not_done

NOTHING = Told(frozenset())


def tells_none(text: str) -> bool:
    clause, *rest = clauses_of(text, trade_wording())
    dangers = list(dangers_in(clause, NOTHING))
    assert dangers
    return tells_not_done(clause, dangers, NOTHING, next(iter(rest), None))


@pytest.mark.parametrize(
    "text",
    [
        "never put a meter on the squib",
        "did not measure the squib",
        "would not let him put a lamp on the squib",
        "on ne mesure pas l'airbag",
        "on ne met jamais l'ohmmètre sur l'airbag",
        "wir messen keine Zündpillen",
    ],
)
def test_what_is_denied_is_not_done(text: str) -> None:
    assert tells_none(text)


@pytest.mark.parametrize(
    "text",
    [
        "never had trouble with a meter on the squib",
        "did not measure the squib until the battery was off",
        "on mesure l'airbag",
        "wir messen Zündpillen",
    ],
)
def test_what_only_sounds_so_is_done(text: str) -> None:
    assert not tells_none(text)


@pytest.mark.parametrize(
    "text",
    [
        "never ohm it with analog, use digital",
        "never an old meter on a squib, a digital one is fine",
        "don't use a bulb on the squib, use an LED",
    ],
)
def test_another_kind_of_meter_is_a_meter(text: str) -> None:
    assert not isinstance(judged(text, igniter_job=True), Shown)


def test_a_question_answered_no_and_what_is_called_off_hide_nothing() -> None:
    question = clauses_of("meter the bag", trade_wording())
    assert is_answered_no(question, clauses_of("no", trade_wording()))
    assert not is_answered_no(question, clauses_of("yes", trade_wording()))
    assert is_called_off(clauses_of("whatever he says about a meter, don't", trade_wording()))
