"""Any table or row of the records, shown as every other answer is."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from fleetlib.shown.sheet import Notes, Sheet, Shown, Table


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class ShownTable(Shown):
    """A table made ready to be looked at; `table` holds the rows that are shown."""

    table: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...] = ()

    def sheet(self) -> Sheet:
        """The table, and how much more there is."""
        return Sheet("", (Table(self.table), Notes(self.notes)))


def show(table: pd.DataFrame | pd.Series, *, rows: int = 12) -> ShownTable:
    """The first `rows` rows of a table, headings without underscores; says how many more there are.

    A single row (a Series) is shown as names and values, without those that are missing.
    """
    if isinstance(table, pd.Series):
        known = table.dropna()
        frame = pd.DataFrame(
            {"what": [str(name) for name in known.index], "is": known.astype(object).to_numpy()}
        )
        frame["what"] = frame["what"].str.replace("_", " ")
    else:
        frame = table.rename(columns=lambda name: str(name).replace("_", " "))
    more = len(frame) - rows
    shown = frame.head(rows).reset_index(drop=True)
    return ShownTable(shown, (f"and {more:,} more rows",) if more > 0 else ())
