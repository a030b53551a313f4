"""Items under their many names. What means the same is common practice, no source."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.items import is_item, is_item_word, item_key, trade_items, trade_wording
from kb.intake.wording import Wording
from kb.services.demo import seed_files

TRADE = trade_wording()


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("pretensioner", "seat belt pretensioner circuit"),
        ("pretens", "belt tensioner igniter"),
        ("WSS", "wheel speed sensor resistance"),
        ("abs sensor feed", "wheel speed sensor supply voltage"),
        ("battery", "resting battery voltage"),
        ("ckp sensor", "crank sensor resistance"),
        ("LTFT", "long term fuel trim"),
        ("volt drop on engine earth", "voltage drop, engine ground"),
        ("motor feed", "motor supply voltage"),
        ("key off drain", "parasitic current"),
    ],
)
def test_two_names_of_one_item(one: str, other: str) -> None:
    assert item_key(one, TRADE) == item_key(other, TRADE)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("battery", "battery positive to starter voltage drop"),
        ("coolant temperature", "coolant temperature sensor resistance"),
        ("wheel speed sensor", "wheel speed sensor supply"),
        ("driver airbag", "side airbag"),
        ("driver airbag", "passenger airbag"),
        ("charging voltage", "cranking voltage"),
        ("high voltage battery temperature", "battery temperature"),
        ("coil primary", "coil secondary"),
    ],
)
def test_different_items_stay_apart(one: str, other: str) -> None:
    assert item_key(one, TRADE) != item_key(other, TRADE)


def test_the_table_names_each_thing_once() -> None:
    trade = trade_items()
    assert len(trade.parts) + len(trade.readings) >= 60
    named = [
        each for table in (trade.parts, trade.readings) for name in table for each in table[name]
    ]
    doubled = {each for each in named if named.count(each) > 1}
    assert doubled == set()


@pytest.mark.parametrize("table", ["parts", "readings"])
def test_every_name_leads_to_the_first_of_its_line(table: str) -> None:
    for name, others in getattr(trade_items(), table).items():
        for other in others:
            assert is_item(other.split(), TRADE), other
            if table == "parts" and other not in trade_items().readings:
                assert item_key(f"{other} test", TRADE) == item_key(f"{name} test", TRADE), other


def test_most_items_of_the_demonstration_shop_end_in_words_of_the_table() -> None:
    items = {
        reading["item"].casefold()
        for file in seed_files()
        for job in tomllib.loads(file.read_text(encoding="utf-8")).get("job", ())
        for reading in job.get("readings", ())
    }
    known = [item for item in items if any(is_item_word(word, TRADE) for word in item.split())]
    assert len(known) >= 0.95 * len(items)


def test_a_shops_name_leads_to_the_trades() -> None:
    shop = Wording.default({"belt shooter": "seat belt pretensioner", "squib": "pretensioner"})
    assert item_key("belt shooter", shop) == item_key("squib", shop) == "pretensioner"
    assert item_key("belt shooter", TRADE) == "belt shooter"


@pytest.mark.parametrize(
    ("word", "meant"),
    [("wss", "wss"), ("snesor", "sensor"), ("pretensoner", "pretensioner"), ("brakng", None),
     ("misfire", None), ("wen", None)],
)  # fmt: skip
def test_words_of_items_and_slips(word: str, meant: str | None) -> None:
    assert is_item_word(word, TRADE) == meant


@given(st.text(max_size=40) | st.lists(st.sampled_from(sorted(trade_items().words))).map(" ".join))
def test_a_key_is_its_own_key_and_knows_no_order(text: str) -> None:
    key = item_key(text, TRADE)
    assert key == " ".join(sorted(set(key.split())))
    assert item_key(text.upper(), TRADE) == item_key(text.lower(), TRADE)


@pytest.mark.parametrize(
    "name", ["rail press", "rail pres", "HP rail", "fuel rail press", "hp rail pressure"]
)
def test_rail_pressure_has_short_names(name: str) -> None:
    wording = Wording.default()
    assert item_key(name, wording) == item_key("rail pressure", wording)


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("RF pretensioner plug", "RF pretensioner connector"),
        ("injector plug", "injector connector"),
        ("plug", "spark plug"),
        ("plug 3", "spark plug 3"),
    ],
)
def test_the_plug_of_a_part_is_no_spark_plug(name: str, key: str) -> None:
    """Common practice, no source."""
    wording = trade_wording()
    assert item_key(name, wording) == item_key(key, wording)
    assert item_key("service plug", wording) != item_key("spark plug", wording)
