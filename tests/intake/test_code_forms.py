"""How one code may be typed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.code_forms import as_typed, one_form


@pytest.mark.parametrize(
    ("piece", "code"),
    [
        ("P0171", "P0171"),
        ("PO17I", "P0171"),
        ("B1201/1B", "B1201-1B"),
        ("B12011B", "B1201-1B"),
        ("81201-1B", "B1201-1B"),
        ("C0040.2F.0A", "C0040-2F"),
        ("P0299(16)", "P0299-16"),
    ],
)
def test_forms_of_one_code(piece: str, code: str) -> None:
    assert str(as_typed(piece)) == code


@pytest.mark.parametrize("piece", ["COILS", "COIL2", "POS12", "B1S2", "P4171", "B123457", "81201"])
def test_what_is_no_code(piece: str) -> None:
    assert as_typed(piece) is None


@given(st.text())
def test_one_form_keeps_the_length(text: str) -> None:
    assert len(one_form(text)) == len(text)
    assert one_form(one_form(text)) == one_form(text)
