"""Which rows are set aside, and which of those kept look odd enough to ask about.

Every rule has its sentence. The bands of sizes and ratios are common practice, no source; they ask,
they never reject.
"""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

from fleetlib.records.cells import Cleaned
from fleetlib.records.columns import COLUMN, DATES, NUMBERS
from fleetlib.records.headings import Headings, match_heading
from fleetlib.records.reading import TextTable

_TOTALS = re.compile(
    r"\s*(?:(?:grand|sub|year|yearly|annual|monthly|month|overall|running|all)[ -]?)?"
    r"(?:totals?|sum|average|avg|mean|median)\b(?:\s*(?:for\s+)?[\w.: -]{0,20})?\s*:?\s*",
    re.IGNORECASE,
)
_SECTION = re.compile(
    r"\s*(?:(?:19|20)\d\d|q[1-4]\b.*|(?:january|february|march|april|may|june|july|august|september|october|november"
    r"|december|jan|feb|mar|apr|jun|jul|aug|sept?|oct|nov|dec)\.?(?:\s+(?:19|20)\d\d)?|(?:sold|unsold|listed|in work"
    r"|in progress|for sale|on hand|inventory|stock|kept)\s*:?(?:\s+(?:in\s+)?(?:19|20)\d\d)?)\s*:?\s*",
    re.IGNORECASE,
)
_MOST_SHOWN = 8


def set_aside_reasons(
    frame: pd.DataFrame, table: TextTable, headings: Headings, cleaned: Cleaned
) -> pd.DataFrame:
    """The rows that leave: line, column, value, reason, remedy, text."""
    found: dict[int, tuple[str, str, str, str]] = {}
    first = _first_cells(table, headings)
    for i in _candidates(frame, first):
        judged = _no_flip(i, first[i], table)
        if judged:
            found[i] = judged
    typed = cleaned.raw.get("furniture_type", [])
    for i in np.flatnonzero(frame["furniture_type"].isna().to_numpy()):
        found.setdefault(
            int(i),
            (
                "furniture_type",
                typed[i].strip() if typed else "",
                "the kind of piece is missing",
                'Write what it is, such as "dresser".',
            ),
        )
    for i, judged in _prices(frame, cleaned).items():
        found.setdefault(i, judged)
    for i, judged in _dates(frame).items():
        found.setdefault(i, judged)
    for i, judged in _copies(frame, cleaned, set(found)).items():
        found.setdefault(i, judged)
    rows = [
        (table.lines[i], *_with_place(table, i, judged), table.texts[i])
        for i, judged in sorted(found.items())
    ]
    columns = ["line", "column", "value", "reason", "remedy", "text"]
    made = pd.DataFrame(rows, columns=columns)
    return made.astype(dict.fromkeys(columns[1:], "str") | {"line": "int64"})


def _with_place(table: TextTable, i: int, judged: tuple[str, str, str, str]) -> tuple[str, ...]:
    column, value, reason, remedy = judged
    shown = (
        f' is "{value}", which {reason}'
        if value and reason.startswith(("is ", "uses ", "could ", "lies "))
        else ""
    )
    return column, value, f"{column}{shown}" if shown else reason, remedy


def _first_cells(table: TextTable, headings: Headings) -> list[str]:
    """The first cell of each row that holds anything."""
    n = len(table.lines)
    found = [""] * n
    open_rows = list(range(n))
    for column in table.columns:
        still = []
        for i in open_rows:
            cell = column[i]
            if cell and not cell.isspace():
                found[i] = cell.strip()
            else:
                still.append(i)
        open_rows = still
        if not open_rows:
            break
    return found


def _candidates(frame: pd.DataFrame, first: list[str]) -> list[int]:
    unique = set(first)
    odd = {u for u in unique if _TOTALS.fullmatch(u) or _SECTION.fullmatch(u) or match_heading(u)}
    return [i for i, f in enumerate(first) if f in odd]


def _no_flip(i: int, first: str, table: TextTable) -> tuple[str, str, str, str] | None:
    cells = [c[i].strip() for c in table.columns]
    filled = [c for c in cells if c]
    if _TOTALS.fullmatch(first):
        return "", first, "a line of totals, not a piece", "Nothing to do; totals are worked out."
    same = sum(
        c.casefold() == h.strip().casefold()
        for c, h in zip(cells, table.headings, strict=True)
        if c
    )
    if same * 2 >= len(filled) and same >= 2:
        return "", first, "the headings again, not a piece", "Nothing to do."
    if len(filled) == 1 and _SECTION.fullmatch(first):
        return "", first, "a heading between the rows, not a piece", "Nothing to do."
    return None


def _prices(frame: pd.DataFrame, cleaned: Cleaned) -> dict[int, tuple[str, str, str, str]]:
    """Sold pieces without a readable price above 0."""
    found = {}
    typed = cleaned.raw.get("sale_price", [])
    for i, why in cleaned.refused.get("sale_price", {}).items():
        found[i] = (
            "sale_price",
            typed[i].strip(),
            why,
            "Enter the final price as one amount, or leave it blank while unsold.",
        )
    price = frame["sale_price"].to_numpy()
    for i in np.flatnonzero(price == 0):
        found[int(i)] = (
            "sale_price",
            typed[i].strip(),
            "is no sale",
            "If it was given away, leave the price blank and put the day under withdrawn_on.",
        )
    for i in np.flatnonzero(np.isnan(price) & frame["sold_on"].notna().to_numpy()):
        found.setdefault(
            int(i),
            (
                "sale_price",
                "",
                "sold, but without a sale price",
                "Enter the sale price, or take the day out of sold_on while unsold.",
            ),
        )
    return found


_ORDER = (
    ("bought_on", "listed_on", "listed before it was bought"),
    ("bought_on", "sold_on", "sold before it was bought"),
    ("listed_on", "sold_on", "sold before it was listed"),
    ("bought_on", "withdrawn_on", "withdrawn before it was bought"),
    ("listed_on", "withdrawn_on", "withdrawn before it was listed"),
)


def _dates(frame: pd.DataFrame) -> dict[int, tuple[str, str, str, str]]:
    found: dict[int, tuple[str, str, str, str]] = {}
    for earlier, later, what in _ORDER:
        wrong = (frame[earlier] > frame[later]).to_numpy()
        for i in np.flatnonzero(wrong):
            a, b = frame[earlier].iloc[i].date(), frame[later].iloc[i].date()
            found.setdefault(
                int(i),
                (
                    later,
                    b.isoformat(),
                    f"{what}: {earlier} is {a}, {later} is {b}",
                    "Put right the day that is wrong.",
                ),
            )
    both = (frame["sale_price"].notna() & frame["withdrawn_on"].notna()).to_numpy()
    for i in np.flatnonzero(both):
        day = frame["withdrawn_on"].iloc[i].date()
        found.setdefault(
            int(i),
            (
                "withdrawn_on",
                day.isoformat(),
                f"both sold and withdrawn (on {day})",
                "Keep one of the two.",
            ),
        )
    return found


def _copies(
    frame: pd.DataFrame, cleaned: Cleaned, gone: set[int]
) -> dict[int, tuple[str, str, str, str]]:
    """The second of two rows with the same name and the same cells throughout."""
    named = cleaned.values["_named"]
    rows = np.array([i for i in np.flatnonzero(named) if i not in gone], dtype=int)
    if not len(rows):
        return {}
    cells = frame.iloc[rows].drop(columns="line")
    candidates = cells["piece"].duplicated(keep=False).to_numpy()
    cells, rows = cells[candidates], rows[candidates]
    again = cells.duplicated(keep="first").to_numpy()
    found = {}
    for i in rows[again]:
        name = frame["piece"].iloc[i]
        found[int(i)] = (
            "piece",
            str(name),
            f"the same as an earlier row in every cell, and both are called {name}",
            "Delete one of them; if they are two pieces, give each its own name.",
        )
    return found


# ---- questions ------------------------------------------------------------------------------------------

# Width x depth x height in inches; common practice, no source.
BANDS: dict[str, tuple[tuple[float, float], tuple[float, float], tuple[float, float]]] = {
    "nightstand": ((16, 26), (12, 20), (22, 30)),
    "dresser": ((44, 72), (16, 24), (28, 38)),
    "chest of drawers": ((26, 44), (16, 22), (38, 60)),
    "highboy": ((34, 44), (18, 24), (60, 90)),
    "armoire": ((32, 60), (18, 28), (60, 86)),
    "sideboard": ((42, 80), (15, 22), (29, 42)),
    "hutch": ((34, 72), (14, 22), (66, 88)),
    "coffee table": ((34, 56), (16, 34), (14, 20)),
    "side table": ((12, 30), (12, 30), (18, 30)),
    "console": ((30, 72), (9, 20), (26, 36)),
    "desk": ((36, 72), (18, 36), (28, 32)),
    "dining table": ((36, 108), (28, 48), (28, 31)),
    "chair": ((16, 24), (16, 26), (30, 46)),
    "bench": ((30, 72), (12, 22), (15, 20)),
    "bookcase": ((20, 60), (9, 18), (30, 90)),
    "vanity": ((34, 60), (15, 24), (28, 32)),
    "trunk": ((28, 54), (14, 26), (14, 28)),
}
LEAST_OF_ASK, MOST_OF_ASK = 0.25, 1.30
MANY_HOURS = 60.0
FAR_PRICE = 10.0
_LONG = ("dining table", "bed", "bench", "bar")


def questions_about(flips: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """What was kept but looks odd: a table (line, piece, column, value, question), and a note a rule."""
    rows: list[tuple[int, str, str, str, str]] = []
    notes: list[str] = []

    def ask(where: np.ndarray, column: str, question: str, note: str) -> None:
        places = np.flatnonzero(where)
        if not len(places):
            return
        for i in places:
            row = flips.iloc[i]
            value = (
                ""
                if pd.isna(row[column])
                else f"{row[column]:g}"
                if column in NUMBERS
                else str(row[column])
            )
            rows.append((int(row["line"]), str(row["piece"]), column, value, question))
        shown = ", ".join(f"line {flips['line'].iloc[i]}" for i in places[:_MOST_SHOWN])
        more = f" and {len(places) - _MOST_SHOWN} more" if len(places) > _MOST_SHOWN else ""
        notes.append(f"{note} ({shown}{more}).")

    ask(
        _looks_like_cm(flips),
        "width_in",
        "These look like centimetres; if so, say cm in the heading or set length_unit.",
        "Sizes that look like centimetres but were read as inches",
    )
    ratio = flips["sale_price"] / flips["last_asking_price"].fillna(flips["asking_price"])
    odd = ((ratio < LEAST_OF_ASK) | (ratio > MOST_OF_ASK)).to_numpy()
    ask(
        odd,
        "sale_price",
        f"Sold for less than {LEAST_OF_ASK:.0%} or more than {MOST_OF_ASK:.0%} of the asking price; is it right?",
        "Sold far from the asking price",
    )
    ask(
        (flips["hours"] > MANY_HOURS).to_numpy(),
        "hours",
        f"More than {MANY_HOURS:g} hours for one piece; drying time does not count as hours.",
        f"More than {MANY_HOURS:g} hours on one piece, which is often drying time",
    )
    for column in ("sale_price", "buy_price", "asking_price"):
        ask(
            _far(flips, column),
            column,
            f"More than {FAR_PRICE:g} times, or less than a tenth of, the usual {column} of its kind; a slipped point?",
            f"{column} more than {FAR_PRICE:g} times or less than a tenth of the usual for its kind",
        )
    _same_name(flips, ask)
    ask(
        _look_alike(flips),
        "piece",
        "The same in every cell as another row without a name; are they two pieces?",
        "Rows that are the same in every cell; give each its name if they are two pieces, delete one if not",
    )
    columns = ["line", "piece", "column", "value", "question"]
    made = pd.DataFrame(rows, columns=columns)
    made = made.astype(dict.fromkeys(columns[1:], "str") | {"line": "int64"})
    return made.sort_values("line", kind="stable").reset_index(drop=True), notes


def _looks_like_cm(flips: pd.DataFrame) -> np.ndarray:
    """Over 100 in for what is not long, or all three sides over twice the usual for the kind."""
    sides = flips[["width_in", "depth_in", "height_in"]].to_numpy()
    kinds = flips["furniture_type"].to_numpy()
    long = np.isin(kinds.astype(object), _LONG)
    over = (np.nan_to_num(sides) > 100).any(axis=1) & ~long
    for kind, band in BANDS.items():
        tops = np.array([b[1] for b in band])
        over |= (kinds == kind) & (np.nan_to_num(sides) > 1.9 * tops).all(axis=1)
    return over


def _far(flips: pd.DataFrame, column: str) -> np.ndarray:
    """More than ten times off the median of its kind (of at least five), or else of all (of at least eight)."""
    values = flips[column].where(flips[column] > 0)
    by_kind = values.groupby(flips["furniture_type"])
    usual = by_kind.transform("median").where(by_kind.transform("count") >= 5)
    if values.count() >= 8:
        usual = usual.fillna(values.median())
    ratio = values / usual
    return ((ratio > FAR_PRICE) | (ratio < 1 / FAR_PRICE)).to_numpy()


def _same_name(flips: pd.DataFrame, ask: object) -> None:
    again = flips["piece"].duplicated(keep=False).to_numpy()
    ask(  # type: ignore[operator]
        again,
        "piece",
        "Another row has the same name; give each piece its own, or events cannot tell them apart.",
        "Rows that share a name but differ; give each piece its own",
    )


def _look_alike(flips: pd.DataFrame) -> np.ndarray:
    made_up = flips["piece"].str.startswith("line ").to_numpy(dtype=bool)
    derived = ("line", "piece")
    cells = flips.drop(columns=[c for c in derived])
    same = cells.duplicated(keep=False).to_numpy()
    filled = flips[[*DATES, *NUMBERS]].notna().sum(axis=1).to_numpy() > 0
    return same & made_up & filled


__all__ = ["BANDS", "COLUMN", "questions_about", "set_aside_reasons"]
