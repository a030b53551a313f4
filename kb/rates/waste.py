"""What came back, and what was tried in vain: counts of a shop, and what they cost it."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass

from kb.case import Action, RepairRecord, Tried, even
from kb.rates.trials import Trial

MAKER_NOT_TOLD = "maker not told"
"""What parts count as of which nobody wrote down who made them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waste:
    """What was tried on one kind of work, and what of it was for nothing.

    Attributes
    ----------
    what : str
        The kind: a fix, what was done, a cause, a model or who made the part.
    cured : int
        Jobs that left with it and without the complaint.
    came_back : int
        Of these, known to have come back.
    not_judged : int
        Back for the same system or something alike, which nobody has judged; whether or not it is
        told that the fix cured.
    proved_other : int
        Of the not judged, those whose return proved another cause.
    unheard : int
        Of the cured, never heard of again: they may have come back elsewhere.
    in_vain : int
        Jobs on which it was tried and did not cure, or not at first.
    at_last : int
        Of these, those on which the same cured in the end; they are among the cured, too.
    for_another : int
        Of the others in vain, those on which it was tried for another cause than the one it counts
        for, which was proved in the end.
    minutes, parts_cost : int, float
        Spent on what came back or was in vain, as far as it was written down; of what cured at
        last and did not come back, on the tries before.
    jobs : tuple of int
        Those that came back or on which it was in vain.
    to_judge : tuple of int
        Those not judged.
    cars : int
        Whose jobs these are, all together, as far as tags tell.
    """

    what: str
    cured: int
    came_back: int
    not_judged: int
    proved_other: int
    unheard: int
    in_vain: int
    at_last: int
    for_another: int
    minutes: int
    parts_cost: float
    jobs: tuple[int, ...]
    to_judge: tuple[int, ...]
    cars: int

    @property
    def of_one_car(self) -> bool:
        """Whether several jobs that were for nothing, or may prove to have been, are one car's."""
        return self.cars == 1 and len({*self.jobs, *self.to_judge}) > 1

    @property
    def lost(self) -> int:
        """How often it was for nothing; what cured at last and came back was so twice."""
        return self.came_back + self.in_vain

    @property
    def may_be_lost(self) -> bool:
        """Whether any was for nothing, or may prove to have been."""
        return bool(self.lost or self.not_judged)


def fix_of(trial: Trial) -> str | None:
    """Return what was done as one line; None where what was done is not to be repeated."""
    return f"{trial.tried.action} {trial.tried.component}" if trial.tried.component else None


def maker_of(trial: Trial) -> str | None:
    """Return who made the part that was fitted; None where none was."""
    if trial.tried.part_maker:
        return " ".join(trial.tried.part_maker.split())
    return MAKER_NOT_TOLD if trial.tried.action is Action.REPLACED else None


def apart_by_maker(repairs: Iterable[RepairRecord]) -> Iterator[RepairRecord]:
    """Tell the same part of two makers on one job apart, as two fixes.

    Fix rates do not: there, the same part fitted twice is one fix, that ended as the last one did.
    """
    for repair in repairs:
        yield repair._replace(attempts=[*map(_of_its_maker, repair.attempts)])


def _of_its_maker(tried: Tried) -> Tried:
    if tried.part_maker is None:
        return tried
    action, component = tried.fix
    return tried._replace(fix=(action, f"{component}\n{even(tried.part_maker)}"))


def is_for_another(trial: Trial) -> bool:
    """Whether something was tried for another cause than the one it counts for."""
    return trial.tried.supposed not in {None, trial.cause}


def wasted(trials: Iterable[Trial], kind: Callable[[Trial], str | None]) -> tuple[Waste, ...]:
    """Count what came back and what was in vain by kind of work, most for nothing first.

    Parameters
    ----------
    trials : iterable of Trial
        In days.
    kind : callable
        What a trial counts as; None where it counts nowhere.
    """
    groups: dict[Hashable, list[Trial]] = defaultdict(list)
    names: dict[Hashable, str] = {}
    for trial in trials:
        name = kind(trial)
        if name is not None:
            groups[name.casefold()].append(trial)
            names.setdefault(name.casefold(), name)
    found = [_waste(names[key], each) for key, each in groups.items()]
    return tuple(
        sorted(found, key=lambda each: (-each.lost, -each.not_judged, -each.minutes, each.what))
    )


def _is_back(trial: Trial) -> bool:
    """Whether it left cured and is known to have come back."""
    return bool(trial.tried.cured and trial.left and trial.life and trial.life.failed)


def _for_nothing(trial: Trial) -> Tried | None:
    """Return what was for nothing: all that was tried, the tries before it cured, or none."""
    all_of_it = trial.tried.cured is False or _is_back(trial)
    return trial.tried if all_of_it else trial.before


def _waste(what: str, trials: list[Trial]) -> Waste:
    cured = [each for each in trials if each.tried.cured and each.left]
    vain = [each for each in trials if each.tried.cured is False]
    at_last = sum(each.before is not None for each in trials)
    lost = [(each, spent) for each in trials if (spent := _for_nothing(each))]
    to_judge = [each for each in trials if each.back is not None]
    return Waste(
        what=what,
        cured=len(cured),
        came_back=sum(map(_is_back, trials)),
        not_judged=len(to_judge),
        proved_other=sum(
            each.back is not None and each.back.cause not in {None, each.cause} for each in to_judge
        ),
        unheard=sum(
            each.life is not None and not each.life.failed and not each.life.time and not each.back
            for each in cured
        ),
        in_vain=len(vain) + at_last,
        at_last=at_last,
        for_another=sum(is_for_another(each) for each in vain),
        minutes=sum(spent.minutes or 0 for _, spent in lost),
        parts_cost=sum(spent.parts_cost or 0.0 for _, spent in lost),
        jobs=tuple(sorted({each.job for each, _ in lost})),
        to_judge=tuple(sorted({each.job for each in to_judge})),
        cars=len({each.car for each in (*(each for each, _ in lost), *to_judge)}),
    )
