"""The only place with numba options.

``fastmath`` stays off and nothing is contracted, so that a kernel and its plain-Python body give
the same bits. With ``NUMBA_DISABLE_JIT=1`` in the environment the same bodies run as plain Python.

``_nrt=False``: kernels own no memory (their callers make every array), so arrays need not be
counted. Counting those of a net at each call took five sixths of the time of a run; see
``docs/decisions/0004-kernels-own-no-memory.md``. A kernel that allocates fails to compile.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import numba

P = ParamSpec("P")
R = TypeVar("R")


def kernel(body: Callable[P, R]) -> Callable[P, R]:
    """Compile a kernel on first call, and keep the machine code in the cache for later runs."""
    return _compiled(body, is_inner=False)


def inner(body: Callable[P, R]) -> Callable[P, R]:
    """The same, for kernels that only other kernels call.

    They get no way in from Python. To unpack a whole net for each of them took most of the time
    that the engine needs to compile: 21 s are left of 55.
    """
    return _compiled(body, is_inner=True)


def _compiled(body: Callable[P, R], *, is_inner: bool) -> Callable[P, R]:
    options: dict[str, Any] = {
        "cache": True,
        "error_model": "numpy",
        "_nrt": False,
        "forceinline": True,
        "nogil": True,
        "no_cpython_wrapper": is_inner,
        "no_cfunc_wrapper": is_inner,
    }
    compiled: Callable[P, R] = numba.njit(**options)(body)
    return compiled


def is_ready(function: Callable[..., object]) -> bool:
    """Whether a kernel can be called without compiling it first (a guess from its cache)."""
    cache = getattr(function, "_cache", None)
    if cache is None:  # runs as plain Python
        return True
    name = f"{function.__module__.rpartition('.')[2]}.{function.__name__}-*.nbi"
    return any(Path(cache.cache_path).glob(name))
