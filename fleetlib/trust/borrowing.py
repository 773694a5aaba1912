"""What borrowing from asks in general has brought a shop's early prices: the same sales priced both ways."""

from __future__ import annotations

import numpy as np
import pandas as pd

from fleetlib.base.quarters import Quarter
from fleetlib.base.said import count
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
    return _ways(earlier.head(len(other)), other, borrow=borrow)


def quarters_ways(flips: pd.DataFrame, quarter: Quarter, *, borrow: bool) -> pd.DataFrame:
    """The same for the sales of one quarter; empty where under 5 or at least 60 sales came before it."""
    told = from_earlier_sales(flips, only=quarter, borrow=borrow)
    if told.empty or told["sales_known"].iloc[0] >= EARLY:
        return _ways(told.head(0), told.head(0), borrow=borrow)
    other = from_earlier_sales(flips, only=quarter, borrow=not borrow)
    return _ways(told, other, borrow=borrow)


def _ways(as_set: pd.DataFrame, other: pd.DataFrame, *, borrow: bool) -> pd.DataFrame:
    rows = []
    for way, told in ((borrow, as_set), (not borrow, other)):
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


def quarter_sentence(ways: pd.DataFrame) -> tuple[str, ...]:
    """How the prices of a quarter's sales did with and without borrowing, as counts: a quarter is short."""
    if ways.empty:
        return ()
    said = [
        f"{inside} inside their 80% range, usual error {error:.0%}"
        for inside, error in zip(
            (ways["inside_80"] * ways["sales"]).round().astype(int),
            ways["median_error"],
            strict=True,
        )
    ]
    sales = int(ways["sales"].iloc[0])
    return (
        f"Of the {count(sales, 'sale')}, priced from what came before: {said[0]} when borrowing from "
        f"what is asked in general; {said[1]} from your own sales alone (borrow in the settings).",
    )
