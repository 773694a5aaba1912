"""The quarter by type: what the pieces sold earned per hour, and how prices moved against earlier sales."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.quarters import Quarter
from fleetlib.fits import Fits
from fleetlib.trust.backtest import from_earlier_sales

FEWEST = 3
TOO_FEW_TO_SAY = "too few to say"


def pay_by_type(flips: pd.DataFrame, *, start: date, end: date) -> pd.DataFrame:
    """What sold in the period, by type: type, sold, takings, profit, hours, per_hour, says; best pay first.

    Profit is that of every piece whose buy price is known; pay is the ratio of totals over those of them with
    hours on record. Types with fewer than
    3 such pieces come last and say so.
    """
    sold = flips[flips["sold_on"].between(pd.Timestamp(start), pd.Timestamp(end))]
    timed = sold[(sold["hours"] > 0) & sold["profit"].notna()]
    rows = []
    for kind, group in sold.groupby("furniture_type", sort=True):
        some = timed[timed["furniture_type"] == kind]
        hours = float(some["hours"].sum())
        rows.append(
            {
                "type": str(kind).replace("_", " "),
                "sold": len(group),
                "takings": float(group["sale_price"].sum()),
                "profit": float(group["profit"].sum()),
                "hours": hours,
                "per_hour": float(some["profit"].sum()) / hours if hours else float("nan"),
                "says": TOO_FEW_TO_SAY if len(some) < FEWEST else "",
            }
        )
    made = pd.DataFrame(
        rows, columns=["type", "sold", "takings", "profit", "hours", "per_hour", "says"]
    )
    return made.sort_values(
        ["says", "per_hour"], ascending=[True, False], kind="stable", ignore_index=True
    )


def price_drift(fits: Fits, quarter: Quarter) -> pd.DataFrame:
    """How the quarter's sale prices stood against what earlier sales said: type, sales, drift, low, high, says.

    drift is the average of sale price / estimate less 1 (geometric), the estimate from the sales before the
    quarter only; low and high hold 19 times out of 20 (t interval on logs). Under 3 sales there is none.
    The first row is all types together. Empty when under 5 sales came before.
    """
    past = from_earlier_sales(fits.records.flips, only=quarter, borrow=fits.settings.borrow)
    rows = []
    if len(past):
        rows.append(_drift("all types", past))
        for kind, group in past.groupby("furniture_type", sort=True):
            rows.append(_drift(str(kind).replace("_", " "), group))
    return pd.DataFrame(rows, columns=["type", "sales", "drift", "low", "high", "says"])


def _drift(name: str, sales: pd.DataFrame) -> dict[str, object]:
    from scipy.stats import t as student

    n = len(sales)
    logs = np.log(sales["sale_price"].to_numpy(float) / sales["estimate"].to_numpy(float))
    row: dict[str, object] = {"type": name, "sales": n, "says": TOO_FEW_TO_SAY}
    if n < FEWEST:
        return row | {"drift": float("nan"), "low": float("nan"), "high": float("nan")}
    reach = float(student.ppf(0.975, n - 1)) * float(logs.std(ddof=1)) / np.sqrt(n)
    low, high = float(np.expm1(logs.mean() - reach)), float(np.expm1(logs.mean() + reach))
    says = "no clear change" if low <= 0 <= high else ("up" if low > 0 else "down")
    return row | {"drift": float(np.expm1(logs.mean())), "low": low, "high": high, "says": says}


def pay_shown(table: pd.DataFrame, currency: str) -> pd.DataFrame:
    """Pay by type as printed."""
    return pd.DataFrame(
        {
            "type": table["type"],
            "sold": table["sold"],
            "takings": [format_money(v, currency) for v in table["takings"]],
            "profit": [format_money(v, currency) for v in table["profit"]],
            "hours": [f"{v:.1f}" for v in table["hours"]],
            "an hour": [format_money(v, currency, cents=True) for v in table["per_hour"]],
            "": table["says"],
        }
    )


def drift_shown(table: pd.DataFrame) -> pd.DataFrame:
    """Price drift as printed."""
    return pd.DataFrame(
        {
            "type": table["type"],
            "sales": table["sales"],
            "against earlier sales": ["-" if v != v else f"{v:+.0%}" for v in table["drift"]],
            "19 times in 20": [
                "-" if a != a else f"{a:+.0%} to {b:+.0%}"
                for a, b in zip(table["low"], table["high"], strict=True)
            ],
            "": table["says"],
        }
    )
