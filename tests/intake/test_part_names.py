"""What is and is not the name of a part, and lists of parts. Common practice, no source."""

from datetime import date

import pytest

from kb.case import Action
from kb.intake.findings import find_findings
from kb.intake.single_facts import parse_attempt

TODAY = date(2026, 3, 2)


def test_ratings_and_part_numbers_are_no_part_of_a_name() -> None:
    (fix,) = find_findings("fitted thermostat 88c part 1k0 121 113 a, warm now", TODAY).attempts
    assert fix.component == "thermostat"
    assert "1k0 121 113 a" in (fix.words or "")


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("latch came, fitted, 30mA now", [("replaced latch", None)]),
        ("loom found chafed, repaired, no fault", [("repaired loom", True)]),
        ("fault was corroded plug under carpet. cleaned it, works", [("cleaned plug", True)]),
        ("water pump weeping, renewed with cambelt", [("replaced water pump", None)]),
        ("alternator from scrapyard fitted, light out", [("replaced alternator", None)]),
        ("tightened loose earth, cranks fine", [("tightened earth", True)]),
        ("2 rear shocks 45.90 each fitted", [("replaced shocks", None)]),
        ("timing belt kit 112.00, 4 hrs, runs sweet", [("replaced timing belt kit", True)]),
        ("valve cleaned, refitted", [("cleaned valve", None)]),
        ("new boot fitted trims +2 fault gone", [("replaced boot", True)]),
        ("old pump back in", []),
        ("catalytic converter replaced by dealer in may", []),
        ("runs like new", []),
        ("uv dye in", []),
    ],
)
def test_the_part_of_a_fix_is_named_by_what_stands_around_it(
    line: str, told: list[tuple[str, bool | None]]
) -> None:
    assert [(each.label, each.cured) for each in find_findings(line, TODAY).attempts] == told


@pytest.mark.parametrize(
    "line",
    ["boost 1.1 bar. cleaned.", "did the plugs come out ok", "did coil swap", "did not do pads"],
)
def test_no_part_is_made_of_what_is_measured_or_asked(line: str) -> None:
    assert find_findings(line, TODAY).attempts == ()


def test_software_behind_a_campaign_is_of_it() -> None:
    found = find_findings("campaign 22B1201 done, updated sw to 0143", date(2026, 3, 2))
    assert [attempt.component for attempt in found.attempts] == ["campaign 22b1201"]
    apart = find_findings("plug cleaned no change, updated sw", date(2026, 3, 2))
    assert [attempt.component for attempt in apart.attempts] == ["plug", "sw"]


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("replaced airbag, new from the maker, cured", "airbag"),
        ("new airbag from the maker, cured", "airbag"),
        ("squib connector: new one from the maker, cured", "squib connector"),
    ],
)
def test_the_maker_is_where_a_part_comes_from_and_no_part(line: str, part: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert (attempt.action, attempt.component, attempt.cured) == (Action.REPLACED, part, True)


@pytest.mark.parametrize(
    "line", ["new bushes 90% sorted", "replaced bushes 95 % fixed, still some"]
)
def test_how_far_a_fix_helped_is_no_part_of_its_name_and_no_cure(line: str) -> None:
    """A cure in part is none (common practice, no source)."""
    (attempt,) = find_findings(line, today=date(2026, 3, 2)).attempts
    assert attempt.component == "bushes"
    assert attempt.cured is not True


@pytest.mark.parametrize(
    ("line", "part", "side"),
    [
        ("replaced LF seat connector, cured", "seat connector", "LF"),
        ("cleaned plug at left rear door, cured", "plug at door", "left rear"),
        ("new pad rear left, quiet", "pad", "rear left"),
    ],
)
def test_the_side_of_a_fix_is_in_its_words_and_no_name_of_its_part(
    line: str, part: str, side: str
) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert attempt.component == part
    assert attempt.words is not None
    assert side in attempt.words


@pytest.mark.parametrize(
    ("text", "label", "cured"),
    [
        ("changed alternator for nothing", "replaced alternator", False),
        ("replaced coil in vain", "replaced coil", False),
        ("changed alternator for nothing, cured", "replaced alternator", None),
        ("plugged connector back in, cured", "reseated connector", True),
        ("plug was off, plugged back in, cured", "reseated plug", True),
        ("relay back in, cured", "reseated relay", True),
        ("new seat back fitted, cured", "replaced seat back", True),
    ],
)
def test_words_behind_a_part_are_none_of_its_name(
    text: str, label: str, cured: bool | None
) -> None:
    assert [(each.label, each.cured) for each in find_findings(text, TODAY).attempts] == [
        (label, cured)
    ]


@pytest.mark.parametrize(
    ("line", "fix"),
    [
        ("replaced hose and clamp, fixed", "replaced hose and clamp"),
        ("replaced hose, clamp, fixed", "replaced hose, clamp"),
        ("replaced hose plus clamp, fixed", "replaced hose and clamp"),
        ("replaced hose incl. clamp, fixed", "replaced hose and clamp"),
        ("replaced hose and both clamps front left, fixed", "replaced hose and clamps"),
        ("fitted new pump, sprocket and circlip, fixed", "replaced pump, sprocket and circlip"),
        ("tightened earth strap and stud, cured", "tightened earth strap and stud"),
        ("neue Pumpe und Dichtung, Fehler weg", "replaced pumpe und dichtung"),
        ("remplacé durite et collier, réparé", "replaced durite et collier"),
        ("wymieniona pompa i opaska, działa", "replaced pompa i opaska"),
    ],
)
def test_every_part_of_a_list_behind_a_deed_is_in_the_fix(line: str, fix: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert (attempt.label, attempt.cured) == (fix, True)
    assert parse_attempt(line).label == fix


@pytest.mark.parametrize(
    ("line", "fix"),
    [
        ("neue Pumpe und läuft wieder", "replaced pumpe"),
        ("neue Pumpe und Motor läuft ruhig", "replaced pumpe"),
        ("nouvelle pompe et la voiture démarre", "replaced pompe"),
        ("wymieniona pompa i silnik pracuje równo", "replaced pompa"),
        ("replaced relay and pump works", "replaced relay"),
        ("replaced plugs and ran well", "replaced plugs"),
    ],
)
def test_what_a_part_does_is_no_part_of_a_list(line: str, fix: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert attempt.label == fix


@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("replaced hose and gubbins, fixed", "gubbins"),
        ("replaced hose, gubbins, fixed", "gubbins"),
        ("replaced hose (and clamp), fixed", "clamp"),
        ("replaced pads and wear indicator, cured", "wear indicator"),
        ("fitted pump with flange kit thing, cured", "flange kit thing"),
    ],
)
def test_what_may_be_a_part_of_a_list_and_is_not_read_is_named_as_kept(
    line: str, kept: str
) -> None:
    found = find_findings(line, TODAY)
    assert found.attempts
    assert kept in [lift.fact for lift in found.account.kept]


@pytest.mark.parametrize(
    "line",
    [
        "ça change rien",
        "ca change rien du tout",
        "cela n'a rien changé",
        "le bruit change avec la vitesse",
        "his mate reckons the new sensor sorted it",
        "her dad believes the fuse was changed",
        "wife thought the battery was replaced",
        "sein Kumpel meint der neue Sensor hat geholfen",
        "der Nachbar glaubt die Pumpe wurde getauscht",
        "son pote pense que le capteur neuf a réglé ça",
        "kolega twierdzi że nowy czujnik pomógł",
        "new noise from rear",
        "the noise changed",
        "new customer, wants quote",
        "updated customer, happy",
        "changed his mind",
        "charged him 80 for it",
        "lifted the carpet and dried it, cured",
    ],
)
def test_no_fix_is_made_of_what_can_be_no_part(line: str) -> None:
    found = find_findings(line, TODAY)
    assert not found.attempts
    assert found.account.kept or found.account.asked


@pytest.mark.parametrize(
    ("line", "fix"),
    [
        ("RR caliper rebuilt, pedal firm now", "repaired caliper"),
        ("rebuilt RR caliper, pedal firm", "repaired caliper"),
        ("alternator overhauled, fixed", "repaired alternator"),
        ("turbo refurbished, fixed", "repaired turbo"),
        ("fitted rebuilt caliper RR, ok", "replaced rebuilt caliper"),
    ],
)
def test_a_part_rebuilt_is_repaired_and_no_other_part_is_fitted(line: str, fix: str) -> None:
    assert [each.label for each in find_findings(line, date(2026, 3, 1)).attempts] == [fix]


@pytest.mark.parametrize(
    ("line", "action", "part"),
    [
        ("new ECU plugged in, ok", Action.REPLACED, "ecu"),
        ("new pump bolted in, runs", Action.REPLACED, "pump"),
        ("plugged in new ECU", Action.REPLACED, "ecu"),
        ("ran new feed to pump", Action.REPLACED, "feed to pump"),
        ("dann Filter ersetzt", Action.REPLACED, "filter"),
        ("puis filtre remplacé", Action.REPLACED, "filtre"),
        ("potem wymieniono filtr", Action.REPLACED, "filtr"),
        ("danach Sensor gereinigt", Action.CLEANED, "sensor"),
        ("nettoyé le papillon", Action.CLEANED, "papillon"),
        ("O/S/R caliper stripped and greased", Action.LUBRICATED, "caliper"),
        ("tested thermostat, doesnt open, changed it", Action.REPLACED, "thermostat"),
        ("drilled the tailgate gas strut, then re-gassed", Action.REFILLED, "tailgate gas strut"),
        ("re-gassed, cold now", Action.REFILLED, "a/c"),
        ("ecu flashed", Action.REPROGRAMMED, "ecu"),
        ("relay swopped, ok", Action.REPLACED, "relay"),
        ("Zündspule Zyl 2 getauscht", Action.REPLACED, "zündspule"),
        ("czujnik ABS lewy przód wymieniony", Action.REPLACED, "czujnik abs"),
    ],
)
def test_words_of_order_and_of_how_it_was_fitted_are_no_part(
    line: str, action: Action, part: str
) -> None:
    *_, attempt = find_findings(line, TODAY).attempts
    assert (attempt.action, attempt.component) == (action, part)


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("clutch 3 times adjusted", "clutch"),
        ("both discs on car machined", "discs"),
        ("injector in the ultrasonic cleaned", "injector"),
        ("Kupplung komplett ersetzt", "kupplung"),
    ],
)
def test_how_something_was_done_is_no_part(line: str, part: str) -> None:
    assert [attempt.component for attempt in find_findings(line, TODAY).attempts] == [part]


@pytest.mark.parametrize(
    ("line", "action", "component"),
    [
        ("scuttle drain blown clear, carpets dried, hosed 10 min, dry", "cleaned", "scuttle drain"),
        ("rodded the sunroof drains", "cleaned", "sunroof drains"),
        ("new plug crimped, works", "replaced", "plug"),
        ("new sensor fitted and coded", "replaced", "sensor"),
        ("dried out the connector", "cleaned", "connector"),
    ],
)
def test_what_was_done_to_a_part_is_no_word_of_its_name(
    line: str, action: str, component: str
) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert (attempt.action.value, attempt.component) == (action, component)


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ("replaced pair front springs", ["springs"]),
        ("pair of front discs replaced, cured", ["discs"]),
        ("replaced all four tyres", ["tyres"]),
        ("replaced set of glow plugs", ["glow plugs"]),
        ("set of plugs replaced", ["plugs"]),
        ("both rr springs snapped. pair fitted 1h20", ["springs"]),
        ("tyres worn, all four replaced", ["tyres"]),
        ("ecm sw updated, cured", ["ecm"]),
        ("ign sw replaced", ["ign sw"]),
        ("brake fluid water in, replaced fluid", ["fluid"]),
        ("spare coil in", ["spare coil"]),
        ("replaced all four", []),
        ("replaced pair", []),
    ],
)
def test_a_count_or_a_version_is_no_part(line: str, parts: list[str]) -> None:
    attempts = find_findings(line, date(2026, 11, 26)).attempts
    assert [each.component for each in attempts] == parts


def test_new_wires_laid_are_no_part_of_that_name() -> None:
    assert find_findings("cable trapped in the rail, routed new and clipped", TODAY).attempts == ()
