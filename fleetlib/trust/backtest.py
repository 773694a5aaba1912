"""What the tool would have said about each past sale: from the other sales, and from earlier sales only."""

from __future__ import annotations

import numpy as np
import pandas as pd

from fleetlib.base.kept_numbers import kept, told_by
from fleetlib.base.progress import counted
from fleetlib.base.quarters import Quarter, quarter_of
from fleetlib.price.features import model_columns, sold_rows
from fleetlib.price.fit import FEWEST_SALES, PriceFit, regression_of, usual_days_of

COLUMNS = (
    "piece", "furniture_type", "sold_on", "sale_price", "estimate", "low_80", "high_80", "low_95", "high_95",
    "gut_price", "gut_scaled", "sales_known",
)  # fmt: skip
_FEWEST_FOR_A_RATE = 5  # past sales with a gut price before their usual share of it is known


def from_the_others(fit: PriceFit) -> pd.DataFrame:
    """One row per sale of `fit`: its estimate with its own price left out (columns `COLUMNS`).

    `gut_scaled` is the owner's own price times the median of sale / gut price over the *other* sales.
    """
    sales, left = fit.sales, fit.left_out
    gut = sales["gut_price"].to_numpy(float)
    ratio = sales["sale_price"].to_numpy(float) / gut
    scale = np.array([_rate(np.delete(ratio, i)) for i in range(len(ratio))])
    made = _frame(sales, left.mid, left.interval(0.80), left.interval(0.95), gut)
    return made.assign(gut_scaled=made["gut_price"].to_numpy() * scale, sales_known=len(sales) - 1)


def from_earlier_sales(
    flips: pd.DataFrame, *, only: Quarter | None = None, borrow: bool = True
) -> pd.DataFrame:
    """One row per sale of every quarter before which at least 5 sales were known (columns `COLUMNS`).

    Each quarter is priced as it would have been on its first day: fitted on the sales before it only, for
    the middle of the quarter, at the days listed usual until then. Sales without a date are left out. `only`:
    just that quarter. `borrow`: as the settings say.
    """
    sales = sold_rows(flips)
    sales = sales[sales["sold_on"].notna()]
    parts = []
    quarters = {quarter_of(d.date()) for d in sales["sold_on"]}
    asked = sorted(quarters if only is None else quarters & {only})
    for quarter in counted("quarters priced from what came before", asked):
        first, last = pd.Timestamp(quarter.start), pd.Timestamp(quarter.end)
        known = sales[sales["sold_on"] < first]
        now = sales[sales["sold_on"].between(first, last)]
        if len(known) < FEWEST_SALES:
            continue
        mid, within_80, within_95 = _priced_before(known, now, quarter, borrow)
        gut = now["gut_price"].to_numpy(float)
        made = _frame(now, mid, within_80, within_95, gut)
        scale = _rate((known["sale_price"] / known["gut_price"]).to_numpy(float))
        parts.append(made.assign(gut_scaled=made["gut_price"] * scale, sales_known=len(known)))
    if not parts:
        kinds = {"piece": "str", "furniture_type": "str", "sold_on": "datetime64[ns]"}
        return pd.DataFrame({c: pd.Series(dtype=kinds.get(c, "float64")) for c in COLUMNS})
    return pd.concat(parts, ignore_index=True)


def _priced_before(
    known: pd.DataFrame, now: pd.DataFrame, quarter: Quarter, borrow: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Prices (n,) and their 80% and 95% ranges (n, 2) of the sales `now`, by those `known` before their quarter."""

    def work() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        regressor, sales = regression_of(known, as_of=quarter.start, borrow=borrow)
        middle = quarter.start + (quarter.end - quarter.start) / 2
        columns = model_columns(now, as_of=quarter.start, days=usual_days_of(sales), sold_on=middle)
        told = regressor.distribution(columns)
        mid, *within = told.median(), told.interval(0.80), told.interval(0.95)
        return np.exp(mid), np.exp(within[0]), np.exp(within[1])

    return kept(
        "sales of a quarter by those before it",
        (told_by(known), told_by(now), quarter, borrow),
        work,
        numbers=lambda made: dict(zip("012", made, strict=True)),
        again=lambda numbers: (numbers["0"], numbers["1"], numbers["2"]),
    )


def _frame(
    sales: pd.DataFrame,
    mid: np.ndarray,
    within_80: np.ndarray,
    within_95: np.ndarray,
    gut: np.ndarray,
) -> pd.DataFrame:
    made = sales[["piece", "furniture_type", "sold_on", "sale_price"]].reset_index(drop=True)
    made["estimate"] = mid
    made["low_80"], made["high_80"] = within_80.T
    made["low_95"], made["high_95"] = within_95.T
    made["gut_price"] = gut
    made["gut_scaled"], made["sales_known"] = np.nan, 0
    return pd.DataFrame(made)


def _rate(ratios: np.ndarray) -> float:
    known = ratios[np.isfinite(ratios)]
    return float(np.median(known)) if len(known) >= _FEWEST_FOR_A_RATE else float("nan")
