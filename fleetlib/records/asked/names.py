"""Names for pieces that have none, made from what the row is: `oak-dresser-2026-03-04-80`.

The wood, the kind, the first day that is known (bought, listed, sold) and the first amount (paid, asked, got), or the
size where neither is, of the row alone, so that a name stays with its piece when rows are moved, put in or taken out.
A name of before a cell was filled in is found again (`made_before`). Rows that come out alike cannot be told apart;
each after the first has a number behind it, and nothing can be logged on any of them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from itertools import product
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.records.parsing.numbers import shown
from fleetlib.records.schema.columns import SIZES

_DAYS = ("bought_on", "listed_on", "sold_on", "withdrawn_on")
_AMOUNTS = ("buy_price", "asking_price", "sale_price")
_NUMBERED = re.compile(r" \(\d+\)$")
_OLDER = re.compile(
    r"line (\d+)(?: again)*"
)  # what the first release called a piece without a name


def made_names(values: Mapping[str, np.ndarray], named: np.ndarray) -> list[str]:
    """The name of each row that is not `named`, in their order; those in use are not given again."""
    columns = {
        c: values[c] for c in ("wood", "furniture_type", *_DAYS, *_AMOUNTS, *SIZES) if c in values
    }
    taken = set(values["piece"][named]) if "piece" in values else set()
    made = []
    count: dict[str, int] = {}
    for i in np.flatnonzero(~named):
        row = {c: v[i] for c, v in columns.items()}
        day, amount = _first(row, _DAYS), _first(row, _AMOUNTS)
        size = "x".join(p for p in (_part(row.get(c)) for c in SIZES) if p)
        name = _name(row, day, amount or ("" if day else size))
        n = count.get(name, 0) + 1
        while (numbered := name if n == 1 else f"{name} ({n})") in taken:
            n += 1
        count[name] = n
        taken.add(numbered)
        made.append(numbered)
    return made


def alike(flips: pd.DataFrame, named: np.ndarray) -> frozenset[str]:
    """The names under which one of several pieces is meant and nobody can say which."""
    names = flips["piece"].astype(str)
    bases = names.where(named, names.str.replace(_NUMBERED, "", regex=True)).str.casefold()
    return frozenset(names[bases.duplicated(keep=False).to_numpy()])


def made_before(
    flips: pd.DataFrame, names: Iterable[str], own: Mapping[str, str]
) -> dict[str, tuple[str, str]]:
    """For those of `names` that are on no row but that one row alone could have had before: its name, and why.

    `own` maps the person's words for kinds to ours, since a kind was called so before it was answered.
    """
    here = set(flips["piece"].astype(str).str.casefold())
    wanted = {n.casefold(): n for n in names if n.casefold() not in here}
    found: dict[str, tuple[str, str]] = {}
    if not wanted:
        return found
    by_line = dict(zip(flips["line"], flips["piece"].astype(str), strict=True))
    could: dict[str, set[str]] = {}
    for row in flips[["piece", "wood", "furniture_type", *_DAYS, *_AMOUNTS]].to_dict("records"):
        for name in could_be(row, own):
            if name in wanted:
                could.setdefault(name, set()).add(str(row["piece"]))
    for folded, name in wanted.items():
        older = _OLDER.fullmatch(folded)
        if older and int(older[1]) in by_line:
            why = "an older fleetlib named it by its line; if rows were put in since, it is another piece"
            found[name] = (by_line[int(older[1])], why)
        elif len(could.get(folded, ())) == 1:
            found[name] = (could[folded].pop(), "cells of it were filled in since")
    return found


def could_be(row: Mapping[Any, Any], own: Mapping[str, str]) -> set[str]:
    """Every name that the row has by fewer cells than it holds now, in small letters."""
    kinds = {row["furniture_type"], *(k for k, v in own.items() if v == row["furniture_type"])}
    days = ["", *(_part(row[c]) for c in _DAYS)]
    amounts = ["", *(_part(row[c]) for c in _AMOUNTS)]
    made = set()
    for kind, wood, day, amount in product(kinds, {row["wood"], None}, set(days), set(amounts)):
        if day or amount:
            made.add(_name({"wood": wood, "furniture_type": kind}, day, amount).casefold())
    return made


def _name(row: Mapping[str, Any], day: str, amount: str) -> str:
    words = [_part(row.get("wood")), _part(row.get("furniture_type")) or "piece"]
    what = "-".join(w for w in words if w and w != "unknown")
    slug = re.sub(r"[^\w.']+", "-", what).strip("-")
    return "-".join(p for p in (slug, day, amount) if p)


def _first(row: Mapping[str, Any], columns: Iterable[str]) -> str:
    return next((p for p in (_part(row.get(c)) for c in columns) if p), "")


def _part(value: Any) -> str:
    """A cell as a part of a name, "" where it is missing."""
    if value is None or value != value:
        return ""
    if isinstance(value, np.datetime64 | pd.Timestamp):
        return str(value)[:10]
    return value if isinstance(value, str) else shown(float(value))
