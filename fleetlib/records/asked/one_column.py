"""Two columns that hold one thing under different headings, row by row as one: on two sheets of a workbook, mostly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fleetlib.records.files.headings import Heading
from fleetlib.records.files.text_columns import TextColumn, column_of

_MOST_APART = 0.1  # of the rows with either may differ; with more, the two are not one thing; our own, no source

Read = tuple[TextColumn, Heading]


def rows_filled(cells: TextColumn) -> np.ndarray:
    """Which rows hold anything but spaces."""
    filled = np.array([bool(t.strip()) for t in cells.texts], dtype=bool)
    return filled[cells.codes] if len(filled) else np.zeros(len(cells.codes), dtype=bool)


def one_column(one: Read, other: Read, *, told: bool) -> Read | None:
    """The two as one column with its heading; None where they differ in too many rows, or in their money or the order
    of their sides. Where both are filled and differ, the cell says both, `4 or 6`, which no reader takes for one.

    Where they are in different units, each bare cell is given its own; where one heading names none, they are one only
    if that was `told`.
    """
    (a, first), (b, second) = one, other
    apart = {first.currency, second.currency} - {""}, {first.order, second.order} - {()}
    half_said = first.unit != second.unit and "" in (first.unit, second.unit)
    if any(len(said) > 1 for said in apart) or (half_said and not told):
        return None
    both = np.flatnonzero(rows_filled(a) & rows_filled(b)).tolist()
    differ = [i for i in both if a.cell(i).split() != b.cell(i).split()]
    if len(differ) > _MOST_APART * int((rows_filled(a) | rows_filled(b)).sum()):
        return None
    units = (first.unit, second.unit) if first.unit != second.unit else ("", "")
    cells = [
        _with_unit(a.cell(i), units[0]) or _with_unit(b.cell(i), units[1])
        for i in range(len(a.codes))
    ]
    for i in differ:
        cells[i] = f"{cells[i]} or {_with_unit(b.cell(i), units[1])}"
    heading = replace(
        first,
        unit="" if any(units) else first.unit,
        currency=first.currency or second.currency,
        order=first.order or second.order,
    )
    return column_of(cells), heading


def steps_as_one(columns: Sequence[TextColumn]) -> TextColumn:
    """Columns of prices asked one after the other as one: `695, 650, 595`. A row whose first cell is blank and a later
    one is not says so, which no reader takes for a price."""
    cells = []
    for i in range(len(columns[0].codes)):
        row = [c.cell(i).strip() for c in columns]
        filled = [t for t in row if t]
        cells.append(", ".join(filled if row[0] or not filled else ["blank", *filled]))
    return column_of(cells)


def _with_unit(text: str, unit: str) -> str:
    """A cell with the unit of its heading behind it where it bears none itself."""
    bare = text.strip()
    return f"{bare} {unit}" if bare and unit and bare[-1].isdigit() else bare
