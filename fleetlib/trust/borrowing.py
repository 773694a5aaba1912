"""What borrowing from asks in general has brought a shop's early prices: the same sales priced both ways."""

from __future__ import annotations

import numpy as np
import pandas as pd

from fleetlib.price.features import sold_rows
from fleetlib.trust.backtest import from_earlier_sales
from fleetlib.trust.ratio_study import TOO_FEW

EARLY = 60  # sales; later what is borrowed hardly counts


def both_ways(flips: pd.DataFrame, earlier: pd.DataFrame, *, borrow: bool) -> pd.DataFrame:
    """The early sales, each priced from what came before it, with and without borrowing: way, sales, inside_80,
    median_error, bias (shares). `earlier`: all of them as the settings' `borrow` has it, oldest first.
    """
    dated = sold_rows(flips)
    dated = dated[dated["sold_on"].notna()].head(EARLY)
    other = from_earlier_sales(dated, borrow=not borrow)
    rows = []
    for way, told in ((borrow, earlier.head(len(other))), (not borrow, other)):
        price, made = told["sale_price"].to_numpy(float), told["estimate"].to_numpy(float)
        if not len(told):
            continue
        inside = (price >= told["low_80"].to_numpy()) & (price <= told["high_80"].to_numpy())
        rows.append(
            {
                "way": "borrowing" if way else "your own sales alone",
                "sales": len(told),
                "inside_80": float(inside.mean()),
                "median_error": float(np.median(np.abs(made / price - 1))),
                "bias": float(np.expm1(np.log(made / price).mean())),
            }
        )
    columns = ["way", "sales", "inside_80", "median_error", "bias"]
    return pd.DataFrame(rows, columns=columns).sort_values("way", ignore_index=True)


def borrowing_note(ways: pd.DataFrame) -> tuple[str, ...]:
    """The comparison in a sentence; nothing where too few early sales could be priced."""
    if ways.empty or ways["sales"].iloc[0] < TOO_FEW:
        return ()
    said = [
        f"{r.inside_80:.0%} inside, usual error {r.median_error:.0%}" for r in ways.itertuples()
    ]
    return (
        f"Of your first {EARLY} sales the {ways['sales'].iloc[0]} that could be priced from what came before: "
        f"{said[0]} when borrowing from what is asked in general, {said[1]} from your own sales alone (borrow in the "
        "settings).",
    )
