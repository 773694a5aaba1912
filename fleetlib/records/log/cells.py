"""Cells of the record that the note of an entry carries, as `wood=oak; width_in=60`: which, and how they are read."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from datetime import date
from typing import Any

import pandas as pd

from fleetlib.base.settings import Settings
from fleetlib.records.cleaning.changes import left_out
from fleetlib.records.cleaning.clean import CleanFlips, clean_table
from fleetlib.records.files.reading import table_from_text
from fleetlib.records.schema.columns import COLUMN, NAMES

# What a piece is, often not told before the work is done.
_IS = (
    "wood", "construction", "finish", "style", "pieces_in_lot", "width_in", "depth_in", "height_in", "year_made",
    "grade", "condition", "route",
)  # fmt: skip
OF_THE_SALE = ("selling_fees", "delivery_charged", "channel")
_CELLS: Mapping[str, tuple[str, ...]] = {
    "bought": ("furniture_type", *_IS, "bought_lot", "gut_price", "notes"),
    "listed": (*_IS, "gut_price"),
    "asking_price": (*_IS, "gut_price"),
    "sold": OF_THE_SALE,
    "finished": _IS,
    "photographed": _IS,
}


def cells_of(event: str) -> tuple[str, ...]:
    """The columns that an entry of `event` may fill."""
    return _CELLS.get(event, ())


def details(note: object) -> dict[str, str]:
    """The cells that a note carries: `wood=oak; under the bench` -> {"wood": "oak"}."""
    found = {}
    for part in str(note).split(";") if isinstance(note, str) else ():
        name, mark, value = part.partition("=")
        if mark and name.strip() in COLUMN and value.strip():
            found[name.strip()] = value.strip()
    return found


def with_details(cells: Mapping[str, object], note: str = "") -> str:
    """A note that carries `cells`; the opposite of `details`. A semicolon in a value becomes a comma."""
    parts = [f"{k}={str(v).replace(';', ',')}" for k, v in cells.items() if str(v).strip()]
    return "; ".join([*parts, *([note.replace(";", ",")] if note else [])])


def cleaned(rows: list[dict[str, str]], settings: Settings, as_of: date) -> CleanFlips:
    """The rows read and cleaned like any record; their lines are 2, 3, ..."""
    out = io.StringIO()
    writer = csv.DictWriter(out, NAMES, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    table = table_from_text(out.getvalue(), name="events.csv")
    return clean_table(table, settings=settings, as_of=as_of)


def read_cells(
    several: Mapping[int, Mapping[str, str]], settings: Settings, as_of: date
) -> tuple[dict[int, dict[str, object]], dict[int, dict[str, str]]]:
    """The cells of each entry (by a number) as values; and by column what is wrong with those that cannot be read."""
    if not several:
        return {}, {}
    places = list(several)
    rows = [{"furniture_type": "desk", **several[i], "piece": str(n)} for n, i in enumerate(places)]
    read = cleaned(rows, settings, as_of)
    values: dict[int, dict[str, object]] = {i: {} for i in places}
    wrong: dict[int, dict[str, str]] = {i: {} for i in places}
    for at, line in zip(read.flips.index, read.flips["line"], strict=True):
        i = places[int(line) - 2]
        row: Any = read.flips.loc[at]
        values[i] = {c: row[c] for c in several[i] if not pd.isna(row[c])}
    for change in left_out(read.changes).itertuples(index=False):
        wrong[places[int(str(change.line)) - 2]][str(change.column)] = str(change.why)
    return values, wrong
