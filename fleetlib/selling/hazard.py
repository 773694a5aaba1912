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
        return np.asarray(log_rates((self,), prices)[0])

    def log_week(self, horizon: int) -> np.ndarray:
        """(T,) log of how much week 1, 2, ... on the market counts."""
        return self.week_exponent * np.log(np.arange(1, horizon + 1))

    def log_stretch(self, days: np.ndarray) -> np.ndarray:
        """(n,) log of how much each stretch between the n + 1 `days` on the market counts.

        Day 0 is the day of listing; the days of week w count w^week_exponent / 7 each, so a whole week
        counts as in `log_week`.
        """
        return np.asarray(log_stretches((self,), days)[0])

    def log_exposure(self, asks: Sequence[float], since: Sequence[int], days: int) -> float:
        """log X of `days` gone by unsold, asking `asks` each from its day on the market in `since` on.

        X is that of plan/solver/worth_and_chance_sold.py; -inf where no day has gone by.
        """
        return float(log_exposures((self,), asks, since, days)[0])

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


def log_rates(hazards: Sequence[Hazard], prices: np.ndarray) -> np.ndarray:
    """`Hazard.log_rate` (D, K) of each of D hazards."""
    baseline, sensitivity, kap, anchor = _each(
        hazards, "baseline", "sensitivity", "curvature", "log_anchor"
    )
    y = np.log(np.asarray(prices, dtype=float)) - anchor
    straight = np.abs(kap) < 1e-8
    bent = np.where(straight, 1.0, kap)
    curved = baseline - sensitivity * np.expm1(bent * y) / bent
    return np.asarray(np.where(straight, baseline - sensitivity * y, curved))


def log_stretches(hazards: Sequence[Hazard], days: np.ndarray) -> np.ndarray:
    """`Hazard.log_stretch` (D, n) of each of D hazards."""
    (exponent,) = _each(hazards, "week_exponent")
    at = np.asarray(days, dtype=float) / 7
    whole = np.floor(at).astype(int)
    weeks = np.arange(1, int(whole.max()) + 2) ** exponent
    so_far = np.zeros((len(weeks), weeks.shape[1] + 1))
    np.cumsum(weeks, axis=1, out=so_far[:, 1:])
    return np.asarray(np.log(np.diff(so_far[:, whole] + (at - whole) * weeks[:, whole])))


def log_exposures(
    hazards: Sequence[Hazard], asks: Sequence[float], since: Sequence[int], days: int
) -> np.ndarray:
    """`Hazard.log_exposure` (D,) of each of D hazards."""
    edges = np.append(np.minimum(since, days), days).astype(float)
    used = np.diff(edges) > 0
    if days <= 0 or not used.any():
        return np.full(len(hazards), -np.inf)
    rates = log_rates(hazards, np.array(asks)[used])
    stretches = log_stretches(hazards, edges[np.append(used, True)])
    return np.asarray(np.logaddexp.reduce(rates + stretches, axis=1))


def _each(hazards: Sequence[Hazard], *names: str) -> list[np.ndarray]:
    """(D, 1) of each name: the hazards' own."""
    return [np.array([[getattr(hazard, name)] for hazard in hazards]) for name in names]


@cache
def normal_nodes(count: int) -> tuple[np.ndarray, np.ndarray]:
    """(x, weights), (count,) each: a standard normal as a handful of values (Gauss-Hermite)."""
    x, w = np.polynomial.hermite_e.hermegauss(count)
    return x, w / w.sum()
