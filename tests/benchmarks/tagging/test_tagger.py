from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.intake.wording import Wording
from tests.benchmarks.tagging.named import ConfirmedText
from tests.benchmarks.tagging.tagger import LEAST_LIKELY, RunTagger, go_together
from tests.benchmarks.tagging.texts import confirmed_texts, written
from tests.benchmarks.tagging.word_space import WordSpace

WORDING = Wording.default()
TAUGHT = [
    "replaced/work air_filter/part",
    "cleaned/work seat_connector/part",
    "replaced/work window_motor/part tuesday",
    "coolant_hose/part leaking/state",
    "water_pump/part leaking/state tuesday",
    "cleaned/work earth_strap/part",
    "wiper_motor/part seized/state",
    "tightened/work coolant_hose/part",
]
ASKED = ["replaced water pump", "earth strap corroded", "wednesday", "fuel hose leaking"]


def taught(*texts: ConfirmedText) -> RunTagger:
    unread = [tuple(text.split()) for text in ASKED]
    return RunTagger.fit(texts, WordSpace.fit([*(text.words for text in texts), *unread]), WORDING)


@pytest.fixture(scope="module")
def tagger() -> RunTagger:
    return taught(*map(written, TAUGHT))


def test_texts_that_were_not_learnt_from_are_read(tagger: RunTagger) -> None:
    found = tagger.propose([text.split() for text in ASKED])
    named = [
        {(" ".join(text.split()[run.start : run.end]), run.kind) for run in runs}
        for text, runs in zip(ASKED, found, strict=True)
    ]
    assert named[0] == {("replaced", "work"), ("water pump", "part")}
    assert ("earth strap", "part") in named[1]
    assert named[2] == set()
    assert named[3] == {("fuel hose", "part"), ("leaking", "state")}


def test_what_was_confirmed_is_found_again_likelier_than_what_is_new(tagger: RunTagger) -> None:
    old, new = tagger.propose([("replaced", "air", "filter"), ("replaced", "blower", "grommet")])
    chance = {run.named: run.chance for run in new}
    assert all(run.chance > chance.get(run.named, 0.0) for run in old if run.kind == "part")


def test_who_was_taught_nothing_proposes_nothing() -> None:
    assert taught().propose([("replaced", "pump")]) == [()]
    assert taught(written("nothing here")).propose([("replaced", "pump")]) == [()]


def test_no_text_and_an_empty_one_are_read(tagger: RunTagger) -> None:
    assert tagger.propose([]) == []
    assert tagger.propose([(), ("wednesday",)]) == [(), ()]


@settings(max_examples=25, deadline=None)
@given(st.lists(confirmed_texts(), max_size=4), confirmed_texts())
def test_proposed_runs_lie_in_the_text_and_go_together(
    known: list[ConfirmedText], asked: ConfirmedText
) -> None:
    (found,) = taught(*known).propose([asked.words])
    for run in found:
        assert 0 <= run.start < run.end <= len(asked.words)
        assert LEAST_LIKELY <= run.chance <= 1
    assert all(go_together(one.named, other.named) for one, other in combinations(found, 2))
