"""What stands beside a value. The words of the trade are common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Stage
from kb.intake.company import Company, said
from kb.intake.company_words import Aspect
from kb.intake.reading_search import find_readings


@pytest.mark.parametrize(
    ("behind", "condition", "stage", "position"),
    [
        ("cranking", "cranking", None, None),
        ("hot idle", "hot idle", None, None),
        ("at 2,000 rpm", "2,000 rpm", None, None),
        ("idle cold", "idle cold", None, None),
        ("after 40 mins", "after 40 mins", None, None),
        ("at rest", "at rest", None, None),
        ("after clean", None, Stage.AFTER_FIX, None),
        ("before", None, Stage.AS_FOUND, None),
        ("with vac off", "with vac off", None, None),
        ("squeals", None, None, None),
    ],
)
def test_what_stands_behind_a_value(
    behind: str, condition: str | None, stage: Stage | None, position: str | None
) -> None:
    line = f"5 bar {behind}"
    told = said(Company(line).after(5, len(line)))
    assert told == (condition, stage, position)


def test_a_side_tells_something_only_beside_its_counterpart() -> None:
    assert said(Company("feed L 12 R 5").before(0, 7)).position == "left"
    assert Company("oil 1.5 L low").after(7, 13) == []
    assert said(Company("feed L 12", alone=True).before(0, 7)).position == "left"


def test_a_part_is_no_side() -> None:
    assert Company("inlet hose 80 outlet hose 35").before(0, 11) == []


@given(
    st.lists(
        st.sampled_from(
            [
                "cold",
                "hot",
                "idle",
                "at",
                "3000",
                "rpm",
                "set",
                "actual",
                "now",
                "5",
                "bar",
                "L",
                "R",
                ",",
            ]
        )
    )
)
def test_chains_lie_beside_their_place_and_tell_each_aspect_once(words: list[str]) -> None:
    line = " ".join(words)
    company = Company(line)
    for place in range(len(line) + 1):
        for chain in (company.before(0, place), company.after(place, len(line))):
            aspects = [each.kind for each in chain]
            assert len(set(aspects)) == len(aspects)
            assert all(0 <= each.start < each.end <= len(line) for each in chain)
            assert all(isinstance(each.kind, Aspect) for each in chain)
        assert all(each.end <= place for each in company.before(0, place))
        assert all(each.start >= place for each in company.after(place, len(line)))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("volt drop 1,8 V before 0,1 V after cured", [("as found", None), ("after the fix", None)]),
        ("volt drop from 1.8 V to 0.1 V, cured", [("as found", None), ("after the fix", None)]),
        ("oil press 40 psi idle 55 2000 rpm", [("as found", "idle"), ("as found", "2000 rpm")]),
        (
            "battery 12,5 V before start 9,2 while cranking 14,4 after",
            [("as found", "before start"), ("as found", "cranking"), ("as found", "after start")],
        ),
        ("Kompression 8 bar trocken 11 bar naß", [("as found", "dry"), ("as found", "wet")]),
        (
            "batterie 12,4 V au repos 9,1 V au démarrage",
            [("as found", "at rest"), ("as found", "cranking")],
        ),
        (
            "napięcie 12,4 V w spoczynku 14,2 V na biegu jałowym",
            [("as found", "at rest"), ("as found", "idle")],
        ),
    ],
)
def test_a_state_behind_a_value_is_of_that_value(
    text: str, told: list[tuple[str, str | None]]
) -> None:
    found = find_readings(text).readings
    assert [(each.stage, each.condition) for each in found] == told
    assert len({each.item for each in found}) == 1


def test_a_unit_told_once_is_of_what_stands_behind_it() -> None:
    found = find_readings("tyre pressure LF 32 psi RF 31 LR 2.2 bar").readings
    assert [round((each.value or 0) / 6894.76) for each in found] == [32, 31, 32]


@pytest.mark.parametrize(
    "when",
    ["before cranking", "prior to cranking", "before crank", "before start", "before starting",
     "vor dem Anlassen", "vor dem Starten", "avant démarrage", "avant de démarrer",
     "przed rozruchem", "after cranking", "after start", "nach dem Anlassen", "po rozruchu",
     "après démarrage"],
)  # fmt: skip
def test_before_and_after_a_start_is_not_cranking(when: str) -> None:
    (reading,) = find_readings(f"battery 12.6 V {when}").readings
    assert reading.condition == when


@pytest.mark.parametrize(
    "line",
    ["battery 12.6 V before crank, 9.4 V during crank, 14.2 V after start",
     "batterie 12,6 V avant démarrage, 9,4 V au démarrage, 14,2 V après démarrage",
     "Batterie 12,6 V vor dem Anlassen, 9,4 V beim Anlassen, 14,2 V nach dem Anlassen",
     "akumulator 12,6 V przed rozruchem, 9,4 V przy rozruchu, 14,2 V po rozruchu"],
)  # fmt: skip
def test_only_the_value_during_the_start_is_cranking(line: str) -> None:
    found = find_readings(line).readings
    assert [each.condition == "cranking" for each in found] == [False, True, False]
    assert all(each.condition for each in found)


@pytest.mark.parametrize("lead", ["before cranking", "prior to cranking", "after cranking"])
def test_a_start_before_the_item_is_no_part_of_it(lead: str) -> None:
    (reading,) = find_readings(f"{lead} battery 12.6 V").readings
    assert (reading.item, reading.condition) != ("cranking battery", None)
    assert "cranking" not in reading.item


@pytest.mark.parametrize(
    ("line", "conditions"),
    [
        ("ground drop 0,4 V sous charge", ["under load"]),
        ("ground drop 0,4 V unter Last", ["under load"]),
        ("ground drop 0,4 V pod obciążeniem", ["under load"]),
        ("ładowanie 13,2 V bez obciążenia, 12,1 V z obciążeniem", ["no load", "under load"]),
        ("Ladespannung 13,2 V ohne Last, 12,1 V unter Last", ["no load", "under load"]),
        ("charge 13,2 V à vide, 12,1 V sous charge", ["no load", "under load"]),
        ("parasitic draw 0,38 A key off, drops to 0,02 A after pulling F22",
         ["key off", "after pulling F22"]),
        ("draw 0.4 A, 20 mA after fuse 22 pulled", [None, "after fuse 22 pulled"]),
        ("Ruhestrom 0,4 A, 0,02 A nach Ziehen von F22", [None, "nach Ziehen von F22"]),
    ],
)  # fmt: skip
def test_a_load_is_kept_in_all_tongues(line: str, conditions: list[str | None]) -> None:
    assert [each.condition for each in find_readings(line).readings] == conditions


@pytest.mark.parametrize(
    "line",
    [
        "comp cyl 3 6 bar, others 12/12.5/11",
        "compression cyl 3 6 bar, other cylinders 12, 12.5, 11",
        "comp cyl 3 6 bar, the other three 12/12.5/11",
        "comp cyl 3 6 bar rest 12 12.5 11",
        "Kompression Zyl 3 6 bar, andere 12/12,5/11",
        "comp. cyl 3 6 bar, les autres 12/12,5/11",
    ],
)
def test_a_row_of_the_others_is_not_counted_from_one(line: str) -> None:
    """Which of the others has which value is not told."""
    found = find_readings(line).readings
    assert [(each.position, each.value) for each in found] == [
        ("cylinder 3", 6e5),
        *(("others", pascals) for pascals in (12e5, 12.5e5, 11e5)),
    ]
