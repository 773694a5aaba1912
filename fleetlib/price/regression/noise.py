"""How noisy each kind of piece is: a second, smaller fit on the squared leave-one-out residuals.

u_i = log of the squared leave-one-out residual, standardised by all but the noise level itself, plus 1.27
(the log of a chi-square on 1 degree of freedom has mean -1.27 and variance 4.93). u gets the same kind of
block model with known noise 4.93: one block for all factors, one for all measures, one for the fitted
value, standard deviations half-normal(.3). Its exponential, scaled to mean 1 and kept within e^-2 to e^2,
is the relative noise variance h(x).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from fleetlib.price.regression.packed import Packed, plus_outer, times
from fleetlib.price.regression.restricted_likelihood import Solution

FEWEST = 60  # below this many sales every piece counts as equally noisy: h(x) learned from fewer costs coverage
_CHI_MEAN, _CHI_VARIANCE = -1.2703628, np.pi**2 / 2
_PRIOR_SD = 0.3
_LOG_CAP = 2.0


@dataclass(frozen=True, eq=False, slots=True)
class VarianceModel:
    """The fitted h(x): `at` gives it for new rows from their similarities and fitted log prices."""

    first_measure: int  # blocks before this one are factors
    last_measure: int
    variance_ratios: np.ndarray  # (3,) variances of the three blocks
    pull: np.ndarray  # (n,)
    intercept: float
    fitted: np.ndarray  # (n,) standardised fitted log prices
    centre: float
    spread: float
    log_mean: float

    def at(self, S: np.ndarray, log_price: np.ndarray) -> np.ndarray:
        """h (r,) for rows with similarities S (K, r, n) and fitted `log_price` (r,)."""
        z = np.clip((log_price - self.centre) / self.spread, -3, 3)
        blocks = three_blocks(S, self.first_measure, self.last_measure, z, self.fitted)
        u = self.intercept + np.tensordot(self.variance_ratios, blocks, 1) @ self.pull
        return np.asarray(np.exp(np.clip(u - self.log_mean, -_LOG_CAP, _LOG_CAP)))


def three_blocks(
    S: np.ndarray, first: int, last: int, z_left: np.ndarray, z_right: np.ndarray
) -> np.ndarray:
    """Factors summed, measures summed, fitted value (3, r, n)."""
    return np.array([S[:first].sum(axis=0), S[first:last].sum(axis=0), np.outer(z_left, z_right)])


def fit_variance(
    S: np.ndarray, solution: Solution, y: np.ndarray, *, factors: int, measures: int
) -> VarianceModel:
    """Fit h from one solution. The first `factors` blocks of S (K, n, n) are factors, then `measures`."""
    diagonal = np.diag(solution.P)
    squared = solution.Py**2 / diagonal
    rest = np.maximum(solution.s2_left_out, 1e-12)
    u = np.log(np.maximum(squared / rest, 1e-3)) - _CHI_MEAN + np.log(solution.d)
    fitted = y - solution.Py / diagonal
    centre, spread = float(fitted.mean()), max(float(fitted.std()), 1e-9)
    z = np.clip((fitted - centre) / spread, -3, 3)
    last = factors + measures
    blocks = three_blocks(S, factors, last, z, z)
    packed = Packed.of(blocks)

    def pieces(lam: np.ndarray) -> tuple[float, np.ndarray, np.ndarray, float]:
        P, a, s, log_det = packed.projected(np.exp(2 * lam), _CHI_VARIANCE)
        return -0.5 * (log_det + np.log(s)), P, times(P, u), float(a @ u) / s

    def downhill(lam: np.ndarray) -> tuple[float, np.ndarray]:
        constant, P, Pu, _ = pieces(lam)
        variances = np.exp(2 * lam)
        value = constant - 0.5 * float(u @ Pu) + float((lam - variances / (2 * _PRIOR_SD**2)).sum())
        slope = -variances * packed.traces(plus_outer(P, -1.0, Pu))
        return -value, -(slope + 1 - variances / _PRIOR_SD**2)

    found = minimize(
        downhill,
        np.full(3, np.log(0.2)),
        jac=True,
        method="L-BFGS-B",
        bounds=[(-6, 1)] * 3,
        options={"maxiter": 20},
    )
    variance_ratios = np.exp(2 * found.x)
    _, _, pull, intercept = pieces(found.x)
    u_hat = intercept + np.tensordot(variance_ratios, blocks, 1) @ pull
    log_mean = float(np.log(np.mean(np.exp(u_hat))))
    return VarianceModel(
        factors, last, variance_ratios, pull, intercept, z, centre, spread, log_mean
    )
