"""Groups of few pieces drawn toward the average of all groups, each by as much as its own noise asks for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from fleetlib.base.errors import BadQuestion

_PRIOR_FREEDOM = 4.0


@dataclass(frozen=True, eq=False, slots=True)
class Shrunk:
    """Shrunken group values, all arrays of shape (k,).

    `toward` is the precision-weighted average the groups are drawn to, `weights` how far each goes (0 stays
    at its raw value, 1 is at the average), `sd` how uncertain each still is, `between_sd` how much the
    groups truly differ.
    """

    values: np.ndarray
    sd: np.ndarray
    weights: np.ndarray
    toward: float
    toward_sd: float
    between_sd: float


def shrink(values: np.ndarray, variances: np.ndarray) -> Shrunk:
    """Normal-normal shrinkage of `values` (k,), each with its own sampling variance (k,).

    y_j ~ N(theta_j, V_j), theta_j ~ N(mu, A): theta_j is put at y_j - B_j (y_j - mu), B_j = V_j / (V_j + A),
    mu the average weighted by 1 / (V_j + A), and A solves

        sum_j (y_j - mu)^2 / (V_j + A) = max(k - 3, 1),   A >= 0.

    With equal variances from four groups on this is Efron & Morris 1975 (JASA 70, 311-319): B =
    (k - 3) V / sum (y - mean)^2, at most 1. The remaining variance counts that mu and A are estimated:
    V_j (1 - B_j) + B_j^2 / sum 1/(V + A) + 2 B_j^2 (y_j - mu)^2 / max(k - 3, 1), after Morris 1983
    (JASA 78, 47-55), from memory.

    A variance of 0 keeps its raw value (infinitely many pieces). One group is left as it is.
    """
    y, v = np.asarray(values, dtype=float), np.asarray(variances, dtype=float)
    if y.shape != v.shape or y.ndim != 1 or not len(y):
        raise BadQuestion(
            f"shrinkage needs one variance for each value; found {y.shape}, {v.shape}."
        )
    if not (np.isfinite(y).all() and np.isfinite(v).all() and (v >= 0).all()):
        raise BadQuestion("shrinkage needs finite values and variances of 0 or more.")
    k = len(y)
    if k == 1:
        sd = np.sqrt(v)
        return Shrunk(y.copy(), sd, np.zeros(1), float(y[0]), float(sd[0]), 0.0)
    freedom = max(k - 3, 1)
    floor = 1e-12 * max(float(np.ptp(y)) ** 2, float(v.max()), 1e-300)

    def excess(between: float) -> float:
        spread = v + between
        mu = np.average(y, weights=1 / spread)
        return float(((y - mu) ** 2 / spread).sum()) - freedom

    between = 0.0
    if excess(floor) > 0:
        top = max(float(((y - y.mean()) ** 2).sum()) / freedom, floor) * 2 + floor
        between = float(brentq(excess, floor, top, xtol=floor, rtol=1e-14))
    spread = v + max(between, floor)
    mu = float(np.average(y, weights=1 / spread))
    toward_var = 1 / float((1 / spread).sum())
    b = np.clip(v / spread, 0.0, 1.0)
    left = v * (1 - b) + b**2 * toward_var + 2 * b**2 * (y - mu) ** 2 / freedom
    return Shrunk(
        y - b * (y - mu), np.sqrt(left), b, mu, float(np.sqrt(toward_var)), float(np.sqrt(between))
    )


def pooled_variances(squares: np.ndarray, freedoms: np.ndarray) -> np.ndarray:
    """Per-group variances steadied by all groups: (d0 s0^2 + squares_j) / (d0 + freedom_j).

    `squares` are each group's sums of squared deviations and `freedoms` their degrees of freedom, both (k,);
    s0^2 is the variance over all groups together. Three pieces that happen to agree must not count as
    certain. d0 is 4, our own choice: a group's own spread outweighs the shop's from six pieces on.
    """
    s, d = np.asarray(squares, dtype=float), np.asarray(freedoms, dtype=float)
    total = float(d.sum())
    shop = float(s.sum()) / total if total > 0 else np.nan
    return (_PRIOR_FREEDOM * shop + s) / (_PRIOR_FREEDOM + d)


def chance_best(
    shrunk: Shrunk,
    *,
    rng: np.random.Generator,
    among: np.ndarray | None = None,
    draws: int = 20_000,
) -> np.ndarray:
    """The chance that each group is truly the best, by simulation; adds up to 1.

    Each draw moves the common average once for all groups and every group by its own remaining error.
    `among` (k,) bool: only these groups are compared, and the answer has one entry for each of them.
    """
    k = len(shrunk.values)
    common = rng.standard_normal(draws)[:, None] * shrunk.toward_sd * shrunk.weights
    own = np.sqrt(np.maximum(shrunk.sd**2 - (shrunk.toward_sd * shrunk.weights) ** 2, 0.0))
    drawn = shrunk.values + common + rng.standard_normal((draws, k)) * own
    if among is not None:
        drawn = drawn[:, among]
    return np.bincount(drawn.argmax(axis=1), minlength=drawn.shape[1]) / draws
