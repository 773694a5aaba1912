"""The cells of a column as plain values, for what goes through rows one by one."""

from __future__ import annotations

from typing import Any

import pandas as pd


def plain_cells(column: pd.Series) -> list[Any]:
    """The cells of `column`, None for missing; each different day is made a Timestamp once."""
    if not pd.api.types.is_datetime64_any_dtype(column):
        return [None if v is None or v != v else v for v in column.tolist()]
    codes, days = pd.factorize(column)  # -1: missing
    each = [*days, None]
    return [each[k] for k in codes.tolist()]
