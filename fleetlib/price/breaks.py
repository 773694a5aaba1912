"""A break: sales that since some day run above or below what the records before would say, noticed and said.

From the fitted model, each sale's log price less everything but its time (drift, season, walk and noise remain):

    r_i = sum over time blocks of exp(2 lam_k) S_k P y + d_i (P y)_i ,  season's part taken out

and over every day that leaves at least `FEWEST` sales on either side the difference of the means in its standard
errors. Said where the largest passes `SURE`, the difference is worth saying, and a step describes r better than the
best straight line does (else it is a drift, which the reasons show). The largest of so many t values stays below 3.8
in 99 of 100 simulated records of 30 to 250 sales of plain noise; `SURE` is higher because r is what a fit left.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
import pandas as pd

from fleetlib.price.fit import PriceFit

FEWEST = 8
SURE = 4.2
_WORTH_SAYING = 0.08  # of the price
_FEW_ALL = 24


@dataclass(frozen=True, slots=True)
class Break:
    """The first day of the new level, the change of the log price then, its size in standard errors, sales since."""

    since: date
    change: float
    t: float
    sales: int


@lru_cache(maxsize=8)
def find_break(fit: PriceFit) -> Break | None:
    """The clearest break in the dated sales of `fit`, None where there is none to be sure of."""
    days = (
        pd.to_datetime(fit.sales["sold_on"])
        if "sold_on" in fit.sales
        else pd.Series(dtype="M8[ns]")
    )
    known = days.notna().to_numpy()
    if known.sum() < _FEW_ALL:
        return None
    rest = _left_to_time(fit)[known]
    when = days[known].to_numpy()
    best: Break | None = None
    for k in range(FEWEST, len(rest) - FEWEST + 1):
        if when[k] == when[k - 1]:
            continue
        before, after = rest[:k], rest[k:]
        change = float(after.mean() - before.mean())
        pooled = (before.var() * len(before) + after.var() * len(after)) / (len(rest) - 2)
        t = change / float(np.sqrt(pooled * (1 / len(before) + 1 / len(after))))
        if best is None or abs(t) > abs(best.t):
            best = Break(pd.Timestamp(when[k]).date(), change, t, len(after))
    if best is None or abs(best.t) < SURE or abs(np.expm1(best.change)) < _WORTH_SAYING:
        return None
    years = (when - when[0]) / np.timedelta64(365, "D")
    line = np.polyfit(years, rest, 1)
    off_line = float(((rest - np.polyval(line, years)) ** 2).sum())
    step = np.where(when < np.datetime64(best.since), 0, 1)
    off_step = float(sum(((rest[step == k] - rest[step == k].mean()) ** 2).sum() for k in (0, 1)))
    return best if off_step < off_line else None


def _left_to_time(fit: PriceFit) -> np.ndarray:
    solution, coding = fit.pool.gaussian.mode, fit.regressor.coding
    made = solution.d * solution.Py
    for k, (name, kind) in enumerate(coding.blocks):
        if kind == "walk" or name == "years_before":
            made = made + solution.variance_ratios[k] * (fit.pool.S[k] @ solution.Py)
    return np.asarray(made)


def break_sentence(found: Break) -> str:
    """A break in words, and what is done about it."""
    size = 100 * abs(np.expm1(found.change))
    way = "below" if found.change < 0 else "above"
    return (
        f"your {found.sales} sales since {found.since:%B %Y} run {size:.0f}% {way} the records before, for like "
        "pieces: the newest sales count most in this price, the older ones for what one piece brings against another"
    )
