"""Which rows are set aside: without a type, of contradictory dates, copies."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np
import pandas as pd

from fleetlib.records.asked.answers import TWICE, Answers
from fleetlib.records.asked.names_for_unnamed import alike, base_name, said_of_alike
from fleetlib.records.cleaning.columns import Cleaned
from fleetlib.records.files.not_pieces import Judged
from fleetlib.records.files.splitting import Broken
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.parsing.parsed import frame_of
from fleetlib.records.parsing.vocabulary import NOT_A_PIECE

Values = Mapping[str, np.ndarray]


def rows_to_set_aside(
    values: Values, cleaned: Cleaned, out: dict[int, Judged]
) -> dict[int, Judged]:
    """Every row (by position) that leaves, with why.

    `values` holds every canonical column and the person's own, an entry a row; `out` are the rows that are
    no flips.
    """
    found = dict(out)
    for i in np.flatnonzero(pd.isna(values["furniture_type"])).tolist():
        typed = cleaned.types.cell(i).strip() if len(cleaned.types.codes) else ""
        judged = (
            "furniture_type",
            typed,
            "the kind of piece is missing",
            'Write what it is, such as "dresser".',
        )
        found.setdefault(i, judged)
    for column in ("furniture_type", "outcome"):
        for i in np.flatnonzero(values[column] == NOT_A_PIECE).tolist():
            typed = cleaned.types.cell(i).strip()
            found.setdefault(i, (column, typed, "not a piece, as you answered", "Nothing to do."))
    for i, judged in _dates(values).items():
        found.setdefault(i, judged)
    for i, judged in _copies(values, cleaned.named, set(found)).items():
        found.setdefault(i, judged)
    return found


_ORDER = (
    ("bought_on", "listed_on", "listed before it was bought"),
    ("bought_on", "sold_on", "sold before it was bought"),
    ("listed_on", "sold_on", "sold before it was listed"),
    ("bought_on", "withdrawn_on", "withdrawn before it was bought"),
    ("listed_on", "withdrawn_on", "withdrawn before it was listed"),
)


def _dates(values: Values) -> dict[int, Judged]:
    """Dates that contradict each other; the same day is no contradiction."""
    found: dict[int, Judged] = {}
    for earlier, later, what in _ORDER:
        for i in np.flatnonzero(values[earlier] > values[later]).tolist():
            a, b = (str(values[n][i])[:10] for n in (earlier, later))
            reason = f"{what}: {earlier} is {a}, {later} is {b}"
            found.setdefault(
                i,
                (
                    later,
                    b,
                    reason,
                    "Put right the day that is wrong, or answer what is asked about it.",
                ),
            )
    price, withdrawn, sold_on = values["sale_price"], values["withdrawn_on"], values["sold_on"]
    sold = ~np.isnan(price) | ~np.isnat(sold_on)
    for i in np.flatnonzero(sold & ~np.isnat(withdrawn)).tolist():
        day = str(withdrawn[i])[:10]
        how = (
            f"on {str(sold_on[i])[:10]}" if np.isnan(price[i]) else f"for {shown(float(price[i]))}"
        )
        reason = f"both sold ({how}) and withdrawn (on {day})"
        found.setdefault(int(i), ("withdrawn_on", day, reason, "Keep one of the two."))
    return found


def _copies(values: Values, named: np.ndarray, gone: set[int]) -> dict[int, Judged]:
    """The second of two rows with the same name and the same cells throughout."""
    again = pd.Series(values["piece"], dtype="str").duplicated(keep=False).to_numpy() & named
    rows = np.array([i for i in np.flatnonzero(again) if i not in gone], dtype=int)
    if not len(rows):
        return {}
    found: dict[int, Judged] = {}
    before = set[tuple[object, ...]]()
    for i in rows.tolist():
        cells = tuple(None if v != v else v for v in (column[i] for column in values.values()))
        if cells not in before:
            before.add(cells)
            continue
        name = str(values["piece"][i])
        found[i] = (
            "piece",
            name,
            f"the same as an earlier row in every cell, and both are called {name}",
            "Delete one of them; if they are two pieces, give each its own name.",
        )
    return found


def typed_twice(
    values: Values, named: np.ndarray, gone: Collection[int], answers: Answers
) -> dict[int, Judged]:
    """Of the rows that cannot be told apart and were said to stand there twice, those that are the same in every cell
    as one before; one that differs is no copy."""
    rows = np.array([i for i in range(len(named)) if i not in gone], dtype=int)
    pieces = pd.DataFrame({"piece": values["piece"][rows]})
    said = said_of_alike(alike(pieces, named[rows]), answers)
    twice = {base for base, (_, meaning) in said.items() if meaning == TWICE}
    if not twice:
        return {}
    bases = [base_name(str(p), named=False) for p in pieces["piece"]]
    copies = pd.DataFrame({c: v[rows] for c, v in values.items()} | {"piece": bases}).duplicated()
    why = "stands there twice, as you answered"
    return {
        i: ("piece", str(values["piece"][i]), why, "Nothing to do.")
        for i, base, copy in zip(rows.tolist(), bases, copies, strict=True)
        if copy and base in twice
    }


def set_aside_table(
    found: dict[int, Judged], lines: np.ndarray, texts: dict[int, str], broken: list[Broken]
) -> pd.DataFrame:
    """line, column, value, reason, remedy, text, by line."""
    rows = [(int(lines[i]), *judged, texts[i]) for i, judged in found.items()]
    rows += [(b.line, "", b.value, b.reason, b.remedy, b.text) for b in broken]
    rows.sort(key=lambda row: row[0])
    columns = ["line", "column", "value", "reason", "remedy", "text"]
    return frame_of(rows, columns)
