"""The shop's own shorthand."""

import pytest

from kb.errors import Dangerous, InvalidField
from kb.intake.items import item_key
from kb.intake.wording import Wording
from kb.services.indexing import shop_wording
from kb.services.words import Shorthand, add_word, list_words, remove_word
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


def _tokens(store: str, text: str) -> list[str]:
    with UnitOfWork(open_store(store), read_only=True) as work:
        return shop_wording(work).tokens(text)


def test_a_word_is_added_read_and_removed(empty_store: str) -> None:
    added = add_word(empty_store, "Mulch.", ("air filter", "grass box"), who="BT")
    assert added == Shorthand(short="mulch", meanings=("air filter", "grass box"), is_own=True)
    assert list_words(empty_store) == [added]
    assert _tokens(empty_store, "MULCH full") == ["air", "filter", "grass", "box", "full"]
    remove_word(empty_store, "MULCH")
    assert list_words(empty_store) == []
    assert _tokens(empty_store, "mulch") == ["mulch"]


def test_the_shops_meaning_goes_before_the_trades(empty_store: str) -> None:
    trade = {word.short: word for word in list_words(empty_store, with_trade=True)}
    assert trade["cond"] == Shorthand(
        short="cond", meanings=("condenser", "condition"), is_own=False
    )
    add_word(empty_store, "cond", ("condensation",))
    words = list_words(empty_store, with_trade=True)
    assert [word.meanings for word in words if word.short == "cond"] == [("condensation",)]
    assert len(words) == len(trade)
    assert words == sorted(words, key=lambda word: word.short)


@pytest.mark.parametrize(
    ("short", "meaning"), [("", "x"), ("zz", " "), ("zz", "-"), ("two words", "-"), ("- -", "x")]
)
def test_what_could_not_be_read_is_refused(empty_store: str, short: str, meaning: str) -> None:
    with pytest.raises(InvalidField):
        add_word(empty_store, short, (meaning,))
    assert list_words(empty_store) == []


def test_a_name_of_several_words_is_read_in_items(empty_store: str) -> None:
    before = item_key("belt shooter", Wording.default())
    added = add_word(empty_store, "Belt  shooter", ("pretensioner",))
    assert added.short == "belt shooter"
    with UnitOfWork(open_store(empty_store), read_only=True) as work:
        wording = shop_wording(work)
    assert item_key("belt shooter", wording) == item_key("pretensioner circuit", wording) != before
    assert wording.tokens("belt shooter") == ["belt", "shooter"]
    remove_word(empty_store, "belt shooter")
    assert list_words(empty_store) == []


def test_a_name_of_several_words_has_one_meaning(empty_store: str) -> None:
    with pytest.raises(InvalidField, match="says several things"):
        add_word(empty_store, "belt shooter", ("pretensioner", "buckle switch"))


def test_a_word_that_is_not_there_cannot_be_removed(empty_store: str) -> None:
    with pytest.raises(InvalidField, match="none of the shop's own words"):
        remove_word(empty_store, "cond")


@pytest.mark.parametrize(
    ("short", "meaning"),
    [
        ("ohmmeter", "torch"),
        ("multimeter", "scan tool"),
        ("dmm", "scan tool"),
        ("squib", "switch"),
        ("airbag", "cushion"),
        ("test lamp", "scan tool"),
        ("belt shooter", "buckle switch"),
        ("measured", "looked"),
        ("bridged", "cleaned"),
    ],
)
def test_no_word_may_hide_a_tool_or_an_igniter(empty_store: str, short: str, meaning: str) -> None:
    with pytest.raises(Dangerous, match="must be read as that"):
        add_word(empty_store, short, (meaning,))
    assert list_words(empty_store) == []


@pytest.mark.parametrize(
    ("short", "meaning"),
    [("zapper", "ohmmeter"), ("gub", "airbag"), ("dvm", "multimeter"), ("srsb", "airbag plug")],
)
def test_a_tool_or_an_igniter_may_have_more_names(
    empty_store: str, short: str, meaning: str
) -> None:
    assert add_word(empty_store, short, (meaning,)).meanings == (meaning,)
