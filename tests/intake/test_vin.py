from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import InvalidField
from kb.intake.vin import check_vin

# An invented VIN of the invented maker, outside the region that prescribes a check digit.
EUROPEAN = "ZZZLD14AXH0000042"


def test_spaces_dashes_and_small_letters_do_not_matter() -> None:
    assert check_vin("1m8-gdm9a xkp042788") == check_vin("1M8GDM9AXKP042788")


def test_outside_north_america_neither_check_digit_nor_year_is_claimed() -> None:
    facts = check_vin(EUROPEAN)
    assert (facts.region, facts.check_digit_right, facts.years, facts.doubts) == (
        "Europe", None, (), (),
    )  # fmt: skip


def test_a_wrong_check_digit_warns_and_never_refuses() -> None:
    facts = check_vin("1M8GDM9A2KP042788")
    assert facts.check_digit_right is False
    assert "2 as its check digit where X is due" in str(facts.doubts[0])


def test_a_tenth_sign_that_stands_for_no_year_is_said() -> None:
    assert check_vin("111111111U1111111").years == ()
    assert any("tenth place" in doubt.why for doubt in check_vin("111111111U1111111").doubts)


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        ("1M8GDM9AXKP04278", "has 16 characters"),
        ("1M8GDM9AXKPO42788", "holds O"),
        ("IM8GDM9AXKP042788", "holds I"),
        ("1M8GDM9AXKQ042788", "holds Q"),
        ("1M8GDM9AXKP04278!", "letters and digits"),
        ("", "has 0 characters"),
    ],
)
def test_a_refusal_names_the_cure(text: str, cure: str) -> None:
    with pytest.raises(InvalidField) as refused:
        check_vin(text)
    assert cure in refused.value.cure


@given(st.text(max_size=24) | st.from_regex(r"[A-HJ-NPR-Z0-9]{17}", fullmatch=True))
def test_any_text_is_checked_or_refused(text: str) -> None:
    with suppress(InvalidField):
        assert len(check_vin(text).vin) == 17
