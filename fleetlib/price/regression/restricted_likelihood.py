"""How strong each block is: the restricted likelihood of the variance ratios, its mode and draws around it.

    V(lam) = D + sum_k exp(2 lam_k) S_k ,  lam_k = log(strength_k / noise)
    a = V^-1 1 ;  s = 1'a ;  P = V^-1 - a a'/s ;  R = y'P y
    log posterior = -1/2 log|V| - 1/2 log s - (n-1)/2 log R + log prior(lam)

Where an intercept is believed in, with noise variance / its own variance = q, and a noise variance s0^2 worth nu rows:
s = 1'a + q, R = y'P y + nu s0^2, and n - 1 becomes n + nu (y counted from that intercept). With q = nu = 0 this
is the marginal likelihood of n-1 contrasts of y (restricted likelihood: Patterson & Thompson 1971,
Biometrika 58: 545-554) with the noise variance integrated out under 1/sigma^2, times the priors of `priors`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize
from scipy.special import gammaincinv, ndtri

from fleetlib.base.sobol import sobol_points
from fleetlib.price.regression.packed import Packed, mirrored, plus_outer, times
from fleetlib.price.regression.priors import VarianceRatioPrior

LOWEST, HIGHEST, START = -6.0, 4.0, -0.5
DRAWS = 8
_T_DF = 6.0
_APART, _ALIKE = 1e-7, 1e-4  # in curvature: from block to block; directions that need it


@dataclass(frozen=True, eq=False, slots=True)
class Solution:
    """Everything a fixed set of variance ratios implies for the rows y (n,)."""

    lam: np.ndarray  # (K,)
    d: np.ndarray  # (n,) relative noise variances
    P: np.ndarray  # (n, n)
    Py: np.ndarray  # (n,)
    a: np.ndarray  # (n,) V^-1 1
    s: float  # 1'a
    R: float  # y'P y
    intercept: float  # generalised least squares mean a'y / s
    log_likelihood: float
    df: float  # degrees of freedom of R

    @property
    def s2(self) -> float:
        """The noise variance."""
        return self.R / self.df

    @property
    def s2_left_out(self) -> np.ndarray:
        """The noise variance (n,) without each row in turn."""
        return (self.R - self.Py**2 / np.diag(self.P)) / (self.df - 1)

    @property
    def variance_ratios(self) -> np.ndarray:
        """exp(2 lam) (K,)."""
        return np.asarray(np.exp(2 * self.lam))


def solve(
    S: np.ndarray | Packed,
    lam: np.ndarray,
    d: np.ndarray,
    y: np.ndarray,
    prior: VarianceRatioPrior | None = None,
) -> Solution:
    """The Solution for variance ratios `lam` (K,), similarities S (K, n, n), noise d (n,), outcomes y (n,).

    Of `prior` only what is believed of intercept and noise is used (default: nothing).
    """
    at = _searched(Packed.of(S), lam, d, y, prior)
    return replace(at, P=mirrored(at.P))


def _searched(
    S: Packed,
    lam: np.ndarray,
    d: np.ndarray,
    y: np.ndarray,
    prior: VarianceRatioPrior | None,
) -> Solution:
    """The same with the upper triangle of P alone, all that the search needs."""
    n = len(y)
    weight, rows, variance = (
        (0.0, 0.0, 0.0)
        if prior is None
        else (prior.intercept_weight, prior.noise_rows, prior.noise_variance)
    )
    df = n + rows - (weight == 0)
    if n == 0:
        none = np.zeros(0)
        R = rows * variance
        return Solution(lam, d, np.zeros((0, 0)), none, none, weight, R, 0.0, 0.0, df)
    P, a, s, log_det = S.projected(np.exp(2 * lam), d, weight)
    Py = times(P, y)
    R = max(float(y @ Py), 1e-10) + rows * variance
    log_likelihood = -0.5 * log_det - 0.5 * np.log(s) - 0.5 * df * np.log(R)
    return Solution(lam, d, P, Py, a, s, R, float(a @ y) / s, float(log_likelihood), df)


def log_posterior(solution: Solution, prior: VarianceRatioPrior) -> float:
    """The log posterior (up to a constant) of the solution's variance ratios."""
    return solution.log_likelihood + float(prior.log_density(solution.lam))


def gradient(S: np.ndarray | Packed, solution: Solution, prior: VarianceRatioPrior) -> np.ndarray:
    """The derivative (K,) of the log posterior:

    exp(2 lam_k) [-tr(P S_k) + df (Py)'S_k(Py)/R] + the prior's slope
    """
    middle = plus_outer(solution.P, -solution.df / solution.R, solution.Py)
    return np.asarray(
        prior.slope(solution.lam) - solution.variance_ratios * Packed.of(S).traces(middle)
    )


def find_mode(
    S: np.ndarray | Packed,
    y: np.ndarray,
    *,
    d: np.ndarray,
    prior: VarianceRatioPrior,
    start: np.ndarray | None = None,
    steps: int = 60,
) -> np.ndarray:
    """The most probable variance ratios lam (K,), by L-BFGS-B from `start` (default -.5 for each)."""
    packed = Packed.of(S)
    blocks = len(packed.blocks)
    if not blocks:
        return np.zeros(0)

    def downhill(lam: np.ndarray) -> tuple[float, np.ndarray]:
        solution = _searched(packed, lam, d, y, prior)
        return -log_posterior(solution, prior), -gradient(packed, solution, prior)

    begin = np.full(blocks, START) if start is None else np.clip(start, LOWEST, HIGHEST)
    found = minimize(
        downhill,
        begin,
        jac=True,
        method="L-BFGS-B",
        bounds=[(LOWEST, HIGHEST)] * blocks,
        options={"maxiter": steps, "ftol": 1e-9, "gtol": 1e-4},
    )
    return np.asarray(found.x, dtype=float)


def hessian_at(
    S: Packed, y: np.ndarray, *, lam: np.ndarray, d: np.ndarray, prior: VarianceRatioPrior
) -> np.ndarray:
    """Minus the Hessian (K, K) of the log posterior at `lam`, by central differences of the gradient."""
    step = 0.02
    rows = []
    for k in range(len(lam)):
        nudge = np.zeros(len(lam))
        nudge[k] = step
        up = gradient(S, _searched(S, lam + nudge, d, y, prior), prior)
        down = gradient(S, _searched(S, lam - nudge, d, y, prior), prior)
        rows.append((down - up) / (2 * step))
    made = np.array(rows).reshape(len(lam), len(lam))
    return np.asarray((made + made.T) / 2)


def draw_variance_ratios(
    S: np.ndarray | Packed,
    y: np.ndarray,
    *,
    lam: np.ndarray,
    d: np.ndarray,
    prior: VarianceRatioPrior,
) -> tuple[list[Solution], np.ndarray]:
    """Solutions at draws from the posterior of the variance ratios, and their weights (summing to 1).

    Draw 0 is the mode `lam`; the others are Sobol points of a multivariate t with 6 degrees of freedom
    around it (eigenvalues of the curvature floored at .15). Importance weights are cut at mean x
    sqrt(number of draws) (truncated importance sampling: Ionides 2008, J. Comp. Graph. Stat. 17: 295-311).
    """
    S = Packed.of(S)
    if not len(lam):
        return [solve(S, lam, d, y, prior)], np.ones(1)
    values, vectors = _directions(hessian_at(S, y, lam=lam, d=d, prior=prior))
    spread = vectors / np.sqrt(np.maximum(values, 0.15))
    points = standard_t_points(DRAWS, len(lam))
    solutions, log_weights = [], []
    for x in points:
        at = np.clip(lam + spread @ x, LOWEST, HIGHEST)
        solution = solve(S, at, d, y, prior)
        log_t = -0.5 * (_T_DF + len(lam)) * np.log1p(x @ x / _T_DF)
        solutions.append(solution)
        log_weights.append(log_posterior(solution, prior) - log_t)
    weights = np.exp(np.array(log_weights) - max(log_weights))
    weights /= weights.sum()
    weights = np.minimum(weights, weights.mean() * np.sqrt(DRAWS))
    return solutions, weights / weights.sum()


def _directions(curved: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Eigenvalues (K,) and eigenvectors (K, K) of the curvature that don't hang on its last digit.

    Of blocks that nothing is known about yet the curvatures are alike, and their directions would turn with the
    processor: they are told apart by far more than that digit and far less than counts, and point up.
    """
    values, vectors = np.linalg.eigh(curved + _APART * np.diag(np.arange(len(curved))))
    close = np.diff(values) < _ALIKE
    alike = np.append(close, False) | np.append(False, close)
    longest = np.take_along_axis(vectors, np.abs(vectors).argmax(axis=0)[None], axis=0)[0]
    return values, np.where(alike & (longest < 0), -vectors, vectors)


def standard_t_points(draws: int, size: int) -> np.ndarray:
    """Points (draws, size) spread like a standard multivariate t6; the first is the centre. Always the same."""
    uniform = np.clip(sobol_points(draws, size + 1, 2026), 1e-6, 1 - 1e-6)
    normal = ndtri(uniform[:, :size])
    # A t is a normal over the root of a chi-square divided by its degrees of freedom; the radius from the
    # last coordinate by the gamma quantile.
    chi2 = 2 * gammaincinv(_T_DF / 2, uniform[:, size])
    points = normal / np.sqrt(chi2 / _T_DF)[:, None]
    points[0] = 0.0
    return np.asarray(points)
