"""A compiled twin of a plain function: the very same code, made fast. The judges never hear of it.

The function's code object is put into a module whose globals are the compiled siblings (convention: compile after the
fact). No fastmath: it deletes the checks against NaN.
"""

from __future__ import annotations

import types
from collections.abc import Callable
from functools import cache

import numba


@cache
def twin(function: Callable[..., object]) -> Callable[..., object]:
    """The compiled twin of a plain function, and of every function of ours that it calls."""
    names = dict(function.__globals__)
    for name in function.__code__.co_names:
        found = names.get(name)
        if isinstance(found, types.FunctionType) and found.__module__.startswith("stillbore."):
            names[name] = twin(found)
    copy = types.FunctionType(function.__code__, names, function.__name__, function.__defaults__, function.__closure__)
    return numba.njit(fastmath=False)(copy)
