"""Pay per hour group by group: ratio, interval, steadied figure and the chance of being the best."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from fleetlib.pay.ratio import Ratio, fieller, jackknife_error, ratio_of_totals
from fleetlib.pay.shrinkage import chance_best, pooled_variances, shrink

FEWEST = 3  # pieces under which a group's figure says too little
SEED = 2026


@dataclass(frozen=True, eq=False)
class Group:
    """The pieces of one group whose hours and money are known, all (n,).

    profit, hours, and the variance of each profit that is only expected so far (0 for a sold piece).
    """

    profit: np.ndarray
    hours: np.ndarray
    variance: np.ndarray

    @cached_property
    def per_hour(self) -> float:
        """Sum of profit over sum of hours; NaN without hours."""
        return float(ratio_of_totals(self.profit, self.hours))

    @cached_property
    def spread(self) -> float:
        """The jackknife standard error of that; NaN under two pieces."""
        return jackknife_error(self.profit, self.hours)

    def ratio(self, level: float) -> Ratio:
        """The pay with Fieller's interval at `level`."""
        return fieller(self.profit, self.hours, level=level, top_variances=self.variance)

    def without(self, at: int) -> Group:
        """The same group with piece number `at` left out."""
        keep = np.arange(len(self.hours)) != at
        return Group(self.profit[keep], self.hours[keep], self.variance[keep])


def pay_rates(groups: list[Group], *, level: float, compared: list[bool]) -> pd.DataFrame:
    """One row a group: per_hour, low, high, unbounded, shrunk, shrunk_sd (money an hour), chance_best.

    per_hour is a ratio of totals with Fieller's interval at `level`. shrunk is drawn toward the average of all
    groups by the group's own noise: the jackknife variance of its ratio, steadied by the other groups', and
    what is open about its unsold pieces (`pay.shrinkage`). chance_best is among the `compared` groups.
    NaN where a figure would say nothing.
    """
    rows = []
    for g in groups:
        r = g.ratio(level)
        enough = len(g.hours) >= FEWEST
        low, high = (r.low, r.high) if enough else (math.nan, math.nan)
        rows.append((r.value, low, high, r.unbounded and enough))
    made = pd.DataFrame(rows, columns=["per_hour", "low", "high", "unbounded"])
    made["shrunk"], made["shrunk_sd"], made["chance_best"] = steadied(groups, compared)
    return made


def steadied(
    groups: list[Group], compared: list[bool] | None = None
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(shrunk, its sd, chance_best), all (k,); NaN without hours, and chances only for the groups `compared`."""
    shrunk = np.full(len(groups), math.nan)
    sd, best = np.full(len(groups), math.nan), np.full(len(groups), math.nan)
    rates = np.array([g.per_hour for g in groups])
    usable = np.flatnonzero(np.isfinite(rates))
    if not len(usable):
        return shrunk, sd, best
    variances = _rate_variances([groups[i] for i in usable])
    if not np.isfinite(variances).all():
        shrunk[usable] = rates[usable]
        return shrunk, sd, best
    fit = shrink(rates[usable], variances)
    shrunk[usable], sd[usable] = fit.values, fit.sd
    if compared is not None:
        among = np.array(compared)[usable]
        if among.sum() > 1:
            best[usable[among]] = chance_best(fit, among=among, rng=np.random.default_rng(SEED))
    return shrunk, sd, best


def _rate_variances(groups: list[Group]) -> np.ndarray:
    """Sampling variance of each group's ratio (k,); NaN where no group can show any spread."""
    counts = np.array([len(g.hours) for g in groups], dtype=float)
    squares, freedoms = np.zeros(len(groups)), np.zeros(len(groups))
    for j, g in enumerate(groups):
        if math.isfinite(g.spread):
            freedoms[j] = counts[j] - 1
            squares[j] = counts[j] * g.spread**2 * freedoms[j]
    if not freedoms.sum():
        return np.full(len(groups), math.nan)
    unsold = np.array([g.variance.sum() / g.hours.sum() ** 2 for g in groups])
    return np.asarray(pooled_variances(squares, freedoms) / counts + unsold)
