"""What belongs to no one piece but is paid for by all of them, shared out as the owner says."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd


@dataclass(frozen=True, eq=False, slots=True)
class SharedSupplies:
    """`by_piece` is each piece's share in money, on the frame's index; `total` what was shared out,
    `kept_back` what was marked to be shared by nothing or could not be shared."""

    by_piece: pd.Series = field(repr=False)
    total: float
    kept_back: float
    notes: tuple[str, ...] = ()


def share_supplies(
    supplies: pd.DataFrame,
    pieces: pd.DataFrame,
    *,
    start: pd.Timestamp | None = None,
    end: pd.Timestamp | None = None,
) -> SharedSupplies:
    """Share the supplies bought from `start` to `end` (both included) over `pieces` (columns hours).

    `shared_by` "hours" gives each piece its part by hands-on hours, "pieces" the same to each, "none"
    stays apart. What is shared by hours goes over the pieces whose hours are known; where no hours are,
    it is kept back.
    """
    share = pd.Series(0.0, index=pieces.index)
    if supplies.empty:
        return SharedSupplies(share, 0.0, 0.0)
    bought = supplies["bought_on"]
    inside = pd.Series(True, index=supplies.index)
    if start is not None:
        inside &= bought >= start
    if end is not None:
        inside &= bought <= end
    cost = supplies.loc[inside, "cost"].fillna(0.0)
    way = supplies.loc[inside, "shared_by"].fillna("none")
    by_hours, by_pieces = float(cost[way == "hours"].sum()), float(cost[way == "pieces"].sum())
    kept_back = float(cost.sum()) - by_hours - by_pieces
    hours = pieces["hours"].fillna(0.0)
    notes = []
    if by_pieces and len(pieces):
        share += by_pieces / len(pieces)
    if by_hours and hours.sum() > 0:
        share += by_hours * hours / hours.sum()
    elif by_hours:
        kept_back += by_hours
        notes.append("supplies shared by hours could not be shared out: no hours are on record")
    undated = int(supplies["bought_on"].isna().sum())
    if undated and (start is not None or end is not None):
        notes.append(f"{undated} supplies have no date and are left out of this period")
    return SharedSupplies(share, float(share.sum()), kept_back, tuple(notes))
