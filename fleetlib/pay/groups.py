"""Pieces sorted into groups: which columns group, which pieces count, what each group holds."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.nearest import nearest
from fleetlib.pay.rates import FEWEST, Group, pay_rates
from fleetlib.pay.ratio import ratio_of_totals
from fleetlib.records.schema.columns import STEPS
from fleetlib.selling.kaplan_meier import days_to_sell
from fleetlib.shown.html_blocks import cell_text

UNKNOWN = "not recorded"
NOT_IN_PAY = ("in work", "own use")  # outcomes whose hours and money are not counted
TOO_FEW = "too few to say"
GROUPING = (
    "furniture_type",
    "wood",
    "finish",
    "style",
    "channel",
    "construction",
    "grade",
    "pieces_in_lot",
)


def grouping(by: str | tuple[str, ...], flips: pd.DataFrame) -> tuple[str, ...]:
    """`by` as column names of `flips` that hold words or a few counts. Raises BadQuestion."""
    columns = (by,) if isinstance(by, str) else tuple(by)
    carried = [c for c in flips.columns if isinstance(flips[c].dtype, pd.StringDtype)]
    allowed = list(dict.fromkeys([*GROUPING, *carried]))
    for c in columns:
        if c not in allowed or c not in flips.columns:
            near = nearest(str(c), allowed)
            hint = f'Did you mean "{near[0]}"?' if near else f"Use {', '.join(GROUPING)}."
            raise BadQuestion(f'pay cannot be grouped by "{c}". {hint}')
    return tuple(dict.fromkeys(columns))


def labelled(flips: pd.DataFrame, columns: tuple[str, ...]) -> pd.DataFrame:
    """The grouping columns as words; where nothing is recorded, that is its own group."""
    made = {c: [UNKNOWN if pd.isna(v) else cell_text(v) for v in flips[c]] for c in columns}
    return pd.DataFrame(made, index=flips.index, columns=list(columns), dtype=object)


def names_of(table: pd.DataFrame, columns: tuple[str, ...]) -> list[str]:
    """Each row's group in words: `sideboard, oil`."""
    if not columns:
        return ["all pieces"] * len(table)
    rows = table[list(columns)].itertuples(index=False, name=None)
    return [", ".join(str(v).replace("_", " ") for v in row) for row in rows]


def period(start: date | None, end: date | None) -> tuple[pd.Timestamp | None, pd.Timestamp | None]:
    """First and last day as timestamps. Raises BadQuestion when they are the wrong way round."""
    if start and end and start > end:
        raise BadQuestion(f"the period starts on {start} and ends on {end}; swap the two.")
    return (pd.Timestamp(start) if start else None, pd.Timestamp(end) if end else None)


def within(days: pd.Series, start: pd.Timestamp | None, end: pd.Timestamp | None) -> pd.Series:
    """True for the days from `start` to `end`, both included; a missing day only fits when there are no ends."""
    inside = pd.Series(True, index=days.index)
    if start is not None:
        inside &= days >= start
    if end is not None:
        inside &= days <= end
    return inside


def group_table(
    pieces: pd.DataFrame, columns: tuple[str, ...], *, level: float
) -> tuple[pd.DataFrame, list[pd.DataFrame]]:
    """The table of groups, best first, and the pieces counted in each row.

    `pieces`: the grouping columns and those of `PieceValues.frame`, with supplies. Groups of too few pieces,
    without hours or of pieces not described are not `compared` and stand last.
    """
    keys = list(columns) if columns else [pd.Series("all", index=pieces.index)]
    rows, members = [], []
    for key, part in pieces.groupby(keys, sort=True):
        done = part[~part["outcome"].isin(NOT_IN_PAY)]
        counted = done[done["hours"].notna() & done["profit"].notna()]
        members.append(counted)
        outcomes = counted["outcome"].value_counts()
        every = done["outcome"].value_counts()
        row = dict(zip(columns, key if isinstance(key, tuple) else (key,), strict=False))
        row |= {
            "pieces": len(counted),
            "sold": int(outcomes.get("sold", 0)),
            "unsold": int(outcomes.get("unsold", 0)),
            "withdrawn": int(outcomes.get("withdrawn", 0)),
            **{f"all_{name}": int(every.get(name, 0)) for name in ("sold", "unsold", "withdrawn")},
            "in_work": int(part["outcome"].eq("in work").sum()),
            "left_out": len(done) - len(counted),
            "hours": float(counted["hours"].sum()),
            "profit": float(counted["profit"].sum()),
            "per_hour_at_nothing": _rate(counted["profit_at_nothing"], counted["hours"]),
            "supplies": float(counted["supplies"].sum()),
            "per_hour_after_supplies": _rate(
                counted["profit"] - counted["supplies"], counted["hours"]
            ),
        }
        rows.append(row)
    made = pd.DataFrame(rows)
    known = (made[list(columns)] != UNKNOWN).all(axis=1) if columns else pd.Series([True])
    compared = known & (made["pieces"] >= FEWEST) & (made["hours"] > 0)
    rates = pay_rates([as_group(m) for m in members], level=level, compared=compared.tolist())
    made = pd.concat([made, rates], axis=1).assign(compared=compared)
    made["says"] = _says(made)
    order = np.lexsort((-made["shrunk"].fillna(-np.inf), ~compared))
    return made.iloc[order].reset_index(drop=True), [members[i] for i in order]


def as_group(counted: pd.DataFrame) -> Group:
    """The money and hours of the pieces counted in a group."""
    profit, hours, sd = (counted[c].to_numpy(float) for c in ("profit", "hours", "profit_sd"))
    return Group(profit, hours, sd**2)


def sold_within(
    flips: pd.DataFrame, table: pd.DataFrame, columns: tuple[str, ...], *, days: int
) -> list[float]:
    """Share of the listed pieces of each group sold within `days` (Kaplan-Meier); NaN where it is not known."""
    words = labelled(flips, columns)
    shares = []
    for row in table[list(columns)].itertuples(index=False, name=None):
        same = (words == list(row)).all(axis=1) if columns else pd.Series(True, index=flips.index)
        share = days_to_sell(flips[same]).share_sold_within(days)
        shares.append(math.nan if share is None else share)
    return shares


def step_table(flips: pd.DataFrame, columns: tuple[str, ...]) -> pd.DataFrame:
    """Hours a piece by step and group, for pieces whose hours are split; `most` is the step that takes most.

    Columns: the grouping columns, pieces, hours_clean and so on (hours a piece), most, share (of all hours).
    Groups in descending order of hours a piece. Empty when no hours are split.
    """
    steps = [f"hours_{s}" for s in STEPS]
    known = flips[steps].sum(axis=1) > 0
    if not known.any():
        return pd.DataFrame(columns=[*columns, "pieces", *steps, "most", "share"])
    words = labelled(flips, columns)[known]
    keys = [words[c] for c in columns] or [pd.Series("all", index=words.index)]
    sums = flips.loc[known, steps].fillna(0.0).groupby(keys, sort=True)
    counts = sums.size()
    made = sums.sum().div(counts, axis=0)
    total = made.sum(axis=1)
    made["most"] = [STEPS[i] for i in made[steps].to_numpy().argmax(axis=1)]
    made["share"] = made[steps].max(axis=1) / total
    made.insert(0, "pieces", counts)
    made = made.loc[total.sort_values(ascending=False, kind="stable").index]
    return made.reset_index(drop=not columns)


def _rate(top: pd.Series, bottom: pd.Series) -> float:
    return float(ratio_of_totals(top.to_numpy(float), bottom.to_numpy(float)))


def _says(table: pd.DataFrame) -> list[str]:
    said = []
    columns = (table[c] for c in ("hours", "pieces", "unbounded", "sold"))
    for hours, pieces, unbounded, sold in zip(*columns, strict=True):
        if not hours > 0:
            said.append("no hours")
        elif pieces < FEWEST:
            said.append(TOO_FEW)
        elif unbounded:
            said.append("hours vary too much for a range")
        else:
            said.append("" if sold else "none sold yet")
    return said
