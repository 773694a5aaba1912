"""Which rows are set aside: what is no flip, what has no type, sold without a price, contradictory dates, copies."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from fleetlib.records.cells import Cleaned
from fleetlib.records.readings import shown
from fleetlib.records.splitting import Broken, Column

# column, value, reason, remedy
Judged = tuple[str, str, str, str]

_TOTALS = re.compile(
    r"^[ \t]*(?:(?:grand|sub|year|yearly|annual|monthly|month|overall|running|all)[ -]?)?"
    r"(?:totals?|sum|average|avg|mean|median)\b(?:[ \t]*(?:for[ \t]+)?[\w.: -]{0,20})?[ \t]*:?[ \t]*$",
    re.IGNORECASE,
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
    re.IGNORECASE,
)


_TOTAL_HINTS = ("total", "sum", "average", "avg", "mean", "median")
_SECTION_HINTS = (
    *(m.rstrip("?").removesuffix("t?") for m in _MONTHS.split("|") if len(m) < 5),
    *(
        "sold",
        "listed",
        "in work",
        "in progress",
        "for sale",
        "on hand",
        "inventory",
        "stock",
        "kept",
    ),
)
_NUMBERED = re.compile(r"\n[ \t]*(?:(?:19|20)\d\d|q[1-4])")


def no_flips(columns: list[Column], headings: list[str], rows: int) -> dict[int, Judged]:
    """The rows that are no pieces: totals, the headings again, headings between the rows."""
    found = _again(columns, headings, rows)
    open_rows = np.ones(rows, dtype=bool)
    for place, column in enumerate(columns):
        blank = [k for k, t in enumerate(column.texts) if not t.strip()]
        here = open_rows & ~np.isin(column.codes, blank)
        for i in np.flatnonzero(here & _matching(column, _TOTALS, _TOTAL_HINTS)).tolist():
            judged = (
                "",
                column.cell(i).strip(),
                "a line of totals, not a piece",
                "Nothing to do; totals are worked out.",
            )
            found.setdefault(i, judged)
        for i in np.flatnonzero(here & _matching(column, _SECTION, _SECTION_HINTS)).tolist():
            if not any(c.cell(i).strip() for c in columns[place + 1 :]):
                judged = (
                    "",
                    column.cell(i).strip(),
                    "a heading between the rows, not a piece",
                    "Nothing to do.",
                )
                found.setdefault(i, judged)
        open_rows &= ~here
        if not open_rows.any():
            break
    return found


def _matching(column: Column, pattern: re.Pattern[str], hints: Sequence[str]) -> np.ndarray:
    """Which rows hold a text that the pattern matches whole; the `hints` tell at once where none can."""
    joined = "\n".join(["", *column.texts]).casefold()
    hits = []
    if any(h in joined for h in hints) or (hints is _SECTION_HINTS and _NUMBERED.search(joined)):
        hits = [
            k for k, t in enumerate(column.texts) if len(t) < 60 and pattern.fullmatch(t.strip())
        ]
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
    for i in np.flatnonzero(same >= 2).tolist():
        filled = [c.cell(i).strip() for c in columns if c.cell(i).strip()]
        if same[i] * 2 >= len(filled):
            found[i] = ("", filled[0], "the headings again, not a piece", "Nothing to do.")
    return found


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
    for part in (_prices(values, cleaned), _dates(values)):
        for i, judged in part.items():
            found.setdefault(i, judged)
    for i, judged in _copies(values, cleaned.named, set(found)).items():
        found.setdefault(i, judged)
    return found


def _prices(values: Values, cleaned: Cleaned) -> dict[int, Judged]:
    """Sold pieces without a readable price above 0."""
    found: dict[int, Judged] = {}
    mend = "Enter the final price as one amount, or leave it blank while unsold."
    for i, (typed, why) in cleaned.refused.get("sale_price", {}).items():
        found[i] = ("sale_price", typed, f'sale_price is "{typed}", which {why}', mend)
    price = values["sale_price"]
    for i in np.flatnonzero(price == 0).tolist():
        found[i] = (
            "sale_price",
            "0",
            "sale_price is 0, which is no sale",
            "If it was given away, leave the price blank and put the day under withdrawn_on.",
        )
    for i in np.flatnonzero(np.isnan(price) & ~np.isnat(values["sold_on"])).tolist():
        judged = (
            "sale_price",
            "",
            "sold, but without a sale price",
            "Enter the sale price, or take the day out of sold_on while unsold.",
        )
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
            found.setdefault(i, (later, b, reason, "Put right the day that is wrong."))
    price, withdrawn = values["sale_price"], values["withdrawn_on"]
    for i in np.flatnonzero(~np.isnan(price) & ~np.isnat(withdrawn)).tolist():
        day = str(withdrawn[i])[:10]
        reason = f"both sold (for {shown(float(price[i]))}) and withdrawn (on {day})"
        found.setdefault(int(i), ("withdrawn_on", day, reason, "Keep one of the two."))
    return found


def _copies(values: Values, named: np.ndarray, gone: set[int]) -> dict[int, Judged]:
    """The second of two rows with the same name and the same cells throughout."""
    again = pd.Series(values["piece"], dtype="str").duplicated(keep=False).to_numpy() & named
    rows = np.array([i for i in np.flatnonzero(again) if i not in gone], dtype=int)
    if not len(rows):
        return {}
    cells = pd.DataFrame({name: column[rows] for name, column in values.items()})
    found: dict[int, Judged] = {}
    for i in rows[cells.duplicated(keep="first").to_numpy()].tolist():
        name = str(values["piece"][i])
        found[i] = (
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
    rows.sort(key=lambda row: row[0])
    columns = ["line", "column", "value", "reason", "remedy", "text"]
    made = pd.DataFrame(rows, columns=columns)
    return made.astype(dict.fromkeys(columns[1:], "str") | {"line": "int64"})
