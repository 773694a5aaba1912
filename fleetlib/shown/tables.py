"""Any table or row of the records, shown as every other answer is."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from fleetlib.shown.markup import notes_html, table_html, text_notes, text_table, wrap


@dataclass(frozen=True, eq=False, slots=True)
class ShownTable:
    """A table made ready to be looked at; `table` holds the rows that are shown."""

    table: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...] = ()

    def __str__(self) -> str:
        notes = f"\n\n{text_notes(self.notes)}" if self.notes else ""
        return text_table(self.table) + notes

    def _repr_html_(self) -> str:
        return wrap(table_html(self.table), notes_html(self.notes))


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
