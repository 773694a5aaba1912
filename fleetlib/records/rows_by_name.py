"""The rows of one piece in a large table, looked up by its name in whatever case."""

from __future__ import annotations

import weakref

import numpy as np
import pandas as pd

_MOST_TABLES = 16
_looked_up: dict[int, tuple[weakref.ref[pd.DataFrame], int, dict[str, np.ndarray]]] = {}


def rows_named(table: pd.DataFrame, name: str) -> np.ndarray:
    """The places (rising integers) of the rows of `table` whose `piece` is `name`, whatever the case.

    The names of a table are sorted out once and kept while it lives; do not rename pieces in it afterwards.
    """
    held = _looked_up.get(id(table))
    if held is None or held[0]() is not table or held[1] != len(table):
        while len(_looked_up) >= _MOST_TABLES:
            _looked_up.pop(next(iter(_looked_up)), None)
        places: dict[str, list[int]] = {}
        for at, piece in enumerate(table["piece"].astype(str).str.casefold()):
            places.setdefault(piece, []).append(at)
        held = (
            weakref.ref(table),
            len(table),
            {piece: np.array(at, dtype=int) for piece, at in places.items()},
        )
        _looked_up[id(table)] = held
    return held[2].get(name.casefold(), np.zeros(0, dtype=int))
