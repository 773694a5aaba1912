"""The list of every cell that was read otherwise than typed, gathered column by column."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from fleetlib.records.parsing.numbers import LEFT_OUT

TEXTS = ("column", "was", "now", "why")


@dataclass(frozen=True, eq=False, slots=True)
class _Part:
    column: str
    rows: np.ndarray
    of: np.ndarray
    was: Sequence[str]
    now: Sequence[str]
    why: Sequence[str]


@dataclass(frozen=True, eq=False, slots=True)
class Changes:
    """Changes by column: for `rows`, which of the column's texts (`of`), and what each was, is now, and why."""

    parts: list[_Part] = field(default_factory=list)

    def add(
        self,
        column: str,
        rows: np.ndarray,
        of: np.ndarray,
        was: Sequence[str],
        now: Sequence[str],
        why: Sequence[str],
    ) -> None:
        """List `rows`: row rows[k] had the text was[of[k]]."""
        if len(rows):
            self.parts.append(_Part(column, rows.astype(np.int32), of, was, now, why))

    def drop(self, column: str, row: int) -> None:
        """Take back what was listed of one cell."""
        for k, part in enumerate(self.parts):
            if part.column == column:
                kept = part.rows != row
                self.parts[k] = replace(part, rows=part.rows[kept], of=part.of[kept])

    def put(self, cell: tuple[int, str, str, str], why: str) -> None:
        """List one cell (row, column, what was typed, what it is now), in place of what was listed of it before."""
        row, column, was, now = cell
        self.drop(column, row)
        self.add(column, np.array([row]), np.array([0]), [was], [now], [why])

    def frame(self, lines: np.ndarray, keep: np.ndarray) -> pd.DataFrame:
        """All changes of the rows where `keep` is true, by line, as line, column, was, now, why."""
        if not self.parts:
            return no_changes()
        rows = np.concatenate([p.rows for p in self.parts])
        order = np.argsort(rows, kind="stable")
        order = order[keep[rows[order]]]
        made = {"line": lines[rows[order]]}
        del rows
        for name in TEXTS:
            made[name] = self._texts(name, order)
        return pd.DataFrame(made, copy=False)

    def _texts(self, name: str, order: np.ndarray) -> pd.Series:
        """One column of the frame: numbers of texts are put in order, and only then turned into texts."""
        texts: list[str] = []
        codes = np.empty(sum(len(p.rows) for p in self.parts), dtype=np.int32)
        at = 0
        for part in self.parts:
            here = codes[at : at + len(part.rows)]
            if name == "column":
                here[:] = len(texts)
                texts.append(part.column)
            else:
                np.add(part.of, len(texts), out=here, casting="unsafe")
                texts.extend(getattr(part, name))
            at += len(part.rows)
        all_texts = np.empty(len(texts), dtype=object)
        all_texts[:] = texts
        return pd.Series(all_texts[codes[order]], dtype="str")


def no_changes() -> pd.DataFrame:
    """The frame of changes without any."""
    empty = {c: pd.Series([], dtype="str") for c in TEXTS}
    return pd.DataFrame({"line": pd.Series([], dtype="int64"), **empty})


def is_left_out(changes: pd.DataFrame) -> pd.Series:
    """Which changes are cells that could not be used, one bool a row."""
    return changes["why"].str.startswith(LEFT_OUT)


def left_out(changes: pd.DataFrame) -> pd.DataFrame:
    """The changes that are cells that could not be used; `why` says only what was wrong with them."""
    some = changes[is_left_out(changes)]
    return some.assign(why=some["why"].str.removeprefix(LEFT_OUT))
