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


MOST = 64
"""So many answers are kept, the last ones: shops made up for one test come once."""


def _remembered(function: Callable[..., Any]) -> Callable[..., Any]:
    kept: dict[bytes, bytes] = {}

    @wraps(function)
    def asked(*told: Any, **named: Any) -> Any:
        at = blake2b(pickle.dumps((told, named)), digest_size=16).digest()
        found = kept.pop(at, None) or pickle.dumps(function(*told, **named))
        kept[at] = found  # the last
        if len(kept) > MOST:
            del kept[next(iter(kept))]
        return pickle.loads(found)

    return asked
