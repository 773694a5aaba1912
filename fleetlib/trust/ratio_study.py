"""The ratio study: how estimates compare with the prices the pieces then brought.

The four figures are those of the published appraisal standard (IAAO, *Standard on Ratio Studies*,
April 2013): ratio = estimate / sale price, and from the ratios a level (the median), a spread (COD) and
two signs of leaning with price (PRD, PRB). The standard's pass marks are for real estate, so none is
borrowed here; the figures are shown with their intervals and with the number of sales behind them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import bdtr, stdtrit

from fleetlib.base.errors import BadQuestion
from fleetlib.base.level import check_level

TOO_FEW = 15  # fewer sales than this and the figures are given as "too few to judge"
_RESAMPLES = 2000


@dataclass(frozen=True, eq=False, slots=True)
class RatioStudy:
    """Level, spread and leaning of estimates against sale prices.

    `median`, `mean`, `weighted` are ratios (1 = on the price); `cod` is in per cent of the median ratio;
    `prd` is a ratio (above 1: dear pieces are estimated too low against cheap ones); `prb` is the share by
    which the ratio changes when the price doubles (below 0: the same lean). Each `*_range` holds the low
    and the high end at `level`; NaN where the sales allow none.
    """

    sales: int
    level: float
    median: float
    median_range: tuple[float, float]
    mean: float
    weighted: float
    cod: float
    cod_range: tuple[float, float]
    prd: float
    prd_range: tuple[float, float]
    prb: float
    prb_se: float
    prb_range: tuple[float, float]

    @property
    def enough(self) -> bool:
        """True from 15 sales; below that the figures are too few to judge by."""
        return self.sales >= TOO_FEW


def ratio_study(estimates: np.ndarray, *, prices: np.ndarray, level: float = 0.95) -> RatioStudy:
    """The ratio study of `estimates` (n,) against sale `prices` (n,), both above 0, n at least 1.

    ```
    r = estimate / price          COD = 100/median(r) * mean|r - median(r)|
    PRD = mean(r) / (sum estimate / sum price)
    PRB = slope of (r - median)/median on log2(price/2 + estimate/(2 median))
    ```
    The interval of the median is the order-statistic one (no distribution assumed); COD and PRD are
    resampled 2,000 times with a fixed seed; PRB has the regression's own t interval (n - 2 degrees).

    Source: IAAO, *Standard on Ratio Studies*, April 2013. Raises BadQuestion for amounts that are not above 0.
    """
    made, paid = np.asarray(estimates, float), np.asarray(prices, float)
    if made.shape != paid.shape or made.ndim != 1 or made.size == 0:
        raise BadQuestion("A ratio study needs one estimate for each sale price, and at least one.")
    if not (np.all(np.isfinite(made) & (made > 0)) and np.all(np.isfinite(paid) & (paid > 0))):
        raise BadQuestion("A ratio study needs every estimate and sale price to be above 0.")
    check_level(level)
    ratio = made / paid
    prb, prb_se, prb_range = _price_related_bias(made, paid, level)
    cod_range, prd_range = _resampled(made, paid, level)
    return RatioStudy(
        sales=int(ratio.size),
        level=level,
        median=float(np.median(ratio)),
        median_range=_median_range(ratio, level),
        mean=float(ratio.mean()),
        weighted=float(made.sum() / paid.sum()),
        cod=float(_cod(ratio)),
        cod_range=cod_range,
        prd=float(ratio.mean() * paid.sum() / made.sum()),
        prd_range=prd_range,
        prb=prb,
        prb_se=prb_se,
        prb_range=prb_range,
    )


def _cod(ratio: np.ndarray) -> np.ndarray:
    """COD along the last axis."""
    middle = np.median(ratio, axis=-1, keepdims=True)
    return np.asarray(100 * np.mean(np.abs(ratio - middle), axis=-1) / middle[..., 0])


def _median_range(ratio: np.ndarray, level: float) -> tuple[float, float]:
    """The closest pair of order statistics around the median that holds it with at least `level`."""
    n = ratio.size
    tail = (1 - level) / 2
    k = int(np.searchsorted(bdtr(np.arange(n + 1), n, 0.5), tail))
    if k < 1:
        return (float("nan"), float("nan"))
    ordered = np.sort(ratio)
    return (float(ordered[k - 1]), float(ordered[n - k]))


def _price_related_bias(
    made: np.ndarray, paid: np.ndarray, level: float
) -> tuple[float, float, tuple[float, float]]:
    nothing = (float("nan"), float("nan"), (float("nan"), float("nan")))
    n = made.size
    if n < 3:
        return nothing
    ratio = made / paid
    middle = float(np.median(ratio))
    lean = (ratio - middle) / middle
    doubling = np.log2(0.5 * paid + 0.5 * made / middle)
    centred = doubling - doubling.mean()
    spread = float(centred @ centred)
    if spread <= 1e-12:
        return nothing
    slope = float(centred @ lean) / spread
    left = lean - lean.mean() - slope * centred
    se = float(np.sqrt(left @ left / (n - 2) / spread))
    reach = float(stdtrit(n - 2, 0.5 + level / 2)) * se
    return slope, se, (slope - reach, slope + reach)


def _resampled(
    made: np.ndarray, paid: np.ndarray, level: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    n = made.size
    if n < 3:
        return (float("nan"), float("nan")), (float("nan"), float("nan"))
    drawn = np.random.default_rng(2026).integers(0, n, size=(_RESAMPLES, n))
    some_made, some_paid = made[drawn], paid[drawn]
    ratio = some_made / some_paid
    ends = [0.5 - level / 2, 0.5 + level / 2]
    cod = np.quantile(_cod(ratio), ends)
    prd = np.quantile(ratio.mean(axis=1) * some_paid.sum(axis=1) / some_made.sum(axis=1), ends)
    return (float(cod[0]), float(cod[1])), (float(prd[0]), float(prd[1]))
