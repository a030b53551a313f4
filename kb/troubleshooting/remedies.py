"""Fixes as the decision weighs them: what each costs, and how likely it cures which suspect."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from kb.case import Action, Attempt, Cause, LinkKind
from kb.intake.wording import Wording
from kb.safety.igniter_concern import about_circuit
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.circuit import is_done_to, is_within, kind_of
from kb.troubleshooting.decision import RepairAction
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.guard import Guard

Key = tuple[str, str, str]
_NEEDLESS_ON_NEW = frozenset(
    [
        *(Action.REPLACED, Action.REPAIRED, Action.CLEANED, Action.RESEATED, Action.TIGHTENED),
        Action.LUBRICATED,
    ]
)
"""What is not done to a part that was just replaced; a new one may have to be charged, adjusted or
programmed (common practice, no source)."""


_TO_BE_DONE = {
    Action.REPLACED: "replace",
    Action.REPAIRED: "repair",
    Action.CLEANED: "clean",
    Action.RESEATED: "reseat",
    Action.TIGHTENED: "tighten",
    Action.ADJUSTED: "adjust",
    Action.LUBRICATED: "lubricate",
    Action.REFILLED: "refill",
    Action.CHARGED: "charge",
    Action.REROUTED: "reroute",
    Action.CLEARED: "clear",
    Action.REPROGRAMMED: "reprogram",
    Action.REMOVED: "remove",
    Action.OTHER: "see to",
}


class TriedFix(Protocol):
    """What the decision needs of a fix, as `kb.rates.fixes.FixRate` has it."""

    @property
    def label(self) -> str: ...  # noqa: D102
    @property
    def tried(self) -> int: ...  # noqa: D102
    @property
    def cured_at_handover(self) -> int: ...  # noqa: D102
    @property
    def minutes(self) -> float | None: ...  # noqa: D102
    @property
    def parts_cost(self) -> float | None: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Remedy:
    """A fix that may be tried: its cost as the decision weighs it, and its minutes."""

    repair: RepairAction
    minutes: float
    tried: int


def is_left(label: str, tried: Iterable[Attempt], wording: Wording) -> bool:
    """Whether a fix is left to be tried after others that did not cure.

    Not what was done, by whatever name of its part, nor what mends a part that was replaced or what
    lies within it.
    """
    action, _, component = label.partition(" ")
    return not any(
        is_within(component, attempt.component, wording)
        and (
            action == attempt.action
            or (attempt.action is Action.REPLACED and action in _NEEDLESS_ON_NEW)
        )
        for attempt in tried
    )


def remedies_for(
    causes: Sequence[Cause],
    fixes: Mapping[Key, Sequence[TriedFix]],
    guard: Guard,
    wording: Wording,
    settings: TroubleshootingSettings,
    tried: Sequence[Attempt] = (),
) -> list[Remedy]:
    """Return the best fix of each cause; one that serves several causes is one remedy.

    None that was `tried` on the job, by whatever name of its part, nor any that mends a part
    which was replaced there or what lies within it. An igniter and its clock spring are replaced
    or left alone; where nothing is known that mends another part of its circuit, so is that.
    """
    chosen: dict[str, tuple[float, float, int]] = {}
    cures: dict[str, dict[int, float]] = {}
    for place, cause in enumerate(causes):
        told = [fix for fix in fixes.get(cause.key, ()) if fix.tried and guard.may_mend(fix.label)]
        told = [fix for fix in told if is_left(fix.label, tried, wording)]
        told = [fix for fix in told if not _mends_igniter(fix.label, guard, wording)]
        kind = kind_of(cause.component, wording)
        usual = float(general_tests().repair_minutes[kind])
        if told:
            best = told[0]
            label, count = best.label, best.tried
            minutes = best.minutes or usual
            cost = minutes + (best.parts_cost or 0) / settings.money_per_minute
        else:
            renewed = guard.is_of_restraints(cause.component, wording)
            action = Action.REPLACED if renewed else Action.REPAIRED
            label, count, minutes, cost = f"{action} {cause.component}", 0, usual, usual
            if not is_left(label, tried, wording):
                continue
            if not guard.may_mend(cause.component):
                continue
        if label not in chosen or count > chosen[label][2]:
            chosen[label] = (max(cost, 1.0), minutes, count)
        cures.setdefault(label, {})
        for fix in told:
            if fix.label == label:
                cures[label][place] = _cure(fix, settings.cure, settings.cure_pull)
        cures[label].setdefault(place, settings.cure)
    return [
        Remedy(
            RepairAction(
                label, cost, (*(cures[label].get(n, 0.0) for n in range(len(causes))), 0.0)
            ),
            minutes,
            count,
        )
        for label, (cost, minutes, count) in chosen.items()
    ]


def _mends_igniter(label: str, guard: Guard, wording: Wording) -> bool:
    """Whether a fix works on an igniter or its clock spring, which no workshop does.

    Common practice, no source: a bag hangs on the spring.
    """
    action, _, part = label.partition(" ")
    spring = guard.restraint and kind_of(part, wording) is LinkKind.CLOCK_SPRING
    return action in _MENDING and (spring or guard.is_igniter(part, wording))


_MENDING = frozenset([Action.REPAIRED, Action.CLEANED, Action.LUBRICATED, Action.TIGHTENED])


def to_be_done(step: str) -> str:
    """Return a step that is proposed as what to do: a fix is known by what was done.

    Parts of an igniter's circuit are replaced, or mended with its own kit, by the maker's
    procedure (common practice, no source).

    Examples
    --------
    >>> to_be_done("replaced door lock"), to_be_done("pressure test, cold")
    ('replace door lock', 'pressure test, cold')
    >>> to_be_done("replaced clock spring")
    "replace clock spring by the maker's procedure"
    """
    done, parting, rest = step.partition(" ")
    if not rest or done not in set(Action):
        return step
    by_the_maker = BY_THE_MAKER if done in _BY_THE_MAKER and about_circuit(rest) else ""
    return f"{_TO_BE_DONE[Action(done)]}{parting}{rest}{by_the_maker}"


BY_THE_MAKER = " by the maker's procedure"
_BY_THE_MAKER = frozenset([Action.REPLACED, Action.REPAIRED])


def after_fixes(
    weights: Sequence[float],
    tried: Iterable[Attempt],
    causes: Sequence[Cause],
    fixes: Mapping[Key, Sequence[TriedFix]],
    wording: Wording,
    settings: TroubleshootingSettings,
) -> tuple[float, ...]:
    """Return chances by Bayes, after fixes that cured or did not.

    The first of the `weights` are those of the causes, in their order; behind them is that of none
    of these. That is it where a fix cured which is for none of them.

    A part that was replaced without a cure is hardly the cause any more, unless new ones often did
    not cure it here.
    """
    now = list(weights)
    for attempt in tried:
        cures = [
            _would_cure(attempt, cause, fixes.get(cause.key, ()), wording, settings)
            for cause in causes
        ]
        if attempt.cured:
            by_luck = settings.cure_otherwise
            none = by_luck if any(cure > by_luck for cure in cures) else settings.cure
            factors = [*(max(cure, by_luck) for cure in cures), none]
        else:
            factors = [*(1 - cure for cure in cures), 1.0]
        now = [weight * factor for weight, factor in zip(now, factors, strict=True)]
    total = sum(now)
    return tuple(each / total for each in now) if total else tuple(weights)


def _would_cure(
    attempt: Attempt,
    cause: Cause,
    fixes: Sequence[TriedFix],
    wording: Wording,
    settings: TroubleshootingSettings,
) -> float:
    """Return the chance that a fix cures a cause: by what it did here, or by its part alone."""
    done_to, part = attempt.component, cause.component
    is_there = is_done_to(done_to, cause, wording)
    is_whole = is_there and (
        is_within(part, done_to, wording) or not is_within(done_to, part, wording)
    )
    usual, pull = settings.cure if is_there else settings.cure_otherwise, settings.cure_pull
    if is_whole and attempt.action is Action.REPLACED:
        usual, pull = settings.cure_by_new_part, settings.new_part_pull
    for fix in fixes:
        action, component = fix.label.split(" ", 1)
        same = is_within(component, done_to, wording) and is_within(done_to, component, wording)
        if fix.tried and action == attempt.action and same:
            return _cure(fix, usual, pull)
    return usual if is_there else 0.0


def _cure(fix: TriedFix, usual: float, pull: float) -> float:
    return (fix.cured_at_handover + pull * usual) / (fix.tried + pull)
