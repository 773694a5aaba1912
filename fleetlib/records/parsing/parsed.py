"""What the different texts of one column were read as, as arrays; and the cells of such an array as plain values."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.records.parsing.numbers import LEFT_OUT, Cell, shown
from fleetlib.records.schema.columns import Column


@dataclass(frozen=True, eq=False, slots=True)
class Reading:
    """One entry a text: its value (None: missing), why (one sentence for all, or one each), whether it was
    refused (None: none was), where that is known already how the value is written, and which texts are listed
    even where nothing was changed (None: none is)."""

    values: Sequence[Any] | np.ndarray
    why: str | list[str] = "spaces"
    refused: np.ndarray | None = None
    written: list[str] | None = None
    listed: np.ndarray | None = None

    def why_of(self, i: int) -> str:
        """Why text `i` was read as it was."""
        return self.why if isinstance(self.why, str) else self.why[i]

    def why_listed(self, listed: np.ndarray) -> list[str]:
        """The sentences for the list of changes; those of refused texts begin with "left out: "."""
        n = len(self.values)
        why = [self.why] * n if isinstance(self.why, str) else [w or "spaces" for w in self.why]
        if self.refused is not None:
            for i in np.flatnonzero(self.refused & listed):
                why[i] = f"{LEFT_OUT}{why[i]}"
        return why

    def shown(self) -> list[str]:
        """Each value as it is written in a file."""
        if self.written is not None:
            return self.written
        return [v if type(v) is str else shown(v) for v in self.values]

    def array(self, column: Column) -> np.ndarray:
        """The values as the array of `column`'s kind, with a missing value at the end (so it is never empty)."""
        if column.is_number:
            if isinstance(self.values, np.ndarray):
                return np.append(self.values, np.nan)
            return np.array([np.nan if v is None else v for v in (*self.values, None)], dtype=float)
        if column.kind == "date":
            return np.array([v or "NaT" for v in (*self.values, None)], dtype="datetime64[ns]")
        made = np.empty(len(self.values) + 1, dtype=object)
        made[:-1] = self.values
        return made

    def within(self, column: Column) -> Reading:
        """The same with values that `column` does not believe refused."""
        if column.low is None or column.high is None:
            return self
        values = self.array(column)[:-1]
        bad = np.flatnonzero((values < column.low) | (values > column.high))
        return self._refusing(bad, lambda v: _out_of_bounds(v, column))

    def not_after(self, day: date) -> Reading:
        """The same with days after `day` refused."""
        last = day.isoformat()
        bad = [i for i, v in enumerate(self.values) if v is not None and v > last]
        return self._refusing(bad, lambda _: f"lies after {last}, the day of the answer")

    def _refusing(self, bad: Sequence[int] | np.ndarray, reason: Callable[[Any], str]) -> Reading:
        if not len(bad):
            return self
        values: Any = (
            self.values.copy() if isinstance(self.values, np.ndarray) else list(self.values)
        )
        n = len(values)
        why = [self.why] * n if isinstance(self.why, str) else list(self.why)
        refused = np.zeros(n, dtype=bool) if self.refused is None else self.refused.copy()
        for i in bad:
            why[i], refused[i] = reason(values[i]), True
            values[i] = np.nan if isinstance(values, np.ndarray) else None
        return replace(self, values=values, why=why, refused=refused, written=None)


def _out_of_bounds(value: float, column: Column) -> str:
    if value < 0 and column.kind == "money":
        return "is negative"
    unit = "" if column.kind in ("money", "grade", "year") else f" {column.unit}"
    return f"is outside {column.low:g} to {column.high:,.0f}{unit}"


def from_cells(cells: Sequence[Cell]) -> Reading:
    """Cells read one by one, as a Reading."""
    refused = np.array([c.refused for c in cells], dtype=bool)
    return Reading(
        [c.value for c in cells],
        [c.why for c in cells],
        refused if refused.any() else None,
    )


def frame_of(
    rows: Sequence[Sequence[object]], columns: Sequence[str], kinds: Mapping[str, str] | None = None
) -> pd.DataFrame:
    """Rows as a frame: `line` holds whole numbers, columns without one of the `kinds` text."""
    cells = [*zip(*rows, strict=True)] or [()] * len(columns)
    types = {"line": "int64"} | dict(kinds or {})
    made = {c: pd.array(v, dtype=types.get(c, "str")) for c, v in zip(columns, cells, strict=True)}  # type: ignore[call-overload]
    return pd.DataFrame(made, copy=False)


def plain_cells(column: pd.Series) -> list[Any]:
    """The cells of `column`, None for missing, to go through them one by one; a day that comes again is made once."""
    if not pd.api.types.is_datetime64_any_dtype(column):
        return [None if v is None or v is pd.NA or v != v else v for v in column.tolist()]
    codes, days = pd.factorize(column)  # -1: missing
    each = [*days, None]
    return [each[k] for k in codes.tolist()]
