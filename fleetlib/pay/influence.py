"""What a ranking by pay per hour hangs on: single pieces, single sales, and figures never written down."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import percent
from fleetlib.pay.piece_values import some
from fleetlib.pay.rates import FEWEST, Group, steadied
from fleetlib.pay.ratio import ratio_of_totals
from fleetlib.records.piece import piece_from_row

if TYPE_CHECKING:
    from fleetlib.work.hours import HoursFit

HALF = 0.5  # one sale bringing more than this share of a group's profit carries the group
SHARE_WORTH_SAYING = 0.05
LEAST_LEAD = 0.5  # money an hour; less is next to nothing
CLEAR = 0.8  # a chance of being best below this is not settled


def hinges(
    groups: list[Group], names: list[list[str]], labels: list[str], compared: list[bool]
) -> pd.DataFrame:
    """The pieces of the first and second group without which the lead would be smallest; at most three.

    Columns: piece, group, per_hour_without (of its group), lead_without (steadied pay of the first group
    over the best other one, money an hour; below 0 the first place changes). Every piece of the two groups
    is left out in turn and all groups are steadied anew. Only groups `compared` count.
    """
    columns = ["piece", "group", "per_hour_without", "lead_without"]
    shrunk, *_ = steadied(groups)
    order = sorted(np.flatnonzero(compared), key=lambda j: -shrunk[j])
    if len(order) < 2:
        return pd.DataFrame(columns=columns)
    first = order[0]
    rows = []
    for j in order[:2]:
        for at in range(len(groups[j].hours)):
            changed = [*groups]
            changed[j] = groups[j].without(at)
            if not changed[j].hours.sum() > 0:
                continue
            again, *_ = steadied(changed)
            lead = again[first] - max(again[i] for i in order if i != first)
            rows.append((names[j][at], labels[j], changed[j].per_hour, float(lead)))
    made = pd.DataFrame(rows, columns=columns)
    return made.sort_values("lead_without", kind="stable", ignore_index=True).head(3)


def hinge_note(table: pd.DataFrame, first: str, currency: str) -> str:
    """One sentence on whether the first place survives without any one piece; empty when nothing is compared."""
    if table.empty:
        return ""
    turning = table[table["lead_without"] < 0]
    if turning.empty:
        lead = float(table["lead_without"].min())
        least = format_money(lead, currency, cents=True)
        if lead < LEAST_LEAD:
            return f"{first} comes first by next to nothing: {least} an hour without {table['piece'].iloc[0]}"
        return (
            f"no single piece decides that {first} comes first: even without {some(table['piece'].tolist(), 'or')} "
            f"it would lead by {least} an hour or more"
        )
    return (
        f"that {first} comes first hangs on single pieces: without {some(turning['piece'].tolist(), 'or')} "
        "another group would lead"
    )


def settled_note(table: pd.DataFrame, names: list[str]) -> str:
    """A sentence where no group is clearly the best: the chances of the two likeliest."""
    chances = table["chance_best"].dropna().sort_values(ascending=False, kind="stable")
    if len(chances) < 2 or chances.iloc[0] >= CLEAR:
        return ""
    said = " and ".join(f"{names[i]} {percent(c)}" for i, c in list(chances.items())[:2])  # type: ignore[call-overload]
    return f"which group is best is not settled: the chances are {said}"


def single_sale_note(pieces: pd.DataFrame, label: str, currency: str) -> str:
    """A sentence where one sale carries the group; `pieces` has piece, outcome, profit, hours, all known."""
    sold = pieces[pieces["outcome"] == "sold"]
    total = float(pieces["profit"].sum())
    if len(pieces) < FEWEST or sold.empty:
        return ""
    top = sold.iloc[int(sold["profit"].argmax())]
    rest = pieces.drop(index=top.name)
    without = float(ratio_of_totals(rest["profit"].to_numpy(), rest["hours"].to_numpy()))
    said = f"without it, {format_money(without, currency, cents=True)} an hour"
    if len(sold) == 1:
        return f"{label}: the pay rests on a single sale, {top['piece']}; {said}"
    if total > 0 and float(top["profit"]) > HALF * total and len(pieces) > 2:
        share = min(float(top["profit"]) / total, 9.99)
        return f"{label}: one sale, {top['piece']}, brings {share:.0%} of the profit; {said}"
    return ""


def gaps_note(
    pieces: pd.DataFrame, label: str, *, usual_hours: pd.DataFrame, currency: str
) -> tuple[float, str]:
    """Where hours or materials are missing: what share, and what filling them in could change, in words.

    `pieces`: one group's finished pieces (piece, hours, profit, materials_known, usual_materials).
    `usual_hours`: columns low, high on the same index, the hours a piece like it takes 8 times out of 10.
    Also the largest change of the pay, money an hour; 0 and no words when too little is missing.
    """
    known = pieces[pieces["profit"].notna()]
    with_hours = known[known["hours"].notna()]
    now = float(ratio_of_totals(with_hours["profit"].to_numpy(), with_hours["hours"].to_numpy()))
    parts, change = [], 0.0
    lacking = known[known["hours"].isna()]
    if len(lacking) / max(len(known), 1) > SHARE_WORTH_SAYING:
        text = f"hours are missing for {len(lacking)} of {len(known)} pieces ({len(lacking) / len(known):.0%})"
        ends = []
        for end in ("high", "low"):
            filled = known["hours"].fillna(usual_hours[end].reindex(known.index))
            if filled.notna().all():
                ends.append(float(ratio_of_totals(known["profit"].to_numpy(), filled.to_numpy())))
        told = [format_money(e, currency, cents=True) for e in (*ends, now) if math.isfinite(e)]
        if len(ends) == 2 and math.isfinite(min(ends)) and len(set(told)) > 1:
            text += (
                f", left out here; filled in, the pay could be {format_money(min(ends), currency, cents=True)} to "
                f"{format_money(max(ends), currency, cents=True)} an hour"
            )
            if math.isfinite(now):
                text += f" instead of {format_money(now, currency, cents=True)}"
                change = max(abs(e - now) for e in ends)
        parts.append(text)
    blank = with_hours[~with_hours["materials_known"]]
    if len(blank) / max(len(with_hours), 1) > SHARE_WORTH_SAYING and math.isfinite(now):
        usual = blank["usual_materials"].to_numpy(float)
        less = np.nan_to_num(usual).sum()
        after = (float(with_hours["profit"].sum()) - less) / float(with_hours["hours"].sum())
        change = max(change, now - after)
        same = format_money(after, currency, cents=True) == format_money(now, currency, cents=True)
        of_all = (
            f"materials are missing for {len(blank)} of {len(with_hours)} pieces and count as 0; "
        )
        parts.append(
            f"{of_all}your usual cost is not known, so that the pay is too high by what they cost"
            if np.isnan(usual).all()
            else f"{of_all}at your usual cost the pay would be the same"
            if same
            else f"materials are missing for {len(blank)} of {len(with_hours)} pieces "
            f"({len(blank) / len(with_hours):.0%}) and count as 0; at your usual cost the pay would be "
            f"{format_money(after, currency, cents=True)} instead of "
            f"{format_money(now, currency, cents=True)} an hour"
        )
    return change, f"{label}: {'; '.join(parts)}" if parts else ""


def usual_hours_range(
    hours: HoursFit | None, flips: pd.DataFrame, *, wanted: pd.DataFrame
) -> pd.DataFrame:
    """low and high hours (8 times out of 10) of the pieces `wanted`; from the spread of all `flips` when
    there is no fit, NaN when no hours are on record."""
    if hours is not None:
        ends = [hours.interval(piece_from_row(row)) for _, row in wanted.iterrows()]
        return pd.DataFrame(ends, columns=["low", "high"], index=wanted.index, dtype=float)
    known = flips["hours"].dropna()
    low, high = known.quantile([0.1, 0.9]) if len(known) else (math.nan, math.nan)
    return pd.DataFrame({"low": low, "high": high}, index=wanted.index, dtype=float)
