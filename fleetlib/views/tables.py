"""Any table or row of the records, shown as every other answer is."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from fleetlib.errors import BadQuestion
from fleetlib.markup import notes_html, table_html, text_notes, text_table, wrap


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
            {"": [str(name) for name in known.index], " ": known.astype(object).to_numpy()}
        )
        frame[""] = frame[""].str.replace("_", " ")
    else:
        frame = table.rename(columns=lambda name: str(name).replace("_", " "))
    more = len(frame) - rows
    shown = frame.head(rows).reset_index(drop=True)
    return ShownTable(shown, (f"and {more:,} more rows",) if more > 0 else ())


def benchmark(name: str) -> ShownTable:
    """A comparison that was measured once and came with fleetlib, with where it is from in its notes.

    "price": ranges of the price model; scores are ratios to ordinary least squares (1 = as good, lower is
    better). "markdowns": plans in simulated shops, in per cent of what one who knew the truth would net
    (higher is better). Raises BadQuestion for another name.
    """
    place = Path(__file__).resolve().parent.parent / "models"
    held = {path.stem.removeprefix("benchmark_"): path for path in place.glob("benchmark_*.csv")}
    if name not in held:
        raise BadQuestion(
            f'There is no benchmark "{name}". There are: {", ".join(sorted(held)) or "none"}.'
        )
    table = pd.read_csv(held[name], dtype={"n": "str"})
    said = [
        f"Measured on {day}" for day in table.get("measured_on", pd.Series(dtype="str")).unique()
    ]
    said += [
        f"Measured by {done}" for done in table.get("command", pd.Series(dtype="str")).unique()
    ]
    first = [c for c in ("n", "method") if c in table]
    rest = [c for c in table if c not in (*first, "measured_on", "command")]
    shown = show(table[[*first, *rest]], rows=200)
    return ShownTable(shown.table, (*said, *shown.notes))
