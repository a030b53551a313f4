"""What the wider history does to a rate, and what it leaves alone."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.rates.shrinkage import Kinds, WiderHistory, fit, neutral
from kb.rates.survival import Lifetime, survival_at

HORIZON = 90.0
HELD, FAILED, UNHEARD = Lifetime(120, False), Lifetime(0, True), Lifetime(0, False)
FIX = ("cleaned", "plug")
lives = st.lists(st.builds(Lifetime, st.integers(0, 150), st.booleans()), max_size=40)


def shop(rate: float, fixes: int = 40, tried: int = 8, seed: int = 3) -> WiderHistory:
    """Many fixes, the rate of each spread a little around the given one."""
    dice = random.Random(seed)
    told = {}
    for place in range(fixes):
        own = min(max(dice.gauss(rate, 0.05), 0), 1)
        told[place, ("replaced", f"part {place}")] = [
            HELD if dice.random() < own else FAILED for _ in range(tried)
        ]
    history = fit(told, HORIZON)
    assert history is not None
    return history


GOOD, BAD = shop(0.9), shop(0.3)


def test_few_fixes_teach_nothing() -> None:
    assert fit({(n, FIX): [HELD] for n in range(9)}, HORIZON) is None
    assert fit({(n, FIX): [] for n in range(20)}, HORIZON) is None
    assert fit({(n, FIX): [HELD] for n in range(10)}, HORIZON) is not None


def test_without_own_lifetimes_the_shop_speaks() -> None:
    assert GOOD.posterior(FIX, []).mean == pytest.approx(0.9, abs=0.06)
    assert BAD.posterior(FIX, []).mean == pytest.approx(0.3, abs=0.08)


def test_a_lucky_fix_is_drawn_towards_the_shop() -> None:
    raw, shrunk = 1.0, BAD.posterior(FIX, [HELD] * 2).mean
    assert 0.3 < shrunk < 0.6 < raw
    assert neutral(HORIZON).posterior(FIX, [HELD] * 2).mean == pytest.approx(2.5 / 3)


def test_with_many_lifetimes_only_they_count() -> None:
    many = [HELD] * 600 + [FAILED] * 200 + [Lifetime(40, True)] * 100 + [Lifetime(20, False)] * 300
    estimate = survival_at(many, HORIZON).estimate
    for history in (GOOD, BAD, neutral(HORIZON)):
        assert history.posterior(FIX, many).mean == pytest.approx(estimate, abs=0.02)


def test_silence_tells_of_the_handover_only() -> None:
    before = neutral(HORIZON).posterior(FIX, []).mean
    after = neutral(HORIZON).posterior(FIX, [UNHEARD] * 1000).mean
    assert before == pytest.approx(1 / 2)
    assert after == pytest.approx(2 / 3, abs=1e-3)  # cured for sure, and then as likely as before


def test_the_same_action_on_the_same_component_tells_more() -> None:
    told = {}
    for cause in range(30):
        told[cause, ("cleaned", "plug")] = [FAILED] * 6
        told[cause, ("replaced", "plug")] = [HELD] * 6
    history = fit(told, HORIZON)
    assert history is not None
    assert history.posterior(("cleaned", "plug"), []).mean < 0.2
    assert history.posterior(("replaced", "plug"), []).mean > 0.8
    assert 0.3 < history.posterior(("greased", "hinge"), []).mean < 0.7


def test_duds_among_good_fixes_do_not_make_all_of_them_doubtful() -> None:
    told = {(n, ("replaced", f"part {n}")): [HELD] * 8 + [FAILED] for n in range(30)}
    told |= {(n, ("cleared", f"code {n}")): [FAILED] * 3 for n in range(30)}
    history = fit(told, HORIZON)
    assert history is not None
    assert 0.8 < history.posterior(FIX, [HELD] * 3).mean < 0.98
    assert history.posterior(FIX, [FAILED] * 2).mean < 0.15


def test_where_no_action_tells_of_another_fix_the_whole_shop_speaks() -> None:
    # every action was tried as one fix alone: nothing shows that fixes of an action are alike
    told = {(n, (f"action {n}", "plug")): [HELD if n % 2 else FAILED] * 8 for n in range(40)}
    history = fit(told, HORIZON)
    assert history is not None
    lucky, unlucky = (history.posterior((f"action {n}", "lamp"), []).mean for n in (1, 2))
    assert lucky == pytest.approx(unlucky, abs=0.01)
    assert lucky == pytest.approx(1 / 2, abs=0.1)


def test_a_level_counts_as_so_many_fixes_beside_those_of_the_group() -> None:
    # by hand: fixes cure 0.2 or 0.8 of the time, and what cured holds 0.9 of the time. The shop has
    # both kinds alike and counts as 4 fixes, so 2 and 2; of the action's 4 fixes 1 and 3 are of
    # each kind, less the fix itself, that is half of each: 2.5 to 4.5.
    kinds = Kinds((0.2, 0.8), (0.9,), (40.0, 40.0), (0.0, HORIZON), (0.0, 1.0))
    history = WiderHistory(kinds, (0.5, 0.5), (4.0, 4.0), {"cleaned": (1.0, 3.0)})
    expected = 0.9 * (2.5 * 0.2 + 4.5 * 0.8) / 7
    assert history.posterior(FIX, []).mean == pytest.approx(expected)
    other = history.posterior(("replaced", "plug"), []).mean
    assert other == pytest.approx(0.9 * (0.2 + 0.8) / 2)


@pytest.mark.parametrize(
    ("day", "come"), [(20, (0, 0, 0, 1, 1, 1)), (60, (0, 0, 0, 0, 1, 1)), (90, (0, 0, 0, 0, 0, 1))]
)
def test_comebacks_are_awaited_when_the_shop_had_them(day: int, come: tuple[float, ...]) -> None:
    # by hand: all on one day of 90, but for a tenth of them spread evenly over the horizon
    lives = [*[HELD] * 8, *[Lifetime(day, True)] * 2]
    history = fit({(n, ("replaced", f"part {n}")): lives for n in range(20)}, HORIZON)
    assert history is not None
    assert history.kinds.edges == pytest.approx((0, 7.5, 15, 30, 60, 90))
    evenly = (0, 1 / 12, 1 / 6, 1 / 3, 2 / 3, 1)
    expected = [0.9 * seen + 0.1 * even for seen, even in zip(come, evenly, strict=True)]
    assert history.kinds.spread == pytest.approx(expected)
    left = history.left(FIX, [])
    assert [(1 - each) / (1 - left[-1]) for each in left] == pytest.approx(expected)
    assert left[-1] == pytest.approx(0.8, abs=0.03)


def test_a_shop_without_a_comeback_awaits_them_evenly() -> None:
    told = {(n, ("replaced", f"part {n}")): [HELD] * 8 + [FAILED] for n in range(20)}
    history = fit(told, HORIZON)
    assert history is not None
    assert history.kinds.spread == pytest.approx([edge / HORIZON for edge in history.kinds.edges])


@given(lives)
def test_beliefs_are_chances(sample: list[Lifetime]) -> None:
    for history in (GOOD, BAD, neutral(HORIZON)):
        found = history.posterior(FIX, sample)
        assert found.a > 0
        assert found.b > 0
        assert 0 < found.mean < 1


@given(lives)
def test_one_more_that_held_never_lowers_a_belief(sample: list[Lifetime]) -> None:
    for history in (GOOD, BAD, neutral(HORIZON)):
        more = history.posterior(FIX, [*sample, HELD]).mean
        assert more >= history.posterior(FIX, sample).mean - 1e-9


@given(st.integers(0, 30), st.integers(0, 30))
def test_without_loss_the_neutral_belief_is_jeffreys(held: int, failed: int) -> None:
    found = neutral(HORIZON).posterior(FIX, [HELD] * held + [FAILED] * failed)
    # failures at handover alone tell nothing of the time after it
    cured = (held + 0.75) / (held + failed + 1)
    assert found.mean == pytest.approx(cured * (held + 0.5) / (held + 0.75))
