"""All models of one shop, fitted once and handed to every question."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np

from fleetlib.base.errors import TooFewSales
from fleetlib.base.settings import Settings
from fleetlib.base.threads import one_thread
from fleetlib.price.fit import PriceFit, fit_prices
from fleetlib.records.folder import Records
from fleetlib.selling.fit import SellingTimeFit, fit_selling_time
from fleetlib.selling.weeks_at_risk import listing_histories, newest_listings
from fleetlib.work.hours import HoursFit, fit_hours

# Below this many sales a price model says less about a piece than its owner does, so the owner's own
# price stands in for the usual sale price when the time to sell is fitted (from simulated shops).
FEWEST_SALES_TO_ANCHOR = 12


@dataclass(frozen=True, eq=False, slots=True)
class Fits:
    """What the records say, by model: `prices` is None before the first sale, `hours` without hours."""

    records: Records = field(repr=False)
    settings: Settings = field(repr=False)
    as_of: date
    prices: PriceFit | None = field(repr=False)
    selling: SellingTimeFit = field(repr=False)
    hours: HoursFit | None = field(repr=False)
    notes: tuple[str, ...] = ()
    # What was once worked out with these models, kept by the room that did it: see plan/planned.py.
    kept: dict[object, Any] = field(default_factory=dict, init=False, repr=False)


@one_thread()
def fit_all(records: Records) -> Fits:
    """Fit price, time to sell and hours on `records`; what cannot be fitted is None and said in `notes`."""
    notes: list[str] = []
    prices: PriceFit | None = None
    hours: HoursFit | None = None
    try:
        made = fit_prices(
            records.listings,
            as_of=records.as_of,
            borrow=records.settings.borrow,
            hourly_pay=records.settings.target_hourly_pay,
        )
        prices = made if len(made.sales) else None
    except TooFewSales as few:
        notes.append(str(few))
    try:
        hours = fit_hours(records.flips, borrow=records.settings.borrow)
    except TooFewSales as few:
        notes.append(str(few))
    listings = listing_histories(
        records.listings,
        records.events,
        usual_price=usual_prices(records, prices),
        as_of=records.as_of,
        advice_log=records.advice_log,
    )
    selling = fit_selling_time(listings)
    return Fits(records, records.settings, records.as_of, prices, selling, hours, tuple(notes))


def usual_prices(records: Records, prices: PriceFit | None) -> np.ndarray:
    """The usual sale price of each listing, aligned with `records.listings`; NaN where nothing is known or asked.

    A sold piece's own price is left out of its own figure, else a piece that sold high would look as if
    it had been asked too little for. With few sales the owner's own price stands in. Asked are the listings that
    the pace of selling is learned from.
    """
    flips = records.listings
    gut = flips["gut_price"].to_numpy(float)
    if prices is None or len(prices.sales) < FEWEST_SALES_TO_ANCHOR:
        return gut
    usual, asked = np.full(len(flips), np.nan), newest_listings(flips)
    fitted = flips.index.get_indexer(prices.sales.index)
    asked[fitted] = False
    usual[asked] = prices.usual(flips[asked], at_own_time=True)
    usual[fitted] = prices.usual_left_out()
    return usual
