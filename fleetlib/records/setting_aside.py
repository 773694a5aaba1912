"""Which rows are set aside: what is no flip, what has no type, sold without a price, contradictory dates, copies."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

from fleetlib.records.cells import Cleaned
from fleetlib.records.columns import DATES
from fleetlib.records.readings import shown
from fleetlib.records.splitting import Broken, Column

# column, value, reason, remedy
Judged = tuple[str, str, str, str]

_TOTALS = re.compile(
    r"^[ \t]*(?:(?:grand|sub|year|yearly|annual|monthly|month|overall|running|all)[ -]?)?"
    r"(?:totals?|sum|average|avg|mean|median)\b(?:[ \t]*(?:for[ \t]+)?[\w.: -]{0,20})?[ \t]*:?[ \t]*$",
    re.IGNORECASE | re.MULTILINE,
)
_MONTHS = "|".join(
    [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
        "jan",
        "feb",
        "mar",
        "apr",
        "jun",
        "jul",
        "aug",
        "sept?",
        "oct",
        "nov",
        "dec",
    ]
)
_SECTION = re.compile(
    rf"^[ \t]*(?:(?:19|20)\d\d|q[1-4]\b.{{0,20}}|(?:{_MONTHS})\.?(?:[ \t]+(?:19|20)\d\d)?|(?:sold|unsold|listed|in work"
    r"|in progress|for sale|on hand|inventory|stock|kept)[ \t]*:?(?:[ \t]+(?:in[ \t]+)?(?:19|20)\d\d)?)[ \t]*:?[ \t]*$",
    re.IGNORECASE | re.MULTILINE,
)


def no_flips(columns: list[Column], headings: list[str], rows: int) -> dict[int, Judged]:
    """The rows that are no pieces: totals, the headings again, headings between the rows."""
    found = _again(columns, headings, rows)
    open_rows = np.ones(rows, dtype=bool)
    for place, column in enumerate(columns):
        blank = [k for k, t in enumerate(column.texts) if not t.strip()]
        here = open_rows & ~np.isin(column.codes, blank)
        for i in np.flatnonzero(here & _matching(column, _TOTALS)):
            judged = (
                "",
                column.cell(i).strip(),
                "a line of totals, not a piece",
                "Nothing to do; totals are worked out.",
            )
            found.setdefault(int(i), judged)
        for i in np.flatnonzero(here & _matching(column, _SECTION)):
            if not any(c.cell(i).strip() for c in columns[place + 1 :]):
                judged = (
                    "",
                    column.cell(i).strip(),
                    "a heading between the rows, not a piece",
                    "Nothing to do.",
                )
                found.setdefault(int(i), judged)
        open_rows &= ~here
        if not open_rows.any():
            break
    return found


def _matching(column: Column, pattern: re.Pattern[str]) -> np.ndarray:
    """Which rows hold a text that the pattern matches whole."""
    hits = []
    if pattern.search("\n".join(column.texts)):  # most columns hold none, told at once
        fits = re.compile(pattern.pattern, re.IGNORECASE).fullmatch
        hits = [k for k, t in enumerate(column.texts) if len(t) < 60 and fits(t.strip())]
    return np.isin(column.codes, hits) if hits else np.zeros(len(column.codes), dtype=bool)


def _again(columns: list[Column], headings: list[str], rows: int) -> dict[int, Judged]:
    """Rows in which half of the filled cells, and at least two, are their own headings."""
    same = np.zeros(rows, dtype=np.int32)
    for column, heading in zip(columns, headings, strict=True):
        wanted = heading.casefold()
        if not wanted:
            continue
        typed = {heading, wanted, heading.upper(), heading.title(), heading.capitalize()}
        hits = [k for k, t in enumerate(column.texts) if t in typed]
        if hits:
            same += np.isin(column.codes, hits)
    found: dict[int, Judged] = {}
    for i in np.flatnonzero(same >= 2):
        filled = [c.cell(i).strip() for c in columns if c.cell(i).strip()]
        if same[i] * 2 >= len(filled):
            found[int(i)] = ("", filled[0], "the headings again, not a piece", "Nothing to do.")
    return found


def rows_to_set_aside(
    frame: pd.DataFrame, cleaned: Cleaned, out: dict[int, Judged]
) -> dict[int, Judged]:
    """Every row (by position) that leaves, with why; `out` are those that are no flips."""
    found = dict(out)
    for i in np.flatnonzero(frame["furniture_type"].isna().to_numpy()):
        typed = cleaned.types.cell(i).strip() if len(cleaned.types.codes) else ""
        judged = (
            "furniture_type",
            typed,
            "the kind of piece is missing",
            'Write what it is, such as "dresser".',
        )
        found.setdefault(int(i), judged)
    for part in (_prices(frame, cleaned), _dates(frame)):
        for i, judged in part.items():
            found.setdefault(i, judged)
    for i, judged in _copies(frame, cleaned.named, set(found)).items():
        found.setdefault(i, judged)
    return found


def _prices(frame: pd.DataFrame, cleaned: Cleaned) -> dict[int, Judged]:
    """Sold pieces without a readable price above 0."""
    found: dict[int, Judged] = {}
    mend = "Enter the final price as one amount, or leave it blank while unsold."
    for i, (typed, why) in cleaned.refused.get("sale_price", {}).items():
        found[i] = ("sale_price", typed, f'sale_price is "{typed}", which {why}', mend)
    price = frame["sale_price"].to_numpy()
    for i in np.flatnonzero(price == 0):
        found[int(i)] = (
            "sale_price",
            "0",
            "sale_price is 0, which is no sale",
            "If it was given away, leave the price blank and put the day under withdrawn_on.",
        )
    for i in np.flatnonzero(np.isnan(price) & frame["sold_on"].notna().to_numpy()):
        judged = (
            "sale_price",
            "",
            "sold, but without a sale price",
            "Enter the sale price, or take the day out of sold_on while unsold.",
        )
        found.setdefault(int(i), judged)
    return found


_ORDER = (
    ("bought_on", "listed_on", "listed before it was bought"),
    ("bought_on", "sold_on", "sold before it was bought"),
    ("listed_on", "sold_on", "sold before it was listed"),
    ("bought_on", "withdrawn_on", "withdrawn before it was bought"),
    ("listed_on", "withdrawn_on", "withdrawn before it was listed"),
)


def _dates(frame: pd.DataFrame) -> dict[int, Judged]:
    """Dates that contradict each other; the same day is no contradiction."""
    found: dict[int, Judged] = {}
    days = {name: frame[name].to_numpy() for name in DATES}
    for earlier, later, what in _ORDER:
        for i in np.flatnonzero(days[earlier] > days[later]):
            a, b = (str(days[n][i])[:10] for n in (earlier, later))
            reason = f"{what}: {earlier} is {a}, {later} is {b}"
            found.setdefault(int(i), (later, b, reason, "Put right the day that is wrong."))
    both = frame["sale_price"].notna().to_numpy() & ~np.isnat(days["withdrawn_on"])
    for i in np.flatnonzero(both):
        day = str(days["withdrawn_on"][i])[:10]
        price = shown(float(frame["sale_price"].iloc[i]))
        reason = f"both sold (for {price}) and withdrawn (on {day})"
        found.setdefault(int(i), ("withdrawn_on", day, reason, "Keep one of the two."))
    return found


def _copies(frame: pd.DataFrame, named: np.ndarray, gone: set[int]) -> dict[int, Judged]:
    """The second of two rows with the same name and the same cells throughout."""
    again = frame["piece"].duplicated(keep=False).to_numpy() & named
    rows = np.array([i for i in np.flatnonzero(again) if i not in gone], dtype=int)
    if not len(rows):
        return {}
    cells = frame.iloc[rows].drop(columns="line")
    found: dict[int, Judged] = {}
    for i in rows[cells.duplicated(keep="first").to_numpy()]:
        name = str(frame["piece"].iloc[i])
        found[int(i)] = (
            "piece",
            name,
            f"the same as an earlier row in every cell, and both are called {name}",
            "Delete one of them; if they are two pieces, give each its own name.",
        )
    return found


def set_aside_table(
    found: dict[int, Judged], lines: np.ndarray, texts: dict[int, str], broken: list[Broken]
) -> pd.DataFrame:
    """line, column, value, reason, remedy, text, by line."""
    rows = [(int(lines[i]), *judged, texts[i]) for i, judged in found.items()]
    rows += [(b.line, "", b.value, b.reason, b.remedy, b.text) for b in broken]
    columns = ["line", "column", "value", "reason", "remedy", "text"]
    made = pd.DataFrame(sorted(rows, key=lambda r: r[0]), columns=columns)
    return made.astype(dict.fromkeys(columns[1:], "str") | {"line": "int64"})
