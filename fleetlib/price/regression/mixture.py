"""Predictive mixtures: a weighted pool of Student-t distributions of the log price, one set per row."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import gammaln, stdtr, stdtrit

_MANY, _FEW = 400, 40  # components


@dataclass(frozen=True, eq=False, slots=True)
class Mixture:
    """Log-price distributions of r rows.

    Component m of row i is location (M, r) + scale (M, r) x Student-t with df (M,) degrees of freedom,
    weights (M,) summing to 1. `stretch` stretches every quantile about the median (small samples).
    """

    location: np.ndarray
    scale: np.ndarray
    df: np.ndarray
    weights: np.ndarray
    stretch: float = 1.0

    def __len__(self) -> int:
        return int(self.location.shape[1])

    def take(self, rows: np.ndarray | slice) -> Mixture:
        """The given rows only."""
        return Mixture(
            self.location[:, rows], self.scale[:, rows], self.df, self.weights, self.stretch
        )

    def moved(self, by: np.ndarray) -> Mixture:
        """The same distributions, each row's moved by `by` (r,) in log price."""
        return Mixture(self.location + by, self.scale, self.df, self.weights, self.stretch)

    def median(self) -> np.ndarray:
        """The median log price (r,)."""
        return _median(self)

    def quantile(self, p: float) -> np.ndarray:
        """The log price (r,) not exceeded with chance `p`."""
        middle = self.median()
        if p == 0.5:
            return middle
        return np.asarray(middle + self.stretch * (self._plain_quantile(p) - middle))

    def interval(self, level: float) -> np.ndarray:
        """Lower and upper log price (r, 2) of the central interval."""
        return np.column_stack([self.quantile((1 - level) / 2), self.quantile((1 + level) / 2)])

    def share_below(self, log_price: np.ndarray | float) -> np.ndarray:
        """The chance (r,) of a log price at most `log_price`."""
        middle = self.median()
        return self._plain_cdf(middle + (np.asarray(log_price) - middle) / self.stretch)

    def _plain_cdf(self, x: np.ndarray) -> np.ndarray:
        standard = (x - self.location) / self.scale
        return np.asarray(self.weights @ stdtr(self.df[:, None], standard))

    def _plain_density(self, x: np.ndarray) -> np.ndarray:
        standard = (x - self.location) / self.scale
        df, which = np.unique(self.df, return_inverse=True)
        front = gammaln((df + 1) / 2) - gammaln(df / 2) - 0.5 * np.log(df * np.pi)
        nu = self.df[:, None]
        log_density = front[which][:, None] - (nu + 1) / 2 * np.log1p(standard**2 / nu)
        log_density -= np.log(self.scale)
        return np.asarray(self.weights @ np.exp(log_density))

    def _plain_quantile(self, p: float) -> np.ndarray:
        """Newton's steps inside a shrinking bracket of the components' own quantiles.

        A step's error is about the square of the one before, so after one of 1e-5 nothing is left to mend. One more
        than half as long as the one before halves the bracket instead: a narrow component can throw it to and fro.
        """
        df, which = np.unique(self.df, return_inverse=True)
        own = self.location + self.scale * stdtrit(df, p)[which][:, None]
        low, high = own.min(axis=0), own.max(axis=0)
        few = _in_few(self) if len(self.df) > _MANY and len(self) == 1 else None
        x = self.weights @ own if few is None else np.clip(few._plain_quantile(p), low, high)
        last = np.full_like(x, np.inf)
        for _ in range(60):
            excess = self._plain_cdf(x) - p
            high = np.where(excess > 0, x, high)
            low = np.where(excess > 0, low, x)
            with np.errstate(divide="ignore", invalid="ignore"):
                step = x - excess / self._plain_density(x)
            inside = (step >= low) & (step <= high) & (np.abs(step - x) <= last / 2)
            moved = np.where(inside, step, (low + high) / 2)
            last = np.abs(moved - x)
            close = inside & (last <= 1e-5)
            x = np.where(np.abs(excess) < 1e-13, x, moved)
            if (close | (np.abs(excess) < 1e-13)).all():
                break
        return np.asarray(x)


@lru_cache(maxsize=4)
def _in_few(mixture: Mixture) -> Mixture:
    """Nearly the same of one row: where a search for a quantile begins."""
    centre, spread, weights = in_few(mixture, mixture.location[:, 0], _FEW)
    return Mixture(centre[:, None], spread[:, None], np.full(len(centre), mixture.df[0]), weights)


def in_few(
    mixture: Mixture, by: np.ndarray, most: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Location, scale and weight (each (k,), k <= `most`) of a mixture of one row, its components put together in the
    order of `by` (C,) into groups of the same weight, means and variances kept."""
    order = np.argsort(by, kind="stable")
    location, scale = mixture.location[order, 0], mixture.scale[order, 0]
    weights = mixture.weights[order]
    group = ((np.cumsum(weights) - weights / 2) / weights.sum() * most).astype(int)
    total = np.bincount(group, weights)
    held = total > 0
    centre = np.bincount(group, weights * location)[held] / total[held]
    square = np.bincount(group, weights * (scale**2 + location**2))[held] / total[held]
    return centre, np.sqrt(square - centre**2), total[held]


@lru_cache(maxsize=4)
def _median(mixture: Mixture) -> np.ndarray:
    """Asked for with every quantile of the same rows, so the last few are kept."""
    middle = mixture._plain_quantile(0.5)
    middle.flags.writeable = False
    return middle
