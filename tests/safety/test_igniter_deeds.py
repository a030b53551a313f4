"""What may be done to an igniter, its plug and its wires; common practice, no source."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety.igniter import Shown, Withheld, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_deeds import TABLE, Doing, verbs
from kb.safety.igniter_steps import dangerous_step
from kb.safety.igniter_words import entries

PARTS = ["airbag", "squib", "pretensioner", "side airbag", "curtain airbag", "igniter"]
NEVER = [
    "drilled", "hammered", "glued", "sawed", "heated", "prised", "stitched", "welded", "dismantled",
    "whacked", "superglued", "scraped", "unpicked", "smashed", "punctured", "chiselled",
]  # fmt: skip
CONDITIONS = ["", ", battery off and waited", ", lamp off", ", no codes", " carefully", " again"]
LIVE = ["with the ignition on", "engine running", "key on", "hot", "without waiting"]
OTHERS = ["exhaust", "wheel bearing", "track rod", "glow plug", "injector", "water pump"]


def reason(text: str) -> Reason | None:
    verdict = judged(text, igniter_job=True)
    return verdict.reason if isinstance(verdict, Withheld) else None


def is_shown(text: str) -> bool:
    return isinstance(judged(text, igniter_job=True), Shown)


@given(*map(st.sampled_from, (NEVER, PARTS, CONDITIONS)))
def test_force_heat_and_opening_are_never_shown(verb: str, part: str, condition: str) -> None:
    assert not is_shown(f"{verb} the {part}{condition}")


@given(*map(st.sampled_from, (["hammered", "heated", "welded", "drilled", "sawed"], OTHERS)))
def test_another_part_may_be_forced(verb: str, part: str) -> None:
    assert is_shown(f"{verb} the {part} to free it, airbag lamp not related")


@given(*map(st.sampled_from, (["unplugged", "removed", "pulled", "disconnected"], PARTS, LIVE)))
def test_nothing_is_taken_off_with_the_supply_on(verb: str, part: str, live: str) -> None:
    assert reason(f"{verb} the {part} {live}") in {Reason.LIVE, Reason.UNKNOWN}
    assert is_shown(f"battery off, waited 15 minutes, {verb} the {part}")


@given(st.text("abcdefghijklmnopqrstuvwxyz", min_size=6, max_size=9), st.sampled_from(PARTS))
def test_a_verb_of_no_list_is_not_shown(stem: str, part: str) -> None:
    if verbs().longest([f"{stem}ed"], 0) is None:
        assert not is_shown(f"zq{stem}ed the {part}")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("wires of the squib lengthened with trailer cable", Reason.UNKNOWN),
        ("cut the airbag plug off", Reason.UNKNOWN),
        ("spread the terminals in the squib plug with a fork", Reason.UNKNOWN),
        ("told him you can skip the wait", Reason.LIVE),
        ("key off 10 seconds, then pulled the airbag", Reason.WAIT),
        ("left the battery connected, airbag out", Reason.LIVE),
        ("set the old bag off in the yard", Reason.DEPLOY),
        ("airbag fuse pulled so lamp stays off", Reason.DEFEAT),
        ("fuse pulled, then unplugged the airbag", Reason.WAIT),
        ("squib 2.2 ohm on the bench", Reason.METER),
        ("fitted a wotsit in the airbag plug", Reason.UNKNOWN),
        ("second hand airbag fitted", Reason.SOURCE),
        ("airbag fell off the bench, in it went", Reason.HANDLING),
        ("airbag fell off the bench, a new airbag is 600 quid so it went in", Reason.HANDLING),
    ],
)
def test_it_says_why(text: str, expected: Reason) -> None:
    assert reason(text) is expected


@pytest.mark.parametrize(
    "text",
    [
        "squib wires spliced with the maker's kit, battery off",
        "had a bent pin in the squib plug", "never heat the pretensioner",
        "no drilling near the airbag",
        "found the airbag cover glued by the last owner", "chap before us soldered the squib wires",
        "battery off, waited 10 minutes, airbag out, battery on, no codes",
        "new airbag fitted, battery back on", "second hand airbag refused, new one ordered",
        "dropped the airbag, scrapped it, new one fitted", "tensioner out, then welded the post",
        "seats swapped left to right, battery off, fault moved",
    ],
)  # fmt: skip
def test_what_may_be_done_or_is_only_told_is_shown(text: str) -> None:
    assert is_shown(text), judged(text, igniter_job=True)


def test_a_word_stands_under_one_condition_only() -> None:
    lists = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    words = [entry for doing in Doing for entry in entries(lists[doing]["words"])]
    assert len(words) == len(set(words)), sorted({each for each in words if words.count(each) > 1})


@pytest.mark.parametrize(
    "text",
    [
        "held; he puts a lamp on squib", "held module on my lap", "repaired the bag's pins",
        "held the module on my knees", "laid the module down with the cover underneath",
        "inflator module glued shut",
    ],
)  # fmt: skip
def test_how_it_is_held_laid_or_mended_is_named(text: str) -> None:
    assert dangerous_step(text, igniter_job=True) is not None


@pytest.mark.parametrize(
    "text", ["bit of oxy on the bracket", "drilled four rivets off", "cherry red, then it came out"]
)
def test_a_blow_or_a_flame_on_a_thing_without_a_name_is_hidden_beside_a_restraint(
    text: str,
) -> None:
    assert not is_shown(text)
    assert isinstance(judged(text, igniter_job=False), Shown)
    assert is_shown(f"exhaust bolts seized, {text}")
    assert is_shown(f"tensioner out, {text}")


@pytest.mark.parametrize(
    "text",
    [
        "fired the old seat belt tensioner in the yard w jump leads b4 scrapping",
        "set off old curtain bag w/ 9v battery behind the shop",
        "let the old bag off with a jump pack",
        "popped the old airbag outside",
        "alten Gurtstraffer mit Autobatterie gezündet",
        "ancien airbag déclenché avec une batterie dans la cour",
        "stary napinacz odpalony akumulatorem za warsztatem",
    ],
)
def test_firing_an_old_one_is_named_by_what_it_is(text: str) -> None:
    """Common practice, no source."""
    danger = dangerous_step(text, igniter_job=True)
    assert danger
    assert danger.reason is Reason.DEPLOY
    assert "never fired in a shop" in danger.reason
    assert "maker's procedure" in danger.instead
    assert "licensed" in danger.instead


@pytest.mark.parametrize("text", ["bag was fired in the crash", "bag had fired, new bag fitted"])
def test_one_that_fired_in_a_crash_was_not_fired_by_the_shop(text: str) -> None:
    assert judged(text, igniter_job=True) == Shown()
