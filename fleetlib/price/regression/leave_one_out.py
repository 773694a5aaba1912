"""Each sale estimated from the others: a diagnostic and a sentence for the owner."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetlib.price.regression.mixture import Mixture
from fleetlib.price.regression.pool import Pool, left_out_z, predictive_left_out


@dataclass(frozen=True, eq=False, slots=True)
class LeftOut:
    """Leave-one-out results for n fitted sales, the block variance ratios kept from the full fit.

    price, mid (n,) money; z (n,) the error of the log price in standard deviations of its own prediction;
    position (n,) the share of its predicted distribution below the price.
    """

    price: np.ndarray
    mid: np.ndarray
    z: np.ndarray
    position: np.ndarray
    mixture: Mixture

    def share_inside(self, level: float) -> float:
        """The share of sales inside their own central `level` range."""
        return float(np.mean(np.abs(self.position - 0.5) <= level / 2))

    def interval(self, level: float) -> np.ndarray:
        """Lowest and highest price (n, 2) of each sale's own range."""
        return np.asarray(np.exp(self.mixture.interval(level)))

    @property
    def log_sd(self) -> float:
        """A typical standard deviation of a log price around its estimate (half the middle 68%)."""
        ends = self.mixture.interval(0.6827)
        return float(np.median(ends[:, 1] - ends[:, 0]) / 2)


def left_out(pool: Pool, believed: np.ndarray | float = 0.0) -> LeftOut:
    """Leave-one-out results of a fitted pool, `believed` (n,) added back to its log prices."""
    mixture = predictive_left_out(pool).moved(np.broadcast_to(believed, pool.y.shape))
    y, middle = pool.y + believed, mixture.median()
    solution = pool.gaussian.mode
    return LeftOut(
        np.exp(y),
        np.exp(middle),
        left_out_z(solution, pool.gaussian.h),
        mixture.share_below(y),
        mixture,
    )
