"""A long list is read as its clauses are, whatever was read before of the same words."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.intake import reading_search
from kb.intake.reading_search import find_readings

ITEMS = [
    ("battery", "V"),
    ("rail pressure", "bar"),
    ("coolant", "C"),
    ("crank sensor", "ohm"),
    ("LF wss", "kohm"),
    ("brake disc RR", "mm"),
    ("idle", "rpm"),
    ("a/c hp", "bar"),
    ("lp", "bar"),
    ("at servo", "bar"),
    ("rad inlet", "C"),
    ("outlet", "C"),
    ("earth side", "V"),
    ("tyre", "psi"),
    ("tyre", "bar"),
    ("speed", "mph"),
    ("", "V"),
    ("cyl 3", "bar"),
    ("stft", "%"),
    ("wobbler", "V"),
]
STATES = [
    "",
    " cold",
    " hot idle",
    " at 2500 rpm",
    " cranking",
    " before",
    " after",
    " left",
    " drop",
]
NUMBERS = ["0", "0.4", "3", "7", "12.4", "11,9", "14.25", "85", "780", "1,340", "2400", "03", "-5"]
SHAPES = [
    "{item} {one} {unit}{state}",
    "{item}{state} {one} {unit}",
    "{item} {one} {unit}{state} {other} {unit}{second}",
    "{item} {one}-{other} {unit}{state}",
    "{item} from {one} to {other} {unit}",
    "{item} {one} -> {other} {unit}{state}",
    "{item} was {one} {unit}, now {other} {unit}",
    "{item} {one} {unit} should be {other} {unit}",
    "fuse missing{state}",
    "book says {one} {unit}",
    "{state}",
]
JOINTS = [", ", "; ", "\n", ". ", " and "]


@st.composite
def lists(draw: st.DrawFn) -> str:
    """Draw a long list in which few shapes come again and again with other numbers."""
    shapes = draw(
        st.lists(
            st.tuples(
                st.sampled_from(SHAPES),
                st.sampled_from(ITEMS),
                st.sampled_from(STATES),
                st.sampled_from(STATES),
            ),
            min_size=2,
            max_size=5,
        )
    )
    drawn = draw(st.randoms(use_true_random=False))
    told = ""
    for _ in range(48):
        shape, (item, unit), state, second = drawn.choice(shapes)
        one, other = drawn.choices(NUMBERS, k=2)
        told += shape.format(
            item=item, unit=unit, state=state, second=second, one=one, other=other
        ) + drawn.choice(JOINTS)
    return told


@settings(max_examples=100, deadline=None)
@given(lists())
def test_what_was_read_before_of_the_same_words_changes_nothing(text: str) -> None:
    learnt = []
    for many in (8, 1_000_000):
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(reading_search, "_MANY", many)
            learnt.append(find_readings(text))
    assert learnt[0] == learnt[1]


def test_a_clause_of_known_words_is_not_read_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only so is a long list read in no time."""
    read = []
    plainly = reading_search._Search._read

    def counted(self: reading_search._Search, *told: object, **how: object) -> int:
        read.append(told)
        return plainly(self, *told, **how)  # type: ignore[arg-type]

    monkeypatch.setattr(reading_search._Search, "_read", counted)
    text = "; ".join(
        f"battery {9 + place / 50:.2f} V cold {8 + place / 50:.2f} V hot" for place in range(99)
    )
    assert len(find_readings(text).readings) == 198
    assert len(read) == 4  # of the first clause, and of one that stands behind another
