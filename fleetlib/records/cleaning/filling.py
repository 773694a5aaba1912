"""Values that a row says elsewhere, filled in where their own cell is blank."""

from __future__ import annotations

from typing import Any

import numpy as np

from fleetlib.records.asked.names_for_unnamed import made_names
from fleetlib.records.cleaning.changes import Changes
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.parsing.outcomes import ON_HAND
from fleetlib.records.schema.columns import CAME_BACK, LEFT_UNSOLD


class Filling:
    """Fills blanks in the columns `values` of one table, listing each in `changes` and contradictions in `notes`."""

    def __init__(
        self,
        values: dict[str, np.ndarray],
        changes: Changes,
        notes: list[str],
        lines: np.ndarray,
    ) -> None:
        self._values, self._changes, self._notes, self._lines = values, changes, notes, lines

    def count(self, said: np.ndarray | None) -> None:
        """The count that the kind of piece names, where pieces_in_lot is blank."""
        if said is None or np.isnan(said).all():
            return
        own = self._values.get("pieces_in_lot", np.full(len(said), np.nan))
        differ = np.flatnonzero(~np.isnan(said) & ~np.isnan(own) & (said != own))
        rows = np.flatnonzero(~np.isnan(said) & np.isnan(own))
        self._values["pieces_in_lot"] = np.where(np.isnan(own), said, own)
        self._filled("pieces_in_lot", rows, said, "the count named in the type")
        for i in differ:
            self._notes.append(
                f"line {self._lines[i]}: the type says {said[i]:g} pieces, pieces_in_lot says {own[i]:g}; "
                f"pieces_in_lot was kept."
            )

    def beside(self, column: str, said: np.ndarray, why: str) -> None:
        """What a cell of another column says of `column`, where that is blank."""
        own = self._values.get(column, np.full(len(said), np.nan))
        rows = np.flatnonzero(~np.isnan(said) & np.isnan(own))
        if len(rows):
            self._values[column] = np.where(np.isnan(own), said, own)
            self._filled(column, rows, said, why)

    def outcomes(self, said: dict[str, np.ndarray]) -> None:
        """What words in cells of money and days say of the piece, where its days do not.

        A word of LEFT_UNSOLD turns a day of sale into the day it left unsold; "unsold" takes the day of sale away,
        and a price beside it was only asked. A price beside one is a contradiction that the owner is asked about.
        """
        if not said:
            return
        for column in ("sale_price", "sold_on", "withdrawn_on", "outcome"):
            words = said.get(column)
            rows = [] if words is None else np.flatnonzero(words != None).tolist()  # noqa: E711 - elementwise
            for i in rows:
                word = str(words[i])  # type: ignore[index]
                if column == "withdrawn_on" and word in ("sold", "unsold"):
                    word = "withdrawn" if word == "sold" else "unsold"  # "yes" under Withdrawn
                self._became(i, column, word)

    def _became(self, i: int, column: str, word: str) -> None:
        """One row of which `column` says that it became `word`."""
        if word == CAME_BACK:  # its sale stays in the row, as one that ended
            if self._cell("outcome", i) is None:
                self._put(i, "outcome", word, f"{column} says that it came back")
            return
        price, sold_on = self._cell("sale_price", i), self._cell("sold_on", i)
        why = f"{column} says what became of it: {word}"
        left = word in LEFT_UNSOLD
        here = word == ON_HAND and sold_on is not None
        if (left or here) and price is not None:
            is_said = "left unsold" if left else "is still on hand"
            self._notes.append(
                f"line {self._lines[i]}: {column} says that it {is_said}, sale_price is "
                f"{shown(float(price))}; it counts as sold. Empty the one that is wrong."
            )
            return
        word = "unsold" if word == ON_HAND else word
        if left and sold_on is not None and self._cell("withdrawn_on", i) is None:
            self._put(i, "sold_on", None, why)
            self._put(i, "withdrawn_on", sold_on, why)
        elif word == "unsold" and sold_on is not None:
            self._put(i, "sold_on", None, why)
        if word == "unsold" and price is not None:
            asked = self._cell("asking_price", i) is None
            self._put(i, "sale_price", None, why)
            if asked:
                self._put(i, "asking_price", price, why)
        day = self._cell("withdrawn_on" if left else "sold_on", i)
        open_still = self._cell("outcome", i) is None and self._cell("sale_price", i) is None
        if open_still and word != "unsold" and (day is None or (left and word != "withdrawn")):
            self._put(i, "outcome", word, why)

    def _cell(self, column: str, i: int) -> Any:
        """The cell, None where it is missing."""
        column_values = self._values.get(column)
        value = None if column_values is None else column_values[i]
        return None if value is None or value != value else value

    def _put(self, i: int, column: str, value: Any, why: str) -> None:
        """Set one cell (None: missing) and list the change."""
        was = self._cell(column, i)
        if column not in self._values:
            self._values[column] = np.full(len(self._lines), *_MISSING.get(column, _NO_NUMBER))
        else:
            self._values[column] = self._values[column].copy()
        missing = _MISSING.get(column, _NO_NUMBER)[0]
        self._values[column][i] = missing if value is None else value
        texts = ["" if v is None else _as_text(v) for v in (was, value)]
        self._changes.add(column, np.array([i]), np.array([0]), texts[:1], texts[1:], [why])

    def word(self, column: str, said: np.ndarray | None, where: str) -> None:
        """The word of `column` that the cells of another one (`where`) name, where its own is blank."""
        if said is None:
            return
        own = self._values.get(column, np.full(len(said), None, dtype=object))
        named = said != None  # noqa: E711 - elementwise on an object array
        blank = own == None  # noqa: E711
        self._values[column] = np.where(blank, said, own)
        self._filled(column, np.flatnonzero(named & blank), said, f"named in the {where}")
        for i in np.flatnonzero(named & ~blank & (said != own)):
            self._notes.append(
                f"line {self._lines[i]}: the {where} says {said[i]}, {column} says {own[i]}; {column} was kept."
            )

    def hours(self) -> None:
        """The steps added up, where hours are blank."""
        steps = [self._values[n] for n in self._values if n.startswith("hours_")]
        if not steps:
            return
        parts = np.column_stack(steps)
        any_step = ~np.isnan(parts).all(axis=1)
        total = np.round(np.nansum(parts, axis=1), 4)
        own = self._values.get("hours", np.full(len(total), np.nan))
        rows = np.flatnonzero(any_step & np.isnan(own))
        self._values["hours"] = np.where(any_step & np.isnan(own), total, own)
        self._filled("hours", rows, total, "the steps added up")
        differ = np.flatnonzero(any_step & (np.abs(total - own) > 0.05))
        if len(differ):
            said = ", ".join(
                f"line {self._lines[i]}: {own[i]:g} against {total[i]:g}" for i in differ[:6]
            )
            self._notes.append(
                f"hours: in {len(differ)} row(s) the steps do not add up to the hours ({said}); the hours were kept."
            )

    def _filled(self, column: str, rows: np.ndarray, values: np.ndarray, why: str) -> None:
        now = [shown(values[i]) for i in rows]
        n = len(rows)
        self._changes.add(column, rows, np.arange(n), [""] * n, now, [why] * n)

    def stood(self, heading: str, days: np.ndarray) -> None:
        """The day of listing of what sold, so many days before, where that is blank and not before it was bought."""
        sold = self._values.get("sold_on")
        if sold is None or not len(days):
            return
        blank = np.full(len(days), *_NO_DAY)
        own, bought = (self._values.get(c, blank) for c in ("listed_on", "bought_on"))
        known = ~np.isnat(sold) & np.isnat(own) & (days >= 0) & (days <= _LONGEST_STOOD)
        listed = sold - np.where(known, days, 0).astype("timedelta64[D]")
        known &= ~(bought > listed)
        rows = np.flatnonzero(known)
        if len(rows):
            self._values["listed_on"] = np.where(known, listed, own)
            now = [_as_text(v) for v in listed[rows]]
            n = len(rows)
            why = [f'so many days before the sale, from "{heading}"'] * n
            self._changes.add("listed_on", rows, np.arange(n), [""] * n, now, why)
            self._notes.append(
                f'"{heading}": the day of listing of {n} sold piece(s) is so many days before the sale.'
            )

    def names(self) -> np.ndarray:
        """A name made from the row for each without one; returns which rows had one."""
        n = len(self._lines)
        own = self._values.get("piece", np.full(n, None, dtype=object))
        named = np.asarray(own != None, dtype=bool)  # noqa: E711 - elementwise on an object array
        made = own.copy()
        made[~named] = made_names({**self._values, "piece": own}, named)
        self._values["piece"] = made
        return named


_LONGEST_STOOD = 3650  # days
_NO_NUMBER: tuple[Any, Any] = (np.nan, np.dtype("float64"))
_NO_DAY: tuple[Any, Any] = (np.datetime64("NaT", "ns"), np.dtype("datetime64[ns]"))
_MISSING = {"sold_on": _NO_DAY, "withdrawn_on": _NO_DAY, "outcome": (None, np.dtype(object))}


def _as_text(value: Any) -> str:
    if isinstance(value, np.datetime64):
        return str(value)[:10]
    return value if isinstance(value, str) else shown(float(value))
