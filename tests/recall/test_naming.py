"""Causes that a complaint names by their own words."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn.feature_extraction.text import TfidfVectorizer

from kb.case import Cause, Complaint, FailureMode, Job, System
from kb.intake.wording import Wording
from kb.recall import naming
from kb.recall import text_signal as text
from kb.recall.features import Query
from kb.recall.hashing import Keys, key
from kb.recall.index import Index, cause_key
from kb.recall.recall import Recalled, recall
from kb.recall.spans import Floats
from kb.settings import RecallSettings, Settings
from tests.recall.shop import CASES, CLOCK_SPRING, EARTH_STRAP, LATCH, LIDO, SEAT_CONNECTOR, case

WORDING = Wording.default()
INDEX = Index.fit(CASES, WORDING, Settings())
CAUSES = {1: SEAT_CONNECTOR, 2: CLOCK_SPRING, 3: EARTH_STRAP, 4: LATCH}
MODEL, _ = text.fit([naming.words_of(cause, WORDING) for cause in CAUSES.values()])
NAMES = naming.build(CAUSES, WORDING, MODEL)

words = st.lists(
    st.sampled_from(["seat", "connector", "under", "clock", "strap", "latch", "dead", "seet"]),
    max_size=6,
)


def of(cause: Cause) -> int:
    return key("\n".join(cause.key))


def asked(said: str, index: Index = INDEX, **kwargs: object) -> Recalled:
    question = Query(complaint=Complaint(text=said))
    return recall(question, index, WORDING, RecallSettings(), **kwargs)  # type: ignore[arg-type]


def keys_of(*numbers: int) -> Keys:
    return np.array(sorted(numbers), dtype=np.uint64)


def likenesses(query: tuple[Keys, Floats], names: list[naming.Names]) -> dict[int, float]:
    causes, cosines = naming.heard(query, names)
    return dict(zip(causes.tolist(), cosines.tolist(), strict=True))


def test_the_words_of_a_cause_are_its_component_and_its_place() -> None:
    assert naming.words_of(SEAT_CONNECTOR, WORDING) == ["seat", "connector", "under", "seat"]
    assert naming.words_of(CLOCK_SPRING, WORDING) == ["clock", "spring"]


def test_a_cause_in_its_own_words_is_named_in_full() -> None:
    found = likenesses(MODEL.weigh(["clock", "spring"]), [NAMES])
    assert found[2] == pytest.approx(1.0, abs=1e-6)
    assert set(found) == {2}


def test_likeness_is_the_cosine_of_words_and_word_pairs() -> None:
    # Source: scikit-learn's TfidfVectorizer (sublinear, smoothed), cosine by its dot product.
    spoken = ["seat connector under seat", "clock spring", "earth strap", "door latch"]
    plain = TfidfVectorizer(ngram_range=(1, 2), sublinear_tf=True).fit(spoken)
    expected = (plain.transform(["seat clock latch"]) @ plain.transform(spoken).T).toarray()[0]
    model, _ = text.fit([each.split() for each in spoken], character_share=0.0)
    names = naming.build(CAUSES, WORDING, model)
    # Word pairs never seen lengthen our query as they cannot lengthen theirs.
    terms, weights = model.weigh(["seat", "clock", "latch"])
    known = np.isin(terms, model.words.keys)
    shortened = weights / np.linalg.norm(weights[known])
    found = likenesses((terms, shortened.astype(np.float32)), [names])
    assert [found[1], found[2], found[4]] == pytest.approx(
        [expected[0], expected[1], expected[3]], abs=1e-6
    )
    assert 3 not in found


def test_a_name_no_complaint_ever_said_is_found() -> None:
    found = {each.cause: each for each in asked("clock spring?").named}
    assert found[of(CLOCK_SPRING)].job == 3
    assert found[of(CLOCK_SPRING)].likeness > 0.4
    assert not asked("clock spring?").neighbours


def test_a_hidden_cause_names_nothing() -> None:
    open_, hidden = asked("door latch"), asked("door latch", hidden=[of(LATCH)])
    assert of(LATCH) in {each.cause for each in open_.named}
    assert of(LATCH) not in {each.cause for each in hidden.named}
    assert hidden.naming_share < open_.naming_share


def test_a_cause_recorded_since_is_named_and_its_newest_job_told() -> None:
    strut = Cause(component="tailgate strut", failure_mode=FailureMode.LEAKING)
    later = replace(case(7, LIDO, "boot falls shut", System.BODY_ELECTRICS, strut), number=90)
    again = replace(CASES[2], number=91)
    index = INDEX.with_changes([90, 91], [later, again], WORDING)
    found = {each.cause: each.job for each in asked("tailgate strut, clock spring", index).named}
    assert found[of(strut)] == 90
    assert found[of(CLOCK_SPRING)] == 91


def test_nothing_said_and_nothing_stored_name_nothing() -> None:
    assert likenesses(MODEL.weigh([]), [NAMES]) == {}
    assert naming.naming_share(MODEL.weigh([]), [NAMES], keys_of(1, 2, 3, 4)) == 0.0
    nothing = asked("clock spring", Index.fit([], WORDING, Settings()))
    assert (nothing.named, nothing.naming_share) == ((), 0.0)


@given(words, st.sets(st.sampled_from([1, 2, 3, 4])))
def test_the_share_that_names_grows_with_the_causes(said: list[str], some: set[int]) -> None:
    query = MODEL.weigh(said)
    share = naming.naming_share(query, [NAMES], keys_of(*some))
    whole = naming.naming_share(query, [NAMES], keys_of(1, 2, 3, 4))
    assert 0.0 <= share <= whole <= 1.0 + 1e-6


@given(words)
def test_a_likeness_is_no_more_than_what_names_the_cause_allows(said: list[str]) -> None:
    # Cauchy-Schwarz: the cosine runs over the shared terms alone.
    query = MODEL.weigh(said)
    for cause, likeness in likenesses(query, [NAMES]).items():
        share = naming.naming_share(query, [NAMES], keys_of(cause))
        assert 0.0 < likeness <= share**0.5 + 1e-5


def test_causes_are_keyed_as_their_cases_are() -> None:
    job: Job = CASES[0]
    assert of(SEAT_CONNECTOR) == key(cause_key(job))
    assert of(SEAT_CONNECTOR) in INDEX.base.names.causes.tolist()


def test_kin_are_causes_of_like_words() -> None:
    found = naming.alike_causes(1, [NAMES])
    assert found[1] == pytest.approx(1.0, abs=1e-6)
    assert 2 not in found
    pair = naming.build(
        {1: SEAT_CONNECTOR, 2: replace(SEAT_CONNECTOR, location="B pillar"), 3: LATCH},
        WORDING,
        MODEL,
    )
    assert naming.alike_causes(1, [pair])[2] > 0.3 > naming.alike_causes(1, [pair]).get(3, 0.0)
    assert naming.alike_causes(9, [pair]) == {}


def test_kin_stand_in_any_part_of_the_index() -> None:
    first, second = (naming.build({n: c}, WORDING, MODEL) for n, c in CAUSES.items() if n < 3)
    again = naming.build({7: SEAT_CONNECTOR}, WORDING, MODEL)
    assert naming.alike_causes(1, [second, first, again])[7] == pytest.approx(1.0, abs=1e-6)


@given(words)
def test_kinship_is_mutual(said: list[str]) -> None:
    other = Cause(component=" ".join(["plug", *said]), failure_mode=FailureMode.OPEN)
    names = naming.build({**CAUSES, 5: other}, WORDING, MODEL)
    for cause, likeness in naming.alike_causes(5, [names]).items():
        assert naming.alike_causes(cause, [names])[5] == pytest.approx(likeness, abs=1e-5)


def test_what_is_said_to_be_fine_names_nothing_and_is_told_apart() -> None:
    named = asked("clock spring dead, horn dead")
    fine = asked("clock spring ok, horn dead")
    assert of(CLOCK_SPRING) in {each.cause for each in named.named}
    assert of(CLOCK_SPRING) not in {each.cause for each in fine.named if each.likeness > 0.2}
    assert fine.said_fine[of(CLOCK_SPRING)] == pytest.approx(1.0, abs=1e-6)
    assert named.said_fine == {}


def test_what_is_seen_to_work_is_told_of_the_causes_about_it() -> None:
    starter = Cause(component="starter motor", failure_mode=FailureMode.WORN)
    jobs = [*CASES, case(12, LIDO, "no start, clicks", System.CHARGING_STARTING, starter)]
    found = asked("cranks but no start", Index.fit(jobs, WORDING, Settings()))
    assert found.said_fine[of(starter)] == pytest.approx(0.5)
    assert "starting" not in found.about


def test_what_was_replaced_in_vain_counts_against_itself_and_not_its_connector() -> None:
    coil = Cause(component="ignition coil", failure_mode=FailureMode.INTERNAL_FAULT)
    plug = Cause(component="coil connector", failure_mode=FailureMode.OPEN)
    jobs = [
        *CASES[:-1],
        case(11, LIDO, "misfire cyl 3", System.IGNITION, coil),
        case(12, LIDO, "misfire cyl 2", System.IGNITION, plug),
    ]
    index = Index.fit(jobs, WORDING, Settings())
    found = asked("misfire, coil swapped no change", index)
    assert found.said_fine[of(coil)] > 0.5
    assert of(plug) not in found.said_fine
    new = asked("misfire, coil new last month", index)
    assert 0 < new.said_fine[of(coil)] < found.said_fine[of(coil)]
    assert of(plug) not in new.said_fine
    assert not asked("new coil, now misfire", index).said_fine
