"""Successes that are not the fix's own. Wordings: common practice of the trade, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Outcome
from kb.intake.credit import is_correction, is_credited_elsewhere, is_of_others, is_only_rarer
from kb.intake.outcomes import judge_attempt, judge_contact

PARTS = ("hose", "plugs", "relay", "wheel bearing", "injectors")
OPEN = (
    "or was it the {}, cured",
    "could also have been the {}, cured",
    "cured, or the {}",
    "cured, might have been the {}",
)
NAMED = ("cured, turned out to be the {}", "{} cured it", "cured, really it was the {}")
TAKEN = ("cured once the {} was done", "fixed after new {}", "ok with the {} in", "cured by {}")


@given(st.sampled_from((*OPEN, *NAMED, *TAKEN)), st.sampled_from(PARTS))
def test_a_cure_of_another_part_is_not_told_of_the_fix(wording: str, part: str) -> None:
    assert judge_attempt(wording.format(part), "coil") is None
    assert is_credited_elsewhere(wording.format(part), "coil")


@given(st.sampled_from((*NAMED, *TAKEN)), st.sampled_from(PARTS))
def test_the_part_itself_may_be_named_again(wording: str, part: str) -> None:
    assert not is_credited_elsewhere(wording.format(part), part)


@pytest.mark.parametrize(
    ("one", "several"),
    [("hose", "hoses"), ("switch", "switches"), ("battery", "batteries"), ("fuse", "fuses")],
)
def test_a_part_is_the_same_in_any_number(one: str, several: str) -> None:
    assert not is_credited_elsewhere(f"cured with new {one}", several)
    assert not is_credited_elsewhere(f"cured with new {several}", one)


@pytest.mark.parametrize("end", ["until he sold it", "for 3 months then sold"])
def test_a_car_gone_from_sight_is_no_comeback(end: str) -> None:
    assert judge_contact(f"held {end}") is Outcome.NOT_TOLD


@given(st.sampled_from(["misfires", "stalls", "cuts out"]), st.sampled_from(["every", "each"]))
def test_what_may_only_be_rarer_is_not_told(fault: str, every: str) -> None:
    text = f"no longer {fault} {every} time"
    assert is_only_rarer(text)
    assert judge_attempt(text) is None
    assert judge_attempt(f"no longer {fault} at all") is True


@pytest.mark.parametrize("who", ["other garage", "another shop", "brother", "they", "the dealer"])
@pytest.mark.parametrize("work", ["replaced coil again", "fitted a new lead", "did the plugs"])
def test_a_car_repaired_elsewhere_tells_nothing_of_the_fix(who: str, work: str) -> None:
    assert judge_contact(f"{who} {work}, fine now") is Outcome.NOT_TOLD
    assert judge_contact(f"ok, {who} {work}") is Outcome.NOT_TOLD


@pytest.mark.parametrize("heard", ["held", "owner says all fine", "they did not come back"])
def test_what_the_owner_tells_of_the_car_counts(heard: str) -> None:
    assert not is_of_others(heard)
    assert judge_contact(heard) is Outcome.HELD


@pytest.mark.parametrize(
    "text",
    [
        *("held up in traffic", "held on the phone 20 min", "held according to dealer"),
        *("held by two bolts", "never came back to us"),
    ],
)
def test_a_word_of_success_in_another_sense_is_none(text: str) -> None:
    assert judge_contact(text) is Outcome.NOT_TOLD
    assert judge_attempt(text, "coil") is not True


def test_what_went_must_be_what_was_wrong() -> None:
    assert judge_attempt("idle gone completely") is None
    assert judge_attempt("rough idle gone completely") is True


def test_a_code_put_right_tells_nothing() -> None:
    assert judge_attempt("P0301 gone, not P0304 but P0305") is None


@given(st.text())
def test_any_text_can_be_asked(text: str) -> None:
    told = (is_correction(text), is_only_rarer(text), is_of_others(text))
    assert all(isinstance(each, bool) for each in told)


@pytest.mark.parametrize(
    "words",
    [
        "fine now after second clock spring",
        "we fitted another one in June, held since",
        "fitted new one under warranty, fine since",
        "needed a second go, ok now",
        "second time lucky, fine",
        "redone in May, all good since",
        "fixed again in June, ok",
        "nochmal repariert, jetzt gut",
        "zweite Reparatur hat gehalten",
        "refait en mai, ok depuis",
        "ponownie naprawione, ok",
        "ok since it was done properly in May",
        "good since dealer had it in May",
        "stop leak poured in, dry since",
        "brought it back, nothing found, no lamp",
        "customer brought it back, we could not find anything, all ok",
        "bought a new car, it's fine",
        "invoice paid, so happy",
        "angeblich in Ordnung",
    ],
)
def test_what_was_done_over_is_no_hold_of_the_first(words: str) -> None:
    assert judge_contact(words) is Outcome.NOT_TOLD


@pytest.mark.parametrize(
    "words",
    [
        "second owner says fine",
        "still good, second call",
        "no trouble since it was fixed",
        "never done it again",
        "all good with the new pump",
        "can't fault it, all good",
        "very happy with it",
        "bill paid, no trouble since",
    ],
)
def test_what_was_done_once_holds(words: str) -> None:
    assert judge_contact(words) is Outcome.HELD
