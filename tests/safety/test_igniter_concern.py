"""Whether words concern an igniter: SAE J2012 for codes, else common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.items import trade_wording
from kb.safety.igniter_concern import concerns_igniter, speaks_of_igniter


@pytest.mark.parametrize(
    "complaint",
    [
        "lamp on, B0001-1B",
        "lamp on, b0012",
        "SRS灯亮",
        "balloon lamp on",
        "air-b@g lamp on",
        "a i r b a g lamp",
    ],
)
def test_a_job_of_restraints_is_known_however_it_is_written(complaint: str) -> None:
    assert concerns_igniter([complaint])


@pytest.mark.parametrize(
    "complaint",
    [
        "code P0012 stored",
        "B1001 stored, window dead",
        "part no AB0012",
        "mail to shop@valley about the exhaust",
        "w i p e r dead",
        "lamp on, C0035",
    ],
)
def test_a_job_of_another_system_is_none(complaint: str) -> None:
    assert not concerns_igniter([complaint])


@given(st.from_regex(r"B00[0-9A-F]{2}", fullmatch=True), st.sampled_from(["", "-1B", "-13"]))
def test_every_code_of_the_restraints_in_words_tells_them(code: str, subtype: str) -> None:
    assert speaks_of_igniter(f"lamp on, {code}{subtype} stored", trade_wording())
