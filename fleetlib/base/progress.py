"""How far long work has come, told to whoever listens; nobody does unless asked to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

Item = TypeVar("Item")
Listener = Callable[[str, int, int], object]

_listening: ContextVar[Listener | None] = ContextVar("listening", default=None)


@contextmanager
def telling(listener: Listener) -> Iterator[None]:
    """While inside, `listener` is told what is being done, how many parts of it are done, and of how many.

    In a notebook `with telling(print): shop.accuracy()` prints them. What it raises stops the work where it stands.
    """
    before = _listening.set(listener)
    try:
        yield
    finally:
        _listening.reset(before)


def counted(what: str, items: Sequence[Item]) -> Iterator[Item]:
    """The items one after the other, telling before each how many are done."""
    for done, item in enumerate(items):
        listener = _listening.get()
        if listener is not None:
            listener(what, done, len(items))
        yield item
