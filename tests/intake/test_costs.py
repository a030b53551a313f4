"""What parts cost, told among the words of a fix."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.costs import find_costs, lift_cost
from kb.intake.findings import find_findings
from kb.intake.single_facts import parse_attempt


@given(st.integers(0, 10_000_000), st.sampled_from(["parts ", "parts cost ", "part: ", "Parts: "]))
def test_what_a_page_prints_is_read_again(cents: int, word: str) -> None:
    cost = cents / 100
    assert lift_cost(f"cured, {word}{cost:,.2f}, 90 min") == (cost, "cured, 90 min")


@pytest.mark.parametrize(
    "text",
    [
        "replaced 2 parts",
        "parts 38 days late",
        "cured, parts 4 V",
        "spare parts 3 km off",
        "parts: 1x disc set",
        "parts 2x drop links",
        "parts: 1 x thermostat",
        "cured, parts 2 pcs",
        "parts 2 drop links, greased",
        "parts: 3 bushes",
    ],
)
def test_what_is_no_cost_stays(text: str) -> None:
    assert lift_cost(text) == (None, text)


def test_a_fix_with_its_cost() -> None:
    attempt = parse_attempt("replaced door loom, cured, parts 38, 90 min")
    assert (attempt.parts_cost, attempt.minutes, attempt.cured) == (38, 90, True)
    assert attempt.component == "door loom"


@given(st.text(max_size=60))
def test_any_text_is_read_in_one_go(text: str) -> None:
    cost, rest = lift_cost(text)
    assert (cost is None) == (rest == text)


@pytest.mark.parametrize(
    ("text", "total"),
    [
        ("new boot €34.50", 34.5),
        ("bearing £89", 89),
        ("pads 212 eur", 212),
        ("water pump 214,00 EUR", 214),
        ("fitted gasket 22.80 + seals 6.40", 29.2),
        ("2 tyres fitted £62 each", 124),
        ("replaced pump 187,-", 187),
        ("belt 18.30+vat fitted", 18.3),
        ("fitted seal 7.45+ vat", 7.45),
    ],
)
def test_costs_are_read_as_people_write_them(text: str, total: float) -> None:
    assert round(sum(cost.total for cost, _ in find_costs(text)), 2) == total


@pytest.mark.parametrize(
    "text",
    [
        "estimate £312.60",
        "ok up to 400 eur",
        "other garage charged £89",
        "new battery 12.65",
        "new sensor, gap 0.70",
        "pump ordered £120",
        "fitted pads £20 each",
        "new fuse 14.20 volts",
    ],
)
def test_what_was_not_paid_for_parts_is_no_cost(text: str) -> None:
    assert find_costs(text) == []


@pytest.mark.parametrize(
    ("text", "total"),
    [
        ("replaced inverter pump, 210.00. ok", 210.0),
        ("bled brakes, 2 bottles @6.50", 13.0),
        ("new condenser 164", 164.0),
        ("2x drop links 23,80 each", 47.6),
        ("fitted ring 16.- and done", 16.0),
        ("clutch kit 189 + dmf 412, 6h", 601.0),
        ("timing chain kit 212 gaskets 41, done", 253.0),
        ("bush kit fitted 31, quiet", 31.0),
        ("new reg pack 38, lamp out", 38.0),
        ("fitted s/h unit 25", 25.0),
        ("replaced hose, road tested ok, 64.50 parts", 64.5),
        ("condenser renewed. 150 min. 189 parts", 189.0),
        ("timing chain kit done, 6.5 h, 312", 312.0),
    ],
)
def test_a_price_may_stand_alone_or_behind_a_new_part(text: str, total: float) -> None:
    assert sum(cost.total for cost, _ in find_costs(text)) == pytest.approx(total)


@pytest.mark.parametrize(
    "text",
    [
        *("fitted, batt, 12.65, ok", "cleaned, 5.10, 4.90, 6.20 bar", "new battery 70"),
        *("new coil 3", "replaced disc 22", "replaced fuse 22", "thermostat 82 fitted"),
        "fitted 11,50 V",
        "replaced pads, 4 parts",
        "replaced pump, 2 h, 2019",
        "replaced joint, 1 hr 45",
    ],
)
def test_what_was_measured_or_numbered_is_no_price(text: str) -> None:
    assert find_costs(text) == []


@given(st.dates(), st.sampled_from(["came back", "again on", "held till", "customer rang"]))
def test_a_day_on_which_a_car_was_heard_of_is_no_price(day: date, heard: str) -> None:
    for written in (f"{day:%d.%m}", f"{day:%d.%m.}"):
        assert find_costs(f"replaced pump, {heard} {written}, noisy") == []


def test_behind_a_part_the_same_numbers_are_its_price() -> None:
    assert [cost.total for cost, _ in find_costs("fitted gasket 14.11.")] == [14.11]


@pytest.mark.parametrize("line", ["new stat, rad 92 C top 41 C", "new hose, valve 85 psi back 40"])
def test_a_number_with_a_unit_behind_a_part_is_no_price(line: str) -> None:
    assert find_costs(line) == []


_AS_WRITTEN = st.sampled_from(
    [
        *("{0}{1}{2:02}", "€{0}{1}{2:02}", "{0}{1}{2:02} €", "{0}{1}{2:02}€", "{0}{1}{2:02} eur"),
        *("parts {0}{1}{2:02}", "{0}{1}{2:02} + vat", "£{0}{1}{2:02}", "{0}{1}{2:02} zł"),
    ]
)
_PARTS_RENEWED = [
    *("replaced alternator", "new alternator", "fitted recon window motor"),
    *("condenser replaced", "repaired loom", "fitted new pump"),
]


@given(
    st.sampled_from(_PARTS_RENEWED),
    st.sampled_from([" ", ", ", "; "]),
    _AS_WRITTEN,
    st.integers(17, 9_999),
    st.sampled_from(",."),
    st.integers(0, 99),
    st.sampled_from([("1.5 h", 90), ("1,5 h", 90), ("90 min", 90), ("2h", 120), ("45 mins", 45)]),
    st.booleans(),
)
def test_a_price_beside_a_time_is_read_whole_or_not_at_all(
    fix: str,
    joint: str,
    written: str,
    whole: int,
    point: str,
    cents: int,
    labour: tuple[str, int],
    time_first: bool,
) -> None:
    money = written.format(whole, point, cents)
    told, minutes = labour
    line = joint.join([fix, told, money] if time_first else [fix, money, told])
    [attempt] = find_findings(line, date(2026, 11, 26)).attempts
    assert attempt.parts_cost in (None, float(f"{whole}.{cents:02}"))
    assert attempt.minutes in (None, minutes)


@pytest.mark.parametrize(
    ("line", "total"),
    [
        ("new alternator 189,90 1.5 h", 189.9),
        ("replaced alternator 189,90 € 1.5 h", 189.9),
        ("replaced alternator 90 min 189,90", 189.9),
        ("replaced alternator; 189.90; 90 min", 189.9),
        ("fitted new alternator, parts 1.189,90, 2h", 1189.9),
        ("fitted new alternator 1.189,90 1,5 h", 1189.9),
        ("fitted new alternator, 189.90 + vat", 189.9),
    ],
)
def test_a_price_with_cents_beside_a_time(line: str, total: float) -> None:
    [attempt] = find_findings(line, date(2026, 11, 26)).attempts
    assert attempt.parts_cost == total
    assert attempt.component == "alternator"


@pytest.mark.parametrize(
    "text",
    [
        "no fault found, 1 hr diag $120",
        "labour £75",
        "£75 labour",
        "Arbeitszeit: 75 €",
        "starter fitted, cust supplied part, £75",
        "road tested, no parts, £60",
        "towing fee 60 €",
    ],
)
def test_what_work_costs_is_no_part(text: str) -> None:
    assert find_costs(text) == []


def test_parts_beside_labour_are_a_cost() -> None:
    assert [cost.total for cost, _ in find_costs("new hose £38, labour £75")] == [38.0]


@pytest.mark.parametrize(
    ("text", "total"),
    [
        ("new discs and pads 62+38 eur", 100),
        ("new coil 62 + 38 eur", 100),
        ("replaced pump, 62€+38€", 100),
        ("replaced pump, £62+£38", 100),
        ("replaced pump, parts 62+38+12.50 eur", 112.5),
        ("replaced pump, parts: 62+38", 100),
        ("replaced pump, 62 plus 38 eur", 100),
        ("parts 62,50+38,40 eur, 45+30 min", 100.9),
    ],
)
def test_what_a_plus_joins_is_one_cost(text: str, total: float) -> None:
    assert [cost.each for cost, _ in find_costs(text)] == [total]


@pytest.mark.parametrize(
    "text",
    [
        "labour 62+38 eur",
        "62+38 eur labour",
        "new pump, 12+5 V",
        "new hose, 62+38",
        "quoted 62+38 eur",
    ],
)
def test_other_sums_are_no_cost_of_parts(text: str) -> None:
    assert find_costs(text) == []


def test_an_amount_below_nought_is_no_cost() -> None:
    assert not find_costs("repaired horn, cost -5 eur")


@pytest.mark.parametrize(
    "line",
    [
        "if P0335 comes back do the sensor 41 quid",
        "if it comes back fit a coil, 60 eur",
        "next time change the pump, 90 eur",
    ],
)
def test_what_may_be_done_later_costs_nothing_yet(line: str) -> None:
    assert find_costs(line) == []
