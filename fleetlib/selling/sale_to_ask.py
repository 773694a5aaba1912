"""What buyers really pay of the last asking price."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetlib.selling.weeks_at_risk import NEITHER, USUAL_SHARE_PAID, Listings

PRIOR_SALES = 5.0  # the usual share counts as this many sales
SLOPE_RIDGE = 0.5  # sum of squares of log(ask / usual price) at which half the slope is believed


@dataclass(frozen=True, slots=True)
class Haggle:
    """Sale price over last asking price, capped at 1, with few sales drawn toward .93 (common practice).

    share_paid: (sum of shares + 5 x .93) / (sales + 5), the mean that enters a plan. slope: change of the
    share per unit of log(last ask / usual sale price), shrunk toward 0. above: how many sold above the ask.
    sales: how many sales this rests on.
    """

    share_paid: float
    slope: float
    above: int
    sales: int


def fit_haggle(listings: Listings) -> Haggle:
    """The haggle of the sold listings whose last asking price is on record."""
    table = listings.table
    known = table[table["sold"] & table["sale_price"].notna() & table["asks_from"].ne(NEITHER)]
    ratio = (known["sale_price"] / known["last_ask"]).to_numpy()
    share = np.minimum(ratio, 1.0)
    n = len(share)
    mean = float((share.sum() + PRIOR_SALES * USUAL_SHARE_PAID) / (n + PRIOR_SALES))
    dear = np.log((known["last_ask"] / known["usual_price"]).to_numpy())
    seen = np.isfinite(dear)
    slope = 0.0
    if seen.sum() >= 3:
        away = dear[seen] - dear[seen].mean()
        slope = float(away @ (share[seen] - share[seen].mean()) / (away @ away + SLOPE_RIDGE))
    return Haggle(
        share_paid=mean,
        slope=slope,
        above=int((ratio > 1.005).sum()),
        sales=n,
    )
