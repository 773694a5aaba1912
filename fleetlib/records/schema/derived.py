"""What follows from a record: size, days listed, status, net price, profit, pay per hour."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from fleetlib.base.settings import Settings
from fleetlib.records.schema.columns import CAME_BACK, INCHES_IN_A_CUBIC_FOOT, LEFT_UNSOLD, SIZES


def derive(flips: pd.DataFrame, *, settings: Settings, as_of: date) -> pd.DataFrame:
    """`flips` with the derived columns worked out anew (columns.DERIVED says what each means)."""
    made = flips.copy(deep=False)
    bought_for, price, hours = (_numbers(flips[c]) for c in ("buy_price", "sale_price", "hours"))
    first, last = (_numbers(flips[c]) for c in ("asking_price", "last_asking_price"))
    charged, fees, materials, others = (
        np.where(np.isnan(n), 0.0, n) for n in (_numbers(flips[c]) for c in _NONE_IS_NOTHING)
    )
    listed_on, sold_on, withdrawn_on = (
        flips[c].to_numpy("datetime64[ns]") for c in ("listed_on", "sold_on", "withdrawn_on")
    )
    back, told_sold = ((flips["outcome"] == said).to_numpy() for said in (CAME_BACK, "sold"))
    known = ~np.isnan(price) | ~np.isnat(sold_on) | told_sold
    sold = known & ~back
    withdrawn = ~sold & (~np.isnat(withdrawn_on) | flips["outcome"].isin(LEFT_UNSOLD).to_numpy())
    listed = ~sold & ~withdrawn & (~np.isnat(listed_on) | ~np.isnan(first) | (back & known))
    width, depth, height = (_numbers(flips[c]) for c in SIZES)
    made["size_cuft"] = width * depth * height / INCHES_IN_A_CUBIC_FOOT
    status = np.select([sold, withdrawn, listed], ["sold", "withdrawn", "listed"], "in work")
    made["status"] = pd.Series(status, index=made.index, dtype="str")
    day = np.datetime64(as_of, "ns")
    stood = np.where(sold, sold_on, np.where(withdrawn, withdrawn_on, day)) - listed_on
    made["days_listed"] = np.where(np.isnat(stood), np.nan, stood.astype("int64") // _A_DAY)
    net = price + charged - fees - settings.delivery_cost
    profit = net - bought_for - (materials + others)
    made["net_price"], made["profit"] = net, profit
    made["profit_per_hour"] = profit / np.where(hours > 0, hours, np.nan)
    asked = np.where(np.isnan(last), first, last)
    made["sale_to_ask"] = price / np.where(asked > 0, asked, np.nan)
    return made


_NONE_IS_NOTHING = ("delivery_charged", "selling_fees", "materials_cost", "other_costs")
_A_DAY = 86_400_000_000_000  # nanoseconds


def _numbers(column: pd.Series) -> np.ndarray:
    return column.to_numpy("float64")
