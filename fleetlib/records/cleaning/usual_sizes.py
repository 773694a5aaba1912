"""Cells of all three sides against the usual sizes of their kinds: what unit and what order they can be in."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from fleetlib.records.cleaning.questions import BANDS
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.parsing.sizes import split_sizes
from fleetlib.records.schema.columns import SIZES

METRIC = re.compile(r"(?:\d|\b)(?:cm|mm|m)\b", re.IGNORECASE)
INCHES = re.compile(r"[\"'″”′’]|(?:\d|\b)(?:in|inch|inches|ft)\b", re.IGNORECASE)
Way = tuple[str, tuple[str, ...]]  # a unit and an order of sides
FEWEST_SIZED = 4  # pieces of known kinds; our own, no source


def share_of_usual(
    cells: TextColumn, kinds: np.ndarray, units: Sequence[str], orders: Sequence[Sequence[str]]
) -> dict[Way, float]:
    """For each unit and order the share of the bare sizes of known kinds that are usual for their kind when read so, a
    quarter beyond its band counted as in it; empty with fewer than four. `kinds`: the kind of each row."""
    said = [METRIC.search(t) or INCHES.search(t) or not t.strip() for t in cells.texts]
    bare = ~np.array([*map(bool, said), True])
    rows = [i for i in np.flatnonzero(bare[cells.codes]) if kinds[i] in BANDS]
    bands = np.array([BANDS[kinds[i]] for i in rows])
    share: dict[Way, float] = {}
    for unit in units:
        for order in orders:
            sides = split_sizes(cells.texts, unit=unit, order=order).sides
            values = np.column_stack([np.array(sides[s])[cells.codes[rows]] for s in SIZES])
            known = ~np.isnan(values).any(axis=1)
            if known.sum() < FEWEST_SIZED:
                return {}
            low, high = 0.75 * bands[known, :, 0], 1.25 * bands[known, :, 1]
            fits = ((values[known] >= low) & (values[known] <= high)).all(axis=1)
            share[unit, tuple(order)] = float(fits.mean())
    return share
