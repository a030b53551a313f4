"""What the words beside a fix tell to have been done to make sure of it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Proof
from kb.intake.told_proofs import told_proofs


@pytest.mark.parametrize(
    ("words", "proof"),
    [
        ("replaced droplink, knock gone, road test ok", Proof.DRIVEN),
        ("roadtested 20 km, all good", Proof.DRIVEN),
        ("noise gone on road test", Proof.DRIVEN),
        ("drove 30 km, quiet", Proof.DRIVEN),
        ("Probefahrt 12 km, kein Geräusch", Proof.DRIVEN),
        ("essai routier ok", Proof.DRIVEN),
        ("jazda próbna ok", Proof.DRIVEN),
        ("codes cleared, did not return", Proof.CODE_GONE),
        ("P0301 cleared and not returned", Proof.CODE_GONE),
        ("terminals checked", Proof.TERMINALS),
        ("self-test passed", Proof.SELF_TEST),
    ],
)
def test_what_was_done_is_told(words: str, proof: Proof) -> None:
    assert set(told_proofs(words)) == {proof}


@pytest.mark.parametrize(
    "words",
    [
        "no road test, no plates",
        "needs road test",
        "not road tested",
        "before road test",
        "fixed, road test?",
        "customer to road test",
        "customer drove it away",
        "keine Probefahrt",
        "road test booked for Monday",
        "will be road tested",
        "road test: still knocks",
        "replaced driven gear",
        "codes cleared",
        "terminals corroded",
    ],
)
def test_what_is_planned_denied_or_failed_proves_nothing(words: str) -> None:
    assert not told_proofs(words)


@given(st.text(max_size=80))
def test_whatever_is_told_stands_in_the_words(words: str) -> None:
    assert all(said in words for said in told_proofs(words).values())
