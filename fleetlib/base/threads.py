"""One thread for the many small matrices: on matrices of a few hundred rows several threads mostly wait."""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import cache
from typing import Any

from threadpoolctl import ThreadpoolController


@cache
def _controller() -> ThreadpoolController:
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[Any]:
    """While inside, linear algebra runs on one thread (measured 10 to 100 times faster at 60-250 sales)."""
    limited: AbstractContextManager[Any] = _controller().limit(limits=1, user_api="blas")
    return limited
