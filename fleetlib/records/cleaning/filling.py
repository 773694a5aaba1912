"""Values that a row says elsewhere, filled in where their own cell is blank."""

from __future__ import annotations

import numpy as np

from fleetlib.records.cleaning.changes import Changes
from fleetlib.records.parsing.numbers import shown


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

        "withdrawn" turns a day of sale into the day it left unsold; "unsold" takes the day of sale away, and a
        price beside it was only asked. A price beside "withdrawn" is a contradiction that the owner is asked about.
        """
        if not said:
            return
        n = len(self._lines)
        none, no_day = np.full(n, np.nan), np.full(n, np.datetime64("NaT", "ns"))
        get = self._values.get
        price = get("sale_price", none).copy()
        sold_on, left_on = get("sold_on", no_day).copy(), get("withdrawn_on", no_day).copy()
        outcome = get("outcome", np.full(n, None, dtype=object)).copy()
        asked = get("asking_price", none).copy()
        listed: list[tuple[int, str, str, str, str]] = []
        for column in ("sale_price", "sold_on", "withdrawn_on"):
            words = said.get(column)
            if words is None:
                continue
            for i in np.flatnonzero(words != None).tolist():  # noqa: E711 - elementwise on an object array
                word, priced = words[i], not np.isnan(price[i])
                if column == "withdrawn_on" and word in ("sold", "unsold"):
                    word = "withdrawn" if word == "sold" else "unsold"  # "yes" under Withdrawn
                why = f"{column} says what became of it: {word}"
                if word == "withdrawn" and priced:
                    self._notes.append(
                        f"line {self._lines[i]}: {column} says that it left unsold, sale_price is "
                        f"{shown(float(price[i]))}; it counts as sold. Empty the one that is wrong."
                    )
                    continue
                if word == "withdrawn" and not np.isnat(sold_on[i]) and np.isnat(left_on[i]):
                    day = str(sold_on[i])[:10]
                    left_on[i], sold_on[i] = sold_on[i], np.datetime64("NaT")
                    listed += [(i, "sold_on", day, "", why), (i, "withdrawn_on", "", day, why)]
                elif word == "unsold" and not np.isnat(sold_on[i]):
                    listed.append((i, "sold_on", str(sold_on[i])[:10], "", why))
                    sold_on[i] = np.datetime64("NaT")
                if word == "unsold" and priced:
                    listed.append((i, "sale_price", shown(float(price[i])), "", why))
                    if np.isnan(asked[i]):
                        asked[i] = price[i]
                        listed.append((i, "asking_price", "", shown(float(price[i])), why))
                    price[i] = np.nan
                day = left_on[i] if word == "withdrawn" else sold_on[i]
                if outcome[i] is None and np.isnat(day) and np.isnan(price[i]) and word != "unsold":
                    outcome[i] = word
                    listed.append((i, "outcome", "", word, why))
        self._values |= {
            "sale_price": price, "sold_on": sold_on, "withdrawn_on": left_on, "outcome": outcome, "asking_price": asked,
        }  # fmt: skip
        for i, column, was, now, why in listed:
            self._changes.add(column, np.array([i]), np.array([0]), [was], [now], [why])

    def construction(self, said: np.ndarray | None) -> None:
        """The construction that the wood names, where construction is blank."""
        if said is None:
            return
        own = self._values.get("construction", np.full(len(said), None, dtype=object))
        named = said != None  # noqa: E711 - elementwise on an object array
        blank = own == None  # noqa: E711
        self._values["construction"] = np.where(blank, said, own)
        self._filled("construction", np.flatnonzero(named & blank), said, "named in the wood")
        for i in np.flatnonzero(named & ~blank & (said != own)):
            self._notes.append(
                f"line {self._lines[i]}: the wood says {said[i]}, construction says {own[i]}; construction was kept."
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

    def names(self) -> np.ndarray:
        """A name from the line for each row without one; returns which rows had one."""
        n = len(self._lines)
        own = self._values.get("piece", np.full(n, None, dtype=object))
        named = np.asarray(own != None, dtype=bool)  # noqa: E711 - elementwise on an object array
        taken = set(own[named]) if not named.all() else set()
        made = own.copy()
        for i in np.flatnonzero(~named):
            name = f"line {self._lines[i]}"
            while name in taken:
                name += " again"
            taken.add(name)
            made[i] = name
        self._values["piece"] = made
        return named
