"""Whether words concern an igniter: SAE J2012 for codes, else common practice, no source."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Job, System, TroubleCode, Vehicle
from kb.intake.items import trade_wording
from kb.safety.igniter import Shown, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_concern import concerns_igniter, speaks_of_igniter
from kb.safety.igniter_steps import dangerous_step
from kb.safety.job_words import is_igniter_job


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


@pytest.mark.parametrize(
    ("code", "failure_type", "said", "systems", "concerns"),
    [
        ("B1201", "1B", "lamp on", [None], True),
        ("B1201", "1A", "lamp on", [], True),
        ("B1201", "13", "lamp on", [None], False),
        ("P0335", "1B", "lamp on", [None], False),
        ("B1461", "1B", "window slow", [None], False),
        ("B1461", "1B", "lamp on", [System.BODY_ELECTRICS], False),
    ],
)
def test_a_resistance_off_in_the_body_may_be_an_igniters_loop(
    code: str, failure_type: str, said: str, systems: list[System | None], concerns: bool
) -> None:
    stored = [TroubleCode(code=code, failure_type=failure_type)]
    assert concerns_igniter([said], systems=systems, codes=stored) is concerns
    job = Job(
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint=said,
        codes=tuple(stored),
        system=next(iter(systems), None),
    )
    assert is_igniter_job(job, trade_wording()) is concerns


@pytest.mark.parametrize("mode", ["ohm function", "resistance mode", "ohms mode", "meter function"])
def test_a_scan_tool_that_is_set_to_measure_ohms_is_a_meter(mode: str) -> None:
    step = dangerous_step(f"scan tool in {mode} at the plug: 2.1", igniter_job=True)
    assert step is not None
    assert step.reason == Reason.METER
    assert isinstance(judged("scan tool shows resistance 2.1 ohm", igniter_job=True), Shown)
