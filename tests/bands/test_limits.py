"""Tables of limits: the trade's, and the shop's own."""

from pathlib import Path

import pytest

from kb.bands.limits import LIMITS_FILE, Limit, Worse, find_limit, read_limits, trade_limits
from kb.case import Quantity, Reading, Vehicle
from kb.errors import InvalidField, UnreadableFile
from tests.bands.circuits import LIDO, WORDS


def limit_for(
    item: str, quantity: Quantity, vehicle: Vehicle = LIDO, condition: str | None = None
) -> Limit | None:
    asked = Reading(item=item, quantity=quantity, typed="1", value=1.0, condition=condition)
    return find_limit(asked, vehicle, trade_limits(), WORDS).line


# Items that the table must have a line for: each asked for by the trade. Figures: see the sources
# in the table; "common practice, no source" is said there where it is so.
@pytest.mark.parametrize(
    ("item", "quantity", "least", "most"),
    [
        ("voltage drop, battery positive to starter", Quantity.VOLTAGE, None, 0.4),
        ("voltage drop, engine to battery negative", Quantity.VOLTAGE, None, 0.2),
        ("charging voltage", Quantity.VOLTAGE, 13.5, 14.7),
        ("resting battery voltage", Quantity.VOLTAGE, 12.4, 13.0),
        ("parasitic current", Quantity.CURRENT, None, 0.05),
        ("compression spread", Quantity.PROPORTION, None, 25.0),
        ("long term fuel trim at idle", Quantity.PROPORTION, -10.0, 10.0),
        ("tyre tread depth", Quantity.LENGTH, 0.003, None),
        ("brake pad thickness", Quantity.LENGTH, 0.003, None),
        ("coolant temperature hot", Quantity.TEMPERATURE, 80.0, 105.0),
        ("driver airbag circuit", Quantity.RESISTANCE, None, None),
        ("pretensioner", Quantity.RESISTANCE, None, None),
        ("starter circuit voltage drop", Quantity.VOLTAGE, None, 0.4),
        ("alternator ripple", Quantity.VOLTAGE, None, 0.5),
        ("bus termination", Quantity.RESISTANCE, 50.0, 65.0),
        ("can termination resistance", Quantity.RESISTANCE, 50.0, 65.0),
        ("brake fluid water content", Quantity.PROPORTION, None, 2.0),
        ("brake fluid boiling point", Quantity.TEMPERATURE, 180.0, None),
    ],
)
def test_the_trade_has_a_line(
    item: str, quantity: Quantity, least: float | None, most: float | None
) -> None:
    limit = limit_for(item, quantity)
    assert limit is not None
    assert (limit.least, limit.most) == (least, most)
    assert limit.source
    assert not limit.own


@pytest.mark.parametrize(
    ("item", "quantity"),
    [
        ("high voltage battery voltage", Quantity.VOLTAGE),
        ("key fob battery voltage", Quantity.VOLTAGE),
        ("inverter coolant temperature", Quantity.TEMPERATURE),
        ("front airbag sensor", Quantity.RESISTANCE),
        ("charging voltage", Quantity.CURRENT),
    ],
)
def test_what_only_sounds_alike_has_none(item: str, quantity: Quantity) -> None:
    assert limit_for(item, quantity) is None


def test_a_drop_somewhere_has_a_direction_but_no_figure() -> None:
    limit = limit_for("voltage drop, door harness", Quantity.VOLTAGE)
    assert limit is not None
    assert (limit.says_a_figure, limit.worse) == (False, Worse.HIGH)


def test_every_line_of_the_trade_reads_and_names_its_source() -> None:
    assert all(limit.source.strip() and limit.items for limit in trade_limits())
    assert LIMITS_FILE.read_text(encoding="utf-8").count("[[limit]]") == len(trade_limits())


def test_sides() -> None:
    limit = Limit(items=("x",), quantity=Quantity.VOLTAGE, source="s", least=13.5, most=14.7)
    assert [limit.side_of(value) for value in (13.4, 13.5, 14.7, 14.8)] == [
        Worse.LOW,
        None,
        None,
        Worse.HIGH,
    ]


OWN = """
[[limit]]
items = ["pretensioner"]
quantity = "resistance"
least = "1R8"
most = "2.6 ohm"
make = "Corvane"
source = "workshop folder, page 12"
"""


def test_an_own_figure_goes_before_the_trades_on_its_make_only(tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    file.write_text(OWN, encoding="utf-8")
    table = (*trade_limits(), *read_limits(file, own=True))
    asked = Reading(item="pretensioner", quantity=Quantity.RESISTANCE, typed="2", value=2.0)
    own = find_limit(asked, LIDO, table, WORDS).line
    assert own is not None
    assert (own.own, own.least, own.most) == (True, 1.8, 2.6)
    other = find_limit(asked, Vehicle(make="Sunato"), table, WORDS).line
    assert other is not None
    assert not other.own


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ('source = "workshop folder, page 12"', "source"),
        ('items = ["pretensioner"]', "items"),
        ('quantity = "resistance"', "quantity"),
    ],
)
def test_a_line_without_what_it_needs_is_refused(tmp_path: Path, change: str, field: str) -> None:
    file = tmp_path / "own.toml"
    file.write_text(OWN.replace(change, ""), encoding="utf-8")
    with pytest.raises(InvalidField, match=field):
        read_limits(file)


@pytest.mark.parametrize(
    "line",
    [
        'most = "2.6 V"',
        'most = "many"',
        'worse = "sideways"',
        "colour = 1",
        "items = 3",
        "make = 7",
    ],
)
def test_what_cannot_be_read_is_named(tmp_path: Path, line: str) -> None:
    name = line.split(" ", maxsplit=1)[0]
    kept = [each for each in OWN.splitlines() if not each.startswith(name)]
    file = tmp_path / "own.toml"
    file.write_text("\n".join([*kept, line]), encoding="utf-8")
    with pytest.raises(InvalidField, match=name):
        read_limits(file)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('least = "3 ohm"', "least: '3 ohm' is more than most = '2.6 ohm'; turn them round"),
        ('bad_below = "2 ohm"', "bad_below: '2 ohm' is more than least = '1R8'"),
        ('bad_above = "2.5 ohm"', "most: '2.6 ohm' is more than bad_above = '2.5 ohm'"),
        ('bad_above = "OL"', "bad_above: 'OL' is no figure"),
        ("least = 0x" + "f" * 5000, "is no TOML"),
        ("least = " + "9" * 4000, "has no unit that is known; write it as 2.3 V"),
        ("[[limits]]", "limits: [{}] belongs to no line; begin each with [[limit]]"),
    ],
)
def test_figures_that_would_be_read_wrong_are_refused_with_their_place(
    tmp_path: Path, line: str, says: str
) -> None:
    name = line.split(" ", maxsplit=1)[0]
    kept = [each for each in OWN.splitlines() if not each.startswith(name)]
    file = tmp_path / "own.toml"
    file.write_text(OWN + "\n".join([*kept, line]), encoding="utf-8")
    with pytest.raises((InvalidField, UnreadableFile)) as caught:
        read_limits(file)
    told = str(caught.value)
    assert says in told
    assert str(file) in told
    assert len(told) < 400
    if not says.startswith(("is no TOML", "limits")):
        assert "limit 2: " in told


@pytest.mark.parametrize("text", ["[[limit", "limit = 3"])
def test_a_broken_file_is_told(tmp_path: Path, text: str) -> None:
    file = tmp_path / "own.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises((UnreadableFile, InvalidField), match="limit"):
        read_limits(file)
    with pytest.raises(UnreadableFile, match="cannot be read"):
        read_limits(tmp_path / "missing.toml")


def test_a_file_nested_too_deep_is_told(tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    file.write_text("items = " + "[" * 50_000)
    with pytest.raises(UnreadableFile, match=r"limits: .*no TOML"):
        read_limits(file)
