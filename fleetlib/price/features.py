"""From pieces to the columns of the price model: what a price may hang on, and nothing known only later.

| column | kind | used |
|---|---|---|
| furniture_type, wood, finish | words | always |
| style, construction, channel | words | always, drawn in more |
| size_cuft, pieces_in_lot | number | always |
| days_listed | number | always; descriptive, see `DAYS_SENTENCE` |
| width_in, height_in, grade, year_made | number | always, drawn in more |
| years_before | number: years from the sale to `as_of`, negative | where the sales span a year |
| time_of_year | share of the year | where the sales span a year |
| bought_lot | words | which pieces share what nobody wrote down, with those alike in all that was |

The owner's own price idea, hours and costs are never used: the first belongs to the selling-time model,
the others say what went in, not what a buyer sees.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import pandas as pd

from fleetlib.records.piece import Piece
from fleetlib.records.schema.columns import COLUMNS, INCHES_IN_A_CUBIC_FOOT, SIZES

_TELLING = tuple(c for c in COLUMNS if "price" in c.tells)


def _more(*known: str, words: bool) -> tuple[str, ...]:
    """`known`, then the other columns that tell the price and hold words (or numbers)."""
    others = (c.name for c in _TELLING if (c.kind == "word") == words and c.name not in known)
    return (*known, *others)


FACTORS = _more("furniture_type", "wood", "finish", "style", "construction", "channel", words=True)
_NUMBERS = ("width_in", "height_in", "grade", "year_made", "pieces_in_lot")
# depth tells by way of size_cuft
_ADDED = tuple(n for n in _more(*_NUMBERS, words=False) if n not in (*_NUMBERS, "depth_in"))
MEASURES = ("size_cuft", "days_listed", *_NUMBERS, *_ADDED, "years_before")
CYCLES = ("time_of_year",)
WALKS = ("years_before",)
DAYS_SENTENCE = (
    "Waiting does not cause the price: pieces that sat longer were also asked differently, so this only "
    "describes your past sales."
)
# How each column is called when a person reads about it.
WORDS = {
    "furniture_type": "type",
    "wood": "wood",
    "finish": "finish",
    "style": "style",
    "construction": "construction",
    "channel": "where sold",
    "size_cuft": "size",
    "days_listed": "days listed",
    "width_in": "width",
    "height_in": "height",
    "grade": "your grade",
    "year_made": "year made",
    "pieces_in_lot": "pieces in the lot",
    "years_before": "price drift over the years",
    "time_of_year": "time of year",
}
WORDS["(twins)"] = "one of its lot, or just like it, sold"
WORDS |= {n: n.replace("_", " ") for n in (*FACTORS, *MEASURES) if n not in WORDS}
_DAYS_PER_YEAR = 365.25


def model_columns(
    flips: pd.DataFrame, *, as_of: date, days: float | None = None, sold_on: date | None = None
) -> pd.DataFrame:
    """The model's columns for rows of flips, same index.

    `days`: every row as if sold after this many days listed (default: its own). `sold_on`: every row as if
    sold that day (default: on its own sold_on or withdrawn_on; the date counts as unknown without).
    """
    made: dict[str, object] = {name: _column(flips, name, object) for name in FACTORS}
    sizes = {name: _column(flips, name, float) for name in SIZES}
    cuft = sizes["width_in"] * sizes["depth_in"] * sizes["height_in"] / INCHES_IN_A_CUBIC_FOOT
    made["size_cuft"] = cuft.fillna(_column(flips, "size_cuft", float))
    made["days_listed"] = float(days) if days is not None else _column(flips, "days_listed", float)
    for name in ("width_in", "height_in"):
        made[name] = sizes[name]
    for name in ("grade", "year_made", *_ADDED):
        made[name] = _column(flips, name, float)
    made["pieces_in_lot"] = _column(flips, "pieces_in_lot", float).fillna(1.0)
    if sold_on is not None:
        sold = pd.Series(pd.Timestamp(sold_on), index=flips.index)
    else:
        sold = pd.to_datetime(_column(flips, "sold_on", object))
        sold = sold.fillna(pd.to_datetime(_column(flips, "withdrawn_on", object)))
    made["bought_lot"] = _column(flips, "bought_lot", object)
    made["years_before"] = (sold - pd.Timestamp(as_of)).dt.days / _DAYS_PER_YEAR
    made["time_of_year"] = (sold.dt.day_of_year - 1) / _DAYS_PER_YEAR
    return pd.DataFrame(made, index=flips.index)


def pieces_table(pieces: Sequence[Piece]) -> pd.DataFrame:
    """One row per piece with the columns a price may hang on (a field that is None is missing)."""
    names = [*FACTORS, *SIZES, "grade", "year_made", "pieces_in_lot", *_ADDED, "bought_lot"]
    rows = [{name: getattr(piece, name) for name in names} for piece in pieces]
    return pd.DataFrame(rows, columns=names)


def sold_rows(flips: pd.DataFrame) -> pd.DataFrame:
    """The sold flips with a price above 0, oldest sale first, their index kept."""
    price = _column(flips, "sale_price", float)
    sold = flips.loc[price.notna() & (price > 0)]
    return sold.sort_values("sold_on", kind="stable", na_position="first")


def _column(flips: pd.DataFrame, name: str, kind: type) -> pd.Series:
    if name not in flips.columns:
        return pd.Series(np.nan if kind is float else None, index=flips.index, dtype=kind)
    if kind is float:
        return pd.to_numeric(flips[name], errors="coerce").astype(float)
    return flips[name].astype(object)
