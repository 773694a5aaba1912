"""One click, one deed: a second click that was made before the first was answered does nothing."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime

DOUBLE_CLICK_S = (
    0.8  # common practice, no source: two clicks closer than this are one of an unsteady hand
)


def sent_at() -> float | None:
    """When the click being handled was made, in seconds since 1970; None outside a notebook.

    The browser writes the time on its message; it runs on this machine, so both clocks are one.
    """
    from IPython import get_ipython

    shell = get_ipython()
    kernel = getattr(shell, "kernel", None)
    if kernel is None:
        return None
    made = kernel.get_parent("shell").get("header", {}).get("date")
    return made.timestamp() if isinstance(made, datetime) else None


class Clicks:
    """The clicks on one button: those made while one was handled, or as its double, are dropped."""

    def __init__(self) -> None:
        self._began = self._done = float("-inf")
        self._busy = False

    def take(self, action: Callable[[], None]) -> None:
        """Run `action`, unless this click was made before the last one had been answered."""
        made = sent_at()
        if self._busy or (
            made is not None and (made < self._done or made - self._began < DOUBLE_CLICK_S)
        ):
            return
        self._busy = True
        self._began = float("-inf") if made is None else made
        try:
            action()
        finally:
            self._busy = False
            self._done = time.time()
