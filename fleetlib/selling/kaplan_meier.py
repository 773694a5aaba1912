"""Days to sell, straight from the shop's own listings: the Kaplan-Meier curve.

Nothing is assumed about prices or types. Unsold listings count for the days they were on the market; leaving
them out would make everything look quicker to sell than it is.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

import numpy as np
import pandas as pd

from fleetlib.base.said import percent
from fleetlib.shown.sheet import Facts, Notes, Sheet, Shown


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class DaysToSell(Shown):
    """Kaplan-Meier curve of days to sell.

    table: one row per day on which something sold: days, at_risk (listings still on the market just before,
    those unsold and taken off that very day included), sold, unsold (share still unsold after it), error (its
    Greenwood standard error). median: days by which half have sold, None when that was not reached. listings,
    sold: how many it rests on. longest: the longest time anything was on the market, in days.
    """

    table: pd.DataFrame = field(repr=False)
    median: float | None
    listings: int
    sold: int
    longest: float
    notes: tuple[str, ...] = ()

    def share_sold_within(self, days: float) -> float | None:
        """Share sold within `days`; None beyond the longest time on record, unless everything had sold by then."""
        if not self.listings:
            return None
        reached = self.table[self.table["days"] <= days]
        left = float(reached["unsold"].iloc[-1]) if len(reached) else 1.0
        return None if days > self.longest and left > 0 else 1.0 - left

    def sheet(self) -> Sheet:
        """How many listings, and how many had sold by when."""
        return Sheet("Days to sell", (Facts(tuple(self._facts())), Notes(self.notes)))

    def _facts(self) -> list[tuple[str, str]]:
        half = "not reached" if self.median is None else f"{self.median:.0f} days"
        facts = [
            ("Listings", f"{self.listings}, of which {self.sold} sold"),
            ("Half have sold by", half),
        ]
        for days in (30, 60, 90):
            share = self.share_sold_within(days)
            facts.append(
                (f"Sold within {days} days", "not known" if share is None else percent(share))
            )
        return facts


def days_to_sell(flips: pd.DataFrame, *, as_of: date | None = None) -> DaysToSell:
    """The Kaplan-Meier curve of all flips that were ever listed.

    flips: the clean table. Its days_listed (to the sale, the withdrawal or the day the records were read for)
    is used as it is; with `as_of`, days are counted afresh as known on that day.
    """
    listed = flips[flips["listed_on"].notna()]
    if as_of is None:
        days = listed["days_listed"].to_numpy(float)
        sold = listed["sold_on"].notna().to_numpy()
    else:
        today = pd.Timestamp(as_of)
        listed = listed[listed["listed_on"] <= today]
        sold = (listed["sold_on"] <= today).to_numpy()
        ends = listed[["sold_on", "withdrawn_on"]].min(axis=1).fillna(today)
        ends = ends.where(ends < today, today)
        days = (ends - listed["listed_on"]).dt.days.to_numpy(float)
    usable = np.isfinite(days)
    return survival_curve(days[usable], sold=sold[usable])


def survival_curve(days: np.ndarray, *, sold: np.ndarray) -> DaysToSell:
    """Kaplan-Meier (1958) with Greenwood errors: days (n,) on the market, sold (n,) or still unsold then.

    A listing taken off on the day of a sale still counts as at risk that day. A sale on the day of listing counts as
    within the first half day. The figures are statsmodels' to the last digit, whose loading takes longer than all else.
    """
    days, sold = np.asarray(days, dtype=float), np.asarray(sold, dtype=bool)
    columns = ["days", "at_risk", "sold", "unsold", "error"]
    n, sales = len(days), int(sold.sum())
    if not sales:
        empty = pd.DataFrame({c: np.zeros(0) for c in columns})
        note = "Nothing has sold yet, so nothing can be said about days to sell."
        return DaysToSell(empty, None, n, 0, float(days.max()) if n else 0.0, (note,))
    table = _curve(np.maximum(days, 0.5), sold)
    half = table.loc[table["unsold"] <= 0.5 + 1e-12, "days"]
    median = float(half.iloc[0]) if len(half) else None
    notes = []
    if median is None:
        notes.append(
            "Median not reached: more than half of the listings were still unsold when last seen."
        )
    if sales == n:
        notes.append("Every listing on record has sold; if some never did, enter them too.")
    return DaysToSell(table, median, n, sales, float(days.max()), tuple(notes))


def _curve(days: np.ndarray, sold: np.ndarray) -> pd.DataFrame:
    """The rows of `DaysToSell.table`: one a day on which something sold."""
    each, rank = np.unique(days, return_inverse=True)
    events = np.bincount(rank, weights=sold, minlength=len(each))
    at_risk = np.cumsum(np.bincount(rank, minlength=len(each))[::-1])[::-1]
    some = events > 0
    each, events, at_risk = each[some], events[some], at_risk[some]
    left = at_risk - events
    none_left = left == 0
    unsold = np.exp(np.cumsum(np.log(np.where(none_left, 1.0, 1 - events / at_risk))))
    # Greenwood's formula; it says nothing of the day on which the last one sold.
    error = unsold * np.sqrt(np.cumsum(events / np.where(none_left, np.nan, at_risk * left)))
    unsold[none_left] = 0.0
    return pd.DataFrame(
        {
            "days": each,
            "at_risk": at_risk,
            "sold": events.astype(int),
            "unsold": unsold,
            "error": error,
        }
    )
