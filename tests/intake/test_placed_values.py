import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.items import trade_wording
from kb.intake.placed_values import without_place_commas
from kb.intake.reading_search import find_readings

# how readings with a place are written: common practice, no source
ITEMS = st.sampled_from(
    (
        ("pretensioner circuit", "2.3 ohm"),
        ("tyre pressure", "1.9 bar"),
        ("brake pads", "4 mm"),
        ("wheel speed sensor current", "7 mA"),
        ("door lock motor supply voltage", "12.1 V"),
    )
)
PLACES = st.sampled_from(
    (("left front", "left front"), ("RR", "right rear"), ("rear", "rear"), ("right", "right"))
)


@given(ITEMS, PLACES)
def test_a_comma_between_item_and_place_changes_nothing(
    item: tuple[str, str], place: tuple[str, str]
) -> None:
    name, value = item
    written, meant = place
    with_comma, without = (
        find_readings(f"{name}{comma} {written} {value}").readings for comma in (",", "")
    )
    assert [(each.item, each.position, each.typed) for each in with_comma] == [(name, meant, value)]
    assert with_comma == without


@pytest.mark.parametrize(
    "text",
    [
        "airbag lamp on, LF 2.2 ohm",
        "changed the battery, LF 2.2 bar",
        "wheel bearing noisy, RF 65 °C",
        "abs lamp, left rear 12 km/h",
        "brake pads, worn 2 mm",
        "oil leak at the sump, front 3 mm",
    ],
)
def test_a_comma_that_parts_two_things_stays(text: str) -> None:
    assert without_place_commas(text, trade_wording()) == text


def test_a_place_may_be_part_of_the_items_name() -> None:
    with_comma, without = (
        find_readings(f"rear lamp supply voltage{comma} right rear 6.1 V").readings
        for comma in (",", "")
    )
    assert [each.typed for each in with_comma] == ["6.1 V"]
    assert with_comma == without


def test_of_several_places_each_has_its_value() -> None:
    found = find_readings("brake pads, front 4 mm, rear 6 mm").readings
    assert [(each.place, each.typed) for each in found] == [
        ("brake pads, front", "4 mm"),
        ("brake pads, rear", "6 mm"),
    ]


@given(st.text(alphabet="padslfrear ,.:;0123456789mVbohÖ", max_size=60))
def test_a_text_keeps_its_length_and_everything_but_commas(text: str) -> None:
    left = without_place_commas(text, trade_wording())
    assert len(left) == len(text)
    assert all(
        new == old or (old == "," and new == " ") for old, new in zip(text, left, strict=True)
    )
