"""Bare numbers under a heading of hours, told by the rest of their column: hours, minutes, or hours.minutes.

The bounds are common practice, no source: a piece seldom takes over 60 hours and seldom under one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from fleetlib.base.currencies import NAMES_MONEY
from fleetlib.records.parsing.amounts import is_bare_number, read_hours
from fleetlib.records.parsing.numbers import Cell, plain

MANY, FEW = 60.0, 30.0  # over MANY a bare number is hardly hours; under FEW it is hardly minutes
LONE = 120.0  # from here a lone number is not taken for hours
_POINTED = re.compile(r"\d{1,2}[.,][0-5]\d")
_CLOCK = re.compile(r"\d{1,3}:[0-5]\d(?::[0-5]\d)?")


def by_neighbours(texts: Sequence[str], codes: np.ndarray, *, unit: str = "") -> list[Cell]:
    """Hours of work of one column; `codes` says which text each row holds, `unit` what the heading says.

    Without a unit in the heading: a column whose bare numbers are mostly over 60 is minutes where they are all
    30 or more, and asked about otherwise; a lone number over 120 beside smaller ones is minutes where that makes
    it like them, else asked about. 3.30 beside 3:45 may be tenths or minutes and is asked about. A column of
    money ("Labor: $45") is no hours.
    """
    cells = read_hours(texts, unit=unit or "hours")
    money = [bool(NAMES_MONEY.search(plain(t))) for t in texts]
    if any(_CLOCK.fullmatch(plain(t)) for t in texts):
        cells = [_beside_clocks(t, c) for t, c in zip(texts, cells, strict=True)]
    if unit:
        return cells
    bare = np.array(
        [c.value is not None and is_bare_number(t) for c, t in zip(cells, texts, strict=True)]
    )
    if len(texts) and np.isin(codes, np.flatnonzero(money)).any():
        return [
            Cell(None, "may be money, as others of this column are", True) if b else c
            for b, c in zip(bare, cells, strict=True)
        ]
    values = np.array([np.nan if c.value is None else float(c.value) for c in cells])
    rows = values[codes][bare[codes]] if len(texts) else values
    over = rows > MANY
    if not over.any():
        return cells
    others = values[codes][~np.isnan(values[codes])] if len(texts) else values
    hours = others[others <= MANY]
    all_minutes = (
        over.sum() * 2 > len(rows) and (rows >= FEW).all() and not (hours[hours < FEW]).size
    )
    if all_minutes and len(rows) >= 3:
        whole = "minutes, as the whole column is, turned into hours"
        return [
            Cell(round(values[i] / 60, 4), whole) if b else cells[i] for i, b in enumerate(bare)
        ]
    return [
        _lone(values[i], hours) if b and values[i] > LONE else cells[i] for i, b in enumerate(bare)
    ]


def _beside_clocks(text: str, cell: Cell) -> Cell:
    """3.30 in a column that has times such as 3:45."""
    if cell.value is None or not _POINTED.fullmatch(plain(text)):
        return cell
    return Cell(None, "could be tenths of an hour or minutes, as others have 3:45", True)


def _lone(value: float, hours: np.ndarray) -> Cell:
    """A number over LONE beside the `hours` of others."""
    if len(hours) >= 3 and hours.min() / 2 <= value / 60 <= 2 * hours.max():
        return Cell(round(value / 60, 4), "minutes, by the hours around it, turned into hours")
    return Cell(None, "could be hours or minutes", True)
