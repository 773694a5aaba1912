"""The quarter by type: what the pieces sold earned per hour, and how prices moved against earlier sales."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from fleetlib.base.money import format_money
from fleetlib.base.quarters import Quarter
from fleetlib.base.said import count
from fleetlib.fits import Fits
from fleetlib.pay.groups import labelled
from fleetlib.trust.backtest import from_earlier_sales

FEWEST = 3
TOO_FEW_TO_SAY = "too few to say"


def pay_by_type(
    flips: pd.DataFrame, *, start: date, end: date, by: str = "furniture_type"
) -> pd.DataFrame:
    """What sold in the period, by type (or the words of another column `by`), best pay first.

    Columns: type, sold, takings, profit, hours, per_hour, says; year_sold, year_per_hour, year_says: the same of
    the twelve months up to `end`. Profit is that of every piece whose buy price is known; pay is the ratio of
    totals over those of them with hours on record. Groups with fewer than 3 such pieces come last and say so;
    those that sold only earlier in the year are not listed.
    """
    first = min(pd.Timestamp(start), pd.Timestamp(end) - pd.Timedelta(days=364))
    inside = _pay(flips, pd.Timestamp(start), pd.Timestamp(end), by)
    year = _pay(flips, first, pd.Timestamp(end), by).set_index("type")
    for column in ("sold", "per_hour", "says"):
        inside[f"year_{column}"] = [year[column].get(kind) for kind in inside["type"]]
    return inside.sort_values(
        ["says", "per_hour"], ascending=[True, False], kind="stable", ignore_index=True
    )


def _pay(flips: pd.DataFrame, start: pd.Timestamp, end: pd.Timestamp, by: str) -> pd.DataFrame:
    sold = flips[flips["sold_on"].between(start, end)]
    words = labelled(sold, (by,))[by]
    timed = (sold["hours"] > 0) & sold["profit"].notna()
    rows = []
    for kind, group in sold.groupby(words, sort=True):
        some = group[timed[group.index]]
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
    return pd.DataFrame(
        rows, columns=["type", "sold", "takings", "profit", "hours", "per_hour", "says"]
    )


def price_drift(fits: Fits, quarter: Quarter, *, by: str = "furniture_type") -> pd.DataFrame:
    """How the quarter's sale prices stood against what earlier sales said: type, sales, drift, low, high, says.

    drift is the average of sale price / estimate less 1 (geometric), the estimate from the sales before the
    quarter only; low and high hold 19 times out of 20 (t interval on logs). Under 3 sales there is none, and where
    a type has so few, year_sales, year_drift, year_low, year_high, year_says tell of this and the three quarters
    before it, each priced from the sales before it. The first row is all types together. Empty when under 5
    sales came before.
    """
    flips, borrow = fits.records.flips, fits.settings.borrow
    past = _by(fits, from_earlier_sales(flips, only=quarter, borrow=borrow), by)
    rows = []
    if len(past):
        rows.append(_drift(f"all {'types' if by == 'furniture_type' else 'pieces'}", past))
        for kind, group in past.groupby("group", sort=True):
            rows.append(_drift(str(kind).replace("_", " "), group))
    made = pd.DataFrame(rows, columns=["type", "sales", "drift", "low", "high", "says"])
    if not made["says"].eq(TOO_FEW_TO_SAY).any():
        return made
    before = [quarter.previous()]
    while len(before) < 3:
        before.append(before[-1].previous())
    earlier = [_by(fits, from_earlier_sales(flips, only=q, borrow=borrow), by) for q in before]
    year = pd.concat([past, *(e for e in earlier if len(e))], ignore_index=True)
    told = [_drift(made["type"].iloc[0], year)]
    for kind in made["type"].iloc[1:]:
        told.append(_drift(kind, year[year["group"].str.replace("_", " ") == kind]))
    beside = pd.DataFrame(told)[["sales", "drift", "low", "high", "says"]].add_prefix("year_")
    return pd.concat([made, beside], axis=1)


def _by(fits: Fits, sales: pd.DataFrame, by: str) -> pd.DataFrame:
    """The sales with the group of each, by the words of column `by`."""
    flips = fits.records.flips
    group_of = dict(zip(flips["piece"], labelled(flips, (by,))[by], strict=True))
    return sales.assign(group=[group_of[name] for name in sales["piece"]])


def _drift(name: str, sales: pd.DataFrame) -> dict[str, object]:
    n = len(sales)
    logs = np.log(sales["sale_price"].to_numpy(float) / sales["estimate"].to_numpy(float))
    row: dict[str, object] = {"type": name, "sales": n, "says": TOO_FEW_TO_SAY}
    if n < FEWEST:
        return row | {"drift": float("nan"), "low": float("nan"), "high": float("nan")}
    reach = float(stdtrit(n - 1, 0.975)) * float(logs.std(ddof=1)) / np.sqrt(n)
    low, high = float(np.expm1(logs.mean() - reach)), float(np.expm1(logs.mean() + reach))
    says = "no clear change" if low <= 0 <= high else ("up" if low > 0 else "down")
    return row | {"drift": float(np.expm1(logs.mean())), "low": low, "high": high, "says": says}


def pay_shown(table: pd.DataFrame, currency: str, *, heading: str = "type") -> pd.DataFrame:
    """Pay by type as printed; where a type is too few to say, twelve months stand beside the quarter."""
    shown = {
        heading: table["type"],
        "sold": table["sold"],
        "takings": [format_money(v, currency) for v in table["takings"]],
        "profit": [format_money(v, currency) for v in table["profit"]],
        "hours": [f"{v:.1f}" for v in table["hours"]],
        "an hour": [format_money(v, currency, cents=True) for v in table["per_hour"]],
        "says": table["says"],
    }
    if table["says"].eq(TOO_FEW_TO_SAY).any():
        shown["in 12 months"] = [
            f"{n} sold, {says or format_money(v, currency, cents=True)}"
            for n, v, says in zip(
                table["year_sold"], table["year_per_hour"], table["year_says"], strict=True
            )
        ]
    return pd.DataFrame(shown)


def drift_shown(table: pd.DataFrame, *, heading: str = "type") -> pd.DataFrame:
    """Price drift as printed; where a type is too few to say, twelve months stand beside the quarter."""
    shown = {
        heading: table["type"],
        "sales": table["sales"],
        "against earlier sales": [_signed(v) for v in table["drift"]],
        "19 times in 20": _between(table["low"], table["high"]),
        "says": table["says"],
    }
    if "year_drift" in table.columns:
        shown["in 12 months"] = [
            f"{count(n, 'sale')}, {says}" if v != v else f"{count(n, 'sale')}, {_signed(v)}: {says}"
            for n, v, says in zip(
                table["year_sales"], table["year_drift"], table["year_says"], strict=True
            )
        ]
    return pd.DataFrame(shown)


def _signed(share: float) -> str:
    if share != share:
        return "-"
    said = f"{share:+.0%}"
    return "0%" if said in ("-0%", "+0%") else said


def _between(low: pd.Series, high: pd.Series) -> list[str]:
    return [
        "-" if a != a else f"{_signed(a)} to {_signed(b)}" for a, b in zip(low, high, strict=True)
    ]
