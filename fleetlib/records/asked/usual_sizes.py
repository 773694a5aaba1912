"""Cells of all three sides against the usual sizes of their kinds: what unit and what order they can be in."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import pandas as pd

from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.parsing.once import once
from fleetlib.records.parsing.sizes import sides_in

# Width x depth x height in inches; common practice, no source.
BANDS: dict[str, tuple[tuple[float, float], tuple[float, float], tuple[float, float]]] = {
    "nightstand": ((16, 26), (12, 20), (22, 30)),
    "dresser": ((44, 72), (16, 24), (28, 38)),
    "chest of drawers": ((26, 44), (16, 22), (38, 60)),
    "highboy": ((34, 44), (18, 24), (60, 90)),
    "armoire": ((32, 60), (18, 28), (60, 86)),
    "sideboard": ((42, 80), (15, 22), (29, 42)),
    "hutch": ((34, 72), (14, 22), (66, 88)),
    "coffee table": ((34, 56), (16, 34), (14, 20)),
    "side table": ((12, 30), (12, 30), (18, 30)),
    "console": ((30, 72), (9, 20), (26, 36)),
    "desk": ((36, 72), (18, 36), (28, 32)),
    "dining table": ((36, 108), (28, 48), (28, 31)),
    "chair": ((16, 24), (16, 26), (30, 46)),
    "bench": ((30, 72), (12, 22), (15, 20)),
    "bookcase": ((20, 60), (9, 18), (30, 90)),
    "vanity": ((34, 60), (15, 24), (28, 32)),
    "trunk": ((28, 54), (14, 26), (14, 28)),
}
_METRIC = re.compile(r"(?:\d|\b)(?:cm|mm|m)\b", re.IGNORECASE)
_INCHES = re.compile(r"[\"'″”′’]|(?:\d|\b)(?:in|inch|inches|ft)\b", re.IGNORECASE)
Way = tuple[str, tuple[str, ...]]  # a unit and an order of sides
FEWEST_SIZED = 4  # pieces of known kinds; our own, no source

_BEYOND = 250  # no usual piece is so many inches or centimetres long; common practice, no source
_LONGEST_MM = 4000
_NEARLY_ALL = 0.8  # our own, no source
_FIGURES = re.compile(r"\d+")


@once
def unit_said(text: str) -> str:
    """The unit that a size names: "cm" for any metric one, "in" for inches or feet; "" for none."""
    return "cm" if _METRIC.search(text) else "in" if _INCHES.search(text) else ""


def only_in_mm(cells: TextColumn) -> bool:
    """Whether nearly all rows with a size that names no unit have a side that can only be in millimetres."""
    longest = [
        0 if unit_said(t) else max(map(int, _FIGURES.findall(t)), default=0) for t in cells.texts
    ]
    rows = np.array([*longest, 0])[cells.codes]
    bare = rows[rows > 0]
    beyond = (bare > _BEYOND) & (bare <= _LONGEST_MM)
    return bool(len(bare)) and float(beyond.mean()) >= _NEARLY_ALL


def share_of_usual(
    cells: TextColumn, kinds: np.ndarray, units: Sequence[str], orders: Sequence[Sequence[str]]
) -> dict[Way, float]:
    """For each unit and order the share of the bare sizes of known kinds that are usual for their kind when read so, a
    quarter beyond its band counted as in it; empty with fewer than four. `kinds`: the kind of each row."""
    bare = np.array([*(bool(t.strip() and not unit_said(t)) for t in cells.texts), False])
    rows = [i for i in np.flatnonzero(bare[cells.codes]).tolist() if kinds[i] in BANDS]
    codes, known_kinds = pd.factorize(kinds[rows])
    bands = np.array([BANDS[k] for k in known_kinds])[codes] if rows else np.empty((0, 3, 2))
    share: dict[Way, float] = {}
    for unit in units:
        for order in orders:
            values = sides_in(cells.texts, unit=unit, order=order)[cells.codes[rows]]
            known = ~np.isnan(values).any(axis=1)
            if known.sum() < FEWEST_SIZED:
                return {}
            low, high = 0.75 * bands[known, :, 0], 1.25 * bands[known, :, 1]
            fits = ((values[known] >= low) & (values[known] <= high)).all(axis=1)
            share[unit, tuple(order)] = float(fits.mean())
    return share
