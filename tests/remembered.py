"""What is reckoned once of the same is not reckoned again: for slow steps that tests share."""

import pickle
from collections.abc import Callable
from functools import wraps
from hashlib import blake2b
from types import ModuleType
from typing import Any

import pytest


def remember(patch: pytest.MonkeyPatch, module: ModuleType, name: str) -> None:
    """Have a function of a module keep what it returns, by what it is given.

    What is given and returned is pickled, so that nobody can change what another is given.
    """
    patch.setattr(module, name, _remembered(getattr(module, name)))


def _remembered(function: Callable[..., Any]) -> Callable[..., Any]:
    kept: dict[bytes, bytes] = {}

    @wraps(function)
    def found(*told: Any, **named: Any) -> Any:
        at = blake2b(pickle.dumps((told, named)), digest_size=16).digest()
        if at not in kept:
            kept[at] = pickle.dumps(function(*told, **named))
        return pickle.loads(kept[at])

    return found
