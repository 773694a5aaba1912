"""Names for pieces that have none, made from what the row is: `oak dresser of 4 Mar 2026`.

The wood, the kind and the first day that is known (bought, listed, sold); the first amount (paid, asked, got) where no
day is known or another piece would be called the same; the size where neither is, or the size or the finish where these
are the same too. All of the row alone, so that a name stays with its piece when rows are moved, put in or taken out.
What is logged bears day and amount (`full_names`), so that a piece that comes in later never takes another one's
entries. A name of before a cell was filled in, and one as an older fleetlib made it (`oak-dresser-2026-03-04-80`), is
found again (`made_before`). Rows that come out alike cannot be told apart; each after the first has a number behind it,
and nothing can be logged on any of them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from itertools import product
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.base.said import day_said
from fleetlib.records.asked.answers import DIFFERENT, Answers
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.parsing.vocabulary import word_key
from fleetlib.records.schema.columns import SIZES

_DAYS = ("bought_on", "listed_on", "sold_on", "withdrawn_on")
_AMOUNTS = {"buy_price": "paid", "asking_price": "asked", "sale_price": "got"}
NAMED_BY = ["piece", "wood", "furniture_type", *_DAYS, *_AMOUNTS, *SIZES, "finish"]
_NUMBER_BEHIND = re.compile(r" \(\d+\)$")
_OLDER = re.compile(
    r"line (\d+)(?: again)*"
)  # what the first release called a piece without a name


def made_names(values: Mapping[str, np.ndarray], named: np.ndarray) -> list[str]:
    """The name of each row that is not `named`, in their order; those in use are not given again."""
    rows = np.flatnonzero(~named)
    taken = set(values["piece"][named]) if "piece" in values else set()

    def texts(column: str, before: str = "") -> list[str]:
        found = _texts(values[column][rows]) if column in values else [""] * len(rows)
        return [before + t if t else "" for t in found] if before else found

    days = _firsts(texts(c) for c in _DAYS)
    amounts = _firsts(texts(c, f"{word} ") for c, word in _AMOUNTS.items())
    sizes = ["x".join(p for p in row if p) for row in zip(*map(texts, SIZES), strict=True)]
    words = zip(texts("wood"), texts("furniture_type"), strict=True)
    said = {day: f"of {day_said(date.fromisoformat(day))}" for day in set(days) if day}
    parts = [(_what(*w), said.get(d, "")) for w, d in zip(words, days, strict=True)]
    once = Counter(parts)
    names = []
    for part, amount, size in zip(parts, amounts, sizes, strict=True):
        told = amount if not part[1] or once[part] > 1 else ""
        names.append(" ".join(p for p in (*part, told or ("" if part[1] else size)) if p))
    return _numbered(_told_apart(names, sizes, texts("finish")), taken)


def _told_apart(names: list[str], *more: Sequence[str]) -> list[str]:
    """The names, those that several rows would have with the first of `more` in which all of these differ."""
    rows: dict[str, list[int]] = {}
    for i, name in enumerate(names):
        rows.setdefault(name, []).append(i)
    made = list(names)
    for name, same in rows.items():
        parts = next((p for p in more if len({p[i] for i in same}) == len(same) > 1), None)
        for i in same if parts else ():
            made[i] = _and(name, parts[i])  # type: ignore[index]
    return made


def _and(name: str, part: str) -> str:
    return f"{name}, {part}" if part and not name.endswith(f" {part}") else name


def _numbered(names: Iterable[str], taken: set[str]) -> list[str]:
    """The names, each that is `taken` or stands before with a number behind it."""
    made: list[str] = []
    count: dict[str, int] = {}
    for name in names:
        n = count.get(name, 0) + 1
        while (numbered := name if n == 1 else f"{name} ({n})") in taken:
            n += 1
        count[name] = n
        taken.add(numbered)
        made.append(numbered)
    return made


def full_names(flips: pd.DataFrame, named: np.ndarray) -> dict[str, str]:
    """For each piece of `flips` called by less than its day and its amount: the name with both, to log it by."""
    found: dict[str, str] = {}
    if named.all():
        return found
    for row in flips.loc[~named, NAMED_BY].to_dict("records"):
        day = next((p for c in _DAYS if (p := _part(row[c]))), "")
        amount = next((f" {w} {p}" for c, w in _AMOUNTS.items() if (p := _part(row[c]))), "")
        if day and not row["piece"].endswith((amount, ")")):
            found[row["piece"]] = row["piece"] + amount
    return found


def _texts(values: np.ndarray) -> list[str]:
    """Cells as parts of a name; each different one is written once."""
    if values.dtype == object:
        return [_part(v) for v in values]
    different, places = np.unique(values, return_inverse=True)
    written = np.array([_part(v) for v in different] or [""], dtype=object)
    return list(written[places])


def _firsts(columns: Iterable[list[str]]) -> list[str]:
    """For each row the first part that is there."""
    return [next((p for p in row if p), "") for row in zip(*columns, strict=True)]


def alike(flips: pd.DataFrame, named: np.ndarray) -> frozenset[str]:
    """The names under which one of several pieces is meant and nobody can say which."""
    names = flips["piece"].astype(str)
    bases = names.where(named, names.str.replace(_NUMBER_BEHIND, "", regex=True)).str.casefold()
    return frozenset(names[bases.duplicated(keep=False).to_numpy()])


def said_of_alike(names: Iterable[str], answers: Answers) -> dict[str, tuple[str, str]]:
    """By name in small letters without its number: what an answer about the rows that have it is filed under, and what
    was answered of them, or of all `names` in one, "" for nothing."""
    groups: dict[str, list[str]] = {}
    for name in sorted(names):
        groups.setdefault(base_name(name, named=False), []).append(name)
    texts = {base: "; ".join(group) for base, group in groups.items()}
    every = answers.of("rows", "; ".join(sorted(names)))
    return {b: (t, word_key(answers.of("rows", t) or every)) for b, t in texts.items()}


def said_to_differ(
    pieces: Iterable[str], names: Iterable[str], answers: Answers
) -> set[tuple[str, str, str]]:
    """Of `pieces` without a name of their own, the cells of those that were answered to be each a piece."""
    said = said_of_alike(names, answers)
    each = {base for base, (_, meaning) in said.items() if meaning == DIFFERENT}
    return {(p.casefold(), "piece", p) for p in pieces if base_name(p, named=False) in each}


def base_name(name: str, *, named: bool) -> str:
    """The name in small letters, without the number that was put behind a made one that was taken."""
    return (name if named else _NUMBER_BEHIND.sub("", name)).casefold()


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
    for row in flips[NAMED_BY].to_dict("records"):
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


def names_here(pieces: Iterable[object]) -> frozenset[str]:
    """The names that rows have now, in small letters: what was answered under one of them is of no other row."""
    return frozenset(str(p).casefold() for p in pieces)


def could_be(
    row: Mapping[Any, Any], own: Mapping[str, str], here: frozenset[str] = frozenset()
) -> set[str]:
    """Every name that the row has by fewer cells than it holds now, in small letters, but for those that are `here`."""
    kinds = {row["furniture_type"], *(k for k, v in own.items() if v == row["furniture_type"])}
    days = {_part(row[c]) for c in _DAYS} | {""}
    amounts = {(w, p) for c, w in _AMOUNTS.items() if (p := _part(row[c]))} | {("", "")}
    size = "x".join(p for c in SIZES if (p := _part(row[c])))
    ends = {"", size, _part(row["finish"]).casefold()}
    made = set()
    for kind, wood, day, (word, amount) in product(kinds, {row["wood"], None}, days, amounts):
        if day or amount:
            what, on = _what(_part(wood), _part(kind)), ""
            if day:
                on = f"of {day_said(date.fromisoformat(day))}"
            older = re.sub(r"[^\w.']+", "-", what).strip("-")
            name = " ".join(p for p in (what, on, word, amount) if p).casefold()
            made |= {_and(name, end) for end in ends}
            made.add("-".join(p for p in (older, day, amount) if p).casefold())
    return made - here


def _what(wood: str, kind: str) -> str:
    """What a piece is, in words: `oak dresser`."""
    return " ".join(w for w in (wood, kind or "piece") if w and w != "unknown")


def _part(value: Any) -> str:
    """A cell as a part of a name, "" where it is missing."""
    if value is None or value != value:
        return ""
    if isinstance(value, np.datetime64 | pd.Timestamp):
        return str(value)[:10]
    return value if isinstance(value, str) else shown(float(value))
