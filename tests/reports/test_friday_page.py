"""The foreman's page: one file, marked up, with what decides first."""

import re
from dataclasses import replace
from datetime import date
from xml.etree import ElementTree as ET

import pytest

from kb.recurrence.pattern import AlertLevel
from kb.reports.friday_page import MOST_NAMED, summary, to_html
from kb.reports.recurring import seen_last
from kb.reports.stock import MOST_PARTS
from kb.services.evaluate import evaluate
from kb.services.friday import Friday, friday
from kb.services.stock import stock
from kb.settings import Settings

TODAY = date(2026, 11, 1)


@pytest.fixture(scope="module")
def found(demo_store: str) -> Friday:
    return friday(demo_store, Settings(), today=TODAY)


@pytest.fixture(scope="module")
def written(found: Friday) -> str:
    return to_html(found)


def body(text: str) -> ET.Element:
    return ET.fromstring(text[text.index("<body>") : text.index("</html>")])


def test_it_stands_alone(written: str) -> None:
    assert not re.search(r"https?:|src=|href=|@import|url\(|<script", written)


def test_cautions_come_before_any_fact_and_what_to_do_first_in_it(written: str) -> None:
    parts = [(each.tag, each.get("class")) for each in body(written)]
    first = next(place for place, (tag, _) in enumerate(parts) if tag == "h2")
    cautions = [place for place, (_, kind) in enumerate(parts) if kind == "caution"]
    assert cautions
    assert max(cautions) < first
    assert parts[first + 1] == ("p", "do")
    assert max(cautions) < min(n for n, part in enumerate(parts) if part == ("p", None))


def test_every_fact_tells_of_which_days_it_is(found: Friday, written: str) -> None:
    for fact in found.scan.facts:
        window = fact.pattern.counts.window
        assert f"{window.since} to {window.until}: " in written


def test_what_is_to_be_acted_on_is_named_before_all_else(found: Friday) -> None:
    acts = [f.pattern for f in found.scan.facts if f.pattern.level is AlertLevel.ACT]
    told = list(summary(found))
    for fact in acts[:MOST_NAMED]:
        assert f"{fact.group}: {fact.fault} (to act on)." in told


def test_what_was_spent_for_nothing_is_never_told_as_more(found: Friday) -> None:
    assert found.by_fix.whole
    for minutes, hours in ((6645, "110 hours"), (59, "0 hours"), (120, "2 hours")):
        whole = replace(found.by_fix.whole, minutes=minutes, parts_cost=10.9)
        told = " ".join(summary(replace(found, by_fix=replace(found.by_fix, whole=whole))))
        assert f"at least {hours} and parts for 10, " in told


def test_rows_of_one_car_alone_are_named_below_their_table(found: Friday) -> None:
    first, *rest = (replace(each, cars=2) for each in found.by_fix.rows)
    one = replace(first, what="bent rod", cars=1, jobs=(1, 2))
    text = to_html(replace(found, by_fix=replace(found.by_fix, rows=(one, *rest))))
    assert "bent rod (" not in text
    assert "<p>Back and vain are of one car alone: bent rod.</p>" in text


def test_every_fact_is_told_with_its_chart_and_all_its_jobs(found: Friday, written: str) -> None:
    charts = [each.get("aria-label") or "" for each in body(written).iter("svg")]
    assert sum("month by month" in each for each in charts) == len(found.scan.facts)
    for fact in found.scan.facts:
        assert fact.pattern.group in written
        for number in fact.pattern.jobs:
            assert f"#{number}" in written


def test_the_fixes_of_the_first_facts_are_drawn_to_the_end_of_what_is_known(
    found: Friday, written: str
) -> None:
    charts = [each.get("aria-label") or "" for each in body(written).iter("svg")]
    drawn = [each for each in charts if each.startswith("Share of cars still good after ")]
    assert found.fixes
    for place, answer in found.fixes.items():
        assert answer.cause.component == found.scan.facts[place].pattern.component
        best = next(each for each in answer.fixes if each.rate.tried and each.curve.end > 0)
        assert any(f"after {best.rate.label}: " in each for each in drawn)
    assert len(charts) == len(found.scan.facts) + len(drawn) + len(found.readings)


def test_the_cause_that_the_text_names_is_the_one_that_is_drawn(
    found: Friday, written: str
) -> None:
    for place, answer in found.fixes.items():
        named = found.scan.facts[place].countermeasures.cause
        assert f"In the whole shop, for {named}:" in written
        assert f"How it held: {named}, on all cars" in written
        assert answer.cause.label == named


def test_parts_are_told_as_kb_stock_does(found: Friday, demo_store: str, written: str) -> None:
    assert found.stock == stock(demo_store, until=TODAY)
    (table,) = [
        each
        for each in body(written).iter("table")
        if "two years" in (each.findtext("caption") or "")
    ]
    first = found.stock.parts[0]
    cells = [["".join(cell.itertext()) for cell in row] for row in table.iter("tr")]
    assert cells[1][0] == first.part
    assert cells[1][1] == " ".join(map(str, first.counts[-4:]))
    assert cells[1][2] == str(sum(first.in_vain[-4:]))
    assert len(cells) == 1 + MOST_PARTS


def test_good_and_bad_readings_are_drawn_about_their_band(found: Friday, written: str) -> None:
    charts = [each for each in body(written).iter("svg") if "crosses" in each.get("aria-label", "")]
    assert len(charts) == len(found.readings) > 0
    for chart, spread in zip(charts, found.readings, strict=True):
        assert len(list(chart.iter("circle"))) == len(spread.good)
        (crosses,) = [each for each in chart.iter("path") if each.get("class") == "other"]
        assert (crosses.get("d") or "").count("M") == len(spread.bad)
        assert sum(each.get("class") == "band" for each in chart.iter("path")) == 1
        for one in spread.bad:
            assert f"#{one.job}" in written
    assert set(found.cautions) <= {
        (each.findtext("strong") and "".join(each.itertext()).removeprefix("Caution: "))
        for each in body(written)
        if each.get("class") == "caution"
    }


def test_a_chart_of_fixes_or_readings_stands_under_what_is_told_of_it(
    found: Friday, written: str
) -> None:
    figures = list(body(written).iter("figure"))
    charts = [each.find("svg") for each in figures]
    assert all(each.findtext("figcaption") for each in figures)
    assert None not in charts
    assert len(charts) == len(list(body(written).iter("svg"))) - len(found.scan.facts)


def test_whether_chances_hold_is_drawn_where_past_jobs_were_asked_again(
    found: Friday, demo_store: str
) -> None:
    asked = evaluate(demo_store, Settings(), since=date(2026, 10, 15), baselines=False)
    assert "asked-again" in to_html(found)
    text = to_html(replace(found, evaluation=asked))
    assert "asked-again" not in text
    assert "What came true over the chance said" in text


def test_months_add_up_to_what_is_told(found: Friday) -> None:
    for fact in found.scan.facts:
        whole = fact.pattern.all_time or fact.pattern.counts
        assert sum(each.vehicles for each in fact.pattern.months) == whole.observed
        assert sum(each.vehicles for each in fact.pattern.years) == whole.observed


def test_tables_have_headings_of_columns_and_rows(written: str) -> None:
    tables = list(body(written).iter("table"))
    assert len(tables) == 4
    for each in tables:
        heads = [cell for cell in each.iter("th") if cell.get("scope") == "col"]
        rows = [row for row in each.iter("tr") if row.get("class") != "head"]
        assert rows
        for row in rows:
            assert len(list(row)) == len(heads)
            assert row[0].get("scope") == "row"


def test_an_empty_store_has_a_page_too(empty_store: str) -> None:
    text = to_html(friday(empty_store, Settings(), today=TODAY))
    assert "no closed job" in text
    assert body(text) is not None


def test_cars_to_call_are_named_by_their_last_jobs(found: Friday, written: str) -> None:
    for fact in (each.pattern for each in found.scan.facts):
        assert len(fact.spared_jobs) == fact.spared
        assert (seen_last(fact)[1:] in written) is (fact.level is AlertLevel.ACT)
