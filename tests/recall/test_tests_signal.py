"""Similarity of tests made on both sides."""

from math import exp, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import DiagnosticTest
from kb.intake.wording import Wording
from kb.recall import tests_signal as findings
from kb.recall.hashing import keys
from kb.recall.tests_signal import WHOLE, evidence

WORDING = Wording.default()
Rows = list[list[DiagnosticTest]]


def seen(name: str, text: str) -> DiagnosticTest:
    return DiagnosticTest(name=name, seen=text)


def similarities(
    asked: list[DiagnosticTest], rows: Rows, causes: list[str] | None = None
) -> np.ndarray:
    columns = findings.build(rows, WORDING)
    agreement = findings.fit(columns, keys(causes or [str(n) for n in range(len(rows))]))
    return columns.similarities([agreement.weigh(test, WORDING, columns) for test in asked])


def test_evidence_is_that_of_the_linkage_of_records() -> None:
    # Source: Esri knowledge base, article 000006275: a street name that agrees in 0.9 of the
    # matching pairs and 0.01 of the others weighs log2(0.9 / 0.01) = 6.49 bits.
    agree, differ = evidence(0.9, 0.01)
    assert agree / log(2) == pytest.approx(6.49, abs=0.005)
    assert differ == pytest.approx(log(0.1 / 0.99))


def test_a_test_only_one_side_made_is_missing() -> None:
    assert np.isnan(similarities([seen("wiggle test", "jumps")], [[seen("drag test", "loose")]]))
    assert np.isnan(similarities([], [[seen("drag test", "loose")]]))


def test_agreement_speaks_for_a_shared_cause_and_difference_against() -> None:
    rows = [[seen("Wiggle test", "value jumps")]] + [[seen("wiggle test", "steady")]] * 3
    same, other, *_ = similarities([seen("wiggle test", "jumps, value")], rows)
    # by hand: of four past looks one showed this, and half a look more: 1.5 of 5; cases of one
    # cause agree in 0.75 where the shop cannot tell yet
    assert same == pytest.approx(0.5 + log(0.75 / 0.3) / (2 * WHOLE))
    assert other == pytest.approx(0.5 + log(0.25 / 0.7) / (2 * WHOLE))


def test_what_is_seen_in_part_lies_between() -> None:
    rows = [[seen("look", "green and wet")], [seen("look", "green")], [seen("look", "dry")]]
    whole, part, none = similarities([seen("look", "green and wet")], rows)
    assert whole > part > none


def test_what_every_job_shows_says_nothing() -> None:
    rows = [[seen("look", "dry")] for _ in range(50)]
    found = similarities([seen("look", "dry")], rows)
    assert found == pytest.approx(np.full(50, 0.5), abs=0.02)


def test_no_test_alone_proves_or_rules_out_however_long_the_history() -> None:
    # by hand: one in fifty is written down wrongly, so that odds are 49 to 1 at most
    rows = [[seen("drag test", "loose")]] * 60 + [[seen("drag test", "tight")]] * 3500
    found = similarities([seen("drag test", "loose")], rows, ["plug"] * 60 + ["loom"] * 3500)
    odds = np.exp((found - 0.5) * 2 * WHOLE)
    assert odds[0] == pytest.approx(49, rel=1e-3)
    assert odds[-1] == pytest.approx(1 / 49, rel=1e-3)


def test_a_test_that_cases_of_one_cause_agree_in_says_more() -> None:
    causes = ["strap", "strap", "strap", "latch", "latch", "latch"]
    telling = [[seen("drag test", text)] for text in ("loose",) * 3 + ("tight",) * 3]
    idle = [[seen("drag test", text)] for text in ("loose", "tight") * 3]
    asked = [seen("drag test", "loose")]
    assert similarities(asked, telling, causes)[0] > similarities(asked, idle, causes)[0]


def test_how_often_cases_of_one_cause_agree_is_counted_over_pairs() -> None:
    rows = [[seen("look", text)] for text in ("dry", "dry", "wet", "green wet")]
    columns = findings.build(rows, WORDING)
    fitted = findings.fit(columns, keys(["strap"] * 4))
    # by hand: of six pairs one agrees wholly (dry, dry) and one by half (wet, green wet): 0.25,
    # over four cases, beside the usual 0.75 with the weight of four
    assert fitted.within == pytest.approx([(4 * 0.25 + 4 * 0.75) / 8])


def test_more_agreement_is_surer() -> None:
    def on(count: int, text: str) -> list[DiagnosticTest]:
        return [seen(f"look {place}", text) for place in range(count)]

    ladder = [
        float(similarities(on(count, "dry"), [on(count, "dry"), on(count, "wet")])[0])
        for count in (1, 3, 10, 30)
    ]
    assert ladder == sorted(set(ladder))


def test_every_row_is_answered_for_itself() -> None:
    rows = [[seen("drag test", "loose")], [], [seen("drag test", "tight"), seen("look", "green")]]
    found = similarities([seen("drag test", "tight")], rows)
    assert np.isnan(found[1])
    assert found[2] > found[0]


tests = st.lists(
    st.builds(
        seen,
        st.sampled_from(["drag test", "look under seat", "wiggle test"]),
        st.sampled_from(["dry", "wet and green", "jumps", "not loose", "?"]),
    ),
    max_size=5,
)


@given(tests, st.lists(st.tuples(tests, st.sampled_from("abc")), max_size=6))
def test_similarity_lies_between_none_and_full(
    asked: list[DiagnosticTest], cases: list[tuple[list[DiagnosticTest], str]]
) -> None:
    rows, causes = [made for made, _ in cases], [cause for _, cause in cases]
    found = similarities(asked, rows, causes)
    assert found.shape == (len(rows),)
    assert np.all(np.isnan(found) | ((found >= 0) & (found <= 1)))


@given(tests, st.lists(st.tuples(tests, st.sampled_from("abc")), min_size=1, max_size=6))
def test_agreeing_never_speaks_against_nor_differing_for(
    asked: list[DiagnosticTest], cases: list[tuple[list[DiagnosticTest], str]]
) -> None:
    columns = findings.build([made for made, _ in cases], WORDING)
    agreement = findings.fit(columns, keys([cause for _, cause in cases]))
    assert np.all((agreement.within >= 0) & (agreement.within <= 1))
    for weighed in (agreement.weigh(test, WORDING, columns) for test in asked):
        assert weighed.agree >= 0 >= weighed.differ


@given(st.floats(0.01, 0.99), st.floats(0.01, 0.99))
def test_evidence_is_nothing_on_average_over_any_two_cases(within: float, of_any: float) -> None:
    agree, differ = evidence(within, of_any)
    # Two likelihood ratios: over what they are told against, they come to 1 (their expectation).
    assert of_any * exp(agree) + (1 - of_any) * exp(differ) == pytest.approx(1)
