"""Answers as JSON without a chance of what is known by one case: it gives none to be acted on.

Where one such cause stands alone, what stands beside it is told together with it, or not at all, so
that its chance is not had by subtraction either.
"""

from collections.abc import Sequence
from typing import Any

import msgspec

from kb.reports.labels import without_chance
from kb.reports.troubleshoot import links_of_one_case, of_one_case
from kb.services.ask import CausesAnswer
from kb.services.troubleshoot import WorkingJob

Told = dict[str, Any]
_OF_A_CAUSE = ("chance", "by_jobs", "by_model")
_OF_A_SUSPECT = ("before", "chance")


def told_causes(answer: CausesAnswer) -> Told:
    """Return likely causes for JSON: `one_case` says of which no chance is told.

    Of several such causes `one_case_together` is the chance that it is any of them; of a single one
    `not_seen_before_or_one_case` is that it is this or one not seen before.
    """
    told: Told = _plain(answer)
    chances = [each.chance for each in answer.causes if each.all_jobs == 1]
    told |= _rest(chances, "not_seen_before", answer.not_seen_before)
    _hide(told["causes"], [each.all_jobs == 1 for each in answer.causes], _OF_A_CAUSE)
    if len(chances) == 1:  # votes and shares of all causes sum to one as well
        others = [each for each in told["causes"] if not each["one_case"]]
        for each in others[-1:]:
            each["by_jobs"] = each["by_model"] = None
    return told


def told_working(working: WorkingJob) -> Told:
    """Return where an open job stands for JSON; names as in `told_causes`.

    Of causes that are no suspects any more no chance is told: how many cases they have is not
    known there.
    """
    told: Told = _plain(working)
    advice, shown = working.advice, told["advice"]
    chances = [each.chance for each in advice.suspects if each.cases == 1]
    shown |= _rest(chances, "none_of_them", advice.none_of_them)
    _hide(shown["suspects"], [each.cases == 1 for each in advice.suspects], _OF_A_SUSPECT)
    shown["unlikely"] = [cause for cause, _ in shown["unlikely"]]
    hidden, alone = links_of_one_case(advice), of_one_case(working)
    for link in shown["circuit"]:
        link["chance"] = None if link["name"] in hidden else link["chance"]
    for step, as_told in zip(advice.steps, shown["steps"], strict=True):
        unsaid = without_chance([each.by_one_case for each in step.branches])
        for place, branch in enumerate(as_told["branches"]):
            branch["chance"] = None if place in unsaid else branch["chance"]
            branch["leaves"] = [
                [cause, None if cause["component"] in alone else chance]
                for cause, chance in branch["leaves"]
            ]
        as_told["cures"] = None if unsaid else as_told["cures"]
    return told


def _plain(answer: object) -> Told:
    plain: Told = msgspec.to_builtins(answer, str_keys=True)
    return plain


def _hide(told: Sequence[Told], once: Sequence[bool], names: Sequence[str]) -> None:
    for each, is_one_case in zip(told, once, strict=True):
        each["one_case"] = is_one_case
        if is_one_case:
            each.update(dict.fromkeys(names))


def _rest(chances: Sequence[float], name: str, rest: float) -> Told:
    """Return the chance of something else, and that of the causes of one case, apart or not."""
    alone = len(chances) == 1
    return {
        name: None if alone else rest,
        f"{name}_or_one_case": rest + chances[0] if alone else None,
        "one_case_together": sum(chances) if len(chances) > 1 else None,
    }
