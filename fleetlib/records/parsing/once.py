"""Each different text is read once while one record is: several questions look at the same cells.

What was found is let go of when the reading ends; the few texts that are read outside of one, when the next ends.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, wraps
from typing import ParamSpec, TypeVar, cast

_MOST = 32_768  # different texts, for each function
_P = ParamSpec("_P")
_T = TypeVar("_T")
_kept: list[Callable[[], None]] = []


def once(work: Callable[_P, _T]) -> Callable[_P, _T]:
    """`work`, whose result depends on its arguments alone and is never changed, done once for each in a reading."""
    kept = lru_cache(maxsize=_MOST)(work)
    _kept.append(kept.cache_clear)
    return cast(Callable[_P, _T], kept)


def one_reading(work: Callable[_P, _T]) -> Callable[_P, _T]:
    """`work`, which reads a record; at its end what its texts were read as is let go of."""

    @wraps(work)
    def whole(*args: _P.args, **kwargs: _P.kwargs) -> _T:
        try:
            return work(*args, **kwargs)
        finally:
            forget()

    return whole


def forget() -> None:
    """Let go of what texts were read as."""
    for clear in _kept:
        clear()
