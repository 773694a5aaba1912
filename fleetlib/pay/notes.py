"""The sentences under an earnings table: what was counted, and what counting only the sold would have said."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import count
from fleetlib.pay.groups import NOT_IN_PAY, UNKNOWN, as_group
from fleetlib.pay.piece_values import some
from fleetlib.pay.rates import steadied


def counted_notes(
    pieces: pd.DataFrame,
    columns: tuple[str, ...],
    *,
    start: date | None,
    end: date | None,
    undated: int,
) -> list[str]:
    """Which pieces are in the pay and which are not."""
    notes = []
    if start or end:
        notes.append(
            "pieces are counted in the period in which they came to market, sold since or not"
        )
        if undated:
            notes.append(f"{count(undated, 'piece')} without any date in no period")
    outcome = pieces["outcome"]
    finished = pieces[~outcome.isin(NOT_IN_PAY)]
    in_work = pieces[outcome == "in work"]
    if len(in_work):
        notes.append(
            f"{count(len(in_work), 'piece')} still in work ({in_work['hours'].sum():.0f} hours so far) not in the "
            "pay until finished"
        )
    own = pieces[outcome == "own use"]
    if len(own):
        notes.append(
            f"{count(len(own), 'piece')} kept or given away and never on the market: not in the pay "
            f"({some(own['piece'].astype(str).tolist())})"
        )
    no_hours, no_cost = finished["hours"].isna(), finished["costs"].isna()
    no_sale = finished["profit"].isna() & ~no_cost
    for left_out, why, mend in (
        (no_cost, "the price paid is missing", "enter 0 for a free piece"),
        (no_sale, "what it sold for is not known", "for a trade enter what you got was worth"),
    ):
        if left_out.any():
            notes.append(
                f"left out, because {why}, {left_out.sum()} of {len(finished)} pieces: "
                f"{some(finished.loc[left_out, 'piece'].astype(str).tolist())}; {mend}"
            )
    if no_hours.all():
        notes.append(
            "no hours are on record, so there is no pay per hour; fill in the hours column"
        )
    zero = finished["hours"].eq(0)
    if zero.any():
        notes.append(
            f"{count(int(zero.sum()), 'piece')} with 0 hours count with their money alone: "
            f"{some(finished.loc[zero, 'piece'].astype(str).tolist())}; leave hours blank if they were not "
            "written down"
        )
    if "channel" in columns and (finished.loc[outcome != "sold", "channel"] == UNKNOWN).any():
        notes.append(
            "a channel is mostly known for sold pieces only, so channels are compared without most of the "
            "unsold ones and look better than they are"
        )
    return notes


def selling_notes(
    table: pd.DataFrame, members: list[pd.DataFrame], names: list[str], currency: str
) -> list[str]:
    """What the unsold pieces do to the pay, and whether counting only sold ones would pick another first."""
    notes = []
    unsold = int(table["unsold"].sum())
    if unsold:
        money, hours = (float(np.nansum(table[c])) for c in ("profit", "hours"))
        nothing = sum(float(m["profit_at_nothing"].sum()) for m in members)
        if hours > 0:
            notes.append(
                f"{count(unsold, 'unsold piece')} in, with all hours and costs: all pieces together pay "
                f"{format_money(money / hours, currency, cents=True)} an hour with them at what their plans "
                f"expect, {format_money(nothing / hours, currency, cents=True)} if none of them ever sells; the "
                "ranges count how open that still is"
            )
    sold = [m[m["outcome"] == "sold"] for m in members]
    naive, *_ = steadied([as_group(m) for m in sold])
    compared = [j for j in np.flatnonzero(table["compared"]) if naive[j] == naive[j]]
    if len(compared) > 1:
        alone = max(compared, key=lambda j: as_group(sold[j]).per_hour)
        if alone != compared[0]:
            first = compared[0]
            unsold = len(members[alone]) - len(sold[alone])
            unsold_too = f"{unsold} of its {len(members[alone])} pieces did not sell, and " * bool(
                unsold
            )
            notes.append(
                f"counting only what sold would have put {names[alone]} first "
                f"({format_money(as_group(sold[alone]).per_hour, currency)} an hour); "
                f"{unsold_too}with all pieces counted {names[first]} comes first"
            )
    return notes


def supply_notes(
    table: pd.DataFrame, names: list[str], *, total: float, kept_back: float, currency: str
) -> list[str]:
    """Supplies: how much was shared out and whether it changes who comes first."""
    notes = []
    hours = float(table["hours"].sum())
    if total > 0 and hours > 0:
        share = float(table["supplies"].sum())
        text = (
            f"shared supplies of {format_money(total, currency)} are not in the pay; they would take "
            f"{format_money(share / hours, currency, cents=True)} off an hour"
        )
        large = table[table["compared"]]
        if len(large) > 1:
            rows = large.index.to_numpy()
            before = names[rows[large["per_hour"].to_numpy().argmax()]]
            after = names[rows[large["per_hour_after_supplies"].to_numpy().argmax()]]
            if before != after:
                text += f", and {after} would then pay more than {before}"
        notes.append(text)
    if kept_back > 0:
        notes.append(
            f"supplies of {format_money(kept_back, currency)} stay apart from every piece, as you chose"
        )
    return notes
