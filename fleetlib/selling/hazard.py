"""The weekly chance of selling at a price: what the selling-time model hands to the planner.

    eta = baseline + f(log ask - log_anchor) + week_exponent log w + B u ,   h = 1 - exp(-exp(eta))
    f(y) = -B (exp(kap y) - 1) / kap          (kap -> 0: -B y, the same elasticity at every price)

u ~ N(0, frailty_sd^2) is quality that neither the records nor the owner's own price idea show. With
phi = exp(B u) this is the proportional form that plan/solver/worth_and_chance_sold.py works with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

_NODES = 11


@dataclass(frozen=True, eq=False, slots=True)
class Hazard:
    """How one piece sells week by week.

    baseline             log rate in its first week at the anchored value
    sensitivity       B, at the anchored value: per cent fewer buyers for one per cent more asked
    curvature         kap >= 0; above 0, buyers mind a per cent more the dearer the piece already is
    week_exponent     power of the week on the market (below 0: interest cools off)
    log_anchor        log of the anchored value: usual sale price, moved by the owner's own price idea
    frailty_sd         sd of log quality left unseen
    share_paid        expected sale price as a share of the ask at the anchored value, 0 to 1
    share_paid_slope  change of that share per unit of log(ask / anchored value)
    highest_ask       the highest ask the records support, in money
    highest_tried     the ask, in money, that nearly all past asks stayed under for what the piece is worth
    """

    baseline: float
    sensitivity: float
    curvature: float
    week_exponent: float
    log_anchor: float
    frailty_sd: float
    share_paid: float = 1.0
    share_paid_slope: float = 0.0
    highest_ask: float = float("inf")
    highest_tried: float = float("inf")

    def log_rate(self, prices: np.ndarray) -> np.ndarray:
        """(K,) log of the first week's rate at each price, for a piece of usual frailty (unseen quality)."""
        y = np.log(np.asarray(prices, dtype=float)) - self.log_anchor
        if abs(self.curvature) < 1e-8:
            return np.asarray(self.baseline - self.sensitivity * y)
        return np.asarray(
            self.baseline - self.sensitivity * np.expm1(self.curvature * y) / self.curvature
        )

    def log_week(self, horizon: int) -> np.ndarray:
        """(T,) log of how much week 1, 2, ... on the market counts."""
        return self.week_exponent * np.log(np.arange(1, horizon + 1))

    def log_stretch(self, days: np.ndarray) -> np.ndarray:
        """(n,) log of how much each stretch between the n + 1 `days` on the market counts.

        Day 0 is the day of listing; the days of week w count w^week_exponent / 7 each, so a whole week
        counts as in `log_week`.
        """
        at = np.asarray(days, dtype=float) / 7
        whole = np.floor(at).astype(int)
        weeks = np.arange(1, int(whole.max()) + 2) ** self.week_exponent
        so_far = np.concatenate([[0.0], np.cumsum(weeks)])
        return np.asarray(np.log(np.diff(so_far[whole] + (at - whole) * weeks[whole])))

    def log_exposure(self, asks: Sequence[float], since: Sequence[int], days: int) -> float:
        """log X of `days` gone by unsold, asking `asks` each from its day on the market in `since` on.

        X is that of plan/solver/worth_and_chance_sold.py; -inf where no day has gone by.
        """
        if days <= 0:
            return -np.inf
        edges = np.append(np.minimum(since, days), days).astype(float)
        used = np.diff(edges) > 0
        if not used.any():
            return -np.inf
        rates = self.log_rate(np.array(asks)[used])
        return float(np.logaddexp.reduce(rates + self.log_stretch(edges[np.append(used, True)])))

    def nodes(self) -> tuple[np.ndarray, np.ndarray]:
        """(log phi, weights), (J,) each: the hidden quality as a handful of kinds (Gauss-Hermite)."""
        if self.frailty_sd <= 0:
            return np.zeros(1), np.ones(1)
        x, w = normal_nodes(_NODES)
        return self.sensitivity * self.frailty_sd * x, w

    def paid(self, prices: np.ndarray) -> np.ndarray:
        """(K,) expected sale price at each ask, in money."""
        asks = np.asarray(prices, dtype=float)
        share = self.share_paid + self.share_paid_slope * (np.log(asks) - self.log_anchor)
        return np.asarray(np.clip(share, 0.5, 1.0) * asks)


@cache
def normal_nodes(count: int) -> tuple[np.ndarray, np.ndarray]:
    """(x, weights), (count,) each: a standard normal as a handful of values (Gauss-Hermite)."""
    x, w = np.polynomial.hermite_e.hermegauss(count)
    return x, w / w.sum()
