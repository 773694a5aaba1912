"""What follows from a record: size, days listed, status, net price, profit, pay per hour."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from fleetlib.base.settings import Settings
from fleetlib.records.schema.columns import CAME_BACK, INCHES_IN_A_CUBIC_FOOT, LEFT_UNSOLD


def derive(flips: pd.DataFrame, *, settings: Settings, as_of: date) -> pd.DataFrame:
    """`flips` with the derived columns worked out anew (columns.DERIVED says what each means)."""
    made = flips.copy(deep=False)
    day = pd.Timestamp(as_of)
    back = made["outcome"].eq(CAME_BACK)
    known = made["sale_price"].notna() | made["sold_on"].notna() | made["outcome"].eq("sold")
    sold = known & ~back
    withdrawn = ~sold & (made["withdrawn_on"].notna() | made["outcome"].isin(LEFT_UNSOLD))
    listed = (
        ~sold
        & ~withdrawn
        & (made["listed_on"].notna() | made["asking_price"].notna() | (back & known))
    )
    made["size_cuft"] = (
        made["width_in"] * made["depth_in"] * made["height_in"] / INCHES_IN_A_CUBIC_FOOT
    )
    status = np.select([sold, withdrawn, listed], ["sold", "withdrawn", "listed"], "in work")
    made["status"] = pd.Series(status, index=made.index, dtype="str")
    until = made["sold_on"].where(sold, made["withdrawn_on"].where(withdrawn, day))
    made["days_listed"] = (until - made["listed_on"]).dt.days.astype("float64")
    charged = made["delivery_charged"].fillna(0.0)
    fees = made["selling_fees"].fillna(0.0)
    made["net_price"] = made["sale_price"] + charged - fees - settings.delivery_cost
    costs = made["materials_cost"].fillna(0.0) + made["other_costs"].fillna(0.0)
    made["profit"] = made["net_price"] - made["buy_price"] - costs
    made["profit_per_hour"] = made["profit"] / made["hours"].where(made["hours"] > 0)
    asked = made["last_asking_price"].fillna(made["asking_price"])
    made["sale_to_ask"] = made["sale_price"] / asked.where(asked > 0)
    return made
