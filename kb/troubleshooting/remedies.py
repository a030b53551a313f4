"""Fixes as the decision weighs them: what each costs, and how likely it cures which suspect."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from kb.case import Action, Attempt, Cause, even
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.circuit import kind_of
from kb.troubleshooting.decision import RepairAction
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.guard import Guard

Key = tuple[str, str, str]


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


def remedies_for(
    causes: Sequence[Cause],
    fixes: Mapping[Key, Sequence[TriedFix]],
    guard: Guard,
    wording: Wording,
    settings: TroubleshootingSettings,
    tried: Sequence[Attempt] = (),
) -> list[Remedy]:
    """Return the best fix of each cause; one that serves several causes is one remedy.

    None that was `tried` on the job, nor any without a past of a part that was replaced there.
    """
    done = {attempt.fix for attempt in tried}
    renewed = {component for action, component in done if action == Action.REPLACED}
    names = {f"{action} {component}" for action, component in done}
    chosen: dict[str, tuple[float, float, int]] = {}
    cures: dict[str, dict[int, float]] = {}
    for place, cause in enumerate(causes):
        told = [fix for fix in fixes.get(cause.key, ()) if fix.tried and guard.may_mend(fix.label)]
        told = [fix for fix in told if even(fix.label) not in names]
        kind = kind_of(cause.component, wording)
        usual = float(general_tests().repair_minutes[kind])
        if told:
            best = told[0]
            label, count = best.label, best.tried
            minutes = best.minutes or usual
            cost = minutes + (best.parts_cost or 0) / settings.money_per_minute
        else:
            label, count, minutes, cost = f"{Action.REPAIRED} {cause.component}", 0, usual, usual
            again = cause.key[0] in renewed or even(label) in names
            if again or not guard.may_mend(cause.component):
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


def after_fixes(
    weights: Sequence[float],
    tried: Iterable[Attempt],
    causes: Sequence[Cause],
    fixes: Mapping[Key, Sequence[TriedFix]],
    settings: TroubleshootingSettings,
) -> tuple[float, ...]:
    """Return chances, those of what a failed fix would have cured lowered.

    The first of the `weights` are those of the causes, in their order.

    A part that was replaced without a cure is hardly the cause any more, unless new ones often did
    not cure it here.
    """
    now = list(weights)
    for attempt in tried:
        if attempt.cured is False:
            for place, cause in enumerate(causes):
                now[place] *= 1 - _would_cure(attempt, cause, fixes.get(cause.key, ()), settings)
    total = sum(now)
    return tuple(each / total for each in now) if total else tuple(weights)


def _would_cure(
    attempt: Attempt, cause: Cause, fixes: Sequence[TriedFix], settings: TroubleshootingSettings
) -> float:
    """Return the chance that a fix cures a cause: by what it did here, or by its part alone."""
    action, component = attempt.fix
    is_same = cause.key[0] == component
    usual, pull = settings.cure, settings.cure_pull
    if is_same and action == Action.REPLACED:
        usual, pull = settings.cure_by_new_part, settings.new_part_pull
    for fix in fixes:
        if fix.tried and even(fix.label) == f"{action} {component}":
            return _cure(fix, usual, pull)
    return usual if is_same else 0.0


def _cure(fix: TriedFix, usual: float, pull: float) -> float:
    return (fix.cured_at_handover + pull * usual) / (fix.tried + pull)
