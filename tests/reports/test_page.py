"""Pages that stand alone: well formed, escaped, fetching nothing."""

import re
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.reports.page import (
    STYLE,
    WIDTH,
    Axis,
    Bar,
    Chart,
    apart,
    bars,
    columns,
    document,
    figure,
    heading,
    paragraph,
    table,
    wide,
)

SHARE = Axis("share", 0, 1, [(0, "0"), (0.5, "half"), (1, "1")])
CHART = Chart(SHARE, SHARE)

# What XML 1.0 can hold; the store refuses the rest.
texts = st.text(st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\ufffe\uffff"))


@given(texts, texts)
def test_whatever_the_words_a_page_is_well_formed_and_keeps_them(one: str, other: str) -> None:
    page = document(one, heading(other), paragraph(one), table([one, other], [[other, one]]))
    body = page[page.index("<body>") : page.index("</html>")]
    root = ET.fromstring(body)
    assert root.findtext("h1") == one
    assert root.findtext("h2") == other
    cells = [cell.text or "" for cell in root.iter() if cell.get("role") in {"rowheader", "cell"}]
    assert cells == [other, one]
    assert [cell.get("data-label") for cell in root.iter("td")] == [other]


@given(texts)
def test_charts_are_well_formed_whatever_the_words(words: str) -> None:
    row = Bar(words, 0.4, words, 0.3, 0.5)
    for chart in (CHART.draw(words, CHART.dots([(0.1, 0.2, 3)])), bars(words, [row])):
        assert ET.fromstring(chart).get("aria-label") == words


spots = st.tuples(st.floats(0, 360), st.text("0123456789 .kVPa", min_size=1, max_size=12))


@given(st.lists(spots, max_size=8))
def test_no_label_leaves_the_frame_or_meets_an_earlier_one(marks: list[tuple[float, str]]) -> None:
    middles = apart(marks, 360)
    spans = [
        (at - wide(marks[place][1]) / 2, at + wide(marks[place][1]) / 2)
        for place, at in middles.items()
    ]
    assert all(low >= -1e-9 and high <= 360 + 1e-9 for low, high in spans)
    for one, (_, end) in enumerate(sorted(spans)[:-1]):
        assert end < sorted(spans)[one + 1][0]
    assert not marks or 0 in middles  # the first is kept whatever comes after


def test_years_of_a_long_span_are_thinned_and_none_is_cut() -> None:
    months = [(str(2000 + n // 12) if n % 12 == 0 else "", 1.0, 1.0) for n in range(15 * 12 + 1)]
    chart = ET.fromstring(columns("d", months, counted="cars", beside="others"))
    years = [
        (float(each.get("x", "")), each.text)
        for each in chart.iter("text")
        if (each.text or "").startswith("20")
    ]
    assert 3 <= len(years) < 15
    for (right, _), (left, _) in pairwise(years):  # the last is drawn first
        assert right - left >= wide("2000")
    assert years[0][0] + wide("2000") / 2 <= float(chart.get("width") or 0)
    few = columns("d", months[:37], counted="cars", beside="others")
    assert all(f">{year}<" in few for year in range(2000, 2003))


def test_a_label_at_the_edge_is_drawn_whole() -> None:
    edge = Chart(Axis("", 0, 1, [(1, "18.5 kPa")]), SHARE, margin=12).draw("d")
    (label,) = [each for each in ET.fromstring(edge).iter("text") if each.text == "18.5 kPa"]
    assert float(label.get("x") or 0) + wide("18.5 kPa") / 2 <= WIDTH


def test_words_beneath_a_mark_stand_with_it() -> None:
    axis = Axis("days", 0, 1, [(0, "0"), (0.01, "1"), (1, "9")], ["11", "10", "2"])
    words = [each.text for each in ET.fromstring(Chart(axis, SHARE).draw("d")).iter("text")]
    assert words[:4] == ["0", "11", "9", "2"]


@given(texts, st.lists(st.tuples(texts, st.integers(0, 9), st.floats(0, 9)), min_size=1))
def test_columns_are_well_formed_and_within_their_frame(words: str, rows: list[Any]) -> None:
    chart = ET.fromstring(columns(words, rows, counted=words, beside="others"))
    assert chart.get("aria-label") == words
    bars_drawn = list(chart.iter("rect"))
    assert len(bars_drawn) == len(rows)
    width, height = (float(chart.get(side) or 0) for side in ("width", "height"))
    for bar in bars_drawn:
        x, y, wide, tall = (float(bar.get(key) or 0) for key in ("x", "y", "width", "height"))
        assert 0 <= x <= x + wide <= width
        assert 0 <= y <= y + tall + 0.1 <= height


def test_a_table_is_marked_up_for_who_cannot_see_it() -> None:
    root = ET.fromstring(table(("what", "jobs"), [("cleaned", "3")], caption="For nothing"))
    (told,) = root.iter("caption")
    assert told.text == "For nothing"
    heads = [cell.get("scope") for cell in root.iter("th")]
    assert heads == ["col", "col", "row"]
    assert {row.get("role") for row in root.iter("tr")} == {"row"}


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
def test_words_stand_out_from_their_ground(theme: str) -> None:
    """Contrast of 4.5 and more: WCAG 2.2, success criterion 1.4.3, with its relative luminance."""
    blocks = re.findall(r":root \{(.*?)\}", STYLE, re.S)
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", blocks[0]))
    if theme != "light":
        place = 1 if theme == "dark" else 2
        colours |= dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", blocks[place]))
    for name in ("ink", "soft", "main", "other"):
        one, other = luminance(colours[name]), luminance(colours["ground"])
        assert (max(one, other) + 0.05) / (min(one, other) + 0.05) >= 4.5, (theme, name)


def luminance(colour: str) -> float:
    digits = colour.removeprefix("#")
    parts = digits if len(digits) == 6 else "".join(2 * each for each in digits)
    shares = [int(parts[place : place + 2], 16) / 255 for place in (0, 2, 4)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in shares
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_nothing_is_wider_than_a_telephone() -> None:
    """Charts shrink, tables become blocks, long words break, and print cuts no chart."""
    assert "svg { width: 100%" in STYLE
    assert "overflow-wrap: anywhere" in STYLE
    letters = re.findall(r"svg text \{[^}]*font-size: (\d+)px", STYLE)
    room = 390 - 2 * 16
    assert [int(each) * room / WIDTH >= 12 for each in letters] == [True]
    assert "@media (max-width: 40rem)" in STYLE
    assert "break-inside: avoid" in STYLE
    assert "size: A4" in STYLE


def test_paper_parts_no_chart_from_what_is_told_of_it() -> None:
    drawn = document("t", figure("two <of> them", CHART.draw("d")))
    whole = re.search(r"([^{}\n]+) \{ break-inside: avoid; \}", drawn)
    assert whole
    assert "figure" in whole[1]
    assert "two &lt;of&gt; them</figcaption>" in drawn


def test_a_page_fetches_nothing() -> None:
    page = document("title", CHART.draw("a chart"))
    assert not re.search(r"https?:|src=|href=|@import|url\(", page)


@given(st.floats(0, 1), st.floats(0, 1))
def test_marks_lie_inside_the_axes_and_up_is_up(x: float, y: float) -> None:
    dots = ET.fromstring(f"<g>{CHART.dots([(x, y, 3), (0, 0, 3), (1, 1, 3)])}</g>")
    (here, low, high) = [(float(d.get("cx", "")), float(d.get("cy", ""))) for d in dots]
    assert 0 <= low[0] <= here[0] <= high[0] <= CHART.width
    assert CHART.height >= low[1] >= here[1] >= high[1] >= 0


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), max_size=5))
def test_every_cross_is_drawn_where_a_dot_would_be(places: list[tuple[float, float]]) -> None:
    told = ET.fromstring(CHART.crosses(places)).get("d") or ""
    starts = [
        tuple(map(float, each.split("l")[0].split())) for each in told.split("M")[1:] if "l" in each
    ]
    dots = ET.fromstring(f"<g>{CHART.dots((x, y, 3) for x, y in places)}</g>")
    centres = [(float(d.get("cx", "")) - 4, float(d.get("cy", "")) - 4) for d in dots]
    assert starts == [pytest.approx(centre, abs=0.11) for centre in centres]


def test_steps_keep_their_height_until_the_next_point() -> None:
    stepped = CHART.steps([(0, 1), (0.5, 0.4), (1, 0.4)])
    assert stepped == CHART.line([(0, 1), (0.5, 1), (0.5, 0.4), (1, 0.4), (1, 0.4)])


def test_an_area_closes() -> None:
    assert CHART.band([(0, 0), (1, 0)], [(0, 1), (1, 1)]).count("L") == 3
