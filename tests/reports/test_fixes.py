"""Fixes in words, curves in plain characters, and a page that stands alone."""

from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import (
    Action,
    Attempt,
    Cause,
    Contact,
    FailureMode,
    Job,
    Outcome,
    Vehicle,
)
from kb.rates.fixes import FixCurve, FixRate, fix_rates
from kb.rates.survival import Interval, Lifetime, product_limit
from kb.rates.trials import Clock
from kb.reports.fix_curve import bar, curve
from kb.reports.fixes import how_counted, unrated_first
from kb.reports.fixes_page import chart, to_html
from kb.services.fixes import FixesAnswer, fixes
from kb.settings import RateSettings, Settings
from tests.job_repairs import repairs_of_jobs


def watched(*lives: Lifetime) -> FixCurve:
    return FixCurve(
        lives=lives,
        steps=product_limit(lives),
        lost=tuple(sorted(life.time for life in lives if not life.failed)),
        end=max(life.time for life in lives),
    )


def test_the_curve_falls_where_cars_came_back() -> None:
    lines = curve(watched(*[Lifetime(45, True)] * 5, *[Lifetime(90, False)] * 5), (90,), Clock.DAYS)
    assert lines[0].startswith("100% ┤" + "─" * 30 + "┐")
    assert any("└" + "─" * 30 in line for line in lines[2:4])
    assert lines[-1].split() == ["10", "10", "5", "5", "watched"]


def test_few_cars_look_like_few_and_the_curve_ends_with_them() -> None:
    lines = curve(watched(Lifetime(15, True), *[Lifetime(30, False)] * 3), (90, 365), Clock.DAYS)
    assert lines[0] == "100% ┤" + "┈" * 10 + "┐"
    assert lines[1] == "     │" + " " * 10 + "└" + "┈" * 10
    assert lines[-2].split() == ["0", "30", "60", "90", "days"]
    assert lines[-1].split() == ["4", "3", "0", "0", "watched"]


def test_a_curve_that_fell_to_nothing_stays_there() -> None:
    held = watched(*[Lifetime(45, True)] * 2)
    assert held.known(90)
    assert curve(held, (90,), Clock.DAYS)[5] == "  0% ┤" + " " * 30 + "└" + "┈" * 30


def test_a_flat_curve_is_one_line_and_says_what_it_rests_on() -> None:
    failed, unheard = Lifetime(0, True), Lifetime(0, False)
    late = watched(failed, unheard, Lifetime(30, False), Lifetime(90, False), Lifetime(400, False))
    (told,) = curve(late, (90, 365), Clock.DAYS)
    assert told == "no car seen to fail after handover; watched: 2 cars 90 days, 1 car 1 year"
    (told,) = curve(watched(failed, Lifetime(30, False)), (4000,), Clock.KM)
    assert told == "no car seen to fail after handover, but none was watched longer than 30 km"
    (told,) = curve(watched(unheard), (90,), Clock.DAYS)
    assert told == "no car seen to fail after handover, but of none is anything known"
    assert curve(watched(failed), (90,), Clock.DAYS) == []


def test_a_flat_curve_does_not_pass_over_cars_that_are_back() -> None:
    (told,) = curve(watched(Lifetime(90, False)), (90,), Clock.DAYS, unjudged=4)
    assert told == (
        "no car known to fail after handover; back and not judged: 4 cars; watched: 1 car 90 days"
    )


def test_little_known_is_a_wide_bar() -> None:
    assert bar(Interval(0, 1), None).count("─") > bar(Interval(0.8, 1), 0.95).count("─")
    assert "●" not in bar(Interval(0, 1), None)


@given(st.lists(st.builds(Lifetime, st.floats(0, 200), st.booleans()), min_size=1, max_size=30))
def test_no_line_is_wider_than_a_screen(lives: list[Lifetime]) -> None:
    for line in curve(watched(*lives), (90, 365), Clock.DAYS):
        assert len(line) <= 76


@pytest.fixture(scope="module")
def answer(demo_store: str) -> FixesAnswer:
    return fixes(demo_store, "seat connector high", Settings(), today=date(2026, 11, 25))


class Reader(HTMLParser):
    """Collects what a page holds, and what it leaves open."""

    def __init__(self) -> None:
        super().__init__()
        self.images: list[str] = []
        self.links: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "svg":
            assert told["role"] == "img"
            self.images.append(told["aria-label"] or "")
        self.links += [told[name] or "" for name in ("src", "href") if name in told]

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_page_stands_alone_and_tells_every_chart_in_words(answer: FixesAnswer) -> None:
    page = Reader()
    page.feed(to_html(answer))
    assert page.links == []
    assert len(page.images) == sum(bool(each.rate.tried) for each in answer.fixes)
    assert all("cured" in told and "%" in told for told in page.images)
    assert page.text.index("Caution") < page.text.index("replaced seat connector")
    assert "cars watched" in page.text


def drawn(answer: FixesAnswer, *lives: Lifetime) -> ET.Element:
    return ET.fromstring(chart(answer, replace(answer.fixes[0], curve=watched(*lives))))


def line(svg: ET.Element, style: str) -> list[tuple[float, float]]:
    """Return the corners of a line."""
    (path,) = [each.get("d") or "" for each in svg.iter("path") if each.get("class") == style]
    pairs = (each.split() for each in path.removeprefix("M").split("L"))
    return [(float(x), float(y)) for x, y in pairs]


def test_a_drawn_curve_is_dashed_from_where_few_are_watched(answer: FixesAnswer) -> None:
    """As at the terminal: the fall of the last car is no sure thing."""
    lives = [*[Lifetime(100, False)] * 3, *[Lifetime(200, True)] * 4, Lifetime(400, True)]
    svg = drawn(answer, *lives)
    solid, dashed = line(svg, "main"), line(svg, "main dashed")
    left, right = solid[0][0], dashed[-1][0]
    assert solid[-1] == dashed[0]
    assert (solid[-1][0] - left) / (right - left) == pytest.approx(200 / 400, abs=0.01)
    assert dashed[-1][1] > dashed[0][1]  # it falls to nothing, dashed
    labels = [each.text for each in svg.iter("text")]
    assert labels[:8] == ["0", "8", "133", "5", "267", "1", "400", "1"]
    assert "dashed" in (svg.get("aria-label") or "")
    few = drawn(answer, *[Lifetime(45, True)] * 2, Lifetime(90, False))
    assert {x for x, _ in line(few, "main")} == {left}  # nothing is surely known of any day


def test_until_when_so_many_are_watched() -> None:
    held = watched(*[Lifetime(100, False)] * 3, *[Lifetime(200, True)] * 4, Lifetime(400, True))
    assert [held.watched_by(cars) for cars in (9, 8, 5, 2, 1)] == [None, 100, 200, 200, 400]


def test_the_curve_goes_on_to_where_the_data_end() -> None:
    lines = curve(watched(Lifetime(205, True), *[Lifetime(360, False)] * 5), (90, 365), Clock.DAYS)
    assert lines[-2].split() == ["0", "120", "240", "360", "days"]
    assert lines[-1].split() == ["6", "6", "5", "5", "watched"]


def test_what_is_counted_apart_is_said(answer: FixesAnswer) -> None:
    plain = replace(answer.fixes[0].rate, repeated=0, mistaken=0, reckoned=0)
    assert how_counted(plain) == ""
    assert how_counted(replace(plain, repeated=1, mistaken=2, reckoned=3)) == (
        "1 tried more than once, how it ended counts, 2 more where the cause proved another, "
        "not counted, km of 3 reckoned from days"
    )


def rated(cars: int) -> FixRate:
    """Rate one fix that so many cars had, all asked after a year later and good."""
    day = date(2024, 1, 1)
    jobs = [
        Job(
            vehicle=Vehicle(ref=f"K{n}"),
            opened=day,
            closed=day,
            complaint="door lock dead",
            cause=Cause(component="door plug", failure_mode=FailureMode.OPEN),
            attempts=(Attempt(action=Action.CLEANED, component="door plug", cured=True),),
            contacts=(Contact(on=date(2025, 3, 1), outcome=Outcome.HELD),),
        )
        for n in range(cars)
    ]
    (rate,) = fix_rates(repairs_of_jobs(jobs), RateSettings())
    return rate


def test_a_first_fix_without_a_rate_of_its_own_says_by_what_it_stands_there() -> None:
    few, many = rated(1), rated(2 * RateSettings().least_known)
    assert (unrated_first(few, 2) or "").startswith("No rate of its own yet: first by")
    assert unrated_first(few, 1) is None  # of one fix there is nothing to be first of
    assert unrated_first(many, 2) is None
