"""The wording of a complaint. Meanings of shorthand: common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import JaroWinkler

from kb.errors import InvalidField
from kb.intake.wording import SHORTHAND_FILE, Wording, entry, suggest, trade_shorthand

WORDING = Wording.default()
TABLE = WORDING.shorthand
shop_texts = st.lists(
    st.sampled_from(
        [*TABLE, "connector", "n/a", "not", "ok", "12.4v", "p0301", "b1234-13", "-", "."]
    )
).map(" ".join)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("LF W/S SENSOR U/S", "left front wheel speed windscreen sensor faulty"),
        ("o/s/r door, batt & alt.", "offside rear door battery alternator"),
        ("A/C cond. blk'd", "air conditioning condenser condition blkd"),
        ("pretens conn u/seat", "pretensioner connector u seat"),
        ("LF/RF abs/esp", "left front right front abs stability control"),
        ("under-seat plug", "under seat plug"),
        ("4x4 ＡＢＳ lamp", "four wheel drive abs lamp"),
        ("intermit s/c to gnd", "intermittent short circuit to ground"),
        ("p/s mirror", "power steering passenger side mirror"),
        ("rd test nff", "road red test no fault found"),
        ("d/s res", "driver side driveshaft resistance resistor reservoir"),
        (
            "diff in rad int",
            "differential difference different in radiator radio interior internal intermittent",
        ),
        ("muffler & fender", "silencer wing"),
        ("gas smell, revs drop, gas strut", "petrol smell engine speed drop gas strut"),
        ("air con, turn signal out", "air conditioning indicator out"),
    ],
)
def test_shorthand_is_written_out(text: str, words: str) -> None:
    assert WORDING.tokens(text) == words.split()


@pytest.mark.parametrize("negation", ["no", "not", "n/a", "ok", "without", "never", "none"])
def test_negations_stay(negation: str) -> None:
    assert WORDING.tokens(f"Lamp {negation.upper()}.") == ["lamp", negation]


@pytest.mark.parametrize("text", ["won't", "WONT", "won’t", "doesn't", "doesnt", "can't", "isn`t"])
def test_contracted_negations_say_not(text: str) -> None:
    assert "not" in WORDING.tokens(f"it {text} start")


@pytest.mark.parametrize(
    "token", ["12.4v", "p0301", "b1234-13", "2k1", "5g/s", "100km/h", "10%", "90°c", "n/a", "12,4"]
)
def test_codes_and_numbers_stay_whole(token: str) -> None:
    assert WORDING.tokens(f"({token.upper()}), then") == [token, "then"]


def test_a_code_inside_a_longer_word_is_no_code() -> None:
    assert WORDING.tokens("xp0301-13 p03012-13") == ["xp0301", "13", "p03012", "13"]


@given(st.text())
def test_any_text_becomes_clean_lower_case_words(text: str) -> None:
    for word in WORDING.tokens(text):
        assert word
        assert word == word.casefold()
        assert not any(char.isspace() for char in word)


@given(st.text() | shop_texts)
def test_written_out_words_stay_as_they_are(text: str) -> None:
    words = WORDING.tokens(text)
    assert WORDING.tokens(" ".join(words)) == words


@given(shop_texts)
def test_case_and_spacing_do_not_matter(text: str) -> None:
    assert WORDING.tokens(f"  {text.upper().replace(' ', '   ')}\n") == WORDING.tokens(text)


def test_no_meaning_is_itself_shorthand() -> None:
    chained = {word for words in TABLE.values() for word in words if word in TABLE}
    assert not chained


def test_no_entry_of_the_table_is_lost_or_written_twice() -> None:
    lines = SHORTHAND_FILE.read_text(encoding="utf-8").splitlines()
    entries = [line for line in lines if " = " in line and line[0] != "#"]
    assert len(entries) == len(trade_shorthand()) >= 200
    assert {entry(short, meant)[0] for short, meant in trade_shorthand().items()} <= TABLE.keys()


def test_the_shops_own_entries_go_first() -> None:
    own = Wording.default({"Cond": "condensation", "mulch": "grass box | filter"})
    assert own.tokens("cond MULCH batt") == ["condensation", "grass", "box", "filter", "battery"]
    assert WORDING.tokens("cond") == ["condenser", "condition"]


def test_shorthand_in_the_shops_meanings_is_written_out() -> None:
    own = Wording.default({"pts": "pretens conn | pretens", "wsf": "w/s fuse"})
    assert own.tokens("pts") == ["pretensioner", "connector"]
    assert own.tokens("wsf") == ["wheel", "speed", "windscreen", "fuse"]


@pytest.mark.parametrize("written", ["", "two words", "?"])
def test_an_entry_must_be_one_word(written: str) -> None:
    with pytest.raises(InvalidField, match="word: "):
        entry(written, "meaning")


def test_an_entry_must_mean_something() -> None:
    with pytest.raises(InvalidField, match="meaning: "):
        entry("zz", " | ")


def test_suggestions_are_the_nearest_known_words() -> None:
    known = ["connector", "contactor", "condenser", "relay"]
    assert suggest("conecter", known)[0] == "connector"
    assert suggest("connector", known) == ()
    assert suggest("con", known) == ()
    assert suggest("gearbox", known) == ()


@given(st.text(min_size=4), st.lists(st.text(min_size=1)), st.integers(1, 5))
def test_suggestions_resemble_and_are_known(word: str, known: list[str], limit: int) -> None:
    found = suggest(word, known, limit=limit)
    assert len(found) <= limit
    for choice in found:
        assert choice in known
        assert JaroWinkler.normalized_similarity(word, choice) >= 0.90


def test_the_same_entries_are_the_same_wording() -> None:
    """Tables are kept by wording: an equal one that is another would have them made anew."""
    own, other = {"wdg": "widget"}, {"wdg": "windage"}
    assert Wording.default(own) is Wording.default({**own})
    assert Wording.default(own).tokens("wdg") == ["widget"]
    assert Wording.default(other).tokens("wdg") == ["windage"]
    assert Wording.default().tokens("wdg") == ["wdg"]
