"""What the owner's own price adds to the records: a signal with an excess and an error of its own.

    log own price = log sale price + x + error ,  error ~ N(0, g^2)
    log sale price | records ~ a distribution of location m and scale s, so with  w = s^2 / (s^2 + g^2)
    log sale price | records, own price ~ m + w (log own price - x - m) ,  variance  s^2 (1 - w) + w^2 var x

(the product of two normal opinions, component by component of the records' mixture). x, the owner's usual excess,
and g are learned from past sales with an own price, each sale priced from the others: g on a grid, x given g by the
conjugate normal. A part of what an own price tells it also makes, since a sale follows its ask: fit for saying what
a piece will bring under this owner, not what it is worth to others. So nothing here enters the selling-time model.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fleetlib.price.fit import PriceDistribution, PriceFit
from fleetlib.price.priors import OWN_ERROR, PAID
from fleetlib.price.regression.mixture import Mixture

_GRID = np.geomspace(0.03, 2.0, 16)
_EXCESS_SD = 0.15  # of an owner not seen yet; common practice, no source
_TAIL = 5.0  # one own price wildly off must not decide


@dataclass(frozen=True, eq=False, slots=True)
class OwnPrice:
    """How one owner prices: weights (G,) of the errors `errors` (G,), and the excess x and its variance given each.

    sales: past sales with an own price it was learned from.
    """

    errors: np.ndarray
    weights: np.ndarray
    excess: np.ndarray
    variance: np.ndarray
    sales: int

    @property
    def usual_excess(self) -> float:
        """How far the own price usually lies above the sale price, as a share: 0.10 is 10%."""
        return float(np.expm1(self.weights @ self.excess))

    @property
    def usual_error(self) -> float:
        """Standard deviation of the own price about that, in logs."""
        return float(np.exp(self.weights @ np.log(self.errors)))


@lru_cache(maxsize=8)
def own_pricing(fit: PriceFit) -> OwnPrice:
    """Learn how the owner's own prices go with sale prices, from the sales of `fit` that have one."""
    n = len(fit.sales)
    own = fit.sales["gut_price"].to_numpy(float) if "gut_price" in fit.sales else np.full(n, np.nan)
    known = np.isfinite(own) & (own > 0)
    e, s = fit.left_out.log_error[known], _scales(fit.left_out.mixture)[known]
    z = np.log(own[known]) - np.log(fit.left_out.mid[known])
    weights, means, variances = np.empty(len(_GRID)), np.empty(len(_GRID)), np.empty(len(_GRID))
    for k, g in enumerate(_GRID):
        w = s**2 / (s**2 + g**2)
        v = s**2 * (1 - w)
        mean, variance, log_fit = _excess_given(w, v, w * z - e)
        means[k], variances[k] = mean, variance
        weights[k] = log_fit - 0.5 * ((np.log(g) - np.log(OWN_ERROR.value)) / OWN_ERROR.spread) ** 2
    weights = np.exp(weights - weights.max())
    return OwnPrice(_GRID, weights / weights.sum(), means, variances, int(known.sum()))


def _excess_given(w: np.ndarray, v: np.ndarray, r: np.ndarray) -> tuple[float, float, float]:
    """x from r = w x + noise of variance v with t tails: its mean and variance, and the log density of r."""
    usual, doubt = np.ones(len(r)), 0.0
    mean = centre = -float(np.log(PAID.value))
    for _ in range(6):
        precision = 1 / _EXCESS_SD**2 + float((usual * w**2 / v).sum())
        mean = (centre / _EXCESS_SD**2 + float((usual * w * r / v).sum())) / precision
        usual = (_TAIL + 1) / (_TAIL + (r - w * mean) ** 2 / v)
        doubt = 1 / precision
    off = (r - w * mean) ** 2 / v
    log_fit = -0.5 * float((np.log(v) + (_TAIL + 1) * np.log1p(off / _TAIL)).sum())
    log_fit += 0.5 * np.log(doubt) - 0.5 * ((mean - centre) / _EXCESS_SD) ** 2
    return mean, doubt, log_fit


def _scales(mixture: Mixture) -> np.ndarray:
    """A standard deviation (r,) of each row: half its middle 68%."""
    ends = mixture.interval(0.6827)
    return np.asarray((ends[:, 1] - ends[:, 0]) / 2)


def counting_own_price(
    fit: PriceFit, spread: PriceDistribution, price: float, *, factor: float = 1.0
) -> PriceDistribution:
    """`spread`, what the records alone say of one piece (times `factor`), with the owner's own `price` counted."""
    pricing, alone = own_pricing(fit), spread.mixture
    location = (alone.location[:, 0] + np.log(factor))[:, None]  # (M, 1) against the grid (G,)
    squared = alone.scale[:, [0]] ** 2
    w = squared / (squared + pricing.errors**2)
    moved = location + w * (np.log(price) - pricing.excess - location)
    scale = np.sqrt(squared * (1 - w) + w**2 * pricing.variance)
    weights = np.outer(alone.weights, pricing.weights).ravel()
    kept = weights > 1e-6 * weights.max()
    mixture = Mixture(
        moved.reshape(-1, 1)[kept],
        scale.reshape(-1, 1)[kept],
        np.repeat(alone.df, len(pricing.errors))[kept],
        weights[kept] / weights[kept].sum(),
        alone.stretch,
    )
    mid = float(np.exp(mixture.median()[0]))
    narrower = float(_scales(mixture)[0] / _scales(alone)[0])
    mean = mid * (spread.mean / spread.mid) ** (narrower**2)
    return PriceDistribution(mid, mean, spread.days, mixture)


def own_price_sentence(fit: PriceFit) -> str:
    """How the owner's own prices have gone with sale prices, in words."""
    pricing = own_pricing(fit)
    excess = 100 * pricing.usual_excess
    tells = "a sale follows its ask, so part of what your own price tells it also makes"
    if pricing.sales == 0:
        return (
            f"no sale of yours has an own price on record yet: it is taken to lie about {excess:.0f}% above what "
            f"will be paid; {tells}"
        )
    where = f"{abs(excess):.0f}% {'above' if excess >= 0 else 'below'}"
    sales = "one sale" if pricing.sales == 1 else f"{pricing.sales} sales"
    return (
        f"your own price lies {where} what was paid as a rule ({sales}), give or take "
        f"{100 * np.expm1(pricing.usual_error):.0f}%; {tells}"
    )
