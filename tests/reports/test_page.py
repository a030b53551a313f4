"""Pages that stand alone: well formed, escaped, fetching nothing."""

import re
from xml.etree import ElementTree as ET

from hypothesis import given
from hypothesis import strategies as st

from kb.reports.page import Axis, Bar, Chart, bars, document, heading, paragraph, table

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
    assert [cell.text or "" for cell in root.iter("td")] == [other, one]


@given(texts)
def test_charts_are_well_formed_whatever_the_words(words: str) -> None:
    row = Bar(words, 0.4, words, 0.3, 0.5)
    for chart in (CHART.draw(words, CHART.dots([(0.1, 0.2, 3)])), bars(words, [row])):
        assert ET.fromstring(chart).get("aria-label") == words


def test_a_page_fetches_nothing() -> None:
    page = document("title", CHART.draw("a chart"))
    assert not re.search(r"https?:|src=|href=|@import|url\(", page)


@given(st.floats(0, 1), st.floats(0, 1))
def test_marks_lie_inside_the_axes_and_up_is_up(x: float, y: float) -> None:
    dots = ET.fromstring(f"<g>{CHART.dots([(x, y, 3), (0, 0, 3), (1, 1, 3)])}</g>")
    (here, low, high) = [(float(d.get("cx", "")), float(d.get("cy", ""))) for d in dots]
    assert 0 <= low[0] <= here[0] <= high[0] <= CHART.width
    assert CHART.height >= low[1] >= here[1] >= high[1] >= 0


def test_steps_keep_their_height_until_the_next_point() -> None:
    stepped = CHART.steps([(0, 1), (0.5, 0.4), (1, 0.4)])
    assert stepped == CHART.line([(0, 1), (0.5, 1), (0.5, 0.4), (1, 0.4), (1, 0.4)])


def test_an_area_closes() -> None:
    assert CHART.band([(0, 0), (1, 0)], [(0, 1), (1, 1)]).count("L") == 3
