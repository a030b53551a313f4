from contextlib import suppress

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kb.bounds import CODE_PATTERN, FAILURE_TYPE_PATTERN
from kb.case import CodeStatus, System, TroubleCode
from kb.errors import InvalidField
from kb.intake.code_areas import AREAS, Origin, area_of, origin_of
from kb.intake.codes import facts, find_codes, parse_code
from kb.intake.lifting import Place

codes = st.builds(
    TroubleCode,
    code=st.from_regex(CODE_PATTERN, fullmatch=True),
    failure_type=st.none() | st.from_regex(FAILURE_TYPE_PATTERN, fullmatch=True),
    status=st.none() | st.sampled_from(CodeStatus),
)


def typed(code: TroubleCode) -> str:
    return f"{code} {code.status}" if code.status else str(code)


@given(codes)
def test_a_printed_code_is_read_back(code: TroubleCode) -> None:
    assert parse_code(typed(code)) == code
    assert parse_code(typed(code).lower()) == code
    assert parse_code(str(code).replace("0", "O")).code == code.code


@given(codes)
def test_a_printed_code_is_found_in_talk(code: TroubleCode) -> None:
    found = find_codes(f"lamp on, {code}, rough at idle")
    assert [str(each) for each in found.codes] == [str(code)]
    assert (found.rest, found.doubtful) == ("lamp on, rough at idle", ())


@given(st.text(max_size=80))
@example("B1234 ")
@example("P0171-\N{COMBINING ACUTE ACCENT}")
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(InvalidField):
        assert parse_code(text).code
    found = find_codes(text)
    if not found.codes:
        assert found.rest == text.strip()


@given(st.lists(codes, max_size=5), st.text("PCBU0123459AFO /-,.()x", max_size=40))
def test_nothing_is_found_twice(some: list[TroubleCode], noise: str) -> None:
    found = find_codes(" ".join([*map(typed, some), noise]))
    names = [str(code) for code in found.codes]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    ("text", "code", "status"),
    [
        ("p0171", "P0171", None),
        ("PO171", "P0171", None),
        ("P 0171", "P0171", None),
        ("P-0171", "P0171", None),
        ("b1234 13", "B1234-13", None),
        ("B1234:13", "B1234-13", None),
        ("B1234 (13)", "B1234-13", None),
        ("b123413", "B1234-13", None),
        ("B1234\N{EN DASH}13", "B1234-13", None),
        ("DTC P0420", "P0420", None),
        ("code: P0420", "P0420", None),
        ("B1234-13 stored", "B1234-13", CodeStatus.STORED),
        ("P0171 (pending)", "P0171", CodeStatus.PENDING),
        ("P0171 active", "P0171", CodeStatus.CURRENT),
    ],
)
def test_what_people_type(text: str, code: str, status: CodeStatus | None) -> None:
    read = parse_code(text)
    assert (str(read), read.status) == (code, status)


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        ("0171", "write P0171, C0171, B0171 or U0171"),
        ("P171", "has 3 digits after its letter"),
        ("P01711", "has 5 digits after its letter"),
        ("P4171", "where only 0 to 3 occur"),
        ("X0171", "does not start with P, C, B or U"),
        ("P0171/P0174", "more than one code"),
        ("P0171 lean", "is no trouble code"),
        ("", "is no trouble code"),
    ],
)
def test_a_refusal_names_the_cure(text: str, cure: str) -> None:
    with pytest.raises(InvalidField, match="code: ") as refused:
        parse_code(text)
    assert cure in str(refused.value)


@pytest.mark.parametrize(
    ("text", "expected", "rest"),
    [
        ("P0171/P0174", "P0171 P0174", ""),
        ("codes P0171, P0174 and P0300", "P0171 P0174 P0300", ""),
        ("C0035/0040", "C0035 C0040", ""),
        ("ABS/C0035", "C0035", "ABS"),
        ("P0301 to P0304", "P0301 P0302 P0303 P0304", ""),
        ("P0309 to P0311 misfires", "P0309 P0310 P0311", "misfires"),
        ("P030E thru P0310", "P030E P030F P0310", ""),
        ("P0301-13", "P0301-13", ""),
        ("P0301 10 times", "P0301", "10 times"),
        ("P0171 12.6V", "P0171", "12.6V"),
        ("P0171 12 V at sensor", "P0171", "12 V at sensor"),
        ("p0420 o2 sensor", "P0420", "o2 sensor"),
        ("lamp on (P0171) since Monday", "P0171", "lamp on since Monday"),
        ("P0171. Lamp on", "P0171", "Lamp on"),
        ("Lamp on, P0AA6. Was dry.", "P0AA6", "Lamp on. Was dry."),
        ("fault code: P0171", "P0171", ""),
        ("P0171-misfire", "P0171", "misfire"),
        ("P 0171 lean", "P0171", "lean"),
        ("raw 0x012700", "P0127-00", "raw"),
        ("P0171 current draw 4 A", "P0171", "current draw 4 A"),
    ],
)
def test_codes_in_talk(text: str, expected: str, rest: str) -> None:
    found = find_codes(text)
    assert [str(code) for code in found.codes] == expected.split()
    assert (found.rest, found.doubtful) == (rest, ())


@pytest.mark.parametrize(
    "text",
    [
        "fitted 4H0B1234C",
        "part no 5P0171B",
        "part number P1234",
        "campaign B2131",
        "recall no. C0123 done",
        "B123457",
        "B1234-13C",
        "0x0143",
        "P171",
        "P4171",
        "C0035/40",
        "page B1234",
        "no P0300",
        "connector C0912",
        "0335",
        "X0171",
        "P00420",
    ],
)
def test_what_only_looks_like_a_code_is_reported(text: str) -> None:
    found = find_codes(text)
    assert (found.codes, found.rest, len(found.doubtful)) == ((), text, 1)


@pytest.mark.parametrize(
    "text",
    ["COCOA on the seat", "c 2012 lido", "C220", "BOILED over", "1G4AH59H45P018341", "P 0350 bar"],
)
def test_what_is_no_code_passes_in_silence(text: str) -> None:
    found = find_codes(text)
    assert (found.codes, found.rest, found.doubtful) == ((), text, ())


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("P0l71", "P0171"),
        ("PO3OO stored", "P0300"),
        ("P0S07", "P0507"),
        ("81201-1B in srs", "B1201-1B"),
        ("U3OO3-I6", "U3003-16"),
        ("PP0420", "P0420"),
        ("P 0 3 0 0", "P0300"),
        ("P01 71", "P0171"),
        ("P-03-35", "P0335"),
        ("P0AA6-526", "P0AA6"),
    ],
)
def test_a_slip_is_put_right_and_said(text: str, expected: str) -> None:
    found = find_codes(text)
    assert [str(code) for code in found.codes] == [expected]
    assert [doubt.why for doubt in found.doubtful] == [f"is read as {expected}"]
    assert found.refused == ()


@pytest.mark.parametrize(
    ("text", "expected", "asked"),
    [
        ("P0016/17/18", "P0016 P0017 P0018", 0),
        ("P0171/174", "P0171 P0174", 0),
        ("P0300, 0301 and 0304", "P0300 P0301 P0304", 0),
        ("P0300 301 303", "P0300 P0301 P0303", 0),
        ("P0335 900 ohm", "P0335", 0),
        ("P0171, 2004", "P0171", 0),
        ("B0028/1B", "B0028-1B", 0),
        ("P0562/16", "P0562", 1),
        ("P0171/2", "P0171", 1),
        ("P0301/2/3", "P0301 P0302 P0303", 2),
        ("P0301,02,03 not 4", "P0301 P0302 P0303", 2),
        ("P0301, 12 V", "P0301", 0),
        ("pO2O1-4", "", 1),
        ("PO3OI", "P0301", 1),
        ("unit no. C1042, P0087", "P0087", 1),
        ("codes 0171 0174 in ecu", "", 2),
        ("P0301-P0304", "P0301 P0304", 1),
        ("P0011 thru 14", "P0011 P0014", 1),
        ("U0100 87", "U0100-87", 0),
        ("P0562 16", "P0562", 1),
        ("P0299 12V", "P0299", 0),
        ("P0171P0174", "P0171 P0174", 0),
        ("codeP0420cat", "P0420", 0),
        ("COILS and COIL2 at POS12", "", 0),
        ("B1S2 dead", "", 0),
        ("pee oh three oh four", "", 1),
    ],
)
def test_codes_in_company(text: str, expected: str, asked: int) -> None:
    found = find_codes(text)
    assert [str(code) for code in found.codes] == expected.split()
    assert len(found.doubtful) == asked


SLIPS = {"0": "0Oo", "1": "1IilL", "5": "5Ss"}


@given(codes, st.data())
def test_a_slip_keeps_its_place_and_its_code(code: TroubleCode, data: st.DataObject) -> None:
    name, at = str(code), data.draw(st.integers(1, 4))
    slip = name[:at] + data.draw(st.sampled_from(SLIPS.get(name[at], name[at]))) + name[at + 1 :]
    found = find_codes(f"lamp on, {slip} at idle")
    for each, (start, end) in zip(found.codes, found.places, strict=True):
        assert (str(each), start, end) == (name, 9, 9 + len(name))
    assert found.codes or found.doubtful or sum(map(str.isdigit, slip[1:5])) < len("17")


@given(
    st.lists(
        st.sampled_from(
            ["P0171", "B1234-13", "U0100", "87", "174", "/17", "-P0175", "to", "codes:", "P0l71"]
        )
    )
)
def test_places_cut_out_what_was_typed(words: list[str]) -> None:
    text = " ".join(words)
    found = find_codes(text)
    assert len(found.places) == len(found.codes)
    for code, (start, end) in zip(found.codes, found.places, strict=True):
        typed = text[start:end]
        if len(typed.split()) == 1 and typed[0] == "P":
            assert parse_code(typed).code == code.code
    assert all(text[slice(*doubt.place)] == doubt.text for doubt in found.doubtful if doubt.place)


def test_a_loose_number_that_may_be_a_failure_type_is_asked_about() -> None:
    found = find_codes("B1234 13 airbag lamp on")
    assert [str(code) for code in found.codes] == ["B1234"]
    assert "write B1234-13" in str(found.doubtful[0])


@pytest.mark.parametrize(
    ("text", "statuses"),
    [
        ("P0171/P0174 stored", ["stored", "stored"]),
        ("U0100-00 current, U0121-00 stored", ["current", "stored"]),
        ("stored codes P0171, P0174", ["stored", "stored"]),
        ("pending P0420", ["pending"]),
        ("P0171 current", ["current"]),
        ("P0171 (history)", ["stored"]),
        ("P0171 active grille", [None]),
    ],
)
def test_status_beside_a_code(text: str, statuses: list[str | None]) -> None:
    assert [code.status for code in find_codes(text).codes] == statuses


def test_facts_in_words() -> None:
    assert facts(parse_code("P0AA6")).words == "powertrain, standard: hybrid and electric drive"
    assert facts(parse_code("C1234-F1")).words == (
        "chassis, maker-defined; failure type: maker-defined"
    )
    assert facts(parse_code("U3100")).words == "network, reserved"


# Meanings: public lists of the standard's codes; P0648 is the immobiliser's lamp in all of them.
@pytest.mark.parametrize(
    ("code", "words", "system"),
    [
        ("U3003", "battery voltage", System.CHARGING_STARTING),
        ("P2457", "recirculation cooler", System.EXHAUST),
        ("P242F", "particle filter", System.EXHAUST),
        ("P244A", "particle filter", System.EXHAUST),
        ("P2600", "coolant pump", System.COOLING),
        ("P2603", "coolant pump", System.COOLING),
        ("P0645", "air-conditioning clutch", System.CLIMATE),
        ("P0647", "air-conditioning clutch", System.CLIMATE),
        ("P0648", "immobiliser lamp", System.BODY_ELECTRICS),
        ("P204F", "urea", System.EXHAUST),
        ("P20EE", "NOx catalyst", System.EXHAUST),
        ("P229F", "NOx sensor", System.EXHAUST),
        ("P0401", "recirculation", None),
        ("P0456", "fuel vapour", None),
    ],
)
def test_areas_of_a_days_work(code: str, words: str, system: System | None) -> None:
    area = area_of(code)
    assert area is not None
    assert words in area.words
    assert area.system is system


def test_the_table_of_areas_is_sound() -> None:
    for first, last, words, _ in AREAS:
        assert CODE_PATTERN.fullmatch(first)
        assert CODE_PATTERN.fullmatch(last)
        assert first[0] == last[0]
        assert first <= last
        assert words
        assert origin_of(first) is origin_of(last) is Origin.STANDARD
        assert area_of(first) is not None


@pytest.mark.parametrize("text", ["Lido 1.4 p 2012", "1,6 P 2009 no crank", "2.0 p 2021"])
def test_petrol_and_a_year_are_no_code(text: str) -> None:
    assert find_codes(text).codes == ()


@pytest.mark.parametrize(
    ("text", "there"),
    [
        ("{} gone, now P0340 instead", ["P0340"]),
        ("{} no longer there", []),
        ("{} and P0174 gone", []),
        ("codes now clear, was {}", []),
        ("was {}, now P0340", ["P0340"]),
        ("{} cleared, did not come back; P0300 still there", ["P0300"]),
        ("{} gone and hasn't come back", []),
        ("P0340 stored, {} did not return", ["P0340"]),
    ],
)
@pytest.mark.parametrize("code", ["P0335", "u0100-87"])
def test_a_code_that_is_gone_is_asked_about(code: str, text: str, there: list[str]) -> None:
    found = find_codes(text.format(code))
    assert [each.code for each in found.codes] == there
    assert code in [doubt.text for doubt in found.refused]


@pytest.mark.parametrize(
    "text",
    [
        "code was {}, crank sensor dead",
        "{} cleared",
        "cleared {}, came back",
        "{} gone then back again",
        "{} gone to pending",
        "{} stored, noise gone",
    ],
)
def test_a_code_that_is_there_is_taken_beside_what_is_gone(text: str) -> None:
    assert [each.code for each in find_codes(text.format("P0335")).codes] == ["P0335"]


def test_a_code_that_a_fix_made_go_was_there() -> None:
    text = "P0340 gone; replaced crank sensor, P0335 gone"
    found = find_codes(text, [Place(text.index("replaced"), len(text))])
    assert [each.code for each in found.codes] == ["P0335"]
    assert [doubt.text for doubt in found.refused] == ["P0340"]


@pytest.mark.parametrize(
    "line",
    [
        "re-read P0420 no history, first trip",
        "P0420 not in memory",
        "P0171 not logged",
        "P0171 no longer stored",
    ],
)
def test_a_code_that_is_said_not_to_be_there_is_none(line: str) -> None:
    assert find_codes(line).codes == ()


@pytest.mark.parametrize("line", ["P0420, no history of work", "P0420 current", "P0420 history"])
def test_what_only_looks_like_it_is_one(line: str) -> None:
    assert [each.code for each in find_codes(line).codes] == ["P0420"]


@pytest.mark.parametrize(
    ("text", "code"), [("scan U 0 1 4 0", "U0140"), ("c 0 0 3 5 stored", "C0035")]
)
def test_a_code_typed_digit_by_digit_is_read_and_said(text: str, code: str) -> None:
    found = find_codes(text)
    assert [each.code for each in found.codes] == [code]
    assert [doubt.why for doubt in found.doubtful] == [f"is read as {code}"]


@pytest.mark.parametrize("text", ["C 1 2 3 4 wheel", "bank b 1 2 3 4", "u 4 1 2 3", "u 0 1 4.0"])
def test_letters_beside_counts_are_no_code(text: str) -> None:
    assert not find_codes(text).codes


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("P0 1 1 3 iat", "P0113"),
        ("U112 3 data bus", "U1123"),
        ("P 16 39", "P1639"),
        ("P017 4 stored", "P0174"),
        ("P 04 01 egr flow", "P0401"),
        ("Pl l35 heater", "P1135"),
        ("U O1 21 no comms", "U0121"),
        ("b2 9 6 0 immo", "B2960"),
        ("P00 BD. maf", "P00BD"),
        ("B00 01-1B airbag", "B0001-1B"),
        ("P0 6 0 6:04 pending", "P0606-04"),
        ("c0 0 40 - 1 b LF", "C0040-1B"),
        ("Fehler C10 59", "C1059"),
        ("P0 1 1 3 12.4 V", "P0113"),
        ("P1-234", "P1234"),
    ],
)
def test_blanks_inside_a_code_are_read_and_said(text: str, code: str) -> None:
    found = find_codes(text)
    assert [str(each) for each in found.codes] == [code]
    assert [doubt.why for doubt in found.doubtful] == [f"is read as {code}"]


def test_codes_with_blanks_stand_in_lists() -> None:
    found = find_codes("c l 2 1 4, U1O1 6 and p0 1 1 3 & p0 1 1 8, P04 01/P 04 02")
    assert " ".join(map(str, found.codes)) == "C1214 U1016 P0113 P0118 P0401 P0402"


@pytest.mark.parametrize(
    "text",
    [
        "P 16 39 V",
        "P 16 39V",
        "P 16 39%",
        "P0 1 1 3 bar",
        "P0 1 1 3,5",
        "temp 20 C 30 15",
        "a/c 2 10 5",
        "P 1 of 2",
        "B 1 of 23",
        "P 12 V 34",
        "part P0 1 1 3",
        "campaign P 16 39",
        "pin C10 59",
        "connector C10 59",
        "misfire B2 4 5 6",
        "oil P 12 34",
        "P 12 34 56",
        "U 12 34",
        "CO 045",
        "P1 120",
        "P0 1 1 3 x",
    ],
)
def test_a_blank_is_not_read_across_what_has_a_meaning(text: str) -> None:
    assert find_codes(text).codes == ()


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("was either P0455 or P0456. it said P0456", "P0456"),
        ("either P0455 or P0456", ""),
        ("P0171,P0172? no just po171", "P0171"),
        ("B0001-1B stored, harness B0001 label not code", "B0001-1B"),
        ("hose P1640 off shelf, code P1639", "P1639"),
    ],
)
def test_what_is_taken_back_or_told_to_be_no_code(text: str, codes: str) -> None:
    assert " ".join(map(str, find_codes(text).codes)) == codes


@pytest.mark.parametrize(
    "line",
    ["recall camp. P24B7", "campaign P24B7 done", "Rückruf P24B7", "recall campaign no P24B7"],
)
def test_the_number_of_a_campaign_is_no_code(line: str) -> None:
    found = find_codes(line)
    assert not found.codes
    assert "another kind" in str(found.doubtful[0])


@pytest.mark.parametrize(
    "text", ["P 16 39 V", "P 16 39", "P0 1 1 3", "U112 3", "U 01 00", "p 03 40", "P 01 13 A"]
)
def test_codes_with_blanks_are_read_or_asked_about(text: str) -> None:
    found = find_codes(text)
    assert found.codes or found.doubtful


@pytest.mark.parametrize(
    "line",
    ["P1 23 4? maybe P1243", "P1234? or maybe P1243", "P1234? peut-être P1243",
     "P1234? może P1243", "maybe P0335 or P0336", "vielleicht P0335 oder P0336",
     "either P0335 or P0336", "peut-être P0335 ou P0336", "może P0335 lub P0336"],
)  # fmt: skip
def test_neither_of_two_codes_is_sure_where_it_is_one_or_the_other(line: str) -> None:
    found = find_codes(line)
    assert not found.codes
    assert len([each for each in found.doubtful if "unsure" in each.why]) == 2


def test_a_second_code_told_with_or_behind_a_question_is_unsure() -> None:
    for word in ("or", "oder", "ou", "lub"):
        found = find_codes(f"P0335? {word} P0336")
        assert [each.code for each in found.codes] == ["P0335"]
        assert [each.text for each in found.doubtful] == ["P0336"]


@pytest.mark.parametrize(
    ("line", "codes"),
    [("P0335 stored, what is it?", ["P0335"]), ("P0335, maybe the sensor", ["P0335"]),
     ("P0335 or the sensor", ["P0335"]), ("P0335 and maybe P0336", ["P0335"])],
)  # fmt: skip
def test_a_question_of_something_else_leaves_a_code_sure(line: str, codes: list[str]) -> None:
    assert [each.code for each in find_codes(line).codes] == codes


# Slips of one sign, in letters that look like digits and in what stands between them: common
# practice, no source.
@pytest.mark.parametrize(
    ("typed", "codes"),
    [
        ("P0Q87", ["P0087"]),
        ("P03QO misfire", ["P0300"]),
        ("P030Q, P0302", ["P0300", "P0302"]),
        ("U0Q01", ["U0001"]),
        ("UOI21", ["U0121"]),
        ("UO121-87", ["U0121-87"]),
        ("U-01-00", ["U0100"]),
        ("P.01.71", ["P0171"]),
        ("P 0171/P 0174", ["P0171", "P0174"]),
        ("P0171/P O174", ["P0171", "P0174"]),
        ("codes P 0171 & P 0174", ["P0171", "P0174"]),
        ("BB0051 CC0035", ["B0051", "C0035"]),
    ],
)
def test_a_slip_of_one_sign_is_read(typed: str, codes: list[str]) -> None:
    assert [str(code) for code in find_codes(typed).codes] == codes


@pytest.mark.parametrize(
    "typed",
    ["P0,171", "P0/171", "P0 - 420", "U-0 100", "U01.00", "P24G3", "P04Z0", "PQ171", "POI7I"],
)
def test_what_may_be_a_code_with_a_slip_is_asked_about(typed: str) -> None:
    found = find_codes(f"lamp on, {typed} read")
    assert not found.codes
    assert [doubt.text for doubt in found.doubtful] == [typed]


@pytest.mark.parametrize(
    "text",
    [
        "coil2 swapped",
        "COIL1 0.6 ohm",
        "fuse P0/1",
        "U0,5 V",
        "U01.00 V",
        "P0,5 bar",
        "pin C12-01",
        "bulb P21W",
        "row P0-12",
    ],
)
def test_what_only_begins_like_a_code_is_none(text: str) -> None:
    found = find_codes(text)
    assert (found.codes, found.doubtful) == ((), ())


def test_a_failure_type_behind_a_loose_dash_is_asked_about() -> None:
    found = find_codes("B1201 -13")
    assert [str(code) for code in found.codes] == ["B1201"]
    assert "B1201-13" in found.doubtful[0].why
    assert not find_codes("P0118 -40 C").doubtful
