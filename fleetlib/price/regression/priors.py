"""How strong a block may be before any sale is seen: the priors of the price model, as data.

A block's strength relative to the noise, r = exp(lam), has a half-t prior with `tail` degrees of freedom and a
scale c of its own; written for lam its log density is

    lam - (tail + 1)/2 log(1 + r^2 / (tail c^2)) ,  for tail = inf (half-normal)  lam - r^2 / (2 c^2)

Why the scales are small: a side column that may be as strong as anything (c = 4) says, before any sale, that 98%
of the variance of log prices is signal (the median over draws of that prior with eight measures), so with 15 to
60 sales the slopes eat the noise and an 80% range holds 70 to 77%. With c = 1 for what a buyer looks at first
and a quarter of it for the rest the ranges hold what they say; how strong a column really is the sales tell.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from fleetlib.price.regression.kernels import Alike, Coding, Kind, Scale

HALF_NORMAL = float("inf")
_ANY_TABLE: dict[Kind, float] = {
    "factor": 1.0,
    "measure": 1.0,
    "cycle": 1.0,
    "walk": 0.4,
    "smooth": 0.5,
    "combination": 0.5,
    "twins": 1.0,
}


@dataclass(frozen=True, eq=False, slots=True)
class VarianceRatioPrior:
    """The priors of K variance_ratios: scales (K,) and the tail they share (degrees of freedom).

    intercept_weight: what the intercept believed in weighs against one row's noise (0: any intercept is as likely).
    noise_rows, noise_variance: the noise variance believed in and how many rows that is worth.
    """

    scales: np.ndarray
    tail: float = HALF_NORMAL
    intercept_weight: float = 0.0
    noise_rows: float = 0.0
    noise_variance: float = 0.0

    def log_density(self, lam: np.ndarray) -> np.ndarray:
        """The log density (...) of variance ratios lam (..., K), up to a constant."""
        return np.asarray(self.each(lam, self.scales).sum(axis=-1))

    def each(self, lam: np.ndarray, scale: np.ndarray | float) -> np.ndarray:
        """The log density of each strength lam under its scale, up to a constant."""
        ratio = (np.exp(lam) / scale) ** 2
        if not np.isfinite(self.tail):
            return np.asarray(lam - ratio / 2)
        return np.asarray(lam - (self.tail + 1) / 2 * np.log1p(ratio / self.tail))

    def slope(self, lam: np.ndarray) -> np.ndarray:
        """The derivative (K,) of the log density."""
        ratio = (np.exp(lam) / self.scales) ** 2
        if not np.isfinite(self.tail):
            return np.asarray(1 - ratio)
        return np.asarray(1 - (self.tail + 1) * ratio / (self.tail + ratio))


@dataclass(frozen=True, eq=False, slots=True)
class Priors:
    """What is believed before any row is seen, column by column; the default is for any table of data.

    scales: of factors and measures by column name; by_kind: of every other block, and of columns not named.
    stretch: widen ranges a little below 60 rows, for data of which nothing is known but its columns.
    means: by feature, what it is believed (to a `share`) to add to the log price (r,) of a table's rows, which may
    lack columns.
    kept: factors with a block of their own even before any row states them; measured: measures likewise, on
    scales of their own. alike: which rows share what nobody wrote down. intercept, intercept_sd: the log price that
    all this is added to (None: the rows' own) and how sure that is; inf says nothing. noise_sd: the noise believed
    in, worth noise_rows rows.
    """

    scales: Mapping[str, float] = field(default_factory=dict)
    by_kind: Mapping[Kind, float] = field(default_factory=lambda: _ANY_TABLE)
    tail: float = 4.0
    stretch: bool = True
    means: Mapping[str, Callable[[pd.DataFrame], np.ndarray]] = field(default_factory=dict)
    kept: tuple[str, ...] = ()
    measured: Mapping[str, Scale] = field(default_factory=dict)
    alike: Alike | None = None
    intercept: float | None = None
    intercept_sd: float = float("inf")
    noise_sd: float = 0.25
    noise_rows: float = 0.0
    share: float = 1.0

    @property
    def fewest(self) -> int:
        """How many rows an estimate needs: none where intercept and noise are believed in, else 5."""
        return 5 if not np.isfinite(self.intercept_sd) else 1 if self.intercept is None else 0

    def believed(self, frame: pd.DataFrame) -> dict[str, np.ndarray]:
        """By feature, what is believed to be in the log price (r,) of the rows of `frame`."""
        return {name: mean(frame) for name, mean in self.means.items()}

    def followed(self, share: float) -> Priors:
        """The same priors with `share` of what is believed to be in the log price."""

        def part(
            mean: Callable[[pd.DataFrame], np.ndarray],
        ) -> Callable[[pd.DataFrame], np.ndarray]:
            return lambda frame: share * mean(frame)

        means = {name: part(mean) for name, mean in self.means.items()}
        return replace(self, means=means, share=share)

    def variance_ratios(self, coding: Coding) -> VarianceRatioPrior:
        """The prior of each block of a coding, in the order of its similarity matrices."""
        made = [
            self.scales.get(name, self.by_kind[kind])
            if kind in ("factor", "measure")
            else self.by_kind[kind]
            for name, kind in coding.blocks
        ]
        return VarianceRatioPrior(
            np.array(made, dtype=float),
            self.tail,
            (self.noise_sd / self.intercept_sd) ** 2,
            self.noise_rows,
            self.noise_sd**2,
        )
