"""One thread for the many small matrices: on matrices of a few hundred rows several threads mostly wait."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

from threadpoolctl import ThreadpoolController


@cache
def _controller() -> ThreadpoolController:
    return ThreadpoolController()


@contextmanager
def one_thread() -> Iterator[None]:
    """While inside, or in a function it decorates, linear algebra runs on one thread.

    Measured 10 to 100 times faster at 60-250 sales; and how many threads add up would move the last digits, so the
    same records then give the same numbers on every machine of a kind, alone or beside other shops.
    """
    with _controller().limit(limits=1, user_api="blas"):
        yield


def linear_algebra() -> str:
    """The kind of processor that linear algebra chose its code for: another kind may add up to another last digit."""
    kinds = {str(i.get("architecture")) for i in _controller().info() if i["user_api"] == "blas"}
    return " ".join(sorted(kinds))
