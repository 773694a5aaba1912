"""Invented shops whose buyers, sellers and records are known exactly: the truth behind bench_markdowns.

Everything is drawn by rules of our own (no source; plausible by common practice). For a piece

    log v = log m + q         what buyers take it to be worth; m what the records can see, q what they can't
    log gut = log m + markup + slope q + noise
    weekly rate of sale = exp(level + type + gam log week) g(log ask - log v)

with g constant elasticity, rising elasticity or lognormal willingness to pay. The price model is stood in
for by the true m with an error that shrinks with the number of sales.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from scipy.stats import norm

AS_OF = date(2026, 9, 30)
TYPE_EFFECTS = {"hutch": -0.35, "dresser": 0.0, "desk": 0.1, "nightstand": 0.25}
# Effects on log price: all that the records can see, with the width.
TYPE_PRICES = {"hutch": 0.35, "dresser": 0.2, "desk": 0.0, "nightstand": -0.6}
WOOD_PRICES = {"oak": 0.0, "walnut": 0.25, "pine": -0.2, "maple": 0.05}
FINISH_PRICES = {"oil": 0.1, "varnish": 0.0, "enamel": -0.1}
LONGEST = 40  # weeks after which these sellers give up


@dataclass(frozen=True)
class World:
    """One kind of market and seller. sensitivity: per cent fewer buyers per 1% more asked, at ask = v."""

    name: str = "base"
    about: str = "ordinary buyers and a fair eye"
    buyers: str = "rising"  # "constant", "rising", "lognormal"
    sensitivity: float = 4.0
    curvature: float = 0.5
    level: float = -1.6
    gam: float = -0.1
    quality_sd: float = 0.25
    slope: float = 0.75
    seller_noise: float = 0.12
    markup: float = 0.2
    ask_noise: float = 0.03  # by which the first ask strays from the owner's own idea
    drops: str = "reactive"  # "reactive", "none", "many"
    records: str = "dated"  # "dated", "last", "first"
    haggle: float = 0.94
    prices: str = "stand-in"  # or "fitted": by the real price model

    def log_rate(self, y: np.ndarray) -> np.ndarray:
        """Log weekly rate at y = log(ask / v), for the first week and a type of effect 0."""
        if self.buyers == "constant":
            return self.level - self.sensitivity * y
        if self.buyers == "rising":
            k = self.curvature
            return self.level - self.sensitivity * np.expm1(k * np.minimum(y, 4)) / k
        sd = 0.35  # of log willingness to pay; the middle is placed so that the elasticity at y = 0 is as asked
        z = _inverse_mills(self.sensitivity * sd)
        return self.level + norm.logsf(y / sd + z) - norm.logsf(z)


def _inverse_mills(target: float) -> float:
    low, high = -6.0, 30.0
    for _ in range(80):
        mid = (low + high) / 2
        if np.exp(norm.logpdf(mid) - norm.logsf(mid)) < target:
            low = mid
        else:
            high = mid
    return mid


@dataclass(frozen=True)
class Shop:
    """Simulated records, the price model's stand-in figures and what it takes to judge a plan.

    offset: mean of log(sale price / m), so that usual price = m e^offset; error_sd: sd of the stand-in's error.
    """

    flips: pd.DataFrame
    events: pd.DataFrame
    usual_price: np.ndarray
    log_sd: float
    offset: float
    error_sd: float


def seen_log_price(
    kinds: np.ndarray, woods: np.ndarray, finishes: np.ndarray, width: np.ndarray
) -> np.ndarray:
    """(n,) log m: all that the records can see of what pieces are worth."""
    log_m = np.log(320) + 0.5 * np.log(np.asarray(width) / 42)
    for words, worth in ((kinds, TYPE_PRICES), (woods, WOOD_PRICES), (finishes, FINISH_PRICES)):
        log_m += np.array([worth[w] for w in words])
    return log_m


def simulate_shop(world: World, n: int, rng: np.random.Generator) -> Shop:
    """`n` listings of three years, sold and unsold, as the owner would have recorded them."""
    kinds = rng.choice(list(TYPE_EFFECTS), n, p=[0.15, 0.35, 0.25, 0.25])
    woods = rng.choice(list(WOOD_PRICES), n)
    finishes = rng.choice(list(FINISH_PRICES), n)
    width = rng.uniform(24, 66, n)
    log_m = seen_log_price(kinds, woods, finishes, width)
    effect = np.array([TYPE_EFFECTS[k] for k in kinds])
    q = rng.normal(0, world.quality_sd, n)
    gut = np.exp(log_m + world.markup + world.slope * q + rng.normal(0, world.seller_noise, n))
    gut = np.round(gut / 5) * 5
    ask = np.round(gut * np.exp(rng.normal(0, world.ask_noise, n)) / 5) * 5
    first = ask.copy()
    listed = rng.integers(0, 3 * 365, n)
    last_week = (3 * 365 - listed) // 7
    sold_week = np.zeros(n, dtype=int)
    gone_week = np.zeros(n, dtype=int)
    alive = np.ones(n, dtype=bool)
    drops: list[tuple[int, int, float]] = []
    sale = np.full(n, np.nan)
    for week in range(1, LONGEST + 1):
        alive &= week <= last_week
        if week > 1:
            drops += _come_down(world, week, ask, first, alive, rng)
        rate = np.exp(effect + world.gam * np.log(week) + world.log_rate(np.log(ask) - log_m - q))
        sells = alive & (rng.random(n) < -np.expm1(-rate))
        sold_week[sells] = week
        sale[sells] = (ask * _haggle(world, n, rng))[sells]
        alive &= ~sells
        leaves = alive & (rng.random(n) < (1.0 if week == LONGEST else 0.004))
        gone_week[leaves] = week
        alive &= ~leaves
    start = pd.Timestamp(AS_OF) - pd.Timedelta(days=3 * 365)
    listed_on = start + pd.to_timedelta(listed, unit="D")
    in_week = rng.integers(0, 7, n)
    sold_on = listed_on + pd.to_timedelta(7 * (sold_week - 1) + in_week, unit="D")
    withdrawn_on = listed_on + pd.to_timedelta(7 * gone_week, unit="D")
    piece = np.array([f"P{i:03d}" for i in range(n)])
    flips = pd.DataFrame(
        {
            "piece": piece,
            "furniture_type": kinds,
            "wood": woods,
            "finish": finishes,
            "width_in": np.round(width),
            "listed_on": listed_on,
            "asking_price": first,
            "last_asking_price": ask if world.records == "last" else np.nan,
            "gut_price": gut,
            "sold_on": pd.Series(sold_on).where(sold_week > 0),
            "sale_price": np.round(sale),
            "withdrawn_on": pd.Series(withdrawn_on).where(gone_week > 0),
        }
    )
    events = pd.DataFrame(
        {
            "on": [listed_on[i] + pd.Timedelta(days=7 * (w - 1)) for i, w, _ in drops],
            "piece": [piece[i] for i, _, _ in drops],
            "event": "asking_price",
            "amount": [p for _, _, p in drops],
        }
    )
    sold = sold_week > 0
    over = (np.log(sale) - log_m)[sold]
    offset = float(over.mean()) if sold.any() else 0.0
    residual = float(over.std()) if sold.sum() > 5 else 0.3
    error_sd = standin_error(int(sold.sum()), residual)
    usual = np.exp(log_m + offset + rng.normal(0, error_sd, n))
    return Shop(
        flips=flips,
        events=events if world.records == "dated" else events.iloc[:0],
        usual_price=usual,
        log_sd=float(np.hypot(residual, error_sd)),
        offset=offset,
        error_sd=error_sd,
    )


def standin_error(sold: int, residual: float) -> float:
    """Error of a regression with about eight effective terms on `sold` sales."""
    return residual * float(np.sqrt(8 / max(sold, 12)))


def _come_down(
    world: World,
    week: int,
    ask: np.ndarray,
    first: np.ndarray,
    alive: np.ndarray,
    rng: np.random.Generator,
) -> list[tuple[int, int, float]]:
    chance = {"none": 0.0, "reactive": 0.12, "many": 0.3}[world.drops]
    if week < (3 if world.drops == "many" else 4) or not chance:
        return []
    cut = alive & (rng.random(len(ask)) < chance) & (ask > 0.45 * first)
    factor = 1 - rng.uniform(0.05, 0.15, len(ask))
    new = np.round(ask * factor / 5) * 5
    ask[cut] = new[cut]
    return [(int(i), week, float(new[i])) for i in np.flatnonzero(cut)]


def _haggle(world: World, n: int, rng: np.random.Generator) -> np.ndarray:
    """Share of the ask paid: a third pay in full, the rest bargain; mean `haggle`."""
    width = 2 * (1 - world.haggle) / 0.65
    return np.where(rng.random(n) < 0.35, 1.0, 1 - width * rng.random(n))
