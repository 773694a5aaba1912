"""What is sorted out of a table once for all who ask, such as the rows of each piece by its name in whatever case."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
import pandas as pd

_looked_up: dict[tuple[int, object], tuple[weakref.ref[pd.DataFrame], int, Any]] = {}
Found = TypeVar("Found")


def once_of(table: pd.DataFrame, sort_out: Callable[[pd.DataFrame], Found]) -> Found:
    """What `sort_out` makes of `table`, made once and kept while the table lives: do not change its rows afterwards."""
    key = (id(table), sort_out)
    held = _looked_up.get(key)
    if held is None or held[0]() is not table or held[1] != len(table):
        alive = weakref.ref(table, lambda _: _looked_up.pop(key, None))
        held = (alive, len(table), sort_out(table))
        _looked_up[key] = held
    found: Found = held[2]
    return found


def rows_named(table: pd.DataFrame, name: str) -> np.ndarray:
    """The places (rising integers) of the rows of `table` whose `piece` is `name`, whatever the case."""
    return once_of(table, _places).get(name.casefold(), np.zeros(0, dtype=int))


def _places(table: pd.DataFrame) -> dict[str, np.ndarray]:
    places: dict[str, list[int]] = {}
    for at, piece in enumerate(table["piece"].astype(str).str.casefold()):
        places.setdefault(piece, []).append(at)
    return {piece: np.array(at, dtype=int) for piece, at in places.items()}
